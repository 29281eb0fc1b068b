"""Questions in words: only the part in which what is offered differs. The sentences are data. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from benchvoice.answer.computed import ComputedWording
from benchvoice.answer.intake import IntakePhrases
from benchvoice.answer.timers import TimerWording
from benchvoice.answer.wording import Wording
from benchvoice.answer.work import WorkPhrases
from benchvoice.records import (
    INTAKE_ACTS,
    NOT_AFTER,
    RUNS_ALREADY,
    WITHOUT_POWER,
    Candidate,
    CommandIntent,
    Decision,
    SpokenValue,
    WorkDone,
)
from benchvoice.spelling import name_in_words

__all__ = ["ABSURD", "ALIKE", "QuestionWording"]

ABSURD = "absurd"
"""How a question's `Decision.why` begins where a value is physically absurd at its point."""

ALIKE = "sounds like"
"""The same where what was heard is told apart from another value by ear with difficulty: digits are said at once."""

_UNCERTAIN_TRIES = 2


class QuestionWording:
    """The sentences of questions, and what they offer.

    Args:
        data: the content of replies.yaml.
        wording: how numbers, units and points are called.
        fill: a template and its slots → the sentences whose slots are all filled.
        computed, timers, intake, work: what words the rest.
    """

    def __init__(
        self,
        data: Mapping[str, Any],
        wording: Wording,
        fill: Callable[..., str],
        *,
        computed: ComputedWording,
        timers: TimerWording,
        intake: IntakePhrases,
        work: WorkPhrases,
    ) -> None:
        self._data = data
        self._wording = wording
        self._fill = fill
        self._computed = computed
        self._timers = timers
        self._intake = intake
        self._work = work

    def question(self, decision: Decision) -> str:
        """The question without the capital that it begins with, and without what was said to the last answer."""
        text = self._data["questions"]
        asked_back = self._intake.question(decision) or self._work.question(decision)
        if asked_back:
            return asked_back
        digits = self._digit_forms(decision.candidates)
        twice = decision.tries == 1 or decision.why.startswith(ALIKE)
        options = self._undoing(decision) or self._options(decision.candidates, twice=twice)
        if not options:
            return str(text["by digits only"] if decision.tries >= _UNCERTAIN_TRIES else text["again"])
        if len(options) > 1:
            joint = text["or"] if any("," in option for option in options) else text["or short"]
            # a technician who meant another point has to hear that before "the second" enters a value there
            one_point = any(candidate.value for candidate in decision.candidates) and not decision.at_hand
            point = self._wording.point(decision.point) if one_point else ""
            asked = self._fill(text["options"], point=point, options=joint.join(options))
        elif decision.why.startswith(ABSURD):
            asked = self._fill(
                text["absurd"],
                what=self.option(decision.candidates[0], text["on"]),
                makes=self._computed.would_be(decision.makes),
            )
        elif decision.why == NOT_AFTER:
            asked = self._fill(text["not after"], what=options[0])
        elif decision.why == WITHOUT_POWER:
            asked = self._fill(text["without power"], what=self.option(decision.candidates[0], text["on"]))
        elif decision.why == RUNS_ALREADY:
            asked = self._fill(text["in place"], what=options[0])
        elif decision.candidates and _wants_reason(decision.candidates[0]):
            asked = self._fill(text["with a reason"], what=options[0])
        elif decision.names:
            asked = self._fill(text["with some left"], count=self._wording.count(len(decision.names)), what=options[0])
        else:
            asked = self._fill(text["confirm"], what=options[0])
        if decision.tries >= _UNCERTAIN_TRIES and digits and decision.why != WITHOUT_POWER:
            return self._fill(text["by digits"], question=asked, digits=text["or"].join(digits))
        return asked

    def note(self, text: str) -> str:
        """A note, as what is struck: "the note, capacitor bulging"."""
        return self._fill(self._data["confirm"]["note of"], text=self._wording.spoken(text))

    def struck(self, decision: Decision) -> str:
        """The reading that is withdrawn, as "value at point"; empty for none."""
        if decision.struck is None:
            return ""
        return self.option(decision.struck, self._data["sentences"]["value at point"])

    def _options(self, candidates: tuple[Candidate, ...], *, twice: bool) -> list[str]:
        """What tells the candidates apart, each once, in their order; values once more by digits if `twice`."""
        template = self._data["questions"]["at"]
        whole = [self.option(candidate, template) for candidate in candidates]
        told = whole
        if len(set(whole)) > 1 and not any(candidate.command for candidate in candidates):
            points = [self._wording.point(candidate.point) for candidate in candidates]
            values = [candidate.value for candidate in candidates if candidate.value]
            if len(set(points)) == 1 and len(values) == len(candidates):
                told = self._values(values, twice=twice)
            elif all(points) and len({self._wording.value(value, with_unit=True) for value in values}) <= 1:
                told = points
        return list(dict.fromkeys(option for option in told if option))

    def _values(self, values: list[SpokenValue], *, twice: bool) -> list[str]:
        """Values alone: with their units where those differ, else the unit once, after the last that has one."""
        each = len({(value.unit, value.waveform) for value in values if not value.over_range}) > 1
        last = max((at for at, value in enumerate(values) if not value.over_range), default=-1)
        say = self._wording.read_back if twice else self._wording.value
        return [say(value, with_unit=each or at == last) for at, value in enumerate(values)]

    def _undoing(self, decision: Decision) -> list[str]:
        """The one option where a reading would be withdrawn: which one, and what would come instead; or which work."""
        if decision.note:
            return [self._fill(self._data["confirm"]["strike of"], struck=self.note(decision.note))]
        if decision.work is not None:
            return [self._fill(self._data["confirm"]["strike of"], struck=self.done(decision.work))]
        if decision.struck is None:
            return []
        instead = ""
        if decision.value is not None:
            moved = decision.point != decision.struck.point
            template = self._data["questions"]["at"] if moved else "{value}"
            instead = self.option(Candidate(decision.point, decision.value), template)
        name = "correction of" if instead else "strike of"
        return [self._fill(self._data["confirm"][name], struck=self.struck(decision), value=instead)]

    def done(self, done: WorkDone) -> str:
        """Work on the unit, or what was told at the intake, as what was struck or would be."""
        return self._intake.done(done) if done.intent.act in INTAKE_ACTS else self._work.done(done)

    def option(self, candidate: Candidate, template: str) -> str:
        """What a candidate is called; `template` puts a value to its point."""
        if candidate.work is not None and candidate.work.act in INTAKE_ACTS:
            return self._intake.option(candidate.work)
        if candidate.work is not None:
            timed = candidate.work.act in self._data["timers"]["options"]
            return self._timers.option(candidate.work) if timed else self._work.option(candidate.work)
        if candidate.command is not None:
            return self._command_option(candidate.command)
        value = self._wording.value(candidate.value, with_unit=True) if candidate.value else ""
        point = self._wording.point(candidate.point)
        return self._fill(template, value=value, point=point) or value or point

    def _command_option(self, command: CommandIntent) -> str:
        text = self._data["confirm"]
        if command.name == "correction" and command.value is not None:
            return self._fill(text["correction to"], value=self._wording.value(command.value, with_unit=True))
        if command.name == "read back" and command.point:
            return self._fill(text["read back at"], point=self._wording.point(command.point))
        if command.detail and f"{command.name} for" in text:
            # a part is called as it has to be said: "TP2 checks" is "test point two checks"
            detail = name_in_words(command.detail) or self._wording.spoken(command.detail)
            return self._fill(text[f"{command.name} for"], detail=detail)
        return str(text[command.name])

    def _digit_forms(self, candidates: tuple[Candidate, ...]) -> list[str]:
        values = [candidate.value for candidate in candidates if candidate.value and candidate.value.has_number]
        return list(dict.fromkeys(self._wording.by_digits(value) for value in values))


def _wants_reason(candidate: Candidate) -> bool:
    command = candidate.command
    return command is not None and command.name == "skip" and not command.detail

"""Decision and verdict → the sentence to say and the short tone. The sentences are data: `grammars/<language>/`.

Pure: it takes the texts of the data files. A verdict comes first; digits are read back one by one after the point.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from benchvoice.answer.cautions import CautionWording
from benchvoice.answer.computed import ComputedWording, worst_statement
from benchvoice.answer.intake import IntakePhrases, letters_of
from benchvoice.answer.left_wording import LeftWording
from benchvoice.answer.likeness import LikenessWording
from benchvoice.answer.questions import ABSURD, ALIKE, QuestionWording
from benchvoice.answer.step_wording import STEP_TONES, StepWording
from benchvoice.answer.suspects import suspicion_slots
from benchvoice.answer.timers import OF_TIMERS, TimerWording
from benchvoice.answer.verdict_wording import VerdictWording
from benchvoice.answer.wording import Wording
from benchvoice.answer.work import ABOUT, WorkPhrases
from benchvoice.errors import GrammarError
from benchvoice.records import (
    INTAKE_ACTS,
    CautionTold,
    Decision,
    Reply,
    Statement,
    StepTold,
    TimerTold,
    Tone,
)
from benchvoice.tables import read_table
from benchvoice.units import UNITS

__all__ = ["ABSURD", "ALIKE", "FILES", "TAKEN", "Phrasebook", "read_phrasebook"]

FILES = ("replies.yaml", "units.yaml", "fasteners.yaml", "intake.yaml")
"""The data files of a language folder that a phrasebook is read from."""

TAKEN = "taken as"
"""How a reading's `Decision.why` begins where one of two meanings was chosen: the choice is then said aloud."""

_SENTENCE = re.compile(r"[^.?!]+[.?!]?")
_BEGINNING = re.compile(r"(?:^|(?<=[.?!] ))[a-z]")
_SLOT = re.compile(r"\{(\w+)\}")
_SHAPE: Mapping[str, type] = {
    **dict.fromkeys(("one unit", "waveforms", "signs", "verdicts", "directions", "limits"), dict),
    **dict.fromkeys(("sentences", "terse", "questions", "confirm", "notices", "readings", "days ago", "work"), dict),
    **dict.fromkeys(("suspects", "suspected because"), dict),
    **dict.fromkeys(("steps", "powers", "times", "cautions", "joules", "timers", "intake"), dict),
    **dict.fromkeys(("computed", "in words", "likeness", "unjudged"), dict),
    "left unsaid": list,
    **dict.fromkeys(("over range", "verdict", "verdict terse", "cut off", "and more"), str),
    **dict.fromkeys(("question left about", "question left open"), str),
}

_STATEMENT_TONES = {
    Statement.PASS: Tone.PASS,
    Statement.CONDITIONAL_PASS: Tone.CONDITIONAL,
    Statement.CONDITIONAL_FAIL: Tone.CONDITIONAL_FAIL,
    Statement.FAIL: Tone.FAIL,
    Statement.RECORDED: Tone.RECORDED,
}
_MOST_PARTS = 3
"""How many parts are named when a unit came back; the record has all."""
_NOTICE_TONES = {
    "microphone lost": Tone.CAUTION,
    "microphone back": Tone.DONE,
    "microphone back again": Tone.ASK,
    "speaker back": Tone.DONE,
    "sound lost": Tone.ASK,
    "clock": Tone.CAUTION,
    "timer over": Tone.CAUTION,
    "not kept": Tone.REFUSED,
}
_TONES = {
    "question": Tone.ASK,
    "go to": Tone.DONE,
    "strike": Tone.DONE,
    "stage": Tone.DONE,
    "note": Tone.DONE,
    "noted without power": Tone.DONE,
    "note opened": Tone.ASK,
    "listening stopped": Tone.DONE,
    "listening started": Tone.DONE,
    "closed": Tone.DONE,
    "refused": Tone.REFUSED,
    **dict.fromkeys(ABOUT, Tone.DONE),
    "not closed": Tone.REFUSED,
    **dict.fromkeys(OF_TIMERS, Tone.DONE),
    **{str(act): Tone.DONE for act in INTAKE_ACTS},
    "complaint follows": Tone.ASK,
    "stopped": Tone.CAUTION,
    "power": Tone.DONE,
    "acknowledged": Tone.DONE,
    "cautions": Tone.DONE,
}


_STEPPING = ("step", "step back", "step skipped", "step jumped", "step again", "where")
"""What is decided of a checklist: its tone is that of the step which comes to hand."""


class Phrasebook:
    """The sentences of one language. Made by `read_phrasebook`.

    Args:
        data: the content of replies.yaml.
        wording: how numbers, units and points are called.
        plurals: fastener → its plural.
        letters: character of a serial number → how it is said.
    """

    def __init__(
        self, data: Mapping[str, Any], wording: Wording, plurals: Mapping[str, str], letters: Mapping[str, str]
    ) -> None:
        self._data = data
        self._wording = wording
        self._verdicts = VerdictWording(data, wording, self._fill)
        self._steps = StepWording(data, wording, self._fill)
        self._cautions = CautionWording(data, wording, self._fill, self._steps.time)
        self._likeness = LikenessWording(data["likeness"], wording, self._fill)
        self._computed = ComputedWording(
            data["computed"], wording, self._fill, self._verdicts.statement, self._likeness
        )
        self._timers = TimerWording(data["timers"], wording, self._fill, self._steps.time)
        self._intake = IntakePhrases(data["intake"], letters, wording, self._fill)
        self._work = WorkPhrases(data["work"], plurals, wording, self._intake, self._fill)
        self._questions = QuestionWording(
            data,
            wording,
            self._fill,
            computed=self._computed,
            timers=self._timers,
            intake=self._intake,
            work=self._work,
        )
        self._replies: dict[str, Callable[[Decision, bool], str]] = {
            "reading": self._reading,
            "correction": self._reading,
            "question": lambda decision, _: self.question(decision),
            "go to": lambda decision, terse: self._say("go to", terse, point=self._point(decision)),
            "repeat": self._repeat,
            "strike": self._strike,
            "read back": self._read_back,
            "left": LeftWording(wording, self._say).reply,
            **dict.fromkeys(("suspects", "measure next"), self._suspicion),
            "stage": lambda decision, terse: self._say(f"stage {decision.names[0]}", terse),
            "note": lambda decision, terse: self._say("note", terse, text=self._spoken(" ".join(decision.names))),
            "noted without power": self._noted_without_power,
            "refused": lambda decision, terse: self._say("refused", terse, why=self._spoken(decision.why)),
            "nothing": lambda _decision, _terse: "",
            "stopped": lambda decision, terse: self._say("stopped", terse, why=self._spoken(decision.why)),
            "power": lambda decision, terse: self._switched(decision.names, terse),
            "acknowledged": lambda _decision, terse: self._say("acknowledged", terse),
            "cautions": lambda decision, terse: "" if decision.cautions else self._say("no cautions", terse),
            "step": lambda decision, terse: self._say("step", terse, said=" ".join(decision.names)),
            "step back": lambda _decision, terse: self._say("step back", terse),
            "step skipped": lambda decision, terse: self._say("step skipped", terse, why=" ".join(decision.names)),
            "step again": lambda decision, terse: self._say("step again", terse, why=decision.why),
            "step jumped": lambda _decision, terse: self._say("step jumped", terse),
            "where": lambda decision, terse: self._say("where", terse, **self._steps.place(decision.step)),
            "closed": self._closed,
        }
        for about in ("note opened", "listening stopped", "listening started"):
            self._replies[about] = lambda _, terse, about=about: self._say(about, terse)  # type: ignore[misc]
        self._replies |= dict.fromkeys(INTAKE_ACTS, self._intake.reply)
        self._replies |= dict.fromkeys(ABOUT, self._work.reply) | dict.fromkeys(OF_TIMERS, self._timers.reply)

    def reply(self, decision: Decision, *, terse: bool = False) -> Reply:
        """What is answered to a decision: a tone, and words that hold no digit or symbol.

        Args:
            decision: what was decided.
            terse: verdict and value only.

        Raises:
            GrammarError: the phrasebook has no sentence for what was decided.
        """
        if decision.about not in self._replies:
            raise GrammarError(f"has no reply for '{decision.about}'", file="replies.yaml", field="sentences")
        tone = _TONES.get(decision.about)
        if decision.about in ("reading", "correction"):
            tone = _STATEMENT_TONES[worst_statement(decision)]
        if decision.about in _STEPPING:
            tone = STEP_TONES.get("" if decision.step is None else decision.step.kind, Tone.DONE)
        if decision.cautions and tone is Tone.DONE:
            tone = Tone.CAUTION
        cautions = self._cautions.sentences(decision.cautions)
        asks = decision.about == "question"  # what waits for an answer comes last
        said = (
            cautions if asks else "",
            self._switched(decision.switched, terse) if decision.switched else "",
            self._replies[decision.about](decision, terse),
            self._likeness.sentences(decision.likeness, terse=terse),
            self._computed.sentences(decision.computed),
            "" if asks else cautions,
            self._rests_on(decision),
            self._steps.sentence(decision.step),
        )
        return Reply(_begin_with_capitals(" ".join(text for text in said if text)), tone)

    def question(self, decision: Decision) -> str:
        """The question that a decision of outcome `asked` puts: only the part in which its candidates differ."""
        remark = f"{self._spoken(decision.remark)}. " if decision.remark else ""
        return _begin_with_capitals(remark + self._questions.question(decision))

    def notice(self, name: str, *, point: str | None = None, why: str = "", text: str = "") -> Reply:
        """What is said on our own account, with its tone: a device was lost, say. Parts that are empty are left out.

        Args:
            name: its key under `notices` in replies.yaml.
            point: the point that comes next.
            why: the reason, as it is written in errors.
            text: what had been said, word for word.

        Raises:
            GrammarError: the phrasebook has no such notice.
        """
        if name not in self._data["notices"]:
            raise GrammarError(f"has no notice '{name}'", file="replies.yaml", field="notices")
        slots = {"point": self._wording.point(point), "why": self._spoken(why), "text": text}
        return self._told(name, slots)

    def resumed(
        self,
        *,
        readings: int,
        next_point: str | None,
        question_left: bool = False,
        asked_about: str | None = None,
        cut: bool = False,
        timers: tuple[TimerTold, ...] = (),
    ) -> Reply:
        """What is said when a job is taken up again.

        Args:
            readings: how many count in this stage.
            next_point: the first point that is not read yet; None where all are.
            question_left: whether the last session ended with a question open.
            asked_about: the point that this was about; None where it was about none, or several.
            cut: whether the last thing said then was cut off before it was kept.
            timers: those that still run.
        """
        counted = self._counted("readings", readings)
        about = self._wording.point(asked_about)
        open_question = self._fill(self._data["question left about" if about else "question left open"], point=about)
        left = [open_question] * question_left + [self._data["cut off"]] * cut
        slots = {"readings": counted, "open": ". ".join(left), "point": self._wording.point(next_point)}
        slots["timers"] = self._timers.running(timers)
        return self._told("resumed", slots)

    def timer_over(self, timer: TimerTold) -> Reply:
        """What is said, and sounded, when a timer is over."""
        return self._told("timer over", {"text": self._timers.over(timer)})

    def returned(
        self,
        *,
        visit: int,
        days: int | None,
        readings: int,
        replaced: Sequence[str],
        next_point: str | None,
        cut: bool = False,
    ) -> Reply:
        """What is said when a unit came back.

        Args:
            visit: which visit this is.
            days: how long ago the one before was closed; None where it was not.
            readings: how many counted in that one.
            replaced: the parts that were fitted then.
            next_point: the first point to read.
            cut: whether the last thing said then was cut off before it was kept.
        """
        ago = "" if days is None else self._counted("days ago", days)
        names = ", ".join(self._spoken(part) for part in replaced[:_MOST_PARTS])
        if len(replaced) > _MOST_PARTS:
            names = self._fill(
                self._data["and more"], names=names, count=self._wording.count(len(replaced) - _MOST_PARTS)
            )
        slots = {
            "visit": self._wording.count(visit),
            "ago": ago,
            "readings": self._counted("readings", readings),
            "parts": names,
            "open": self._data["cut off"] if cut else "",
            "point": self._wording.point(next_point),
        }
        return self._told("returned", slots)

    def _counted(self, name: str, number: int) -> str:
        form = {0: "none", 1: "one"}.get(number, "many")
        return self._fill(self._data[name][form], count=self._wording.count(number))

    def begun(self, reply: Reply, step: StepTold | None, cautions: tuple[CautionTold, ...] = ()) -> Reply:
        """What is said when a job begins, with the checklist's step that is at hand and what to beware of there."""
        said = (reply.text, self._cautions.sentences(cautions), self._steps.sentence(step))
        text = " ".join(part for part in said if part)
        return Reply(_begin_with_capitals(text), reply.tone)

    def _rests_on(self, decision: Decision) -> str:
        return self._fill(self._data["sentences"]["rests on"], step=self._spoken(decision.rests_on))

    def _told(self, name: str, slots: Mapping[str, str]) -> Reply:
        text = self._fill(self._data["notices"][name], **slots)
        return Reply(_begin_with_capitals(text), _NOTICE_TONES.get(name))

    # --- sentences ------------------------------------------------------------------------------------------------
    def _noted_without_power(self, decision: Decision, terse: bool) -> str:
        value = self._wording.value(decision.value, with_unit=True) if decision.value else ""
        return self._say("noted without power", terse, value=value, point=self._wording.point(decision.point))

    def _say(self, name: str, terse: bool, **slots: str) -> str:
        short = self._data["terse"].get(name) if terse else None
        return self._fill(short or self._data["sentences"][name], **slots)

    @staticmethod
    def _fill(template: str, **slots: str) -> str:
        """The template with its slots filled; a sentence with an empty slot is left out."""
        said = []
        for sentence in _SENTENCE.findall(template):
            names = _SLOT.findall(sentence)
            if all(slots.get(name) for name in names):
                said.append(_SLOT.sub(lambda match: slots[match[1]], sentence).strip())
        # a slot that ends in a stop of its own brings the template's stop twice
        return re.sub(r"([.?!])\.", r"\1", " ".join(said))

    def _reading(self, decision: Decision, terse: bool) -> str:
        if decision.value is None:
            raise GrammarError(f"a decision about a {decision.about} needs a value", file="replies.yaml")
        value = self._wording.value(decision.value) if terse else self._wording.read_back(decision.value)
        if decision.why.startswith(TAKEN):
            value = self._fill(self._data["sentences"]["taken"], value=value)
        moved = decision.struck is not None and decision.struck.point != decision.point
        return self._say(
            decision.about,
            terse,
            verdict=self._verdicts.statement(decision.verdict, terse),
            value=value,
            point=self._point(decision),
            limits=self._verdicts.limits(decision.verdict, decision.value),
            unjudged=self._verdicts.unjudged(decision.verdict),
            struck=self._questions.struck(decision) if moved else "",
            gone="" if decision.fault_gone is None else self._wording.value(decision.fault_gone),
        )

    def _closed(self, decision: Decision, terse: bool) -> str:
        return self._say("closed", terse, names=self._spoken(" and ".join(decision.names)))

    def _repeat(self, decision: Decision, terse: bool) -> str:
        text = " ".join(decision.names)
        return self._say("repeat", terse, text=text) or self._say("nothing to repeat", terse)

    def _strike(self, decision: Decision, terse: bool) -> str:
        point = self._point(decision)
        if decision.note:
            return self._say("strike", terse, what=self._questions.note(decision.note))
        if decision.work is not None:
            return self._say("strike", terse, what=self._questions.done(decision.work))
        if decision.value is None and not point:  # the value was only asked about
            return self._say("strike question", terse)
        what = self._wording.read_back(decision.value) if decision.value else ""
        if what and point:
            what = self._fill(self._data["sentences"]["value at point"], value=what, point=point)
        again = "" if decision.counts_again is None else self._wording.read_back(decision.counts_again)
        return self._say("strike", terse, what=what or point, again=again)

    def _read_back(self, decision: Decision, terse: bool) -> str:
        if decision.value is None:
            return self._say("not read", terse, point=self._point(decision))
        value = self._wording.value(decision.value) if terse else self._wording.read_back(decision.value)
        verdict = self._verdicts.statement(decision.verdict, terse)
        return self._say("read back", terse, point=self._point(decision), value=value, verdict=verdict)

    def _switched(self, names: tuple[str, ...], terse: bool) -> str:
        power, *stopped = names
        return self._say("power", terse, power=self._data["powers"][power], stopped=" and ".join(stopped).capitalize())

    def _suspicion(self, decision: Decision, terse: bool) -> str:
        told, slots = suspicion_slots(decision, self._data, self._wording, self._fill)
        return self._say(told, terse, **slots)

    def _point(self, decision: Decision) -> str:
        return self._wording.point(decision.point)

    def _spoken(self, text: str) -> str:
        return self._wording.spoken(text)


def _begin_with_capitals(text: str) -> str:
    return _BEGINNING.sub(lambda match: match[0].upper(), text)


def read_phrasebook(texts: Mapping[str, str], names: Mapping[str, str] | None = None) -> Phrasebook:
    """The phrasebook whose data files have these texts, by file name (see `FILES`).

    Args:
        texts: file name → content.
        names: point name → what it is called aloud (`SpokenPoint.say[0]`); other names are spelled as written.

    Raises:
        GrammarError: a file or entry is missing, or is not what it should be.
    """
    data = read_table(texts, "replies.yaml", files=FILES, of="sentences")
    units = read_table(texts, "units.yaml", files=FILES, of="sentences").get("units")
    if not isinstance(units, dict):
        raise GrammarError("is missing or not a table", file="units.yaml", field="units")
    for key, kind in _SHAPE.items():
        if not isinstance(data.get(key), kind):
            raise GrammarError("is missing or of the wrong kind", file="replies.yaml", field=key)
    for file, field, table in (("units.yaml", "units", units), ("replies.yaml", "one unit", data["one unit"])):
        unnamed = [symbol for symbol in UNITS if not table.get(symbol)]
        if unnamed:
            cure = "Every unit needs a plural in units.yaml and a singular in replies.yaml"
            raise GrammarError(f"has no name for {', '.join(unnamed)}", file=file, field=field, cure=cure)
    wording = Wording(
        units={str(symbol): str(phrases[0]) for symbol, phrases in units.items()},
        one_unit=data["one unit"],
        waveforms=data["waveforms"],
        over_range=data["over range"],
        in_words=data["in words"],
        left_unsaid=frozenset(data["left unsaid"]),
        signs=data["signs"],
        names=names or {},
    )
    fasteners = read_table(texts, "fasteners.yaml", files=FILES, of="sentences")
    plurals: dict[str, str] = {}
    for key in ("fasteners", "more fasteners"):
        if not isinstance(fasteners.get(key), dict):
            raise GrammarError("is missing or not a table", file="fasteners.yaml", field=key)
        plurals |= {str(one): str(many) for one, many in fasteners[key].items()}
    return Phrasebook(data, wording, plurals, letters_of(read_table(texts, "intake.yaml", files=FILES, of="sentences")))

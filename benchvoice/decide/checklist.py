"""Going through a checklist: where it stands, and what one act makes of that. Nothing here speaks, hears or keeps.

What was done can be undone exactly: every act keeps the place before it. Acts are what the journal's `step` events
say, so that a journal brings the place back.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from benchvoice.decide.checklist_steps import (
    SKIPPED,
    STATEMENTS,
    Checklist,
    CheckStep,
    Power,
    Stage,
)

__all__ = ["Act", "Action", "Done", "Passed", "Place", "Progress", "after", "answered_last", "applies", "begin", "left",
           "power_forgotten", "power_told", "why_not", "why_not_to"]  # fmt: skip

Action = Literal["done", "answered", "measured", "power", "skipped", "jumped", "back", "passed"]
"""What can be done: a step is done, answered, measured or skipped; the supply's state is told; a named part is gone to;
the last act is undone; or a step is passed because it no longer applies in the present stage."""

NOT_IN_THIS_STATE = "does not apply"
OFTEN_ENOUGH = "often enough"


@dataclass(frozen=True)
class Act:
    """One act. `outcome` is the answer, the statement ("fail, high"), the supply's state, or the name jumped to."""

    action: Action
    outcome: str = ""
    reason: str = ""
    reading: int | None = None


@dataclass(frozen=True)
class Passed:
    """A step that was come to and not done, and why."""

    number: int
    why: str


@dataclass(frozen=True)
class Place:
    """Where a checklist stands.

    Attributes:
        at: the step at hand; the checklist's end where none is left.
        power: how the supply stands, as far as it was told.
        asks_power: whether that must be told before the step at hand is done.
        visits: how often each step with a limit was come to, as (number, times), by number.
        passed: what was passed on the way here.
    """

    at: int
    power: Power | None = None
    asks_power: bool = False
    visits: tuple[tuple[int, int], ...] = ()
    passed: tuple[Passed, ...] = ()


@dataclass(frozen=True)
class Done:
    """A step that was gone through: its number, the act, and the place before it."""

    number: int
    act: Act
    before: Place


@dataclass(frozen=True)
class Progress:
    """How far a checklist has come. `past` is what counts, the oldest first."""

    checklist: Checklist
    place: Place
    past: tuple[Done, ...] = ()

    @property
    def step(self) -> CheckStep | None:
        """The step at hand; None at the end."""
        return None if self.ended else self.checklist.steps[self.place.at]

    @property
    def ended(self) -> bool:
        """Whether nothing is left to do."""
        return self.place.at == self.checklist.end

    @property
    def point(self) -> str | None:
        """The point whose value answers the step at hand, if one does."""
        step = self.step
        return None if step is None or self.place.asks_power else step.point

    @property
    def answers(self) -> tuple[str, ...]:
        """The answers that the step at hand waits for; none where it waits for no words."""
        step = self.step
        if step is None:
            return ()
        return ("yes", "no") if self.place.asks_power else step.answers


def begin(checklist: Checklist, stage: Stage) -> Progress:
    """The checklist at its first step."""
    return Progress(checklist, _settled(checklist, Place(0), stage))


def why_not(progress: Progress, act: Act) -> str:
    """Why an act cannot be done now, as a phrase; empty where it can."""
    step, why = progress.step, ""
    if act.action == "back":
        why = "" if progress.past else "nothing was done yet"
    elif act.action == "jumped":
        why = "" if act.outcome in progress.checklist.named else "there is no such part"
    elif step is None:
        why = "the checklist is done"
    elif act.action == "skipped":
        why = "" if act.reason else "a reason is needed"
    elif act.action == "passed":
        why = "" if step.only in ("before", "after") else "the step applies in both stages"
    elif act.action == "power":
        told = progress.place.asks_power and act.outcome in ("powered", "unpowered")
        why = "" if told else "nothing was asked"
    elif progress.place.asks_power:
        why = f"say first whether it is {'without power' if step.power == 'unpowered' else 'powered'}"
    else:
        why = _why_not_done(step, act)
    return why


def why_not_to(progress: Progress, name: str, stage: Stage) -> str:
    """Why nobody can jump to a part now, as a phrase: all of it would be passed. Empty where one can."""
    checklist = progress.checklist
    if name not in checklist.named:
        return ""
    step = checklist.steps[checklist.named[name]]
    place = _jumped(progress, name, stage)
    if (place.at != checklist.end and checklist.section(place.at) == name) or step.only is None:
        return ""
    if step.only in ("before", "after"):
        return f"that part is for {step.only} the repair"
    return f"that part is for a unit {'without power' if step.only == 'unpowered' else 'with power'}"


def _why_not_done(step: CheckStep, act: Act) -> str:
    match act.action:
        case "done" if step.kind == "measure":
            return "this step waits for a value"
        case "done":
            return "this step waits for an answer" if step.answers else ""
        case "answered":
            return "" if act.outcome in step.answers else "that does not answer this step"
        case _:
            right = step.kind == "measure" and act.outcome.partition(", ")[0] in STATEMENTS
            return "" if right else "this step measures nothing"


def after(progress: Progress, act: Act, stage: Stage) -> Progress:
    """The progress once an act was done.

    Args:
        progress: before it.
        act: what is done.
        stage: before or after the repair.

    Raises:
        ValueError: it cannot be done now (`why_not`).
    """
    refused = why_not(progress, act)
    if refused:
        raise ValueError(refused)
    if act.action == "back":
        return _undone(progress)
    done = Done(progress.place.at, act, progress.place)
    return Progress(progress.checklist, _moved(progress, act, stage), (*progress.past, done))


def _undone(progress: Progress) -> Progress:
    """The progress without its last act, exactly; but how the supply stands now is a fact that goes back with no step.

    Where it was the supply that had been told, that is taken for a slip: nothing is known of it.
    """
    last = progress.past[-1]
    power = None if last.act.action == "power" else progress.place.power
    known = _forgotten if power is None else partial(_told, power=power)
    return replace(progress, place=known(progress.checklist, last.before), past=progress.past[:-1])


def _moved(progress: Progress, act: Act, stage: Stage) -> Place:
    checklist, place = progress.checklist, progress.place
    if act.action == "jumped":
        return _jumped(progress, act.outcome, stage)
    step = checklist.steps[place.at]
    if act.action == "power":
        return _powered(progress, step, act, stage)
    outcome = SKIPPED if act.action == "skipped" else act.outcome
    target = step.follows if act.action in ("done", "passed") else step.after(outcome)
    return _settled(checklist, replace(place, at=target), stage)


def _jumped(progress: Progress, name: str, stage: Stage) -> Place:
    """Where a jump to a part comes to: who asks for a part wants it, however often it was come to."""
    checklist, place = progress.checklist, progress.place
    target = checklist.named[name]
    counted = {number: times for number, times in place.visits if number != target}
    return _settled(checklist, replace(place, at=target, visits=tuple(sorted(counted.items()))), stage)


def _powered(progress: Progress, step: CheckStep, act: Act, stage: Stage) -> Place:
    power: Power = "powered" if act.outcome == "powered" else "unpowered"
    told = replace(progress.place, power=power, asks_power=False, passed=())
    if power == step.power:
        if step.kind != "do":
            return told
        inside = replace(told, at=step.inside[0], visits=_begun(told.visits, step))
        return _settled(progress.checklist, inside, stage)
    if step.needs is not None:
        return replace(told, asks_power=True)  # it waits until the supply stands as it must
    passed = (Passed(step.number, NOT_IN_THIS_STATE),)
    return _settled(progress.checklist, replace(told, at=step.follows), stage, passed)


def answered_last(progress: Progress | None, reading: int) -> bool:
    """Whether a reading, by its number, is what led to the step at hand, so that to strike it undoes that step."""
    return progress is not None and bool(progress.past) and progress.past[-1].act.reading == reading


def power_forgotten(progress: Progress) -> Progress:
    """The progress once nobody can be sure how the supply stands: where it matters it is asked again.

    Also for every place that "back" would come to.
    """
    past = tuple(replace(done, before=_forgotten(progress.checklist, done.before)) for done in progress.past)
    return replace(progress, place=_forgotten(progress.checklist, progress.place), past=past)


def power_told(progress: Progress, power: Power) -> Progress:
    """The progress once it was told, beside the list, how the supply stands: the step at hand asks where that is wrong.

    Also for every place that "back" would come to; a place that asked asks again there.
    """
    past = tuple(replace(done, before=_told(progress.checklist, done.before, power)) for done in progress.past)
    return replace(progress, place=_told(progress.checklist, progress.place, power), past=past)


def _told(checklist: Checklist, place: Place, power: Power) -> Place:
    if place.power == power:
        return place
    needed = None if place.at == checklist.end else checklist.steps[place.at].power
    return replace(place, power=power, asks_power=place.asks_power or needed not in (None, power))


def _forgotten(checklist: Checklist, place: Place) -> Place:
    asks = place.at != checklist.end and checklist.steps[place.at].power is not None
    return replace(place, power=None, asks_power=asks)


def applies(step: CheckStep, place: Place, stage: Stage) -> bool:
    """Whether a step applies, as far as is known; where the supply's state was not told, that is asked."""
    if step.only in ("before", "after"):
        return step.only == stage
    return step.only is None or place.power in (None, step.only)


def _settled(checklist: Checklist, place: Place, stage: Stage, passed: tuple[Passed, ...] = ()) -> Place:
    """The place where the way from `place.at` comes to a step that applies and may be come to once more.

    It ends: what is passed leads along the ways that `checklist_flow` has found to be without a circle.
    """
    at, visits, gone = place.at, dict(place.visits), list(passed)
    while at != checklist.end:
        step = checklist.steps[at]
        # counted first: a step that does not apply must not be come to without end either
        if step.most is not None and visits.get(at, 0) >= step.most:
            gone.append(Passed(at, OFTEN_ENOUGH))
            at = step.otherwise
            continue
        if step.most is not None:
            visits[at] = visits.get(at, 0) + 1
        here = replace(place, at=at, visits=tuple(sorted(visits.items())), passed=tuple(gone))
        if not applies(step, here, stage):
            gone.append(Passed(at, NOT_IN_THIS_STATE))
            at = step.follows
            continue
        if step.power is not None and place.power != step.power:
            return replace(here, asks_power=True)
        if step.kind != "do":
            return replace(here, asks_power=False)
        at, visits = step.inside[0], dict(_begun(here.visits, step))
    return replace(place, at=at, asks_power=False, visits=tuple(sorted(visits.items())), passed=tuple(gone))


def _begun(visits: tuple[tuple[int, int], ...], step: CheckStep) -> tuple[tuple[int, int], ...]:
    """The visits once a sub-list is begun: the limits in it count anew."""
    first, past = step.inside
    return tuple((number, times) for number, times in visits if not first <= number < past)


def left(progress: Progress, stage: Stage) -> tuple[CheckStep, ...]:
    """The steps still to come, that at hand first, as far as no answer branches; each once."""
    checklist, place = progress.checklist, progress.place
    found: list[CheckStep] = []
    seen: set[int] = set()
    at = place.at
    while at != checklist.end and at not in seen:
        seen.add(at)
        step = checklist.steps[at]
        come = at == place.at or applies(step, place, stage)
        if come and step.kind == "do":
            at = step.inside[0]
            continue
        if come:
            found.append(step)
        at = step.follows
    return tuple(found)

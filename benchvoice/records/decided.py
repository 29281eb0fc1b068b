"""What was decided, with all that the answer to it tells."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Literal

from benchvoice.records.intents import CommandIntent, Thing, WorkIntent
from benchvoice.records.spoken import SpokenValue
from benchvoice.suspicion import Suspicion

__all__ = [
    "NOTHING_ASKED",
    "NOT_AFTER",
    "NOT_LISTED",
    "POINT_UNSAID",
    "RUNS_ALREADY",
    "WITHOUT_POWER",
    "Candidate",
    "CautionTold",
    "ComputedTold",
    "Decision",
    "Direction",
    "LikenessTold",
    "Outcome",
    "Statement",
    "StepTold",
    "TimerTold",
    "Verdict",
    "WorkDone",
]


class Outcome(StrEnum):
    """How an utterance ended; exactly one of these."""

    ACCEPTED = "accepted"
    ASKED = "asked"
    IGNORED = "ignored"


class Statement(StrEnum):
    """Statement of conformity, ILAC-G8:09/2019 4.2.3; `recorded` where the point has no limits."""

    PASS = "pass"
    CONDITIONAL_PASS = "conditional pass"
    CONDITIONAL_FAIL = "conditional fail"
    FAIL = "fail"
    RECORDED = "recorded"


Direction = Literal["high", "low"]


@dataclass(frozen=True)
class Verdict:
    """A value judged against its limits. Numbers are in the spoken value's unit.

    Attributes:
        statement: the statement of conformity.
        direction: the limit that is nearer or passed, where the statement is not `pass` or `recorded`.
        low, high: the limits; None where there is none.
        nominal: the nominal value; None where there is none.
        uncertainty: expanded uncertainty U = 2u; None when over range.
        probability: probability of conformity, 0 to 1, four decimals; None without limits or when over range.
        deviation: value minus nominal; None without nominal or when over range.
        deviation_percent: the same in per cent of nominal, two decimals.
        basis: where the uncertainty comes from ("meter and spoken digits", "spoken digits only: no meter given").
        expected: the right value where values are words; empty for none.
        responds: of AC, how the meter responds to it; None where that is not known.
        shape: of AC, the wave where it is no sine: then it is judged only where the meter is known to be true rms.
    """

    statement: Statement
    direction: Direction | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    nominal: Decimal | None = None
    uncertainty: Decimal | None = None
    probability: Decimal | None = None
    deviation: Decimal | None = None
    deviation_percent: Decimal | None = None
    basis: str = ""
    expected: str = ""
    responds: Literal["true rms", "average"] | None = None
    shape: Literal["square", "triangle", "pulse", "distorted"] | None = None

    @property
    def wave_unjudged(self) -> bool:
        """Whether it is not judged since the meter may show something else than the true value."""
        return self.shape is not None and self.responds != "true rms"


@dataclass(frozen=True)
class Candidate:
    """One of the meanings that a question offers. For a question about a command, `value` is empty.

    Of work on the unit, `work` is all that is given.
    """

    point: str | None
    value: SpokenValue | None
    command: CommandIntent | None = None
    work: WorkIntent | None = None

    @property
    def said_value(self) -> SpokenValue | None:
        """The value that it offers, a reading's or a part's; None where it offers none."""
        return self.value if self.work is None else self.work.value


@dataclass(frozen=True)
class WorkDone:
    """What an answer about work on the unit tells, beside what was said.

    Attributes:
        intent: what was done or asked.
        things: what it is about, each with how many.
        of: where only some of them went back, how many there had been; else 0.
        still: where only some of them went back, how many of them are still out; else 0.
        next: what goes back next; None where nothing does.
        behind: what had come out later and should have gone back before; None where the order was kept.
        careful: what was to be taken care of at what goes back next, or at what just went back.
        pieces: how many pieces are still out.
        left_out: what stays out, each with why.
        again: points to measure again after the repair.
        ref: the part that rework is about.
        instead: the value that was told of that part before and counts no more.
        before: what was told before and cannot hold beside it: another serial or part number, accessories; "" for none.
        unlisted: what was seen is not in the board's table of that lamp; False too where it has none.
    """

    intent: WorkIntent
    things: tuple[Thing, ...] = ()
    of: int = 0
    still: int = 0
    next: Thing | None = None
    behind: Thing | None = None
    careful: tuple[str, ...] = ()
    pieces: int = 0
    left_out: tuple[tuple[Thing, str], ...] = ()
    again: tuple[str, ...] = ()
    ref: str = ""
    instead: SpokenValue | None = None
    before: str = ""
    unlisted: bool = False


@dataclass(frozen=True)
class StepTold:
    """The step of a checklist that is at hand, as it is said.

    Attributes:
        kind: "say", "ask", "measure", "inspect", "wait", "warn"; "power" where the supply is asked about first; "end"
            where no step is left.
        text: what is said or asked; what is waited for.
        point: the point that is measured.
        choices: the answers that are offered.
        wait_s: how long is waited, in seconds.
        power: the state of the supply that is asked about.
        part: the named part of the list in which it lies; empty for none.
        number, of: its place among all steps, from 1, and how many there are.
    """

    kind: str
    text: str = ""
    point: str | None = None
    choices: tuple[str, ...] = ()
    wait_s: int = 0
    power: str = ""
    part: str = ""
    number: int = 0
    of: int = 0


@dataclass(frozen=True)
class LikenessTold:
    """How a reading compares with another one that it should be like.

    Attributes:
        point: the other channel; None for the known-good board.
        value: the other value.
        percent: the difference in per cent of that value; None where there is none.
        unlike: whether it is more than may be.
    """

    point: str | None
    value: SpokenValue
    percent: Decimal | None
    unlike: bool


@dataclass(frozen=True)
class ComputedTold:
    """A value that follows from what was just said, as it is said.

    Attributes:
        point: the computed point.
        value, verdict: what it is now; None where it no longer counts.
        why: why it cannot be computed, or why it is asked, as a phrase; empty where it can, or where an input is
            missing.
        likeness: how it compares with what it should be like.
        stage: the stage in which it no longer counts, where another one is at hand; else empty.
    """

    point: str
    value: SpokenValue | None = None
    verdict: Verdict | None = None
    why: str = ""
    stage: Literal["before", "after", ""] = ""
    likeness: tuple[LikenessTold, ...] = ()


@dataclass(frozen=True)
class TimerTold:
    """A timer as it is said: its name, how long it was set for, and how long is left, in seconds."""

    name: str
    seconds: int
    left_s: int = 0


@dataclass(frozen=True)
class CautionTold:
    """A caution as it is said.

    Attributes:
        hazard: its kind, as in `events.Caution`.
        about: the point, the part, or what the board file says of it.
        volts: of a capacitor its working voltage, of a reading its size.
        joules, safe_volts, seconds: of a capacitor, as in `events.Caution`.
    """

    hazard: str
    about: str = ""
    volts: Decimal | None = None
    joules: Decimal | None = None
    safe_volts: Decimal | None = None
    seconds: Decimal | None = None


NOT_AFTER = "a part that feeds it was replaced, and it is still before the repair"
"""A question's `Decision.why` where a value was most likely read after the repair, which nobody has said yet."""

WITHOUT_POWER = "the unit is marked without power"
"""A question's `Decision.why` where a value was said that can be judged only with power: nobody said it has any."""

NOTHING_ASKED = "nothing was asked"
"""Why yes, no and the like mean nothing while no question is open; not worth an answer."""

NOT_LISTED = "the board's table does not list it"
"""The same where a pattern was seen that the board does not list: its nearest entry is offered, then as it was seen."""

RUNS_ALREADY = "a timer of that name runs already"
"""The same where a timer would take the place of one that runs."""

POINT_UNSAID = "the point was not said"
"""Why a value alone means nothing where no point is in hand; said aloud, or it would seem to be taken."""


@dataclass(frozen=True)
class Decision:
    """What the session decided on an utterance; `answer` turns it into words and a tone.

    Attributes:
        outcome: accepted, asked or ignored.
        about: what kind of thing was decided, the key by which `answer.phrases` finds its sentence: "reading",
            "question", "go to", "repeat", "strike", "correction", "read back", "left", "suspects", "measure next",
            "stage", "note", "noted without power", "note opened", "listening stopped", "listening started", "closed",
            "nothing", "refused"; of a checklist "step", "step back", "step skipped", "step jumped", "where"; of safety
            "power", "stopped", "acknowledged", "cautions"; of timers "timer", "timer replaced", "timer stop", "timers";
            of the intake `INTAKE_ACTS`.
        why: the reason, for questions, refusals and ignored talk.
        point: the point concerned.
        value: the value concerned.
        verdict: its verdict, for a reading.
        candidates: what a question offers, likeliest first.
        names: point names, for "left", "measure next" and for a question whether to close the job; the stage's name for
            "stage"; the note's text for "note"; the answer for "step", the reason for "step skipped"; how the unit
            stands for "power".
        tries: how often this question has been asked before.
        remark: why what was said did not answer it, as a phrase that is said before the question; empty for none.
        struck: the reading that a correction withdrew, or that a strike or correction which is asked would withdraw.
        fault_gone: the value that failed, whose place at its point and stage a reading that passes has taken: whoever
            repaired in between and did not say so would lose what was found.
        counts_again: the value that a strike left as the one that counts at its point; None for none.
        at_hand: whether `point` is the one that "on …" named: a question need not name it again.
        suspicion: what is suspected, for "suspects" and "measure next".
        step: the checklist's step that is to be said next, after all else.
        steps: for "left", the part in which each step still to come lies.
        note: the note that is struck, or is asked about before; empty for none.
        switched: where a reading told that the unit is powered after all: "powered", and the timers that this stopped.
        rests_on: the step that was gone on from with a reading that is now withdrawn; empty for none.
        work: what was done to the unit; the keys of `about` are then those of `WorkIntent.act`, or "not closed". Beside
            a strike it is what was struck.
        again: for "left", points to measure again because a part that feeds them was replaced.
        cautions: those to be said now, after all else.
        likeness: how a reading compares with what it should be like.
        makes: the computed value that a reading would make, where it is asked for that.
        computed: the values that follow from what was taken or struck, each as it is now.
        timers: those that are told, for "timer", "timer replaced", "timer stop" and "timers".
    """

    outcome: Outcome
    about: str
    why: str = ""
    point: str | None = None
    value: SpokenValue | None = None
    verdict: Verdict | None = None
    candidates: tuple[Candidate, ...] = ()
    names: tuple[str, ...] = ()
    tries: int = 0
    remark: str = ""
    struck: Candidate | None = None
    fault_gone: SpokenValue | None = None
    counts_again: SpokenValue | None = None
    at_hand: bool = False
    suspicion: Suspicion | None = None
    step: StepTold | None = None
    steps: tuple[str, ...] = ()
    note: str = ""
    switched: tuple[str, ...] = ()
    rests_on: str = ""
    work: WorkDone | None = None
    again: tuple[str, ...] = ()
    cautions: tuple[CautionTold, ...] = ()
    timers: tuple[TimerTold, ...] = ()
    makes: ComputedTold | None = None
    computed: tuple[ComputedTold, ...] = ()
    likeness: tuple[LikenessTold, ...] = ()

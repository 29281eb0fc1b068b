"""The frozen types that pass between the rooms: hear → understand → decide → answer.

What is written to the journal is in `events`. Sound is NumPy int16, mono, 16 kHz; times are seconds from the start
of the recording or stream; measured numbers are `Decimal` and keep their spoken digits.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from benchvoice.suspicion import Suspicion
from benchvoice.units import convert, same_size

__all__ = [
    "INTAKE_ACTS",
    "NOTHING_ASKED",
    "NOT_AFTER",
    "NOT_LISTED",
    "RATE_HZ",
    "RUNS_ALREADY",
    "WITHOUT_POWER",
    "Alternative",
    "AnswerIntent",
    "AudioBlock",
    "Candidate",
    "CautionTold",
    "CommandIntent",
    "CommandName",
    "ComputedTold",
    "Context",
    "Decision",
    "Direction",
    "GoToIntent",
    "Hearing",
    "Intent",
    "LikenessTold",
    "NoteIntent",
    "Outcome",
    "Parse",
    "Quantity",
    "ReadingIntent",
    "Reply",
    "Samples",
    "SpokenIntake",
    "SpokenPart",
    "SpokenPoint",
    "SpokenSteps",
    "SpokenValue",
    "Statement",
    "StepTold",
    "Thing",
    "ThingKind",
    "TimerTold",
    "Tone",
    "Transcript",
    "Trust",
    "Utterance",
    "Verdict",
    "WordArc",
    "WordNetwork",
    "WorkAct",
    "WorkDone",
    "WorkIntent",
]

RATE_HZ = 16_000
"""Sample rate of all sound inside benchvoice, in hertz."""

Samples = npt.NDArray[np.int16]
"""Mono sound, one int16 per sample at RATE_HZ."""


# --- hear ---------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, eq=False)
class AudioBlock:
    """A stretch of sound as it came from a device or file.

    Attributes:
        samples: the sound.
        start_s: seconds from the start of the stream to its first sample.
        overflow: whether sound was lost just before this block.
    """

    samples: Samples
    start_s: float
    overflow: bool = False


@dataclass(frozen=True, eq=False)
class Utterance:
    """One stretch of speech with a little quiet kept around it.

    Attributes:
        samples: the sound.
        start_s, end_s: seconds from the start of the stream to its first sample and past its last one.
        level_dbfs: mean level of the voiced part, in dB relative to full scale (a full-scale square wave is 0).
        noise_dbfs: mean level of the quiet around it, in the same measure; None where there was no quiet.
        clipped: whether samples reached full scale.
        cut: whether words may be missing: it was ended by the longest allowed length or the end of the stream, not by
            quiet, or began while we spoke ourselves.
        narrow: whether it lacks all above 4 kHz, as over a telephone: digits are easily mistaken then.
    """

    samples: Samples
    start_s: float
    end_s: float
    level_dbfs: float
    noise_dbfs: float | None = None
    clipped: bool = False
    cut: bool = False
    narrow: bool = False


class WordArc(NamedTuple):
    """One word of a network, from node `source` to node `target`."""

    source: int
    target: int
    word: str


@dataclass(frozen=True)
class WordNetwork:
    """Every sentence that may be heard just now, as an acyclic, deterministic network of words.

    Nodes are numbered from 0 (the start) so that every arc leads to a higher number. A sentence is the words along a
    path from node 0 to a final node, and no two paths have the same words. Words are lower case.
    """

    n_nodes: int
    finals: frozenset[int]
    arcs: tuple[WordArc, ...]

    @cached_property
    def words(self) -> tuple[str, ...]:
        """The different words, sorted."""
        return tuple(sorted({arc.word for arc in self.arcs}))

    @cached_property
    def key(self) -> str:
        """A digest that tells networks apart, for caches."""
        text = f"{self.n_nodes};{sorted(self.finals)};{self.arcs}"
        return hashlib.sha256(text.encode()).hexdigest()

    @cached_property
    def _next(self) -> dict[tuple[int, str], int]:
        return {(arc.source, arc.word): arc.target for arc in self.arcs}

    def leaving(self, node: int) -> tuple[WordArc, ...]:
        """The words that may follow at a node, with where they lead."""
        return self._leaving.get(node, ())

    @cached_property
    def _leaving(self) -> dict[int, tuple[WordArc, ...]]:
        found: dict[int, list[WordArc]] = {}
        for arc in self.arcs:
            found.setdefault(arc.source, []).append(arc)
        return {node: tuple(arcs) for node, arcs in found.items()}

    def accepts(self, text: str) -> bool:
        """Whether the words of `text`, separated by spaces, are one of the network's sentences."""
        return self._final_of(text) is not None

    def ends(self, text: str) -> bool:
        """Whether `text` is one of the network's sentences and no longer one begins with it."""
        node = self._final_of(text)
        return node is not None and not self.leaving(node)

    def _final_of(self, text: str) -> int | None:
        node: int | None = 0
        for word in text.split():
            node = self._next.get((node, word)) if node is not None else None
        return node if node in self.finals else None


class Trust(StrEnum):
    """How far a transcript's first alternative can be relied upon."""

    TYPED = "typed"  # it came as text: nothing was misheard
    AGREED = "agreed"  # independent recognisers agree on the meaning, clear of the next best
    DOUBTFUL = "doubtful"  # meant for us, but the recognisers differ or hardly prefer it: ask
    UNRELATED = "unrelated"  # not a sentence of the grammar: other talk, or noise


class Alternative(NamedTuple):
    """One way to hear an utterance: its words, and the engine's score (higher is better; not a probability)."""

    text: str
    score: float


@dataclass(frozen=True)
class Transcript:
    """What a recogniser, or the panel, heard.

    Attributes:
        engine: the recogniser's name ("network", "sphinx", "vosk", "panel", "text").
        alternatives: best first; empty where nothing was heard.
        trust: how far the first can be relied upon.
        why: a few words on `trust`, for the journal ("sphinx and network agree", "network hears fifty").
        margin: score of the best alternative minus that of the best with another meaning; None where not known.
        gap: how much better an unbound decoding fits than the grammar's best, per frame; None where not known.
        free: what was said, as far as a model makes it out that nothing binds to the bench; empty where there is none.
            For notes alone: it is never verified. Of a transcript's line it is the line as it was typed.
        twins: sentences that sound nearly like the first and mean something else, where the ears cannot exclude them
            for certain ("thirteen", "thirty"), likeliest first. Whether it matters is for the session to say.
    """

    engine: str
    alternatives: tuple[Alternative, ...]
    trust: Trust = Trust.DOUBTFUL
    why: str = ""
    margin: float | None = None
    gap: float | None = None
    free: str = ""
    twins: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The best alternative's words; empty where nothing was heard."""
        return self.alternatives[0].text if self.alternatives else ""


# --- understand ---------------------------------------------------------------------------------------------------
@dataclass(frozen=True)
class Quantity:
    """A number with its unit, such as a limit; the unit is a symbol known to `units`."""

    number: Decimal
    unit: str

    def __str__(self) -> str:
        return f"{self.number} {self.unit}".rstrip()


@dataclass(frozen=True)
class SpokenValue:
    """A measured value exactly as it was said.

    Attributes:
        digits: the number with its spoken digits ("4.0", "-0.5", "01803"), "over range", or a value that is words
            ("open circuit").
        unit: the unit's symbol as spoken, or the quantity's base unit where none was said; "" for bare digits.
        unit_said: whether the unit was spoken.
        waveform: "AC" or "DC" where that was said, else None.
    """

    digits: str
    unit: str
    unit_said: bool = False
    waveform: Literal["AC", "DC"] | None = None

    @property
    def over_range(self) -> bool:
        """Whether the meter showed over range instead of a number."""
        return self.digits == "over range"

    @property
    def has_number(self) -> bool:
        """Whether it is a number: neither over range nor words."""
        return not self.digits[:1].isalpha()

    @property
    def number(self) -> Decimal:
        """The number. Must not be asked for when there is none."""
        return Decimal(self.digits)

    def __str__(self) -> str:
        return f"{self.digits} {self.unit}".rstrip() if self.has_number else self.digits


@dataclass(frozen=True)
class SpokenPoint:
    """What the grammar needs to know of one point of the board.

    Attributes:
        name: its name in the board file.
        say: what it may be called, in words, lower case, without digits ("rail three point three").
        quantity: its quantity's name.
        unit: the unit its values are written in on the board file, "" for bare digits.
        decimals: the most digits after the point that the meter shows there.
        alone: whether its value may be said at any time without naming the point.
        volts_shown: for a diode drop, whether the meter shows volts (True), millivolts (False) or is unknown (None).
        expected: the size of the values that are expected there, above zero, in `unit`; None where nothing tells.
    """

    name: str
    say: tuple[str, ...]
    quantity: str
    unit: str
    decimals: int = 4
    alone: bool = False
    volts_shown: bool | None = None
    expected: Decimal | None = None

    def expects(self, value: SpokenValue) -> bool:
        """Whether a value is of the size that is expected there."""
        if self.expected is None or not value.has_number or not value.unit:
            return False
        return same_size(convert(value.number, value.unit, self.unit), self.expected)


@dataclass(frozen=True)
class SpokenSteps:
    """What the grammar needs to know of a checklist. Words are lower case, without digits.

    Attributes:
        parts: (what it may be called, its name in the file) of the parts that can be jumped to.
        choices: every answer that any step offers, in words.
    """

    parts: tuple[tuple[str, str], ...] = ()
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class SpokenPart:
    """What the grammar needs to know of one part of the board.

    Attributes:
        ref: its reference designator as the board file writes it ("U4").
        say: what it may be called, in words: its reference first, then what it is ("u four", "flyback diode").
        quantity: the quantity of its value, "" where it has none that can be said.
    """

    ref: str
    say: tuple[str, ...]
    quantity: str = ""


@dataclass(frozen=True)
class SpokenIntake:
    """What the grammar needs to know of a board's own words for the intake, in words, lower case.

    Attributes:
        complaints, accessories: what may be said of them beside the language's own.
        indicators: (what it may be called, its name in the board file) of lamps and beepers.
    """

    complaints: tuple[str, ...] = ()
    accessories: tuple[str, ...] = ()
    indicators: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Context:
    """What the session expects, as far as it changes what may be said next.

    Attributes:
        current: the point to which a value alone belongs: the one that "on …" named; none after a mere reading
            (while a question is open: the question's point).
        last: the point of the last reading, which "correction" would replace; while a question is open, the question's.
        question_open: whether yes, no, "the first" and "the second" can mean something.
        choices: the answers that the checklist's step at hand offers, in words.
        listening: whether more than "start listening" is to be heard.
        follows: the words of a reading that ended a moment before, which may go on after a pause; else empty.
        taken_out: whether the unit was opened and not closed since: what goes back can be said.
        reworked: whether a part was removed or fitted: how it was done, and what was found, can be said.
        fitted: the quantity of the value of the part that was fitted last, "" where it has none or none was fitted.
        part_fitted: whether a part was fitted last, so that its part number can be told.
        power: whether it matters on this board that the unit is powered or not.
        cautions: whether there is a caution that can be asked for again.
        unacknowledged: whether a caution waits to be acknowledged.
        timing: whether a timer runs.
        intake: whether what a unit came in with can be told.
        spelling: whether a serial or part number was asked back and may go on.
    """

    current: str | None = None
    last: str | None = None
    question_open: bool = False
    listening: bool = True
    follows: str = ""
    choices: tuple[str, ...] = ()
    taken_out: bool = False
    reworked: bool = False
    fitted: str = ""
    part_fitted: bool = False
    power: bool = False
    cautions: bool = False
    unacknowledged: bool = False
    timing: bool = False
    intake: bool = False
    spelling: bool = False


@dataclass(frozen=True)
class ReadingIntent:
    """A value at a point. `point` None means the current point.

    `near` marks a name that matched only nearly, `alone` a point that was not named, whose values may be said alone.
    """

    point: str | None
    value: SpokenValue
    near: bool = False
    alone: bool = False

    @property
    def meaning(self) -> str:
        return f"reading|{self.point or ''}|{self.value.digits}|{self.value.unit}|{self.value.waveform or ''}"


@dataclass(frozen=True)
class GoToIntent:
    """The point to which values alone belong ("on rail five") until another point is read or named."""

    point: str
    near: bool = False

    @property
    def meaning(self) -> str:
        return f"go to|{self.point}"


CommandName = Literal[
    "repeat",
    "strike",
    "correction",
    "read back",
    "left",
    "suspects",
    "measure next",
    "before",
    "after",
    "next",
    "back",
    "skip",
    "stop listening",
    "start listening",
    "close",
    "where",
    "jump",
    "choice",
    "reason",
    "powered",
    "unpowered",
    "understood",
    "cautions",
]


@dataclass(frozen=True)
class CommandIntent:
    """A command. `point` goes with "read back", `value` with "correction" (or a point and a value).

    `joined` marks a correction that nobody asked for: what was said may be the rest of the reading before it.
    `near` marks a name that matched only nearly. `detail` is the part of a "jump", the answer of a "choice", and the
    words of a "reason" or of a "skip" that gives one.
    """

    name: CommandName
    point: str | None = None
    value: SpokenValue | None = None
    joined: bool = False
    near: bool = False
    detail: str = ""

    @property
    def meaning(self) -> str:
        value = "" if self.value is None else f"{self.value.digits}|{self.value.unit}|{self.value.waveform or ''}"
        return f"command|{self.name}|{self.point or ''}|{value}" + (f"|{self.detail}" if self.detail else "")


@dataclass(frozen=True)
class NoteIntent:
    """An observation to keep. `free` marks text outside the grammar, kept with its clip and marked unverified.

    An empty text announces that the next utterance is the note.
    """

    text: str
    free: bool = False

    @property
    def meaning(self) -> str:
        return f"note|{self.text}"


@dataclass(frozen=True)
class AnswerIntent:
    """An answer to the open question. It means nothing at any other time."""

    answer: Literal["yes", "no", "first", "second"]

    @property
    def meaning(self) -> str:
        return f"answer|{self.answer}"


ThingKind = Literal["fastener", "cable", "cover", "part", "substitute"]


@dataclass(frozen=True)
class Thing:
    """What is taken out of a unit and goes back into it.

    Attributes:
        kind: what sort of thing it is.
        name: fasteners in the singular ("screw"), a cable or cover ("lamp cable", "lid"), a part's reference ("U4"),
            or what another was tried in place of ("supply").
        count: how many; more than one of fasteners only.
        size: thread and, in millimetres, length ("M3 by 8", "M3"); "" where not said.
        length: "long" or "short" beside others; "" where not said.
        place: where it sits ("top edge"); "" where not said.
        what: what a part is ("3.3 V regulator"); "" where not known.
    """

    kind: ThingKind
    name: str
    count: int = 1
    size: str = ""
    length: str = ""
    place: str = ""
    what: str = ""


WorkAct = Literal[
    "out",
    "back",
    "careful",
    "left out",
    "unit closed",
    "back next",
    "still out",
    "fitted",
    "value",
    "part number",
    "method",
    "damage",
    "mended",
    "cleaned",
    "inspected",
    "substituted",
    "timer",
    "timer stop",
    "timers",
    "complaint",
    "complaint follows",
    "came with",
    "arrived",
    "serial",
    "more characters",
    "indicator",
    "intake",
]

INTAKE_ACTS: tuple[WorkAct, ...] = (
    *("complaint", "complaint follows", "came with", "arrived", "serial", "more characters", "indicator", "intake"),
)
"""The acts of the intake: what is told of a unit as it comes in."""

SPELLED_ACTS: tuple[WorkAct, ...] = ("serial", "part number")
"""The acts whose text is spelled; "more characters" continues any of them."""


@dataclass(frozen=True)
class WorkIntent:
    """Work on the unit itself: taking it apart, rework of a part, putting it together; the timers; and the intake.

    `thing` goes with what is taken out, put back, fitted or tried with another, and names what "careful …" is about;
    `text` holds a remark, a reason, what a trial brought, a method, a part number or a timer's name ("" where none was
    said); `value` a fitted part's, or a timer's in seconds. Of the intake, `text` is as in `events.Intake`, `name` a
    lamp or beeper, `means` what its pattern means.
    """

    act: WorkAct
    thing: Thing | None = None
    text: str = ""
    value: SpokenValue | None = None
    name: str = ""
    means: str = ""

    @property
    def part_value(self) -> SpokenValue | None:
        """The value of a part that it tells; None where it tells none."""
        return self.value if self.act in ("value", "fitted") else None

    @property
    def meaning(self) -> str:
        thing = "" if self.thing is None else f"{self.thing}"
        of = f"|{self.name}" if self.name else ""
        return f"work|{self.act}|{thing}|{self.text}|{'' if self.value is None else self.value}{of}"


Intent = ReadingIntent | GoToIntent | CommandIntent | NoteIntent | AnswerIntent | WorkIntent


@dataclass(frozen=True)
class Parse:
    """What a text can mean: one intent, several (to be asked), or none with the reason why.

    Attributes:
        text: the words.
        intents: every meaning, likeliest first.
        why: the reason where there is none ("unfinished number", "ohms do not measure voltage").
        leaves_point: with no intents, whether another point than the current one was named: what is said next is then
            no longer certain to be measured at the current one.
        tried: with no intents, whether it began as a sentence of the bench: then the reason is said aloud.
        leaves_part: with no intents, whether it began as work on a part: what is said next is then no longer certain
            to be about the part in hand.
    """

    text: str
    intents: tuple[Intent, ...]
    why: str = ""
    tried: bool = False
    leaves_point: bool = False
    leaves_part: bool = False

    @property
    def meaning(self) -> str | None:
        """One string that is equal for texts that mean the same; None where the text means nothing."""
        return " / ".join(intent.meaning for intent in self.intents) or None


@dataclass(frozen=True)
class Hearing:
    """One utterance, understood: all that the session needs to decide upon it.

    Attributes:
        at: when it was taken in, UTC.
        source: the recording's or device's name.
        transcript: what was heard.
        parses: what each of the transcript's alternatives means, in the same order.
        start_s, end_s: seconds from the start of the source; None for a transcript without times.
        clip: name of the kept sound, relative to the job folder; None where there is none.
        remarks: what the ears noticed ("clipped", "too loud here"), for the journal.
        twins: what each of the transcript's twins means.
    """

    at: datetime
    source: str
    transcript: Transcript
    parses: tuple[Parse, ...]
    start_s: float | None = None
    end_s: float | None = None
    clip: str | None = None
    remarks: tuple[str, ...] = ()
    twins: tuple[Parse, ...] = ()


# --- decide -------------------------------------------------------------------------------------------------------
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
        at_hand: whether `point` is the one that "on …" named: a question need not name it again.
        suspicion: what is suspected, for "suspects" and "measure next".
        step: the checklist's step that is to be said next, after all else.
        steps: for "left", the part in which each step still to come lies.
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
    at_hand: bool = False
    suspicion: Suspicion | None = None
    step: StepTold | None = None
    steps: tuple[str, ...] = ()
    rests_on: str = ""
    work: WorkDone | None = None
    again: tuple[str, ...] = ()
    cautions: tuple[CautionTold, ...] = ()
    timers: tuple[TimerTold, ...] = ()
    makes: ComputedTold | None = None
    computed: tuple[ComputedTold, ...] = ()
    likeness: tuple[LikenessTold, ...] = ()


# --- answer -------------------------------------------------------------------------------------------------------
class Tone(StrEnum):
    """The short sounds, one per statement and state, told apart without words."""

    PASS = "pass"
    CONDITIONAL = "conditional"  # conditional pass
    CONDITIONAL_FAIL = "conditional fail"
    FAIL = "fail"
    RECORDED = "recorded"
    ASK = "ask"
    DONE = "done"
    REFUSED = "refused"
    CAUTION = "caution"


@dataclass(frozen=True)
class Reply:
    """What is answered: a tone first, then words. Empty text is a tone alone."""

    text: str
    tone: Tone | None = None

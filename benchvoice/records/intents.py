"""What was said can mean: readings, commands, answers, notes, work on the unit; and one utterance with all of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from benchvoice.records.heard import Transcript
from benchvoice.records.spoken import SpokenValue

__all__ = [
    "INTAKE_ACTS",
    "SPELLED_ACTS",
    "AnswerIntent",
    "CommandIntent",
    "CommandName",
    "GoToIntent",
    "Hearing",
    "Intent",
    "NoteIntent",
    "Parse",
    "ReadingIntent",
    "Thing",
    "ThingKind",
    "WorkAct",
    "WorkIntent",
]


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

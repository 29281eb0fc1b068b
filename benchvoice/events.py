"""What happened, as it is kept: one event per journal line. The job record is a fold of these and of nothing else.

Field names are a published format: `hear --json` prints the same objects. Measured numbers are strings so that digits
survive every JSON reader. `seq` counts from 1 within a job; `heard`, `reading` and `asked` fields are such numbers.
`prev` is added by the journal (SHA-256 of the line before, as hexadecimal; 64 zeros on the first line).
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

__all__ = [
    "EVENTS",
    "Asked",
    "Closed",
    "Command",
    "Device",
    "DeviceChange",
    "Event",
    "Heard",
    "HeardAlternative",
    "Lapsed",
    "MeterInUse",
    "Note",
    "Opened",
    "OpenedPoint",
    "Reading",
    "ReadingCandidate",
    "Said",
    "Withdrawn",
]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class _Event(_Frozen):
    seq: int = Field(ge=1)
    at: datetime


class OpenedPoint(_Frozen):
    """A point of the board as it was when the job was opened."""

    name: str
    quantity: str
    unit: str
    nominal: str | None = None
    low: str | None = None
    high: str | None = None
    source: str | None = None


class MeterInUse(_Frozen):
    """The meter that the readings were made with."""

    name: str
    sha256: str


class Opened(_Event):
    """A job was opened or, where `resumed`, taken up again by a new process."""

    kind: Literal["opened"] = "opened"
    job: str
    board: str
    revision: str | None = None
    board_sha256: str
    points: tuple[OpenedPoint, ...]
    meter: MeterInUse | None = None
    stage: Literal["before", "after"] = "before"
    complaint: str | None = None
    serial: str | None = None
    technician: str | None = None
    engine: str
    version: str
    resumed: bool = False


class HeardAlternative(_Frozen):
    text: str
    score: float


class Heard(_Event):
    """An utterance and its one outcome. `why` says what led to it.

    `leaves_point`: it came to nothing but named another point, so a value alone belongs to none until a point is said.
    """

    kind: Literal["heard"] = "heard"
    source: str
    text: str
    alternatives: tuple[HeardAlternative, ...] = ()
    start_s: float | None = None
    end_s: float | None = None
    engine: str
    clip: str | None = None
    outcome: Literal["accepted", "asked", "ignored"]
    why: str = ""
    remarks: tuple[str, ...] = ()
    leaves_point: bool = False


class Reading(_Event):
    """An accepted value with its verdict, in the unit that was spoken (or the point's own)."""

    kind: Literal["reading"] = "reading"
    heard: int
    point: str
    quantity: str
    value: str
    unit: str
    waveform: Literal["AC", "DC"] | None = None
    low: str | None = None
    high: str | None = None
    nominal: str | None = None
    uncertainty: str | None = None
    probability: str | None = None
    deviation: str | None = None
    deviation_percent: str | None = None
    statement: Literal["pass", "conditional pass", "conditional fail", "fail", "recorded"]
    direction: Literal["high", "low"] | None = None
    stage: Literal["before", "after"]
    basis: str = ""
    corrects: int | None = None


class ReadingCandidate(_Frozen):
    """What a question offers: a reading (point, value, unit), or the name of a command to confirm."""

    point: str | None = None
    value: str | None = None
    unit: str | None = None
    unit_said: bool = False
    waveform: Literal["AC", "DC"] | None = None
    command: str | None = None


class Asked(_Event):
    """A question was put instead of accepting. It stays open until answered, dropped or lapsed."""

    kind: Literal["asked"] = "asked"
    heard: int
    question: str
    why: str
    candidates: tuple[ReadingCandidate, ...] = ()
    tries: int = 0


class Lapsed(_Event):
    """A question ended without an answer: another reading came, it was declined, or the session ended."""

    kind: Literal["lapsed"] = "lapsed"
    asked: int
    why: str


class Command(_Event):
    """A command that was carried out; arguments as they apply."""

    kind: Literal["command"] = "command"
    heard: int
    name: str
    point: str | None = None
    value: str | None = None
    unit: str | None = None


class Note(_Event):
    """An observation. `verified` is false for free speech: the clip is the evidence, the text only an aid."""

    kind: Literal["note"] = "note"
    heard: int
    text: str
    clip: str | None = None
    verified: bool = True


class Withdrawn(_Event):
    """A reading was struck; it stays in the journal and no longer counts. `reading` is its `seq`.

    `why` is given where nobody asked for it: the speech that led to the reading went on.
    """

    kind: Literal["withdrawn"] = "withdrawn"
    heard: int
    reading: int
    why: str = ""


class Said(_Event):
    """What was answered aloud, after it was journalled."""

    kind: Literal["said"] = "said"
    text: str
    tone: str | None = None


DeviceChange = Literal["lost", "back", "dropped", "clock"]


class Device(_Event):
    """A sound device was lost or came back, lost sound while it worked, or the machine's clock jumped.

    `device` is its name. `lost_s` is how much sound, or time, was lost, in seconds, where that is known.
    """

    kind: Literal["device"] = "device"
    device: str
    state: DeviceChange
    why: str = ""
    lost_s: float | None = None


class Closed(_Event):
    """The session ended: by voice, at the end of the recording, or by a signal."""

    kind: Literal["closed"] = "closed"
    why: str


Event = Annotated[
    Opened | Heard | Reading | Asked | Lapsed | Command | Note | Withdrawn | Said | Device | Closed,
    Field(discriminator="kind"),
]

EVENTS: TypeAdapter[Event] = TypeAdapter(Event)
"""Reads and writes any event, by its `kind`."""

"""What happened, as it is kept: one event per journal line. The job record is a fold of these and of nothing else.

Field names are a published format: `hear --json` prints the same objects. Measured numbers are strings so that digits
survive every JSON reader. `seq` counts from 1 within a job; `heard`, `reading` and `asked` fields are such numbers.
`prev` is added by the journal (SHA-256 of the line before, as hexadecimal; 64 zeros on the first line).
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from annotated_types import Interval
from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

__all__ = [
    "EVENTS",
    "Acknowledged",
    "Asked",
    "Careful",
    "Caution",
    "ChecklistStep",
    "Closed",
    "Command",
    "Device",
    "DeviceChange",
    "Event",
    "GoodComparison",
    "HazardName",
    "Heard",
    "HeardAlternative",
    "Intake",
    "KnownGood",
    "KnownGoodReading",
    "Lapsed",
    "LeftOut",
    "ListedCheck",
    "MeterInUse",
    "Note",
    "Opened",
    "OpenedAlike",
    "OpenedPart",
    "OpenedPoint",
    "OpenedSupply",
    "Reading",
    "ReadingCandidate",
    "Refitted",
    "Removed",
    "Replaced",
    "Reworked",
    "Said",
    "Substituted",
    "ThingSaid",
    "TimerOver",
    "TimerStarted",
    "TimerStopped",
    "Undone",
    "UnitClosed",
    "Withdrawn",
    "WorkSaid",
]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class _Event(_Frozen):
    seq: int = Field(ge=1)
    at: datetime


class OpenedPoint(_Frozen):
    """A point of the board as it was when the job was opened.

    `expected` is the right value where values are words; `computed` says how its value follows from others.
    """

    name: str
    quantity: str
    unit: str
    nominal: str | None = None
    low: str | None = None
    high: str | None = None
    source: str | None = None
    expected: str = ""
    computed: str = ""


class OpenedSupply(_Frozen):
    """What the board file said of a point's supply: what feeds it through which parts, and what it feeds or shows."""

    point: str
    fed_by: str | None = None
    through: tuple[str, ...] = ()
    loads: tuple[str, ...] = ()
    load_of: str | None = None


class OpenedPart(_Frozen):
    """A part of the board; `fails` says whether it fails more or less often than others."""

    ref: str
    what: str
    fails: Literal["often", "seldom"] | None = None


class OpenedAlike(_Frozen):
    """Points that should read alike, and how far they may lie apart, in per cent."""

    points: tuple[str, ...]
    within: str


class KnownGoodReading(_Frozen):
    """What was read at a point of a known-good board; `waveform` as it was said."""

    point: str
    value: str
    unit: str
    uncertainty: str | None = None
    waveform: Literal["AC", "DC"] | None = None


class KnownGood(_Frozen):
    """The job of a known-good board of that name, with its readings at the time."""

    job: str
    board: str
    readings: tuple[KnownGoodReading, ...]


class MeterInUse(_Frozen):
    """The meter that the readings were made with."""

    name: str
    sha256: str


class Opened(_Event):
    """A job was opened or, where `resumed`, taken up again by a new process.

    `visit` counts how often the unit came in: what was read and done in an earlier visit no longer counts.
    `utc_offset_min` is by how many minutes the clock on the wall was ahead of UTC then; None where not known.
    """

    kind: Literal["opened"] = "opened"
    job: str
    board: str
    revision: str | None = None
    board_sha256: str
    points: tuple[OpenedPoint, ...]
    supplies: tuple[OpenedSupply, ...] = ()
    parts: tuple[OpenedPart, ...] = ()
    alike: tuple[OpenedAlike, ...] = ()
    known_good: KnownGood | None = None
    meter: MeterInUse | None = None
    stage: Literal["before", "after"] = "before"
    complaint: str | None = None
    serial: str | None = None
    technician: str | None = None
    engine: str
    version: str
    resumed: bool = False
    visit: int = Field(default=1, ge=1)
    utc_offset_min: Annotated[int, Interval(gt=-24 * 60, lt=24 * 60)] | None = None


class HeardAlternative(_Frozen):
    text: str
    score: float


class Heard(_Event):
    """An utterance and its one outcome. `why` says what led to it.

    `leaves_point`: it came to nothing but named another point, so a value alone belongs to none until a point is said.
    `leaves_part`: it named a part but nothing was done to one yet, so what is said of rework belongs to none till then.
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
    leaves_part: bool = False


class GoodComparison(_Frozen):
    """How a reading without a verdict compares with a known-good board's value. No verdict either.

    `percent` is its difference in per cent of that value, None where there is none; `unlike` whether that is more than
    `within` per cent, and more than the readings leave in doubt.
    """

    value: str
    unit: str
    percent: str | None = None
    within: str
    unlike: bool


class Reading(_Event):
    """An accepted value with its verdict, in the unit that was spoken (or the point's own).

    `expected`: the right value where values are words ("open circuit").
    `responds`: how the meter responds to AC, where its file says so; `shape`: the wave, where it is no sine.
    `known_good`: how it compares with a known-good board, where it has no verdict.
    `follows_from`: of a value that was computed, not measured, the `seq` of the readings that it follows from.
    """

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
    expected: str = ""
    responds: Literal["true rms", "average"] | None = None
    shape: Literal["square", "triangle", "pulse", "distorted"] | None = None
    known_good: GoodComparison | None = None
    follows_from: tuple[int, ...] = ()


class ThingSaid(_Frozen):
    """What is taken out of a unit and goes back: see `records.Thing`, whose fields these are."""

    kind: Literal["fastener", "cable", "cover", "part", "substitute"]
    name: str
    count: int = Field(default=1, ge=1)
    size: str = ""
    length: str = ""
    place: str = ""
    what: str = ""


class WorkSaid(_Frozen):
    """Work on the unit that a question offers: see `records.WorkIntent`, whose fields these are."""

    act: str
    thing: ThingSaid | None = None
    text: str = ""
    value: str | None = None
    unit: str | None = None
    name: str = ""
    means: str = ""


class ReadingCandidate(_Frozen):
    """What a question offers: a reading (point, value, unit), the name of a command to confirm, or work on the unit.

    `detail` is what the command says besides: the part to jump to, the reason to skip.
    """

    point: str | None = None
    value: str | None = None
    unit: str | None = None
    unit_said: bool = False
    waveform: Literal["AC", "DC"] | None = None
    command: str | None = None
    detail: str = ""
    work: WorkSaid | None = None


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


class ListedCheck(_Frozen):
    """A step of a checklist whose outcome is proof: what it proves, and the answer that was expected, "" for none."""

    number: int
    step: str
    part: str
    proof: Literal["function test", "safety check"]
    expected: str = ""


class ChecklistStep(_Event):
    """A checklist was begun, or one of its steps was gone through.

    `number` counts the steps of the list from 0, with every sub-list in place; `step` is the step in words, `part` the
    named part in which it lies. `outcome` is the answer, the statement, or the name jumped to; `reading` the reading
    that gave it. `to` is the step that came to hand, empty at the end, and `passed` what was passed on the way to it,
    with the reason; `over` are the numbers of these. An act that is "back" undoes the latest one that counts. With
    "started", `outcome` is the list's name, `sha256` its file's, and `checks` its steps whose outcomes are proof.
    """

    kind: Literal["step"] = "step"
    heard: int | None = None
    action: Literal["started", "done", "answered", "measured", "power", "skipped", "jumped", "back", "passed"]
    number: int = 0
    step: str = ""
    part: str = ""
    outcome: str = ""
    reason: str = ""
    reading: int | None = None
    to: str = ""
    passed: tuple[str, ...] = ()
    over: tuple[int, ...] = ()
    sha256: str = ""
    checks: tuple[ListedCheck, ...] = ()


class Removed(_Event):
    """Something was taken out of the unit, or a part off the board."""

    kind: Literal["removed"] = "removed"
    heard: int
    thing: ThingSaid


class Refitted(_Event):
    """Some or all of what a `removed` event took out went back. `removed` is its `seq`, `count` how many.

    `again`: points to measure again, where it is a part that feeds them.
    """

    kind: Literal["refitted"] = "refitted"
    heard: int
    removed: int
    count: int = Field(default=1, ge=1)
    again: tuple[str, ...] = ()


class Replaced(_Event):
    """Another part was fitted. `removed` is the `seq` of the event that took the old one off, where that was said.

    `again`: points that it feeds, to measure again after the repair. `value` keeps the spoken digits.
    """

    kind: Literal["replaced"] = "replaced"
    heard: int
    ref: str
    what: str = ""
    removed: int | None = None
    value: str | None = None
    unit: str | None = None
    again: tuple[str, ...] = ()


class Reworked(_Event):
    """What else was done to, or found at, a part's place: `text` says it; `value` and `unit` where it is a value."""

    kind: Literal["reworked"] = "reworked"
    heard: int
    ref: str = ""
    act: Literal["value", "part number", "method", "damage", "mended", "cleaned", "inspected"]
    text: str = ""
    value: str | None = None
    unit: str | None = None


class Careful(_Event):
    """Something to take care of on the way back, at the thing of that `name`, else at what was taken out last."""

    kind: Literal["careful"] = "careful"
    heard: int
    text: str
    name: str = ""


class Substituted(_Event):
    """Another one was tried in place of `what`, with what came of it: "works" (the fault is gone), "no change" or
    "different" (another fault).

    `ref` where it is a part of the board. It speaks for or against that thing as the cause, and proves nothing.
    """

    kind: Literal["substituted"] = "substituted"
    heard: int
    what: str
    ref: str = ""
    outcome: Literal["works", "no change", "different"]
    stage: Literal["before", "after"]


class LeftOut(_Event):
    """All that was still out stays out; `removed` are the `seq` of the events that took it out, `why` is the reason."""

    kind: Literal["left out"] = "left out"
    heard: int
    removed: tuple[int, ...]
    why: str


class UnitClosed(_Event):
    """The unit was called closed: nothing was left that had no reason."""

    kind: Literal["unit closed"] = "unit closed"
    heard: int


class Undone(_Event):
    """Work on the unit or a note was struck; it stays in the journal and no longer counts.

    `undoes` are the events' `seq`.
    """

    kind: Literal["undone"] = "undone"
    heard: int
    undoes: tuple[int, ...]


class Intake(_Event):
    """What was told of the unit as it came in, or what a lamp or a beeper of it did.

    `text` is the complaint, the accessory ("nothing" for none), the state on arrival, the serial number, or the pattern
    that was seen; `name` is the lamp or beeper, and `means` what the board file says the pattern means, "" where it
    does not list it; `unlisted` where it has a table of that lamp without the pattern. Where not `verified`, the clip
    is the evidence and the text only an aid.
    """

    kind: Literal["intake"] = "intake"
    heard: int
    what: Literal["complaint", "accessory", "arrived", "serial", "indicator"]
    text: str
    name: str = ""
    means: str = ""
    unlisted: bool = False
    clip: str | None = None
    verified: bool = True


HazardName = Literal[
    "mains",
    "high voltage",
    "capacitor",
    "hot work",
    "static",
    "moving parts",
    "laser",
    "battery",
    "powered measurement",
    "live without supply",
]


class Caution(_Event):
    """A caution was given. `about` is the point, the part or what the board file says; `why` led to it just now.

    Of a capacitor: what it holds at its working voltage, in joules, and how many seconds its bleeder takes to bring
    `volts` down to `safe_volts`; all in plain decimals, None where not known. Of a voltage: `volts` as it was read.
    """

    kind: Literal["caution"] = "caution"
    heard: int | None = None
    hazard: HazardName
    about: str = ""
    why: str = ""
    volts: str | None = None
    joules: str | None = None
    safe_volts: str | None = None
    seconds: str | None = None


class Acknowledged(_Event):
    """Cautions were acknowledged by voice; `cautions` are their `seq`."""

    kind: Literal["acknowledged"] = "acknowledged"
    heard: int
    cautions: tuple[int, ...]


class TimerStarted(_Event):
    """A timer was set for so many seconds; by the clock it is over at `due`, in UTC."""

    kind: Literal["timer started"] = "timer started"
    heard: int
    name: str
    seconds: int = Field(ge=1)
    due: datetime


class TimerStopped(_Event):
    """A timer was stopped before it was over. `timer` is the `seq` of the event that started it."""

    kind: Literal["timer stopped"] = "timer stopped"
    heard: int
    timer: int
    why: str = ""


class TimerOver(_Event):
    """A timer ran out, and that is told now, `late_s` seconds after: nobody listened meanwhile, or somebody spoke."""

    kind: Literal["timer over"] = "timer over"
    timer: int
    name: str
    late_s: int = 0


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
    Opened
    | Heard
    | Reading
    | Asked
    | Lapsed
    | Command
    | Note
    | Withdrawn
    | ChecklistStep
    | Said
    | Device
    | Closed
    | Removed
    | Refitted
    | Replaced
    | Reworked
    | Careful
    | Substituted
    | LeftOut
    | UnitClosed
    | Undone
    | Intake
    | Caution
    | Acknowledged
    | TimerStarted
    | TimerStopped
    | TimerOver,
    Field(discriminator="kind"),
]

EVENTS: TypeAdapter[Event] = TypeAdapter(Event)
"""Reads and writes any event, by its `kind`."""

"""The job record: what was measured, found and done in one job, as it is printed and handed on.

Numbers that were measured are strings with their spoken digits. Times are UTC. `seq` and every field that refers to
an event hold that event's number in the journal.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from benchvoice.events import GoodComparison, HazardName, MeterInUse, OpenedPoint
from benchvoice.keep.integrity import Integrity
from benchvoice.keep.record_handover import (
    ACTIVITIES,
    Activity,
    CheckRecord,
    CheckStatus,
    PartUsed,
    Stage,
    TimeSpent,
    TimesRecord,
)

__all__ = [
    "ACTIVITIES",
    "ROW_FIELDS",
    "STATEMENTS",
    "Activity",
    "CheckRecord",
    "CheckStatus",
    "ChecklistRecord",
    "Counts",
    "IntakeRecord",
    "JobRecord",
    "JobSummary",
    "NotRead",
    "PartUsed",
    "PointRecord",
    "QuestionRecord",
    "ReadingRecord",
    "RecordedNote",
    "ReworkRecord",
    "Row",
    "Session",
    "Stage",
    "StatementName",
    "StepRecord",
    "SuspectRecord",
    "SuspectSetRecord",
    "SuspectsRecord",
    "TakenOut",
    "TimeSpent",
    "TimelineRow",
    "TimesRecord",
    "UnlikeRecord",
    "VisitRecord",
]

StatementName = Literal["pass", "conditional pass", "conditional fail", "fail", "recorded"]
STATEMENTS: tuple[StatementName, ...] = ("pass", "conditional pass", "conditional fail", "fail", "recorded")


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Session(_Frozen):
    """One stretch of work on the job, from its opening to its closing (None where it was cut off).

    `utc_offset_min` is by how many minutes the clock on the wall was ahead of UTC then; None where not known.
    """

    opened_at: datetime
    closed_at: datetime | None = None
    closed_why: str | None = None
    resumed: bool = False
    stage: Stage
    board_sha256: str
    meter: MeterInUse | None = None
    engine: str
    version: str
    visit: int = 1
    utc_offset_min: int | None = None


class ReadingRecord(_Frozen):
    """A reading that was accepted, whatever became of it.

    `status`: "current" counts; "superseded" was followed by a newer reading of its point and stage; "withdrawn" was
    struck; "corrected" was replaced by a correction; "earlier visit" counted until the unit came back. `ended_by` is
    the reading, withdrawal or opening that did so.
    """

    seq: int
    at: datetime
    heard: int
    heard_text: str
    source: str | None = None
    start_s: float | None = None
    clip: str | None = None
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
    statement: StatementName
    direction: Literal["high", "low"] | None = None
    stage: Stage
    basis: str = ""
    corrects: int | None = None
    expected: str = ""
    responds: Literal["true rms", "average"] | None = None
    shape: Literal["square", "triangle", "pulse", "distorted"] | None = None
    known_good: GoodComparison | None = None
    follows_from: tuple[int, ...] = ()
    status: Literal["current", "superseded", "withdrawn", "corrected", "earlier visit"] = "current"
    ended_by: int | None = None
    visit: int = 1


class PointRecord(OpenedPoint):
    """A point with its current reading of each stage. `change` is after minus before, in the unit of `after`.

    `lacks` says what is missing before it is proven ("not measured after the repair"); `supply` whether it is one of
    the board's supplies, as the board file has them.
    """

    before: ReadingRecord | None = None
    after: ReadingRecord | None = None
    change: str | None = None
    lacks: tuple[str, ...] = ()
    supply: bool = False


class UnlikeRecord(_Frozen):
    """A reading that is unlike what it should be like: the known-good board, or another point of this one (`to`).

    `percent` is the difference in per cent of that value, None where there is none; more than `within` is unlike.
    """

    stage: Stage
    point: str
    value: str
    unit: str
    to: str
    to_value: str
    to_unit: str
    percent: str | None = None
    within: str


class NotRead(_Frozen):
    """The points of the board without a current reading in a stage in which others were read."""

    stage: Stage
    points: tuple[str, ...]


class RecordedNote(_Frozen):
    """An observation; `status`: "counts", or "struck" by `struck_by`.

    Where not `verified`, the clip is the evidence and the text only an aid.
    """

    seq: int
    at: datetime
    stage: Stage
    text: str
    verified: bool
    clip: str | None = None
    visit: int = 1
    status: Literal["counts", "struck"] = "counts"
    struck_by: int | None = None


class QuestionRecord(_Frozen):
    """A question and how it ended: answered, asked again, without an answer (`why_ended`), or still open."""

    seq: int
    at: datetime
    question: str
    why: str
    heard_text: str
    clip: str | None = None
    offered: tuple[str, ...] = ()
    tries: int = 0
    ended: Literal["answered", "asked again", "lapsed", "open"] = "open"
    why_ended: str | None = None
    answer: str | None = None


class StepRecord(_Frozen):
    """A step of the checklist that was gone through, and what came of it.

    `reason` is given where it was skipped, `reading` where a reading answered it, and `passed` names the steps that
    were passed on the way to the next one, with the reason. `status`: "counts", or "undone" by a step back.
    """

    seq: int
    at: datetime
    stage: Stage
    step: str
    part: str = ""
    outcome: str
    reason: str = ""
    reading: int | None = None
    passed: tuple[str, ...] = ()
    status: Literal["counts", "undone"] = "counts"
    undone_by: int | None = None
    visit: int = 1


class ChecklistRecord(_Frozen):
    """The checklist that was gone through last; `at_hand` is the step where it stands, empty where it is done."""

    name: str
    sha256: str
    at_hand: str = ""


class TakenOut(_Frozen):
    """Something that was taken out of the unit, or off its board, and what became of it.

    `order` counts from 1 in the order in which it came out. `count` is how many, `back` how many went back. `status`:
    "back", "replaced" by another part, "left out" with the reason `why`, or "still out".
    """

    seq: int
    at: datetime
    order: int
    kind: Literal["fastener", "cable", "cover", "part"]
    name: str
    count: int
    back: int
    size: str = ""
    length: str = ""
    place: str = ""
    what: str = ""
    careful: tuple[str, ...] = ()
    status: Literal["back", "replaced", "left out", "still out"]
    why: str = ""


class ReworkRecord(_Frozen):
    """One thing that was done to, or found at, a part's place. `code` is the part-value code of a value (IEC 60062)."""

    seq: int
    at: datetime
    ref: str
    what: str = ""
    act: Literal["removed", "refitted", "fitted", "value", "part number", "method", "damage", "mended", "cleaned",
                 "inspected"]  # fmt: skip
    text: str = ""
    value: str | None = None
    unit: str | None = None
    code: str = ""


class IntakeRecord(_Frozen):
    """One thing that was told of the unit as it came in, or a pattern that a lamp or beeper of it showed.

    Fields are as in `events.Intake`; `means` is "" where the board file does not list the pattern, and `unlisted` says
    that it lists others.
    """

    seq: int
    at: datetime
    what: Literal["complaint", "accessory", "arrived", "serial", "indicator"]
    text: str
    name: str = ""
    means: str = ""
    unlisted: bool = False
    clip: str | None = None
    verified: bool = True


class CautionRecord(_Frozen):
    """A caution that was given. `details` are its numbers in words; `acknowledged_at` is None where it was not."""

    seq: int
    at: datetime
    hazard: HazardName
    about: str = ""
    why: str = ""
    details: str = ""
    acknowledged_at: datetime | None = None


class TimerRecord(_Frozen):
    """A timer: for how many seconds it was set, when it is due by the clock, and how it ended ("running": not yet)."""

    seq: int
    at: datetime
    name: str
    seconds: int
    due: datetime
    ended: Literal["over", "stopped", "running"] = "running"
    ended_at: datetime | None = None


class SubstitutionRecord(_Frozen):
    """Another one was tried in place of `what`, a part of the board where `ref` is given, and what came of it.

    It `speaks` for or against that thing as the cause and proves nothing; "outdated" where it was tried again since
    in that stage, or, after the repair, replaced.
    """

    seq: int
    at: datetime
    stage: Stage
    what: str
    ref: str = ""
    outcome: Literal["works", "no change", "different"]
    speaks: Literal["for it", "perhaps for it", "against it", "outdated"]


class TimelineRow(_Frozen):
    """One thing that happened, in words, with what was heard to bring it about."""

    seq: int
    at: datetime
    kind: (
        Literal["opened", "reading", "question", "lapsed", "command", "note", "withdrawn", "step", "device", "closed"]
        | Literal["removed", "refitted", "replaced", "reworked", "careful", "left out", "unit closed", "undone"]
        | Literal["substituted", "caution", "acknowledged", "timer started", "timer stopped", "timer over", "intake"]
    )
    what: str
    heard_text: str | None = None
    clip: str | None = None


class SuspectRecord(_Frozen):
    """A suspect: its reference or description, what the part is, and its share of all that explains the readings."""

    name: str
    what: str = ""
    share: str


class SuspectSetRecord(_Frozen):
    """What, failed together, explains every reading, none of it in vain; with its share."""

    suspects: tuple[str, ...]
    share: str


class SuspectsRecord(_Frozen):
    """What one stage's readings make suspect: a suggestion, not a finding.

    Shares are between 0 and 1. Of the suspects and sets the likeliest are here, `n_suspects` and `n_sets` are how many
    there are; `complete` is false where not all sets were weighed. `certain` is false where no point of the supplies
    fails for certain. `next_point` is where a measurement tells most, in the mean `next_bits`.
    """

    stage: Stage
    certain: bool
    suspects: tuple[SuspectRecord, ...]
    n_suspects: int
    sets: tuple[SuspectSetRecord, ...]
    n_sets: int
    complete: bool = True
    reasons: tuple[str, ...] = ()
    next_point: str | None = None
    next_bits: str | None = None


class Counts(_Frozen):
    """Current readings by statement, and utterances by outcome."""

    readings: int = 0
    statements: dict[StatementName, int] = Field(default_factory=dict)
    accepted: int = 0
    asked: int = 0
    ignored: int = 0


class VisitRecord(_Frozen):
    """An earlier visit of the unit, closed before it came back: what counted at its end.

    `points` are those that were read, `out` is what did not go back into the unit.
    """

    visit: int
    opened_at: datetime
    closed_at: datetime | None = None
    closed_why: str | None = None
    complaint: str | None = None
    intake: tuple[IntakeRecord, ...] = ()
    points: tuple[PointRecord, ...] = ()
    out: tuple[TakenOut, ...] = ()
    rework: tuple[ReworkRecord, ...] = ()
    substitutions: tuple[SubstitutionRecord, ...] = ()
    parts_used: tuple[PartUsed, ...] = ()
    checks: tuple[CheckRecord, ...] = ()
    measure_again: tuple[str, ...] = ()
    times: TimesRecord = TimesRecord()
    cautions: tuple[CautionRecord, ...] = ()
    timers: tuple[TimerRecord, ...] = ()


class JobSummary(_Frozen):
    """What is known of a job as a whole; it does not grow with the length of the job.

    Where the unit came back, all but `sessions`, `earlier`, the utterances among `counts` and what identifies the job
    is of the latest visit, `visit`.

    Attributes:
        earlier: the visits before, the first one first.
        record_version: version of this format.
        opened_at, closed_at: the first opening, and the last closing where the last session was closed.
        points: in the board's order, with the current readings; points no longer on the board come last.
        suspects: what the readings of each stage make suspect, for boards that say what feeds what.
        substitutions: what was tried with another in its place, in that order, what was struck aside.
        remarks: what a reader should know of the journal ("the board file was changed between sessions").
        intake: what was told of the unit as it came in, in that order, what was struck aside; `serial` and `complaint`
            hold what was said of these too.
        strip_down: what was taken out, in that order, what was struck aside; `unit_closed_at` is when the unit was
            called closed, where nothing came out since.
        rework: what was done to parts, in order.
        parts_used: the parts that were fitted.
        checks: function tests and safety checks of the checklist, in its order.
        times: how long the visit took.
        measure_again: points that a replaced part feeds and that were not read after that repair.
        known_good: the job of the known-good board that readings are compared with; empty for none.
        unlike: readings that are unlike that board, or unlike another channel.
        cautions: those that were given, with their acknowledgement.
        timers: those that were set, and how each ended.
        integrity: how whole the journal was; None where the events did not come from one.
    """

    record_version: Literal[1] = 1
    job: str = ""
    board: str = ""
    revision: str | None = None
    board_sha256: str = ""
    serial: str | None = None
    complaint: str | None = None
    technician: str | None = None
    meter: MeterInUse | None = None
    engine: str = ""
    version: str = ""
    opened_at: datetime | None = None
    closed_at: datetime | None = None
    sessions: tuple[Session, ...] = ()
    visit: int = 1
    earlier: tuple[VisitRecord, ...] = ()
    stages: tuple[Stage, ...] = ()
    counts: Counts = Counts()
    points: tuple[PointRecord, ...] = ()
    not_read: tuple[NotRead, ...] = ()
    known_good: str = ""
    unlike: tuple[UnlikeRecord, ...] = ()
    suspects: tuple[SuspectsRecord, ...] = ()
    substitutions: tuple[SubstitutionRecord, ...] = ()
    intake: tuple[IntakeRecord, ...] = ()
    strip_down: tuple[TakenOut, ...] = ()
    unit_closed_at: datetime | None = None
    rework: tuple[ReworkRecord, ...] = ()
    measure_again: tuple[str, ...] = ()
    cautions: tuple[CautionRecord, ...] = ()
    timers: tuple[TimerRecord, ...] = ()
    parts_used: tuple[PartUsed, ...] = ()
    checks: tuple[CheckRecord, ...] = ()
    times: TimesRecord = TimesRecord()
    remarks: tuple[str, ...] = ()
    checklist: ChecklistRecord | None = None
    integrity: Integrity | None = None


class JobRecord(JobSummary):
    """All that is known of a job: its summary, and a row for each thing that happened.

    Attributes:
        readings: every accepted reading in order, with what became of it.
    """

    readings: tuple[ReadingRecord, ...] = ()
    notes: tuple[RecordedNote, ...] = ()
    steps: tuple[StepRecord, ...] = ()
    questions: tuple[QuestionRecord, ...] = ()
    timeline: tuple[TimelineRow, ...] = ()


Row = ReadingRecord | RecordedNote | StepRecord | QuestionRecord | TimelineRow
"""What a record has as many of as happened; the lists of a `JobRecord` hold them in order."""

ROW_FIELDS: dict[type[Row], str] = {
    ReadingRecord: "readings",
    RecordedNote: "notes",
    StepRecord: "steps",
    QuestionRecord: "questions",
    TimelineRow: "timeline",
}
"""The list of a `JobRecord` to which a row belongs."""

"""The job record: what was measured, found and done in one job, as it is printed and handed on.

Numbers that were measured are strings with their spoken digits. Times are UTC. `seq` and every field that refers to
an event hold that event's number in the journal.
"""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from benchvoice.events import MeterInUse, OpenedPoint
from benchvoice.keep.integrity import Integrity

__all__ = [
    "ROW_FIELDS",
    "STATEMENTS",
    "Counts",
    "JobRecord",
    "JobSummary",
    "NotRead",
    "PointRecord",
    "QuestionRecord",
    "ReadingRecord",
    "RecordedNote",
    "Row",
    "Session",
    "Stage",
    "StatementName",
    "TimelineRow",
]

Stage = Literal["before", "after"]
StatementName = Literal["pass", "conditional pass", "conditional fail", "fail", "recorded"]
STATEMENTS: tuple[StatementName, ...] = ("pass", "conditional pass", "conditional fail", "fail", "recorded")


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Session(_Frozen):
    """One stretch of work on the job, from its opening to its closing (None where it was cut off)."""

    opened_at: datetime
    closed_at: datetime | None = None
    closed_why: str | None = None
    resumed: bool = False
    stage: Stage
    board_sha256: str
    meter: MeterInUse | None = None
    engine: str
    version: str


class ReadingRecord(_Frozen):
    """A reading that was accepted, whatever became of it.

    `status`: "current" counts; "superseded" was followed by a newer reading of its point and stage; "withdrawn" was
    struck; "corrected" was replaced by a correction. `ended_by` is the reading or withdrawal that did so.
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
    status: Literal["current", "superseded", "withdrawn", "corrected"] = "current"
    ended_by: int | None = None


class PointRecord(OpenedPoint):
    """A point with its current reading of each stage. `change` is after minus before, in the unit of `after`."""

    before: ReadingRecord | None = None
    after: ReadingRecord | None = None
    change: str | None = None


class NotRead(_Frozen):
    """The points of the board without a current reading in a stage in which others were read."""

    stage: Stage
    points: tuple[str, ...]


class RecordedNote(_Frozen):
    """An observation. Where not `verified`, the clip is the evidence and the text only an aid."""

    seq: int
    at: datetime
    stage: Stage
    text: str
    verified: bool
    clip: str | None = None


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


class TimelineRow(_Frozen):
    """One thing that happened, in words, with what was heard to bring it about."""

    seq: int
    at: datetime
    kind: Literal["opened", "reading", "question", "lapsed", "command", "note", "withdrawn", "device", "closed"]
    what: str
    heard_text: str | None = None
    clip: str | None = None


class Counts(_Frozen):
    """Current readings by statement, and utterances by outcome."""

    readings: int = 0
    statements: dict[StatementName, int] = Field(default_factory=dict)
    accepted: int = 0
    asked: int = 0
    ignored: int = 0


class JobSummary(_Frozen):
    """What is known of a job as a whole; it does not grow with the length of the job.

    Attributes:
        record_version: version of this format.
        opened_at, closed_at: the first opening, and the last closing where the last session was closed.
        points: in the board's order, with the current readings; points no longer on the board come last.
        remarks: what a reader should know of the journal ("the board file was changed between sessions").
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
    stages: tuple[Stage, ...] = ()
    counts: Counts = Counts()
    points: tuple[PointRecord, ...] = ()
    not_read: tuple[NotRead, ...] = ()
    remarks: tuple[str, ...] = ()
    integrity: Integrity | None = None


class JobRecord(JobSummary):
    """All that is known of a job: its summary, and a row for each thing that happened.

    Attributes:
        readings: every accepted reading in order, with what became of it.
    """

    readings: tuple[ReadingRecord, ...] = ()
    notes: tuple[RecordedNote, ...] = ()
    questions: tuple[QuestionRecord, ...] = ()
    timeline: tuple[TimelineRow, ...] = ()


Row = ReadingRecord | RecordedNote | QuestionRecord | TimelineRow
"""What a record has as many of as happened; the lists of a `JobRecord` hold them in order."""

ROW_FIELDS: dict[type[Row], str] = {
    ReadingRecord: "readings",
    RecordedNote: "notes",
    QuestionRecord: "questions",
    TimelineRow: "timeline",
}
"""The list of a `JobRecord` to which a row belongs."""

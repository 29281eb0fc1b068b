"""The job record as a fold of the journal's events, and of nothing else: same events, same record.

The events are gone through twice. The first pass finds what the job is and what became of each reading, the second
makes the rows, each handed on as soon as it is known. So a long job takes no more memory than a short one, but for
some 25 bytes a reading.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any, TypeVar

from benchvoice.events import ChecklistStep, Closed, Command, Event, Intake, Opened, Reading, Undone, Withdrawn
from benchvoice.keep.integrity import Integrity
from benchvoice.keep.record_checks import CheckFold
from benchvoice.keep.record_handover import TimesRecord
from benchvoice.keep.record_intake import Papers
from benchvoice.keep.record_models import (
    ROW_FIELDS,
    STATEMENTS,
    Counts,
    JobRecord,
    JobSummary,
    NotRead,
    Row,
    Session,
    Stage,
    VisitRecord,
)
from benchvoice.keep.record_points import Standings
from benchvoice.keep.record_rows import RowFold
from benchvoice.keep.record_steps import StepStandings
from benchvoice.keep.record_suspects import suspects_of
from benchvoice.keep.record_times import TimeFold
from benchvoice.keep.record_visits import PastVisit, visit_record, what_counts

_Summary = TypeVar("_Summary", bound=JobSummary)

__all__ = ["JobFold", "JobRecord", "Rows", "fold", "record_schema", "with_integrity"]


def fold(events: Iterable[Event]) -> JobRecord:
    """The whole job record that the events make, taken in the order given. Any prefix of a journal has one."""
    folding, rows = JobFold(events), Rows()
    for row in folding.rows():
        rows.take(row)
    return rows.record(folding.summary())


def with_integrity(summary: _Summary, integrity: Integrity) -> _Summary:
    """The summary, or the record, with what reading its journal has shown."""
    return summary.model_copy(update={"integrity": integrity})


def record_schema() -> dict[str, Any]:
    """JSON Schema (Draft 2020-12) of the job record as JSON."""
    schema = JobRecord.model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "benchvoice job record"}


class JobFold:
    """The record of events that can be gone through twice: what the job is, then its rows, then its summary.

    Attributes:
        job: the summary as far as the first pass has found it, without what counts.

    Raises:
        TypeError: the events can be gone through only once.
    """

    def __init__(self, events: Iterable[Event]) -> None:
        if isinstance(events, Iterator):
            raise TypeError("events are gone through twice: give a sequence or a JournalReader, not an iterator")
        self._events = events
        self._n_events = 0
        self._standings = Standings()
        self._steps = StepStandings()
        self._past: list[PastVisit] = []
        times = TimeFold()
        head = _Head()
        undone: dict[int, int] = {}  # work and notes that were struck, with what struck them
        for event in events:
            self._n_events += 1
            ended = times.take(event)
            match event:
                case Reading():
                    self._standings.add(event)
                    if not event.follows_from:
                        self._steps.checks.read(event)
                case Withdrawn():
                    self._standings.withdraw(event)
                case ChecklistStep():
                    self._steps.add(event, head.stage)
                case Command(name="before" | "after"):
                    head.stage = "before" if event.name == "before" else "after"
                case Intake() | Undone():
                    head.papers.take(event)
                    undone |= dict.fromkeys(event.undoes, event.seq) if isinstance(event, Undone) else {}
                case Opened() | Closed():
                    if ended is not None:
                        self._past.append(head.visit_over(self._steps.checks, ended))
                        self._standings.begin_visit(event.seq, event.visit if isinstance(event, Opened) else 0)
                        self._steps.begin_visit()
                    head.take(event)
        self._standings.finish()
        self._opened, self._stage, self._times = head.opened, head.stage, times.record()
        self.job = head.summary()
        self._rows = RowFold(self._standings, self._steps.undone, undone)

    def rows(self) -> Iterator[Row]:
        """Every row, each kind in its order; a question once it has ended."""
        # a journal may have grown since the first pass
        for event in islice(self._events, self._n_events):
            yield from self._rows.take(event)
        yield from self._rows.finish()

    def summary(self) -> JobSummary:
        """The whole summary, once all rows have been taken."""
        made = self._rows
        board = self._opened.points if self._opened else ()
        counts = what_counts(self._opened, self._stage, self._steps.checks, made.current, made.work)
        points = counts["points"]
        sessions = self.job.sessions
        stages = made.current.stages or ({sessions[-1].stage} if sessions else set())
        in_order: tuple[Stage, ...] = tuple(stage for stage in _STAGES if stage in stages)
        of_board = {point.name for point in board if not point.computed}
        current = Counter(reading.statement for reading in made.current.readings())
        missing = (
            NotRead(
                stage=stage, points=tuple(p.name for p in points if p.name in of_board and getattr(p, stage) is None)
            )
            for stage in in_order
        )
        found = {
            "stages": in_order,
            "counts": Counts(
                readings=current.total(), statements={name: current[name] for name in STATEMENTS}, **made.outcomes
            ),
            "not_read": tuple(missing),
            "suspects": tuple(suspects_of(self._opened, points, in_order, made.work.events)),
            "checklist": self._steps.checklist,
            "cautions": made.cautions.rows,
            "timers": made.timers.rows,
            "times": self._times,
            "earlier": tuple(self._earlier()),
            "remarks": (*self.job.remarks, *made.remarks),
        }
        return self.job.model_copy(update=counts | found)

    def _earlier(self) -> Iterator[VisitRecord]:
        for past, rows in zip(self._past, self._rows.earlier, strict=True):
            if past.opened is not None:  # a journal that begins with a later visit has none before it
                sessions = [session for session in self.job.sessions if session.visit == past.opened.visit]
                yield visit_record(past, sessions, rows)


_STAGES: tuple[Stage, ...] = ("before", "after")


class Rows:
    """A record's rows by kind; of each kind the latest `most`, or all of them."""

    def __init__(self, most: int | None = None) -> None:
        self._rows: dict[str, deque[Row]] = {name: deque(maxlen=most) for name in ROW_FIELDS.values()}
        self._n_taken = dict.fromkeys(self._rows, 0)

    def take(self, row: Row) -> None:
        """The next row."""
        kind = ROW_FIELDS[type(row)]
        self._rows[kind].append(row)
        self._n_taken[kind] += 1

    def left_out(self) -> dict[str, int]:
        """How many earlier rows of each kind are no longer held."""
        return {kind: taken - len(self._rows[kind]) for kind, taken in self._n_taken.items()}

    def record(self, summary: JobSummary) -> JobRecord:
        """The record of a summary and these rows."""
        fields: dict[str, Any] = vars(summary) | {kind: tuple(rows) for kind, rows in self._rows.items()}
        return JobRecord.model_construct(**fields)


class _Head:
    """What the openings and closings say of the job."""

    def __init__(self) -> None:
        self.opened: Opened | None = None  # the last one
        self.stage: Stage = "before"
        self.papers = Papers()
        self._technician: str | None = None
        self._sessions: list[Session] = []
        self._remarks: dict[str, None] = {}  # each once

    def take(self, event: Opened | Closed) -> None:
        if isinstance(event, Opened):
            self._take_opened(event)
        elif self._sessions:
            self._sessions[-1] = self._sessions[-1].model_copy(update={"closed_at": event.at, "closed_why": event.why})

    def visit_over(self, checks: CheckFold, times: TimesRecord) -> PastVisit:
        """The visit up to here; a complaint is of one visit alone."""
        past = PastVisit(self.opened, self.stage, self.papers.complaint, checks, times)
        self.papers.next_visit()
        return past

    def _take_opened(self, event: Opened) -> None:
        before = self.opened
        if before is not None and before.board_sha256 != event.board_sha256:
            told = "The board file was changed between sessions; each reading keeps the limits it was judged by."
            self._remarks[told] = None
        if before is not None and before.meter != event.meter:
            self._remarks["The meter was changed between sessions; each reading keeps its own uncertainty."] = None
        self.opened, self.stage = event, event.stage
        self.papers.take(event)
        self._technician = self._technician if event.technician is None else event.technician
        self._sessions.append(
            Session(
                opened_at=event.at,
                resumed=event.resumed,
                stage=event.stage,
                board_sha256=event.board_sha256,
                meter=event.meter,
                engine=event.engine,
                version=event.version,
                visit=event.visit,
                utc_offset_min=event.utc_offset_min,
            )
        )

    def summary(self) -> JobSummary:
        """Who, what and when; not yet what counts."""
        if self.opened is None:
            return JobSummary()
        names = ("job", "board", "revision", "board_sha256", "meter", "engine", "version")
        identified = {name: getattr(self.opened, name) for name in names}
        return JobSummary(
            **identified,
            serial=self.papers.serial,
            complaint=self.papers.complaint,
            technician=self._technician,
            opened_at=self._sessions[0].opened_at,
            closed_at=self._sessions[-1].closed_at,
            sessions=tuple(self._sessions),
            visit=self.opened.visit,
            known_good="" if self.opened.known_good is None else self.opened.known_good.job,
            remarks=tuple(self._remarks),
        )

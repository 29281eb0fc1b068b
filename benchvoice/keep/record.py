"""The job record as a fold of the journal's events, and of nothing else: same events, same record.

One pass, linear in the number of events; beyond the record itself only the utterance at hand is remembered.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from benchvoice.events import (
    Asked,
    Closed,
    Command,
    Device,
    Event,
    Heard,
    Lapsed,
    Note,
    Opened,
    Reading,
    Said,
    Withdrawn,
)
from benchvoice.keep.integrity import Integrity
from benchvoice.keep.record_models import (
    STATEMENTS,
    Counts,
    JobRecord,
    NotRead,
    QuestionRecord,
    RecordedNote,
    Session,
    Stage,
    TimelineRow,
)
from benchvoice.keep.record_points import ReadingBook
from benchvoice.keep.wording import unit_text

__all__ = ["JobRecord", "fold", "record_schema", "with_integrity"]


def fold(events: Iterable[Event]) -> JobRecord:
    """The job record that the events make, taken in the order given. Any prefix of a journal has one."""
    building = _Fold()
    for event in events:
        building.take(event)
    return building.record()


def with_integrity(record: JobRecord, integrity: Integrity) -> JobRecord:
    """The record with what reading its journal has shown."""
    return record.model_copy(update={"integrity": integrity})


def record_schema() -> dict[str, Any]:
    """JSON Schema (Draft 2020-12) of the job record as JSON."""
    schema = JobRecord.model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "benchvoice job record"}


def _spoken(value: str, unit: str | None) -> str:
    return value if value == "over range" else f"{value} {unit_text(unit or '')}".rstrip()


_CHANGES = {"lost": "lost", "back": "back", "dropped": "sound was lost", "clock": "the clock jumped"}


def _device(event: Device) -> str:
    lost = "" if event.lost_s is None else f", {event.lost_s:.1f} s"
    return f"{event.device}: {_CHANGES[event.state]}{lost}" + (f" ({event.why})" if event.why else "")


_ROW_FIELDS = set(TimelineRow.model_fields)  # one for all rows: a long job has many


class _Fold:
    """What has been gathered so far."""

    def __init__(self) -> None:
        self._opened: Opened | None = None
        self._told: dict[str, Any] = {}  # serial, complaint and technician, each as last given
        self._sessions: list[Session] = []
        self._stage: Stage = "before"
        self._book = ReadingBook()
        self._outcomes = {"accepted": 0, "asked": 0, "ignored": 0}
        self._heard: Heard | None = None
        self._asked_about: Heard | None = None  # the utterance that the open question is about
        self._question: Asked | None = None  # the open question
        self._questions: dict[int, QuestionRecord] = {}
        self._notes: list[RecordedNote] = []
        self._timeline: list[TimelineRow] = []
        self._remarks: list[str] = []

    def take(self, event: Event) -> None:
        match event:
            case Heard():
                self._heard = event
                self._outcomes[event.outcome] += 1
            case Reading():
                self._take_reading(event)
            case Opened():
                self._take_opened(event)
            case Asked():
                self._take_asked(event)
            case Lapsed():
                self._take_lapsed(event)
            case Command():
                self._take_command(event)
            case Note():
                self._take_note(event)
            case Withdrawn():
                self._take_withdrawn(event)
            case Closed():
                self._take_closed(event)
            case Device():
                self._row(event, "device", _device(event))
            case Said():
                pass  # what was said aloud is in the journal; the record holds what it was said about

    def _row(self, event: Event, kind: str, what: str, clip: str | None = None) -> None:
        heard = self._heard_of(getattr(event, "heard", None))
        told: dict[str, Any] = {"seq": event.seq, "at": event.at, "kind": kind, "what": what}
        told |= {"heard_text": heard.text if heard else None, "clip": clip or (heard.clip if heard else None)}
        self._timeline.append(TimelineRow.model_construct(_fields_set=_ROW_FIELDS, **told))

    def _heard_of(self, seq: int | None) -> Heard | None:
        return next((heard for heard in (self._heard, self._asked_about) if heard and heard.seq == seq), None)

    def _remark(self, text: str) -> None:
        if text not in self._remarks:
            self._remarks.append(text)

    def _take_opened(self, event: Opened) -> None:
        before = self._opened
        if before is not None:
            if before.board_sha256 != event.board_sha256:
                self._remark(
                    "The board file was changed between sessions; each reading keeps the limits it was judged by."
                )
            if before.meter != event.meter:
                self._remark("The meter was changed between sessions; each reading keeps its own uncertainty.")
        self._opened = event
        self._stage = event.stage
        self._told |= {
            name: text for name in ("serial", "complaint", "technician") if (text := getattr(event, name)) is not None
        }
        self._sessions.append(
            Session(
                opened_at=event.at,
                resumed=event.resumed,
                stage=event.stage,
                board_sha256=event.board_sha256,
                meter=event.meter,
                engine=event.engine,
                version=event.version,
            )
        )
        self._row(event, "opened", f"{'Taken up again' if event.resumed else 'Opened'}, {event.stage} the repair")

    def _take_closed(self, event: Closed) -> None:
        if self._sessions:
            self._sessions[-1] = self._sessions[-1].model_copy(update={"closed_at": event.at, "closed_why": event.why})
        self._row(event, "closed", f"Closed: {event.why}")

    def _take_reading(self, event: Reading) -> None:
        self._book.add(event, self._heard_of(event.heard))
        told = _spoken(event.value, event.unit)
        verdict = event.statement + (f", {event.direction}" if event.direction else "")
        self._row(event, "reading", f"{event.point}: {told}, {verdict}")
        self._end_question("answered", f"{event.point}: {told}")

    def _take_withdrawn(self, event: Withdrawn) -> None:
        reading = self._book.withdraw(event)
        if reading is None:
            self._remark(f"Event {event.seq} withdraws reading {event.reading}, which is not in the journal.")
            return
        self._row(event, "withdrawn", f"Withdrawn: {reading.point} {_spoken(reading.value, reading.unit)}")

    def _take_command(self, event: Command) -> None:
        if event.name in ("before", "after"):
            self._stage = "before" if event.name == "before" else "after"
        parts = (event.name, event.point, _spoken(event.value, event.unit) if event.value else None)
        what = " ".join(part for part in parts if part)
        self._row(event, "command", what)
        if self._question is not None and event.name in {c.command for c in self._question.candidates}:
            self._end_question("answered", what)

    def _take_note(self, event: Note) -> None:
        self._notes.append(
            RecordedNote(
                seq=event.seq,
                at=event.at,
                stage=self._stage,
                text=event.text,
                verified=event.verified,
                clip=event.clip,
            )
        )
        self._row(event, "note", event.text, event.clip)

    def _take_asked(self, event: Asked) -> None:
        self._end_question("asked again")
        heard = self._heard_of(event.heard)
        offered = (
            f"{c.point + ': ' if c.point else ''}{_spoken(c.value, c.unit)}" if c.value else c.command or c.point or ""
            for c in event.candidates
        )
        self._question = event
        self._asked_about = heard
        self._questions[event.seq] = QuestionRecord(
            seq=event.seq,
            at=event.at,
            question=event.question,
            why=event.why,
            heard_text=heard.text if heard else "",
            clip=heard.clip if heard else None,
            offered=tuple(offered),
            tries=event.tries,
        )
        self._row(event, "question", event.question)

    def _take_lapsed(self, event: Lapsed) -> None:
        question = self._questions.get(event.asked)
        if question is None:
            self._remark(f"Event {event.seq} ends question {event.asked}, which is not in the journal.")
            return
        # a reading that came instead of the answer stands before or after this in the same utterance
        ending = {"ended": "lapsed", "why_ended": event.why, "answer": None}
        self._questions[event.asked] = question.model_copy(update=ending)
        if self._question is not None and self._question.seq == event.asked:
            self._question = None
        self._row(event, "lapsed", f"Not answered: {question.question} ({event.why})")

    def _end_question(self, ended: str, answer: str | None = None) -> None:
        if self._question is None:
            return
        seq = self._question.seq
        self._questions[seq] = self._questions[seq].model_copy(update={"ended": ended, "answer": answer})
        self._question = None

    def record(self) -> JobRecord:
        opened, sessions = self._opened, self._sessions
        readings = self._book.readings()
        points = self._book.points(readings, opened.points if opened else ())
        stages = self._book.stages or ({sessions[-1].stage} if sessions else set())
        in_order: tuple[Stage, ...] = tuple(stage for stage in _STAGES if stage in stages)
        current = [reading for reading in readings if reading.status == "current"]
        by_statement = {name: sum(r.statement == name for r in current) for name in STATEMENTS}
        of_board = {point.name for point in opened.points} if opened else set()
        identified: dict[str, Any] = {}
        if opened is not None:
            names = ("job", "board", "revision", "board_sha256", "meter", "engine", "version")
            identified = {name: getattr(opened, name) for name in names}
        return JobRecord(
            **identified,
            **self._told,
            opened_at=sessions[0].opened_at if sessions else None,
            closed_at=sessions[-1].closed_at if sessions else None,
            sessions=tuple(sessions),
            stages=in_order,
            counts=Counts(readings=len(current), statements=by_statement, **self._outcomes),
            points=points,
            not_read=tuple(
                NotRead(
                    stage=stage,
                    points=tuple(p.name for p in points if p.name in of_board and getattr(p, stage) is None),
                )
                for stage in in_order
            ),
            readings=readings,
            notes=tuple(self._notes),
            questions=tuple(self._questions.values()),
            timeline=tuple(self._timeline),
            remarks=tuple(self._remarks),
        )


_STAGES: tuple[Stage, ...] = ("before", "after")

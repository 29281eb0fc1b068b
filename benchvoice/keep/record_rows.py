"""The rows of a job record, made from the events one after the other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

from benchvoice.decide.stripdown import WorkChange, WorkLog
from benchvoice.events import (
    Acknowledged,
    Asked,
    Caution,
    ChecklistStep,
    Closed,
    Command,
    Device,
    Event,
    Heard,
    Lapsed,
    Note,
    Opened,
    Reading,
    Removed,
    Said,
    TimerOver,
    TimerStarted,
    TimerStopped,
    Withdrawn,
)
from benchvoice.keep.record_cautions import CautionRows, caution_text
from benchvoice.keep.record_models import QuestionRecord, ReadingRecord, RecordedNote, Row, Stage, TimelineRow
from benchvoice.keep.record_points import CurrentReadings, Standings, reading_record
from benchvoice.keep.record_steps import step_record, step_text
from benchvoice.keep.record_timers import TimerRows
from benchvoice.keep.record_visits import VisitRows
from benchvoice.keep.record_work import offered_work, work_text
from benchvoice.keep.wording import plain_amount

__all__ = ["RowFold"]


_CHANGES = {"lost": "lost", "back": "back", "dropped": "sound was lost", "clock": "the clock jumped"}


def _device(event: Device) -> str:
    lost = "" if event.lost_s is None else f", {event.lost_s:.1f} s"
    return f"{event.device}: {_CHANGES[event.state]}{lost}" + (f" ({event.why})" if event.why else "")


class RowFold:
    """What has been gathered so far; of past utterances only what a later event may refer to.

    Args:
        standings: what becomes of each reading.
        undone: steps of a checklist that were undone, with what undid them, as numbers of events.
        struck: the same of notes.

    Attributes:
        visit: which visit it is.
        stage: before or after the repair.
        current: the readings that count in it.
        outcomes: how many utterances were accepted, asked about and ignored.
        work: the work on the unit that counts in it.
        cautions: those that were given.
        timers: those that were set.
        earlier: the same of the visits before.
    """

    def __init__(self, standings: Standings, undone: Mapping[int, int], struck: Mapping[int, int]) -> None:
        self._undone = undone
        self._struck = struck
        self.current = CurrentReadings()
        self.outcomes = {"accepted": 0, "asked": 0, "ignored": 0}
        self.work = WorkLog()
        self.cautions = CautionRows()
        self.timers = TimerRows()
        self.earlier: list[VisitRows] = []
        self.visit = 1
        self._removed: dict[int, Removed] = {}
        self._standings = standings
        self._remarks: dict[str, None] = {}  # each once
        self.stage: Stage = "before"
        self._heard: Heard | None = None
        self._asked_about: Heard | None = None  # the utterance that the last question is about
        self._asked: Asked | None = None  # the open question
        self._question: QuestionRecord | None = None  # the last question, until nothing can change how it ended
        self._declined = False  # whether this utterance was a no
        self._to_end: dict[int, ReadingRecord] = {}  # readings that will be struck or corrected

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a reader should know of the journal."""
        return tuple(self._remarks)

    def take(self, event: Event) -> Iterator[Row]:
        """The rows that one more event makes known."""
        match event:
            case Heard():
                yield from self._ended_question()
                self._heard = event
                self._declined = False
                self.outcomes[event.outcome] += 1
            case Reading():
                yield from self._take_reading(event)
            case Opened():
                yield self._take_opened(event)
            case Asked():
                yield from self._take_asked(event)
            case Lapsed():
                yield from self._take_lapsed(event)
            case Command():
                yield self._take_command(event)
            case Note():
                yield from self._take_note(event)
            case Withdrawn():
                yield from self._take_withdrawn(event)
            case ChecklistStep():
                yield from self._take_step(event)
            case _ if isinstance(event, WorkChange):
                yield self._take_work(event)
            case Closed() | Device() | Caution() | Acknowledged() | TimerStarted() | TimerStopped() | TimerOver():
                yield self._take_other(event)
            case Said():
                pass  # what was said aloud is in the journal; the record holds what it was said about

    def finish(self) -> Iterator[Row]:
        """What is known once there are no more events."""
        if self._question is not None:
            yield self._question
            self._question = None

    def _row(self, event: Event, kind: str, what: str, clip: str | None = None) -> TimelineRow:
        heard = self._heard_of(getattr(event, "heard", None))
        told: dict[str, Any] = {"seq": event.seq, "at": event.at, "kind": kind, "what": what}
        told |= {"heard_text": heard.text if heard else None, "clip": clip or (heard.clip if heard else None)}
        return TimelineRow.model_construct(**told)

    def _heard_of(self, seq: int | None) -> Heard | None:
        return next((heard for heard in (self._heard, self._asked_about) if heard and heard.seq == seq), None)

    def _take_opened(self, event: Opened) -> TimelineRow:
        told = "Taken up again" if event.resumed else "Opened"
        if event.visit != self.visit:
            told = f"The unit came back, visit {event.visit}"
            self.earlier.append(VisitRows(self.current, self.work, self.cautions, self.timers))
            self.current, self.work, self.visit = CurrentReadings(), self.work.carried_over, event.visit
            self.cautions, self.timers = CautionRows(), TimerRows()
        self.stage = event.stage
        return self._row(event, "opened", f"{told}, {event.stage} the repair")

    # --- readings -------------------------------------------------------------------------------------------------
    def _take_reading(self, event: Reading) -> Iterator[Row]:
        standing = self._standings.of(event.seq)
        if standing is None:
            raise ValueError(f"reading {event.seq} was not there on the first pass")
        reading = reading_record(event, self._heard_of(event.heard), standing)
        if event.corrects is not None:
            self._to_end.pop(event.corrects, None)
        if standing.status in ("withdrawn", "corrected"):
            self._to_end[event.seq] = reading
        self.current.take(reading)
        yield reading
        told = plain_amount(event.value, event.unit, event.waveform)
        verdict = event.statement + (f", {event.direction}" if event.direction else "")
        lines = ", ".join(map(str, event.follows_from))
        computed = f", computed from line{'s' * (len(event.follows_from) > 1)} {lines}" if lines else ""
        unlike = ", unlike the known-good board" if event.known_good is not None and event.known_good.unlike else ""
        yield self._row(event, "reading", f"{event.point}: {told}, {verdict}{computed}{unlike}")
        self._end_question("answered", f"{event.point}: {told}")

    def _take_withdrawn(self, event: Withdrawn) -> Iterator[Row]:
        if event.reading >= event.seq or (standing := self._standings.of(event.reading)) is None:
            told = f"Event {event.seq} withdraws reading {event.reading}, which is not in the journal."
            self._remarks[told] = None
            return
        reading = self._to_end.get(event.reading)
        if standing.ended_by == event.seq:
            del self._to_end[event.reading]
        # one that had been struck before is no longer held
        what = (
            f"{reading.point} {plain_amount(reading.value, reading.unit, reading.waveform)}"
            if reading
            else f"line {event.reading}"
        )
        yield self._row(event, "withdrawn", f"Withdrawn: {what}")

    # --- questions ------------------------------------------------------------------------------------------------
    def _take_asked(self, event: Asked) -> Iterator[Row]:
        self._end_question("asked again")
        yield from self._ended_question()
        heard = self._heard_of(event.heard)
        offered = (
            f"{c.point + ': ' if c.point else ''}{plain_amount(c.value, c.unit, c.waveform)}"
            if c.value
            else (offered_work(c.work) if c.work else c.command or c.point or "")
            for c in event.candidates
        )
        self._asked = event
        self._asked_about = heard
        self._question = QuestionRecord(
            seq=event.seq,
            at=event.at,
            question=event.question,
            why=event.why,
            heard_text=heard.text if heard else "",
            clip=heard.clip if heard else None,
            offered=tuple(offered),
            tries=event.tries,
        )
        yield self._row(event, "question", event.question)

    def _take_lapsed(self, event: Lapsed) -> Iterator[Row]:
        question = self._question
        if question is None or question.seq != event.asked:
            self._remarks[f"Event {event.seq} ends question {event.asked}, which was not open."] = None
            return
        # a reading that came instead of the answer stands before or after this in the same utterance
        ending = {"ended": "lapsed", "why_ended": event.why, "answer": None}
        if self._declined:
            ending |= {"ended": "answered", "answer": "no"}
        self._question = question.model_copy(update=ending)
        self._asked = None
        how = "Declined" if self._declined else "Not answered"
        yield self._row(event, "lapsed", f"{how}: {question.question} ({event.why})")

    def _end_question(self, ended: Literal["answered", "asked again"], answer: str | None = None) -> None:
        if self._asked is not None and self._question is not None:
            self._question = self._question.model_copy(update={"ended": ended, "answer": answer})
            self._asked = None

    def _ended_question(self) -> Iterator[Row]:
        """The last question, where it has ended: nothing of a later utterance changes that."""
        if self._question is not None and self._question.ended != "open":
            yield self._question
            self._question = None

    # --- the rest -------------------------------------------------------------------------------------------------
    def _take_command(self, event: Command) -> TimelineRow:
        if event.name in ("before", "after"):
            self.stage = "before" if event.name == "before" else "after"
        self._declined = event.name == "no"
        parts = (event.name, event.point, plain_amount(event.value, event.unit) if event.value else None)
        what = " ".join(part for part in parts if part)
        if self._asked is not None and event.name in {c.command for c in self._asked.candidates}:
            self._end_question("answered", what)
        return self._row(event, "command", what)

    def _take_step(self, event: ChecklistStep) -> Iterator[Row]:
        if event.action not in ("started", "back"):
            yield step_record(event, self.stage, self._undone.get(event.seq), self.visit)
        yield self._row(event, "step", step_text(event))

    def _take_work(self, event: WorkChange) -> TimelineRow:
        self.work = self.work.after(event)
        if isinstance(event, Removed):
            self._removed[event.seq] = event
        what = work_text(event, self._removed)
        self._end_question("answered", what)
        return self._row(event, event.kind, what)

    def _take_other(
        self, event: Closed | Device | Caution | Acknowledged | TimerStarted | TimerStopped | TimerOver
    ) -> TimelineRow:
        if isinstance(event, Caution | Acknowledged):
            self.cautions.take(event)
            return self._row(event, event.kind, caution_text(event))
        if isinstance(event, TimerStarted | TimerStopped | TimerOver):
            what = self.timers.take(event)
            if not isinstance(event, TimerOver):
                self._end_question("answered", what)
            return self._row(event, event.kind, what)
        told = _device(event) if isinstance(event, Device) else f"Closed: {event.why}"
        return self._row(event, event.kind, told)

    def _take_note(self, event: Note) -> Iterator[Row]:
        yield RecordedNote(
            seq=event.seq,
            at=event.at,
            stage=self.stage,
            text=event.text,
            verified=event.verified,
            clip=event.clip,
            visit=self.visit,
            status="struck" if event.seq in self._struck else "counts",
            struck_by=self._struck.get(event.seq),
        )
        yield self._row(event, "note", event.text, event.clip)

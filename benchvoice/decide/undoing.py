"""Which reading a correction or a "strike that" means, and whether it must be asked about first."""

from __future__ import annotations

from datetime import timedelta

from benchvoice.decide.moment import Moment
from benchvoice.decide.session_state import SessionState
from benchvoice.decide.stripdown import WorkEvent
from benchvoice.decide.work_said import work_of
from benchvoice.events import Note, Reading
from benchvoice.records import Candidate, CommandIntent, SpokenValue, WorkDone
from benchvoice.units import convert, same_size

__all__ = ["STRUCK_WITHIN", "last_note", "last_work", "long_past", "moved_far", "not_said_last", "note_undone_by",
           "read_as", "taken_from_talk", "to_correct", "undone_by", "value_read", "work_long_past",
           "work_undone_by"]  # fmt: skip

STRUCK_WITHIN = timedelta(seconds=30)
"""How soon after a reading "strike that" needs no question: the answer to it is still in the ear."""


def to_correct(state: SessionState, point: str | None) -> Reading | None:
    """The reading that a correction replaces: the latest of the point it names, else the last one of all.

    None where there is none, or where it is not certain which is meant.
    """
    top = state.readings.top
    if top is None:
        return None
    if point is None and last_work(state):
        return None  # what was said last is no reading
    if max(state.withdrawn, state.dropped) > top.seq:  # what was struck or not taken is meant, not the reading before
        return None if point is None else state.latest(point)
    if point is None:
        # "on input" turns to another point; a checklist that has just gone on to the next one does not
        just_read = state.guided and top.heard == state.heard_seq
        return top if state.current in (None, top.point) or just_read or state.is_alone(top.point) else None
    named = top if top.point == point else state.latest(point)
    if named is not None:
        return named
    # the name itself may have been the slip; then it is the last reading that moves, never one of another stage, and
    # never to a point that was read before
    read = any(reading.point == point for reading in state.readings)
    return None if read or top.stage != state.stage else top


def undone_by(state: SessionState, command: CommandIntent | None) -> Reading | None:
    """The reading that a command would withdraw; None where it withdraws none."""
    if command is not None and command.name == "correction":
        return to_correct(state, command.point)
    if command is not None and command.name == "strike" and _last_done(state) is None:
        return state.readings.top
    return None


def last_note(state: SessionState) -> Note | None:
    """The note that "strike that" means, where nothing was read or done since; None where it means none."""
    note = state.notes[-1] if state.notes else None
    others = [event.seq for event in (*state.work.latest[:1], state.readings.top) if event is not None]
    return note if note is not None and note.seq > max(others, default=0) else None


def note_undone_by(state: SessionState, command: CommandIntent | None) -> str:
    """The text of the note that a command would strike; empty where it strikes none."""
    note = last_note(state) if command is not None and command.name == "strike" else None
    return "" if note is None else note.text or "as it was spoken"


def last_work(state: SessionState) -> tuple[WorkEvent, ...]:
    """The latest work on the unit, which "strike that" means where nothing was read since; empty where it does not."""
    latest, top = state.work.latest, state.readings.top
    return latest if latest and (top is None or top.seq < latest[0].seq) else ()


def work_undone_by(state: SessionState, command: CommandIntent | None) -> WorkDone | None:
    """What "strike that" would undo, where that is work on the unit; None where it is not."""
    strikes = command is not None and command.name == "strike" and last_note(state) is None
    struck = last_work(state) if strikes else ()
    return work_of(struck, state.work.stripped) if struck else None


def _last_done(state: SessionState) -> Note | WorkEvent | None:
    """The note or the first event of the work that "strike that" means; None where it means a reading."""
    return last_note(state) or next(iter(last_work(state)), None)


def work_long_past(state: SessionState) -> str:
    """Why the latest work or note is asked about before it is struck, as a phrase; empty if it is of this session."""
    last = _last_done(state)
    if last is None or last.seq >= state.opened:
        return ""
    return f"it was {'noted' if isinstance(last, Note) else 'done'} in an earlier session"


def not_said_last(state: SessionState) -> str:
    """Why a strike is asked about though nobody doubts that it was said: something else was said since what it undoes.

    That may be that the unit was powered, which it does not undo.
    """
    if state.withdrawn > state.heard_seq:
        return ""  # that was struck itself: one after the other goes
    last = _last_done(state) or state.readings.top
    heard = state.heard_seq if last is None else last.heard
    return "" if heard == state.heard_seq else "it was not the last thing said"


def long_past(state: SessionState, reading: Reading) -> str:
    """Why a reading is asked about before it is undone, as a phrase; empty where it belongs to the work at hand."""
    if reading.seq < state.opened:
        return "it was read in an earlier session"
    if reading.seq < state.staged:
        return "it was read before the stage changed"
    return ""


def moved_far(state: SessionState, command: CommandIntent | None, reading: Reading) -> str:
    """Why a correction that moves a reading to another point is asked, as a phrase; empty where it is not.

    A name that was a slip is most likely that of a point of the same quantity.
    """
    point = None if command is None or command.name != "correction" else command.point
    if point is None or point == reading.point:
        return ""
    if state.board.point(point).quantity != reading.quantity:
        return f"{reading.point} is {reading.quantity}, {point} is not"
    same = command is not None and command.value is not None and command.value.digits == reading.value
    fits, elsewhere = (_fits(state, reading, name) for name in (reading.point, point))
    return f"{reading.value} fits {reading.point}" if fits and not elsewhere and not same else ""


def _fits(state: SessionState, reading: Reading, name: str) -> bool:
    """Whether a reading's value has the size that is expected at a point of its quantity."""
    point, value = state.board.point(name), value_read(reading)
    if point.expected is None or not value.has_number or not value.unit:
        return False
    return same_size(convert(value.number, value.unit, point.unit), point.expected)


def taken_from_talk(state: SessionState, command: CommandIntent | None, later: Moment) -> str:
    """Why a command that was heard, not typed, is asked before it is carried out; a phrase, empty where it is not.

    Talk beside the bench comes near to commands ("close the door", "after the report", "strike it"), and no recogniser
    that knows only sentences of the bench can tell them apart. So what would end the job, change the stage or strike
    anything but the reading just answered is asked.
    """
    match command:
        case CommandIntent(name="close"):
            return "it would end the job"
        case CommandIntent(name="before" | "after" as stage) if stage != state.stage:
            return "it would change the stage"
        case CommandIntent(name="strike") if last := _last_done(state):
            return "" if _just_said(state, last.heard, later) else "it was not the last thing said"
        case CommandIntent(name="strike") if state.readings.top is not None and not _just_read(state, later):
            return "the reading was not the last thing said"
        case CommandIntent(name="back" | "skip" | "jump") if state.progress is not None:
            return _moves_list(state, command)
    return ""


def _moves_list(state: SessionState, command: CommandIntent) -> str:
    """The same for what undoes, skips or leaves a step of the checklist."""
    if command.name == "back":
        return "it would undo a step"
    if command.name == "jump":
        return "it would leave the step at hand"
    offered = () if state.question is None else state.question.candidates
    asked = any(candidate.command is not None and candidate.command.name == "skip" for candidate in offered)
    # without a reason it is asked for one anyhow
    return "it would skip a step" if command.detail and not asked else ""


def _just_read(state: SessionState, later: Moment) -> bool:
    """Whether nothing was said since the last reading, and it is not long ago."""
    top = state.readings.top
    return top is not None and _just_said(state, top.heard, later)


def _just_said(state: SessionState, heard: int, later: Moment) -> bool:
    """Whether the utterance of that number was the last one, and is not long ago."""
    return state.heard is not None and heard == state.heard_seq and not state.heard.outlived_by(later, STRUCK_WITHIN)


def read_as(reading: Reading) -> Candidate:
    """Point and value of a reading."""
    return Candidate(reading.point, value_read(reading))


def value_read(reading: Reading) -> SpokenValue:
    """The value of a reading; whether its unit was spoken is not kept, so it is said where it matters."""
    return SpokenValue(reading.value, reading.unit, waveform=reading.waveform)

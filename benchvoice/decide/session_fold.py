"""What each event does to the state of a session."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import cast

from benchvoice.decide.board import Board
from benchvoice.decide.caution_log import CautionLog
from benchvoice.decide.checklist import power_told
from benchvoice.decide.checklist_events import applied, reopened
from benchvoice.decide.checklist_steps import Checklist, Power
from benchvoice.decide.meter import Meter
from benchvoice.decide.moment import Moment
from benchvoice.decide.reading_stack import ReadingStack
from benchvoice.decide.session_state import OpenQuestion, SessionState, Stage, without_question
from benchvoice.decide.stripdown import WorkChange, as_thing
from benchvoice.decide.timer_log import TimerLog
from benchvoice.events import (
    Acknowledged,
    Asked,
    Caution,
    ChecklistStep,
    Closed,
    Command,
    Event,
    Heard,
    Lapsed,
    Note,
    Opened,
    Reading,
    ReadingCandidate,
    Said,
    TimerOver,
    TimerStarted,
    TimerStopped,
    Undone,
    Withdrawn,
    WorkSaid,
)
from benchvoice.records import (
    Candidate,
    CommandIntent,
    CommandName,
    SpokenValue,
    WorkAct,
    WorkIntent,
)

__all__ = ["apply", "as_candidate", "resume"]

_WORK = Note | WorkChange
"""What is said of the unit beside readings."""


def resume(
    board: Board, meter: Meter | None, events: Iterable[Event], checklist: Checklist | None = None
) -> SessionState:
    """The state that a job's events lead to."""
    state = SessionState(board, meter, checklist=checklist)
    for event in events:
        state = apply(state, event)
    return state


def apply(state: SessionState, event: Event) -> SessionState:
    """The state after one more event."""
    intake = state.intake.after(event, state.work.events)
    return replace(_applied(state, event), next_seq=event.seq + 1, intake=intake)


def _applied(state: SessionState, event: Event) -> SessionState:
    new = state
    match event:
        case Opened():
            state = _of_visit(state, event.visit)
            # nobody can be certain what is under the probe after a restart: a value alone belongs to no point
            fresh = replace(without_question(state), note_opened=None, listening=True, closed=False, current=None)
            fresh = replace(fresh, work=replace(state.work, resumed_at=event.seq))
            new = replace(fresh, stage=event.stage, opened=event.seq, progress=reopened(state.progress, event))
            heard, told = (each and each.by_clock() for each in (state.heard, state.step_told))
            new = replace(new, heard=heard, step_told=told, known_good=event.known_good)
            new = replace(new, power=None, cautions=state.cautions.after(event), timers=state.timers.after(event))
        case Heard():
            new = _heard(state, event)
        case Reading():
            new = _read(state, event)
        case Withdrawn():
            measured = any(reading.seq == event.reading for reading in state.readings)
            new = replace(_withdrawn(state, event.reading), withdrawn=event.seq if measured else state.withdrawn)
        case Asked():
            new = _asked(state, event)
        case Lapsed() if state.question is not None and state.question.asked == event.asked:
            new = replace(without_question(state), dropped=event.seq if _elsewhere(state) else state.dropped)
        case Command():
            new = _command(state, event)
        case ChecklistStep():
            new = _step(state, event)
        case _ if isinstance(event, _WORK):
            new = replace(state, work=state.work.after(event), question=None, step_asked=False)
            new = replace(new, notes=_notes_after(state.notes, event))
        case Caution() | Acknowledged() | TimerStarted() | TimerStopped() | TimerOver():
            new = _of_safety(state, event)
        case Said() if event.text:
            new = replace(state, last_said=event.text)
        case Closed():
            new = replace(state, closed=True, question=None, note_opened=None)
    return new


def _notes_after(notes: tuple[Note, ...], event: Note | WorkChange) -> tuple[Note, ...]:
    if isinstance(event, Note):
        return (*notes, event)
    return tuple(note for note in notes if note.seq not in event.undoes) if isinstance(event, Undone) else notes


def _of_safety(
    state: SessionState, event: Caution | Acknowledged | TimerStarted | TimerStopped | TimerOver
) -> SessionState:
    """Cautions and timers. What is set or stopped answers a question about that; a timer that rings answers none."""
    heard = state.heard or Moment(event.at)
    timers = state.timers.after(event, heard.source, heard.until_s)
    question = None if isinstance(event, TimerStarted | TimerStopped) else state.question
    # a "yes" right after is none to the step; once a caution is acknowledged the step is said once more
    known = isinstance(event, Acknowledged)
    waits = known and state.progress is not None and bool(state.progress.answers)
    told = replace(state, step_told=state.heard) if waits else state
    return replace(told, timers=timers, cautions=state.cautions.after(event), question=question, step_asked=waits)


def _of_visit(state: SessionState, visit: int) -> SessionState:
    """A unit that came back is measured anew: of an earlier visit nothing counts but what is still out of the unit."""
    if visit == state.visit:
        return state
    anew = replace(
        state,
        visit=visit,
        readings=ReadingStack(),
        computed=ReadingStack(),
        work=state.work.carried_over,
        notes=(),
        progress=None,
    )
    return replace(anew, timers=TimerLog(), cautions=CautionLog(), marked=None)


def _elsewhere(state: SessionState) -> bool:
    """Whether the open question offers values at another point than that of the last reading."""
    top = state.readings.top
    return state.question is not None and top is not None and bool(state.question.points - {top.point})


def _at(state: SessionState, point: str | None) -> SessionState:
    # a board file that was changed between two sessions may no longer have the point
    return replace(state, current=point) if point in state.board.by_name else state


def _read(state: SessionState, event: Reading) -> SessionState:
    if event.follows_from:  # nobody said it: it answers nothing, and the probe is where it was
        return replace(state, computed=state.computed.push(event))
    new = replace(_after_reading(state, event.point), readings=state.readings.push(event), question=None)
    return replace(new, step_asked=False)


def _withdrawn(state: SessionState, seq: int) -> SessionState:
    """The state without a reading, and without what follows from it: the journal may end before that is withdrawn."""
    computed = state.computed.without(seq)
    for each in tuple(computed):
        if seq in each.follows_from:
            computed = computed.without(each.seq)
    return replace(state, readings=state.readings.without(seq), computed=computed)


def _after_reading(state: SessionState, point: str) -> SessionState:
    """A reading at another point ends what "on …" began: where the probe goes next is not known."""
    return state if point == state.current or state.is_alone(point) else replace(state, current=None)


def _heard(state: SessionState, event: Heard) -> SessionState:
    if event.leaves_point:
        state = replace(state, current=None)
    if event.leaves_part:
        state = replace(state, work=state.work.left(event.seq))
    now = Moment(event.at, event.source, event.start_s, event.end_s)
    state = replace(state, heard=now, heard_seq=event.seq, words=event.text)
    opened = state.note_opened
    if opened is None or (event.outcome == "ignored" and not opened.outlived_by(now)):
        return state
    return replace(state, note_opened=None)


def _asked(state: SessionState, event: Asked) -> SessionState:
    candidates = tuple(as_candidate(candidate) for candidate in event.candidates)
    question = OpenQuestion(event.seq, state.heard or Moment(event.at), event.why, candidates, event.tries)
    return replace(state, question=question, step_asked=False)


def _step(state: SessionState, event: ChecklistStep) -> SessionState:
    """The step that came to hand is said: a value alone is then that of the point which it measures, or of none."""
    progress = applied(state.checklist, state.progress, event, state.stage)
    new = replace(state, progress=progress, step_told=state.heard or Moment(event.at), step_asked=True)
    if state.progress is not None and progress is not None and progress.place.power != state.progress.place.power:
        new = _powered(new, progress.place.power)
    left = state.progress.point if state.progress is not None else None
    if progress is not None and progress.point is not None:
        return _at(new, progress.point)
    return replace(new, current=None) if left is not None and left == state.current else new


def _powered(state: SessionState, power: Power | None) -> SessionState:
    """The state once it is known how the unit stands, or that nobody can be sure any more."""
    again = power == "powered" and state.power != "powered"
    cautions = state.cautions.powered_again() if again else state.cautions
    return replace(state, power=power, marked=power or state.marked, cautions=cautions)


def _switched(state: SessionState, power: Power) -> SessionState:
    """The same where it was told beside the checklist, whose step at hand may not be due any more."""
    new = _powered(state, power)
    if state.progress is None:
        return new
    progress = power_told(state.progress, power)
    if progress.place != state.progress.place:
        new = replace(new, step_told=state.heard, step_asked=True)
    lost = progress.point != state.progress.point and state.current == state.progress.point
    return replace(new, progress=progress, current=None if lost else new.current)


def _command(state: SessionState, event: Command) -> SessionState:
    if state.question is not None and any(
        event.name in (candidate.command and candidate.command.name, candidate.work and candidate.work.act)
        for candidate in state.question.candidates
    ):
        state = replace(state, question=None)
    told_now = event.name == "repeat" or state.step_told == state.heard
    new = state = replace(state, step_asked=state.step_asked and told_now)
    match event.name:
        case "go to":
            new = replace(_at(state, event.point), question=None)
        case "before" | "after":
            stage: Stage = "before" if event.name == "before" else "after"
            new = state if stage == state.stage else replace(state, stage=stage, staged=event.seq)
        case "stop listening" | "start listening":
            new = replace(state, listening=event.name == "start listening")
        case "note" | "complaint follows":
            new = replace(state, note_opened=state.heard or Moment(event.at), announced=event.name)
        case "powered" | "unpowered":
            new = _switched(state, "powered" if event.name == "powered" else "unpowered")
        case "where":  # the step is said once more
            told = replace(state, step_told=state.heard or Moment(event.at), step_asked=True)
            new = _at(told, state.progress.point if state.progress is not None else None)
    return new


def as_candidate(written: ReadingCandidate) -> Candidate:
    """A question's candidate as it stands in the journal, for the session."""
    value = None
    if written.work is not None:
        return Candidate(None, None, work=_as_work(written.work))
    if written.value is not None:
        value = SpokenValue(written.value, written.unit or "", written.unit_said, written.waveform)
    if written.command in (None, "go to"):
        return Candidate(written.point, value)
    command = CommandIntent(cast(CommandName, written.command), written.point, value, detail=written.detail)
    return Candidate(written.point, value, command)


def _as_work(written: WorkSaid) -> WorkIntent:
    value = None if written.value is None else SpokenValue(written.value, written.unit or "", unit_said=True)
    thing = None if written.thing is None else as_thing(written.thing)
    return WorkIntent(cast(WorkAct, written.act), thing, written.text, value, written.name, written.means)

"""The session: `step(state, hearing)` decides what one utterance leads to, and says so in events.

Accepted is what independent ears agree on (or what was typed), means one thing, and is physically possible. All else
that is meant for us is asked. Undoing is a new event; nothing is ever changed or removed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from benchvoice.decide.board import Board
from benchvoice.decide.cautions import cautions_at_hand, with_cautions
from benchvoice.decide.checklist import Act, answered_last
from benchvoice.decide.checklist_events import event_of, started
from benchvoice.decide.checklist_steps import Checklist
from benchvoice.decide.commands import carry_out
from benchvoice.decide.computed import completed, computed_after, following
from benchvoice.decide.meanings import candidates_of, never_read, resolve
from benchvoice.decide.meter import Meter
from benchvoice.decide.moment import Moment
from benchvoice.decide.notes import after_announcement, take_note
from benchvoice.decide.questions import (
    answer,
    ask_again,
    beside_question,
    doubtful,
    is_answer,
    left_open,
    matching,
    not_understood,
    of_question,
    settle,
    stray,
    value_again,
)
from benchvoice.decide.session_fold import apply, resume
from benchvoice.decide.session_state import NO_ANSWER, SessionState, Stage
from benchvoice.decide.supply import answer_supply
from benchvoice.decide.suspects import opened_supplies
from benchvoice.decide.timers import timers_over
from benchvoice.decide.turn import Step, Turn
from benchvoice.decide.twins import farther_off, judged_otherwise, run_together, with_fewest_digits
from benchvoice.decide.work import keeps_open, not_closed
from benchvoice.events import (
    Asked,
    ChecklistStep,
    Closed,
    Device,
    DeviceChange,
    Event,
    Heard,
    KnownGood,
    Lapsed,
    MeterInUse,
    Opened,
    OpenedAlike,
    OpenedPart,
    OpenedPoint,
    Reading,
    Said,
    Withdrawn,
)
from benchvoice.records import (
    AnswerIntent,
    Candidate,
    CommandIntent,
    Decision,
    Hearing,
    Intent,
    NoteIntent,
    Trust,
)

__all__ = ["SessionState", "Step", "apply", "cautions_at_hand", "close", "device", "lapse", "open_session", "reopen",
           "resume", "said", "step", "take_back", "timers_over"]  # fmt: skip


# --- opening and closing ------------------------------------------------------------------------------------------
def open_session(
    board: Board,
    meter: Meter | None,
    *,
    at: datetime,
    job: str,
    engine: str,
    version: str,
    stage: Stage = "before",
    complaint: str | None = None,
    serial: str | None = None,
    technician: str | None = None,
    checklist: Checklist | None = None,
    known_good: KnownGood | None = None,
    utc_offset_min: int | None = None,
) -> tuple[SessionState, tuple[Event, ...]]:
    """A new session and its first event, or two where it goes through a checklist.

    Args:
        board, meter: what is measured and with what.
        at: now, in UTC.
        job: the job's name.
        engine, version: the recogniser's name and the program's version.
        stage: before or after the repair.
        complaint, serial, technician: as the job's papers say.
        checklist: the list to go through.
        known_good: the readings of a known-good board.
        utc_offset_min: minutes by which the clock on the wall is ahead of UTC, where known.
    """
    state = SessionState(board, meter, checklist=checklist, known_good=known_good)
    event = _opened(state, at=at, job=job, engine=engine, version=version, stage=stage)
    told = {"complaint": complaint, "serial": serial, "technician": technician, "utc_offset_min": utc_offset_min}
    event = event.model_copy(update=told)
    return _begun(apply(state, event), (event,), at)


def _begun(state: SessionState, events: tuple[Event, ...], at: datetime) -> tuple[SessionState, tuple[Event, ...]]:
    """The session with its checklist begun, where it has one that is not under way."""
    if state.checklist is None or state.progress is not None:
        return state, events
    event = started(state.checklist, state.stage, seq=state.next_seq, at=at)
    return apply(state, event), (*events, event)


def reopen(
    state: SessionState,
    *,
    at: datetime,
    job: str,
    engine: str,
    version: str,
    complaint: str | None = None,
    serial: str | None = None,
    technician: str | None = None,
    visit: int | None = None,
    known_good: KnownGood | None = None,
    utc_offset_min: int | None = None,
) -> tuple[SessionState, tuple[Event, ...]]:
    """Takes a resumed session up again in a new process; a question left open has lapsed.

    What the papers say is given again only where it is new. `visit` is given where the unit came back: it then begins
    before the repair, and what was read and done earlier no longer counts. Without `known_good` what was given before
    is kept.
    """
    state = state if known_good is None else replace(state, known_good=known_good)
    events: list[Event] = []
    if state.question is not None:
        why = "the session ended"
        events.append(Lapsed(seq=state.next_seq, at=at, asked=state.question.asked, why=why))
        state = apply(state, events[-1])
    anew = visit is not None and visit != state.visit
    stage: Stage = "before" if anew else state.stage
    opened = _opened(state, at=at, job=job, engine=engine, version=version, stage=stage, resumed=True)
    told = {"complaint": complaint, "serial": serial, "technician": technician, "utc_offset_min": utc_offset_min}
    events.append(opened.model_copy(update={**told, "visit": state.visit if visit is None else visit}))
    state = apply(state, events[-1])
    for event in completed(state, at):  # the journal may end between a reading and what follows from it
        state = apply(state, event)
        events.append(event)
    return _begun(state, tuple(events), at)


def _opened(
    state: SessionState, *, at: datetime, job: str, engine: str, version: str, stage: Stage, resumed: bool = False
) -> Opened:
    board, meter = state.board, state.meter
    points = tuple(
        OpenedPoint(
            name=point.name,
            quantity=point.quantity,
            unit=point.unit,
            nominal=None if point.nominal is None else f"{point.nominal:f}",
            low=None if point.low is None else f"{point.low:f}",
            high=None if point.high is None else f"{point.high:f}",
            source=point.source,
            expected=point.right or "",
            computed="" if point.computed is None else point.computed.text,
        )
        for point in board.points
    )
    return Opened(
        seq=state.next_seq,
        at=at,
        job=job,
        board=board.name,
        revision=board.revision,
        board_sha256=board.sha256,
        points=points,
        supplies=opened_supplies(board),
        alike=tuple(OpenedAlike(points=group.points, within=f"{group.within:f}") for group in board.alike),
        known_good=state.known_good,
        parts=tuple(OpenedPart(ref=part.ref, what=part.what, fails=part.fails) for part in board.parts),
        meter=None if meter is None else MeterInUse(name=meter.name, sha256=meter.sha256),
        stage=stage,
        engine=engine,
        version=version,
        resumed=resumed,
    )


def said(state: SessionState, at: datetime, text: str, tone: str | None) -> tuple[SessionState, Event]:
    """Notes what was answered aloud, so that it can be repeated."""
    event = Said(seq=state.next_seq, at=at, text=text, tone=tone)
    return apply(state, event), event


def take_back(
    state: SessionState, at: datetime, events: tuple[Event, ...], why: str
) -> tuple[SessionState, tuple[Event, ...]]:
    """Undoes what one utterance has just led to, where that is a reading or a question and nothing else.

    Args:
        state: the state since then.
        at: now, in UTC.
        events: what the utterance led to, as `step` gave it.
        why: the reason, for the journal ("speech went on").

    Returns:
        The state and what undid it; no events where it led to something else.
    """
    undone: list[Event] = []
    match events:
        case (Heard(), Reading(corrects=None) as reading, *rest) if all(_goes_with(event) for event in rest):
            undone += _reading_back(state, reading, at, why)
        case (Heard(), Asked() as asked) if state.question is not None and state.question.asked == asked.seq:
            undone.append(Lapsed(seq=state.next_seq, at=at, asked=asked.seq, why=why))
    for event in undone:
        state = apply(state, event)
    return state, tuple(undone)


def _goes_with(event: Event) -> bool:
    """Whether an event only follows from the reading before it."""
    follows = isinstance(event, Reading) and bool(event.follows_from)
    return follows or isinstance(event, ChecklistStep | Withdrawn)


def _reading_back(state: SessionState, reading: Reading, at: datetime, why: str) -> tuple[Event, ...]:
    """What undoes a reading: its withdrawal, that of all that follows from it, and what counts in their place."""
    heard, lost = reading.heard, following(state.computed, reading.seq)
    undone: list[Event] = []
    for gone in (reading, *lost):
        undone.append(Withdrawn(seq=state.next_seq, at=at, heard=heard, reading=gone.seq, why=why))
        state = apply(state, undone[-1])
    if state.progress is not None and answered_last(state.progress, reading.seq):
        undone.append(event_of(state.progress, Act("back"), state.stage, seq=state.next_seq, at=at, heard=heard))
        state = apply(state, undone[-1])
    places = {(reading.point, reading.stage)}
    return (*undone, *computed_after(state, places, at=at, heard=heard)[0])


def lapse(
    state: SessionState, at: datetime, source: str, now_s: float | None
) -> tuple[SessionState, tuple[Event, ...]]:
    """Ends a question that has waited too long, though nobody speaks; no events where none has.

    Args:
        state: the session.
        at: now, in UTC.
        source: what is listened to.
        now_s: up to where it was heard, in its seconds; None where it has no times.
    """
    question = state.question
    if question is None or not question.moment.outlived_by(Moment(at, source, now_s, now_s)):
        return state, ()
    event = Lapsed(seq=state.next_seq, at=at, asked=question.asked, why=NO_ANSWER)
    return apply(state, event), (event,)


def device(
    state: SessionState, at: datetime, name: str, change: DeviceChange, *, why: str, lost_s: float | None = None
) -> tuple[SessionState, Event]:
    """Notes what happened to a sound device; it changes nothing in the session."""
    event = Device(seq=state.next_seq, at=at, device=name, state=change, why=why, lost_s=lost_s)
    return apply(state, event), event


def close(state: SessionState, at: datetime, why: str) -> tuple[SessionState, tuple[Event, ...]]:
    """Ends the session from outside: the end of the recording, or a signal. No events where it is closed already."""
    if state.closed:
        return state, ()
    events: list[Event] = []
    if state.question is not None:
        events.append(Lapsed(seq=state.next_seq, at=at, asked=state.question.asked, why="the session ended"))
    events.append(Closed(seq=state.next_seq + len(events), at=at, why=why))
    for event in events:
        state = apply(state, event)
    return state, tuple(events)


# --- one utterance ------------------------------------------------------------------------------------------------
def step(state: SessionState, hearing: Hearing, *, word_question: Callable[[Decision], str]) -> Step:
    """What one utterance leads to.

    Args:
        state: the state before it.
        hearing: the utterance with its meanings.
        word_question: puts a decision's question into words; the journal keeps them.

    Returns:
        The state after it, the decision, and the events: `heard` with its one outcome first, then what follows, and
        the cautions that are then due.
    """
    return with_cautions(state, _step(Turn(state, hearing, word_question)))


def _step(turn: Turn) -> Step:
    state, hearing = turn.state, turn.hearing
    if state.closed:
        return turn.overhear("the job is closed")
    if not state.listening and not _starts_listening(hearing):
        return turn.overhear("not listening")
    if state.note_opened is not None and not state.note_opened.outlived_by(turn.moment):
        noted = after_announcement(turn, _sure(hearing))
        if noted is not None:
            return noted
    trust = hearing.transcript.trust
    if trust is Trust.UNRELATED:
        return turn.ignore(hearing.transcript.why or "not meant for us")
    if trust in (Trust.DOUBTFUL, Trust.FAILED):
        return doubtful(turn)
    return _clear(turn)


def _sure(hearing: Hearing) -> tuple[Intent, ...]:
    """The meanings of what was heard beyond doubt; none where there is doubt."""
    if hearing.transcript.trust not in (Trust.AGREED, Trust.TYPED) or not hearing.parses:
        return ()
    return hearing.parses[0].intents


def _starts_listening(hearing: Hearing) -> bool:
    return _sure(hearing) == (CommandIntent("start listening"),)


def _clear(turn: Turn) -> Step:
    """Heard beyond doubt."""
    parses = turn.hearing.parses
    intents = of_question(turn, _sure(turn.hearing))
    if not intents:
        return not_understood(turn, parses[0].why if parses and parses[0].why else "nothing was understood")
    answered = answer_supply(turn, intents[0])
    if answered is None and isinstance(intents[0], AnswerIntent):
        answered = answer(turn, intents[0])
    if answered is not None:
        return answered
    answering = is_answer(turn, intents)
    doubt = stray(turn, intents) if answering else beside_question(turn, intents)
    intents = value_again(turn, intents)
    unsaid = left_open(turn, intents) if answering else ""
    if unsaid:
        return ask_again(turn, unsaid, told_why=True)
    matched, alike = matching(turn, intents), _alike(turn, intents)
    if len(matched) == 1 and not _sounds_like_another(turn, matched[0], alike):
        return settle(turn, with_fewest_digits(turn, matched[0], candidates_of(turn, alike)), "said again")
    if matched:
        return ask_again(turn, "it fits both")
    return _act(turn, intents, alike, answering=answering, doubt=doubt)


def _sounds_like_another(turn: Turn, said: Candidate, alike: tuple[Intent, ...]) -> bool:
    """Whether what was said again sounds like another one of those that were offered."""
    others = [other for twin in alike for other in matching(turn, [twin]) if other != said]
    if any(judged_otherwise(turn, said, other) for other in candidates_of(turn, alike)):
        return True
    longer = run_together(turn, said)
    return bool(others) or (turn.question is not None and longer in turn.question.candidates)


def _alike(turn: Turn, heard: tuple[Intent, ...]) -> tuple[Intent, ...]:
    """What may have been said instead, since it sounds nearly the same."""
    alike: list[Intent] = []
    for parse in turn.hearing.twins:
        twin = value_again(turn, of_question(turn, parse.intents))
        unlikely = parse.text in turn.hearing.transcript.unlikely
        if not (unlikely and farther_off(turn, candidates_of(turn, heard), candidates_of(turn, twin))):
            alike += twin
    return tuple(alike)


def _act(
    turn: Turn, intents: tuple[Intent, ...], alike: tuple[Intent, ...], *, answering: bool = False, doubt: str = ""
) -> Step:
    never = never_read(turn, intents)
    if never:
        return turn.refuse(never)
    if len(intents) == 1:
        match intents[0]:
            case CommandIntent(name="close", near=False) if keeps_open(turn.state.work.stripped):
                return not_closed(turn)  # no use asking whether to
            case CommandIntent(near=False) as command if not alike and not _asked_first(turn, command):
                return carry_out(turn, command)
            case NoteIntent() as note:
                return take_note(turn, note)
    return resolve(turn, intents, alike, answering=answering, doubt=doubt)


def _asked_first(turn: Turn, command: CommandIntent) -> bool:
    """Whether a command may have to be asked about before it is carried out."""
    return command.name in ("correction", "strike") or bool(turn.overheard(command))

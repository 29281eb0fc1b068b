"""Timers by voice: set, stopped, asked after; and told when they are over."""

from __future__ import annotations

from datetime import timedelta

from benchvoice.decide.session_fold import apply
from benchvoice.decide.session_state import SessionState
from benchvoice.decide.timer_log import Now, Timer
from benchvoice.decide.turn import Step, Turn
from benchvoice.events import Event, TimerOver, TimerStarted, TimerStopped
from benchvoice.records import RUNS_ALREADY, Decision, Outcome, TimerTold, WorkIntent

__all__ = ["TIMER_ACTS", "do_timer", "runs_already", "stop_discharge", "timers_over"]

TIMER_ACTS = ("timer", "timer stop", "timers")
"""The acts that are done here."""

_DISCHARGE = "discharge timer"
"""The timer that says how long something was without power."""
_PLAIN = "timer"
"""The name of the timer without one."""


def runs_already(turn: Turn, intent: WorkIntent) -> str:
    """Why a timer is asked about before it is set, as a phrase: it would end another. Empty where it is not."""
    if intent.act != "timer" or turn.state.timers.named(intent.text or _PLAIN) is None:
        return ""
    return RUNS_ALREADY


def stop_discharge(turn: Turn) -> tuple[str, ...]:
    """Stops the discharge timer, since the unit is powered and charges anew; the names of what was stopped."""
    timer = turn.state.timers.named(_DISCHARGE)
    if timer is None:
        return ()
    turn.keep(TimerStopped(**turn.next(), heard=turn.heard_seq, timer=timer.seq, why="the unit was powered"))
    return (timer.name,)


def do_timer(turn: Turn, intent: WorkIntent, why: str = "", *, answering: bool = False) -> Step:
    """Does one of `TIMER_ACTS`, or says why it cannot be done.

    Args:
        turn: the utterance.
        intent: what was said, once it is certain.
        why: what led to it, for the journal.
        answering: it settles the open question, which would lapse otherwise.
    """
    timer = _meant(turn.state, intent) if intent.act == "timer stop" else None
    if intent.act == "timer stop" and timer is None:
        return turn.refuse(_why_not_stopped(turn.state, intent))
    turn.accept(why)
    if not answering and intent.act != "timers":  # what is left is told without ending a question
        turn.lapse("something else was said")
    if timer is not None:
        turn.keep(TimerStopped(**turn.next(), heard=turn.heard_seq, timer=timer.seq, why="by voice"))
        return turn.step(Decision(Outcome.ACCEPTED, "timer stop", timers=(_told(timer, turn),)))
    if intent.act == "timers":
        turn.command(intent.act)
        running = sorted(turn.state.timers.running, key=lambda each: each.left_s(_now(turn)))
        return turn.step(Decision(Outcome.ACCEPTED, "timers", timers=tuple(_told(each, turn) for each in running)))
    return _start(turn, intent)


def _start(turn: Turn, intent: WorkIntent) -> Step:
    name, seconds = intent.text or _PLAIN, int(intent.value.number) if intent.value is not None else 0
    before = turn.state.timers.named(name)
    if before is not None:
        turn.keep(TimerStopped(**turn.next(), heard=turn.heard_seq, timer=before.seq, why="another was set"))
    due = turn.hearing.at + timedelta(seconds=seconds)
    turn.keep(TimerStarted(**turn.next(), heard=turn.heard_seq, name=name, seconds=seconds, due=due))
    about = "timer" if before is None else "timer replaced"
    return turn.step(Decision(Outcome.ACCEPTED, about, timers=(TimerTold(name, seconds, seconds),)))


def _meant(state: SessionState, intent: WorkIntent) -> Timer | None:
    """The timer that is to be stopped: the one that is named, or the only one."""
    running = state.timers.running
    found = state.timers.named(intent.text or _PLAIN)
    return running[0] if found is None and not intent.text and len(running) == 1 else found


def _why_not_stopped(state: SessionState, intent: WorkIntent) -> str:
    if not state.timers.running:
        return "no timer runs"
    return f"no {intent.text} runs" if intent.text else "say which timer"


def _now(turn: Turn) -> Now:
    return Now(turn.hearing.at, turn.hearing.source, turn.moment.until_s)


def _told(timer: Timer, turn: Turn) -> TimerTold:
    return TimerTold(timer.name, timer.seconds, max(1, timer.left_s(_now(turn))))


def timers_over(state: SessionState, now: Now) -> tuple[SessionState, tuple[Event, ...], tuple[TimerTold, ...]]:
    """Ends the timers that are over by now.

    Returns:
        The state after it, the events to keep, and what has to be told: `left_s` is nought, or below it by how long ago
        one ran out.
    """
    events: list[Event] = []
    told: list[TimerTold] = []
    for timer in state.timers.over(now):
        left_s = timer.left_s(now)
        events.append(TimerOver(seq=state.next_seq, at=now.at, timer=timer.seq, name=timer.name, late_s=-left_s))
        state = apply(state, events[-1])
        told.append(TimerTold(timer.name, timer.seconds, left_s))
    return state, tuple(events), tuple(told)

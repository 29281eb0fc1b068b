"""How a session at the bench begins: what is ready, what is taken up again, what comes next."""

from __future__ import annotations

from benchvoice.answer.phrases import Phrasebook
from benchvoice.commands.opening import OpenJob, utc_now
from benchvoice.decide.guide import told_of
from benchvoice.decide.timer_log import Now
from benchvoice.events import Lapsed, Opened
from benchvoice.loop import Bench
from benchvoice.records import Reply, TimerTold

__all__ = ["greeting"]


def greeting(bench: Bench, job: OpenJob, phrases: Phrasebook) -> Reply:
    """The greeting of a session that was just opened; its cautions are kept in the journal, it is not said yet."""
    cautions = bench.first_cautions()
    state, opened = bench.state, job.opened
    left = state.left()
    next_point = left[0] if left else None
    step = told_of(state)
    if step is not None:
        next_point = None  # the checklist says what comes next
    if not any(isinstance(event, Opened) and event.resumed for event in opened):
        return phrases.begun(phrases.notice("ready", point=next_point), step, cautions)
    earlier = job.earlier
    if earlier is not None:
        today = next(event.at for event in opened if isinstance(event, Opened))
        returned = phrases.returned(
            visit=state.visit,
            days=None if earlier.closed_at is None else max(0, (today.date() - earlier.closed_at.date()).days),
            readings=earlier.readings,
            replaced=[ref for ref, _ in earlier.replaced],
            next_point=next_point,
            cut=job.cut_off,
        )
        return phrases.begun(returned, step, cautions)
    now = Now(utc_now())
    running = (TimerTold(timer.name, timer.seconds, timer.left_s(now)) for timer in state.timers.running)
    resumed = phrases.resumed(
        readings=len(state.board.points) - len(left),
        next_point=next_point,
        question_left=any(isinstance(event, Lapsed) for event in opened),
        asked_about=job.asked_about,
        cut=job.cut_off,
        timers=tuple(timer for timer in running if timer.left_s > 0),
    )
    return phrases.begun(resumed, step, cautions)

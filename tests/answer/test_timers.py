"""Timers in words."""

from __future__ import annotations

import pytest

from benchvoice.records import Candidate, Decision, Outcome, SpokenValue, TimerTold, Tone, WorkIntent
from tests.answer.test_phrases import BOOK, decision


def timer(seconds: int, name: str = "") -> WorkIntent:
    return WorkIntent("timer", text=name, value=SpokenValue(str(seconds), "s", unit_said=True))


def asked(*works: WorkIntent, why: str = "not heard clearly") -> Decision:
    return decision(
        "question", Outcome.ASKED, why=why, candidates=tuple(Candidate(None, None, work=work) for work in works)
    )


SOAK, PLAIN = TimerTold("soak test timer", 600, 250), TimerTold("timer", 90, 1)

SAID = [
    (decision("timer", timers=(TimerTold("timer", 300, 300),)), "Timer, five minutes."),
    (decision("timer", timers=(TimerTold("timer", 900, 900),)), "Timer, fifteen minutes, one five."),
    (decision("timer", timers=(TimerTold("timer", 3000, 3000),)), "Timer, fifty minutes, five zero."),
    (decision("timer", timers=(TimerTold("timer", 90, 90),)), "Timer, one minute thirty seconds."),
    (decision("timer replaced", timers=(SOAK,)), "Soak test timer, ten minutes, in place of the one before."),
    (decision("timer stop", timers=(SOAK,)), "Soak test timer stopped. Four minutes ten seconds were left."),
    (
        decision("timers", timers=(PLAIN, SOAK)),
        "Timer, one second left. Soak test timer, four minutes ten seconds left.",
    ),
    (asked(WorkIntent("timers")), "Time remaining?"),
    (decision("timers"), "No timer runs."),
    (asked(timer(900)), "Timer, fifteen minutes, one five?"),
    (
        asked(timer(900), timer(3000), why="sounds like three thousand seconds"),
        "Timer, fifteen minutes, one five, or timer, fifty minutes, five zero?",
    ),
    (
        asked(timer(600, "soak test timer"), why="a timer of that name runs already"),
        "Soak test timer, ten minutes, in place of the one that runs?",
    ),
    (asked(WorkIntent("timer stop", text="soak test timer")), "Stop, soak test timer?"),
    (asked(WorkIntent("timer stop")), "Stop, timer?"),
]  # fmt: skip


@pytest.mark.parametrize(("told", "text"), SAID)
def test_what_is_said_of_timers(told: Decision, text: str) -> None:
    assert BOOK.reply(told).text == text
    assert BOOK.reply(told, terse=True).text == text


OVER = [
    (TimerTold("timer", 300, 0), "Timer is over. Five minutes."),
    (TimerTold("soak test timer", 600, -9), "Soak test timer is over. Ten minutes."),
    (TimerTold("soak test timer", 600, -45), "Soak test timer was over forty five seconds ago."),
    (TimerTold("discharge timer", 10, -4000), "Discharge timer was over one hour six minutes ago."),
]


@pytest.mark.parametrize(("timer_told", "text"), OVER)
def test_a_timer_that_is_over(timer_told: TimerTold, text: str) -> None:
    assert (BOOK.timer_over(timer_told).text, BOOK.timer_over(timer_told).tone) == (text, Tone.CAUTION)


def test_a_job_that_is_taken_up_again_says_which_run() -> None:
    told = BOOK.resumed(readings=1, next_point="rail 5", timers=(SOAK,))
    assert told.text == "Resumed. One reading. Soak test timer, four minutes ten seconds left. Next: rail five."
    assert BOOK.resumed(readings=1, next_point="rail 5").text == "Resumed. One reading. Next: rail five."

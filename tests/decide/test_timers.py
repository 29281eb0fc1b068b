"""Timers: set, stopped and asked after by voice, over in their order, and all of it in the journal."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.decide.profile import read_board
from benchvoice.decide.session import SessionState, close, open_session, reopen, resume, step, timers_over
from benchvoice.decide.timer_log import Now, Timer
from benchvoice.decide.turn import Step
from benchvoice.events import EVENTS, Event, TimerOver, TimerStarted, TimerStopped
from benchvoice.records import Outcome, Parse, SpokenValue, TimerTold, Trust, WorkIntent
from tests.decide.builders import BOARD, START, answer, hearing, reading

READ = read_board(BOARD, "board.yaml")
LEFT = WorkIntent("timers")


def timer(seconds: int, name: str = "") -> WorkIntent:
    return WorkIntent("timer", text=name, value=SpokenValue(str(seconds), "s", unit_said=True))


def stop(name: str = "") -> WorkIntent:
    return WorkIntent("timer stop", text=name)


class Bench:
    """A session with its journal; time passes by `pause_s`, and what is said takes a second."""

    def __init__(self) -> None:
        self.state, opened = open_session(READ, None, at=START, job="job-3", engine="panel", version="0")
        self.journal: list[Event] = list(opened)
        self.seconds = 0

    def hear(self, *meanings: Any, trust: Trust = Trust.AGREED, pause_s: int = 4, twins: tuple[Any, ...] = ()) -> Step:
        self.seconds += pause_s
        heard = hearing(*meanings, trust=trust, after_s=self.seconds)
        if twins:
            object.__setattr__(heard, "twins", tuple(Parse("its twin", (twin,)) for twin in twins))
        done = step(self.state, heard, word_question=lambda _: "?")
        self._take(done.state, done.events)
        return done

    def ring(self, pause_s: int) -> tuple[TimerTold, ...]:
        """What is over after so many seconds more."""
        self.seconds += pause_s
        now = Now(START + timedelta(seconds=self.seconds), "bench.flac", float(self.seconds))
        state, events, told = timers_over(self.state, now)
        self._take(state, events)
        return told

    def _take(self, state: SessionState, events: tuple[Event, ...]) -> None:
        self.state = state
        self.journal += events
        on_disk = [EVENTS.validate_json(EVENTS.dump_json(event)) for event in self.journal]
        assert resume(READ, None, on_disk) == self.state

    @property
    def running(self) -> list[str]:
        return [each.name for each in self.state.timers.running]


def kinds(done: Step) -> list[str]:
    return [event.kind for event in done.events]


# --- set and over ---------------------------------------------------------------------------------------------------
def test_a_timer_is_set_and_rings_once() -> None:
    bench = Bench()
    assert not bench.state.context.timing
    done = bench.hear(timer(300))
    assert kinds(done) == ["heard", "timer started"]
    started = done.events[1]
    assert isinstance(started, TimerStarted)
    assert (started.name, started.seconds) == ("timer", 300)
    assert started.due == done.events[0].at + timedelta(seconds=300)
    assert (done.decision.about, done.decision.timers) == ("timer", (TimerTold("timer", 300, 300),))
    assert bench.state.context.timing
    assert bench.ring(300) == ()  # what was said ended a second after it began
    assert bench.ring(1) == (TimerTold("timer", 300, 0),)
    assert bench.ring(1000) == ()
    assert bench.running == []


def test_several_run_at_once_and_ring_in_their_order() -> None:
    bench = Bench()
    bench.hear(timer(600, "soak test timer"))
    bench.hear(timer(20, "discharge timer"))
    bench.hear(timer(60))
    assert [told.name for told in bench.hear(LEFT).decision.timers] == ["discharge timer", "timer", "soak test timer"]
    assert [(told.name, told.left_s) for told in bench.ring(60)] == [("discharge timer", -47), ("timer", -3)]
    assert bench.running == ["soak test timer"]


def test_what_is_left_is_told_in_seconds() -> None:
    bench = Bench()
    bench.hear(timer(300))
    done = bench.hear(LEFT, pause_s=100)
    assert done.decision.timers == (TimerTold("timer", 300, 200),)
    assert kinds(done) == ["heard", "command"]
    assert Bench().hear(LEFT).decision.timers == ()


def test_to_ask_what_is_left_leaves_an_open_question_as_it_is() -> None:
    bench = Bench()
    bench.hear(timer(300))
    bench.hear(reading("input", "24.1"), trust=Trust.DOUBTFUL)
    bench.hear(LEFT)
    bench.hear(answer("yes"))
    assert [read.value for read in bench.state.readings] == ["24.1"]


def test_one_of_the_same_name_is_set_only_once_that_was_asked() -> None:
    bench = Bench()
    bench.hear(timer(300))
    done = bench.hear(timer(60), trust=Trust.TYPED)
    assert (done.decision.outcome, done.decision.why) == (Outcome.ASKED, "a timer of that name runs already")
    assert bench.state.timers.running[0].seconds == 300
    done = bench.hear(answer("yes"))
    assert kinds(done) == ["heard", "timer stopped", "timer started"]
    assert done.decision.about == "timer replaced"
    assert [each.seconds for each in bench.state.timers.running] == [60]
    assert bench.state.question is None


def test_no_keeps_the_one_that_runs() -> None:
    bench = Bench()
    bench.hear(timer(300))
    bench.hear(timer(60))
    bench.hear(answer("no"))
    assert [each.seconds for each in bench.state.timers.running] == [300]


def test_a_twin_is_asked_like_a_values() -> None:
    bench = Bench()
    done = bench.hear(timer(900), twins=(timer(3000),))
    assert (done.decision.outcome, done.decision.why) == (Outcome.ASKED, "sounds like three thousand seconds")
    offered = [candidate.work for candidate in done.decision.candidates]
    assert offered == [timer(900), timer(3000)]
    bench.hear(answer("second"))
    assert [each.seconds for each in bench.state.timers.running] == [3000]


def test_what_was_not_heard_for_certain_is_asked() -> None:
    bench = Bench()
    assert bench.hear(timer(900), trust=Trust.DOUBTFUL).decision.outcome is Outcome.ASKED
    assert bench.running == []


# --- stopped --------------------------------------------------------------------------------------------------------
def test_the_only_one_needs_no_name_to_be_stopped() -> None:
    bench = Bench()
    bench.hear(timer(300, "soak test timer"))
    done = bench.hear(stop(), pause_s=50)
    assert kinds(done) == ["heard", "timer stopped"]
    assert done.decision.timers == (TimerTold("soak test timer", 300, 250),)
    assert bench.ring(1000) == ()


@pytest.mark.parametrize(
    ("running", "said", "why"),
    [
        ((), stop(), "no timer runs"),
        ((), stop("soak test timer"), "no timer runs"),
        (("soak test timer",), stop("discharge timer"), "no discharge timer runs"),
        (("soak test timer", "discharge timer"), stop(), "say which timer"),
    ],
)
def test_what_cannot_be_stopped_is_refused(running: tuple[str, ...], said: WorkIntent, why: str) -> None:
    bench = Bench()
    for name in running:
        bench.hear(timer(300, name))
    done = bench.hear(said)
    assert (done.decision.about, done.decision.why) == ("refused", why)
    assert bench.running == list(running)


def test_of_several_the_one_without_a_name_is_the_one_called_timer() -> None:
    bench = Bench()
    bench.hear(timer(300, "soak test timer"))
    bench.hear(timer(300))
    bench.hear(stop())
    assert bench.running == ["soak test timer"]


# --- time -----------------------------------------------------------------------------------------------------------
def test_of_a_recording_its_own_time_counts() -> None:
    """It is heard faster than it was spoken, or slower; another source has only the clock in common with it."""
    at = START
    set_there = Timer(2, "timer", 60, at + timedelta(seconds=60), "a.flac", 10.0)
    assert set_there.left_s(Now(at + timedelta(seconds=1), "a.flac", 69.0)) == 1
    assert set_there.left_s(Now(at + timedelta(seconds=900), "a.flac", 69.0)) == 1
    assert set_there.left_s(Now(at + timedelta(seconds=50), "b.flac", 900.0)) == 10
    assert set_there.left_s(Now(at + timedelta(seconds=50), "a.flac", None)) == 10


def test_of_a_live_source_the_clock_counts_as_well() -> None:
    """Its own time stands still while its device is gone."""
    live = Timer(2, "timer", 60, START + timedelta(seconds=60), "microphone", 10.0)
    assert live.left_s(Now(START + timedelta(seconds=61), "microphone", 20.0, by_clock=True)) == -1
    assert live.left_s(Now(START + timedelta(seconds=30), "microphone", 40.0, by_clock=True)) == 30


def test_a_question_is_not_answered_by_a_timer_that_rings() -> None:
    bench = Bench()
    bench.hear(timer(10))
    bench.hear(reading("input", "24.1"), trust=Trust.DOUBTFUL)
    assert bench.ring(20)
    assert bench.state.question is not None
    bench.hear(answer("yes"))
    assert [read.value for read in bench.state.readings] == ["24.1"]


def test_timers_go_on_while_the_program_does_not() -> None:
    bench = Bench()
    bench.hear(timer(60))
    bench.hear(timer(3600, "soak test timer"))
    state, events = close(bench.state, START, "interrupted")
    bench._take(state, events)
    later = START + timedelta(seconds=600)
    state, opened = reopen(bench.state, at=later, job="job-3", engine="panel", version="0")
    bench._take(state, opened)
    assert bench.running == ["timer", "soak test timer"]
    again = Now(later, "bench.flac", 0.0)  # another recording of the same name: its times say nothing of the first's
    assert [each.left_s(again) for each in bench.state.timers.running] == [-536, 3008]
    state, events, told = timers_over(bench.state, Now(later, "microphone", 0.0, by_clock=True))
    assert [(each.name, each.left_s) for each in told] == [("timer", -536)]
    (over,) = events
    assert isinstance(over, TimerOver)
    assert (over.name, over.late_s) == ("timer", 536)
    assert [each.name for each in state.timers.running] == ["soak test timer"]


# --- whatever is said -----------------------------------------------------------------------------------------------
_NAMES = st.sampled_from(["", "soak test timer", "discharge timer"])
_SAID = st.one_of(
    st.builds(timer, st.integers(1, 100), _NAMES),
    st.builds(stop, _NAMES),
    st.sampled_from([LEFT, answer("yes"), answer("no"), reading("input", "24.1")]),
)
_TRUSTS = st.sampled_from([Trust.AGREED, Trust.AGREED, Trust.TYPED, Trust.DOUBTFUL])


@given(st.lists(st.tuples(_SAID, _TRUSTS, st.integers(1, 60)), max_size=25))
@settings(max_examples=150, deadline=None)
def test_every_timer_ends_once_and_none_before_its_time(talk: list[Any]) -> None:
    bench = Bench()
    for said, trust, pause_s in talk:
        bench.ring(0)
        bench.hear(said, trust=trust, pause_s=pause_s)
        assert len(set(bench.running)) == len(bench.running)
    bench.ring(1000)
    started = {event.seq: event for event in bench.journal if isinstance(event, TimerStarted)}
    ended = [event.timer for event in bench.journal if isinstance(event, TimerStopped | TimerOver)]
    assert sorted(ended) == sorted(started)
    for event in bench.journal:
        if isinstance(event, TimerOver):
            assert event.late_s >= 0
            assert event.at >= started[event.timer].due

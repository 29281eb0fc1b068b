"""Visits: a job closed by voice and opened again is another visit, in which nothing of the earlier one counts."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.decide.session import close, open_session, reopen, resume, step
from benchvoice.decide.session_state import SessionState
from benchvoice.decide.visits import BY_VOICE, EarlierVisit, Visits
from benchvoice.events import Caution, Closed, Event, Opened, Removed, Replaced, ThingSaid
from tests.decide.builders import START, command, hearing, reading
from tests.decide.checklists import BOARD_READ
from tests.decide.test_guide import Guided, to_the_rails

AGAIN: dict[str, Any] = {"at": START + timedelta(days=42), "job": "job-7", "engine": "panel", "version": "0.1.0"}


def visits_of(events: list[Event]) -> Visits:
    visits = Visits()
    for event in events:
        visits.see(event)
    return visits


def closed_by_voice() -> Guided:
    bench = to_the_rails()
    bench.type(reading("input", "24.1"))
    bench.type(command("after"))
    bench.type(reading("input", "24.2"))
    bench.type(command("close"))
    return bench


def opened_again(bench: Guided, **how: Any) -> tuple[SessionState, list[Event]]:
    visits = visits_of(bench.journal)
    state = resume(BOARD_READ, None, bench.journal, bench.checklist)
    state, events = reopen(state, visit=visits.next(state, **how), **AGAIN)
    return state, [*bench.journal, *events]


def test_a_job_closed_by_voice_comes_back_as_the_next_visit() -> None:
    bench = closed_by_voice()
    assert bench.state.closed
    assert isinstance(bench.journal[-1], Closed)
    assert bench.journal[-1].why == BY_VOICE
    state, journal = opened_again(bench)
    assert (state.visit, state.stage, state.closed) == (2, "before", False)
    assert state.readings.top is None
    assert state.left() == tuple(point.name for point in BOARD_READ.points)
    assert state.work.events == ()
    assert [event.kind for event in journal[len(bench.journal) :]] == ["opened", "step"]  # the list begins anew
    assert state.progress is not None
    assert state.progress.past == ()
    assert resume(BOARD_READ, None, journal, bench.checklist) == state


@pytest.mark.parametrize("why", ["a signal", "end of the recording", "end of the transcript"])
def test_a_session_that_only_ended_is_taken_up_in_the_same_visit(why: str) -> None:
    bench = to_the_rails()
    _, events = close(bench.state, START, why)
    bench.journal += events
    state, _ = opened_again(bench)
    assert (state.visit, state.stage) == (1, "before")
    assert state.readings.top is not None


def test_what_is_known_to_have_come_back_is_a_visit_of_its_own() -> None:
    state, _ = opened_again(to_the_rails(), came_back=True)
    assert (state.visit, state.readings.top) == (2, None)


def test_a_second_visit_that_was_cut_off_is_taken_up_as_the_second() -> None:
    bench = closed_by_voice()
    bench.state, bench.journal = opened_again(bench)
    bench.type(reading("input", "24.3"))
    state, journal = opened_again(bench)
    assert state.visit == 2
    assert [event.visit for event in journal if isinstance(event, Opened)] == [1, 2, 2]
    assert state.latest("input") is not None


def test_nothing_of_the_earlier_visit_can_be_struck() -> None:
    bench = closed_by_voice()
    bench.state, bench.journal = opened_again(bench)
    done = bench.type(command("strike"))
    assert [event.kind for event in done.events] == ["heard"]


def test_the_earlier_visit_in_short() -> None:
    bench = closed_by_voice()
    replaced = [
        Replaced(seq=90 + n, at=START, heard=1, ref=ref, what=what)
        for n, (ref, what) in enumerate([("U4", "3.3 V regulator"), ("U4", "3.3 V regulator"), ("C7", "")])
    ]
    screws = Removed(seq=99, at=START, heard=1, thing=ThingSaid(kind="fastener", name="screw", count=2))
    visits = visits_of(bench.journal)
    state = resume(BOARD_READ, None, [*bench.journal, *replaced, screws], bench.checklist)
    assert visits.earlier(state) == EarlierVisit(
        1, bench.journal[-1].at, readings=3, replaced=(("U4", "3.3 V regulator"), ("C7", "")), out=(("screw", 2),)
    )


def test_a_caution_is_given_anew_and_one_of_then_waits_for_nothing() -> None:
    bench = closed_by_voice()
    told = Caution(seq=len(bench.journal), at=START, hazard="mains", about="input")
    bench.journal = [*bench.journal[:-1], told, bench.journal[-1].model_copy(update={"seq": told.seq + 1})]
    before = resume(BOARD_READ, None, bench.journal, bench.checklist)
    assert before.cautions.waiting == (told.seq,)
    state, _ = opened_again(bench)
    assert (state.cautions.waiting, state.cautions.given, state.cautions.spent) == ((), (), frozenset())


@given(st.lists(st.sampled_from(["open", "came back", BY_VOICE, "a signal", "read"]), max_size=25))
@settings(max_examples=150, deadline=None)
def test_only_readings_of_the_present_visit_count(acts: list[str]) -> None:
    """The visit's number and its readings are told from the acts alone; the journal's fold agrees at every step."""
    state, opened = open_session(BOARD_READ, None, **AGAIN)
    journal: list[Event] = list(opened)
    visit, read, last = 1, 0, ""
    for number, act in enumerate(acts):
        events: tuple[Event, ...] = ()
        if act in ("open", "came back"):
            if last == BY_VOICE or act == "came back":
                visit, read = visit + 1, 0
            last = ""
            told = visits_of(journal).next(state, came_back=act == "came back")
            state, events = reopen(state, visit=told, **AGAIN)
        elif act == "read":
            read += not last
            done = step(state, hearing(reading("input", "24.1"), after_s=4 * number), word_question=lambda _: "?")
            state, events = done.state, done.events
        else:
            last = last or act
            state, events = close(state, START, act)
        journal += events
        assert (state.visit, len(list(state.readings))) == (visit, read)
        assert resume(BOARD_READ, None, journal) == state

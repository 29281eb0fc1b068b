"""Time spent: every second between two utterances of a session is counted once, as work or as a pause."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.events import (
    ChecklistStep,
    Closed,
    Command,
    Event,
    Heard,
    Note,
    Opened,
    Reading,
    Removed,
    Replaced,
    ThingSaid,
    UnitClosed,
)
from benchvoice.keep.record import fold
from benchvoice.keep.record_handover import Stage, TimesRecord
from benchvoice.keep.record_times import PAUSE_AFTER, TimeFold
from benchvoice.keep.wording import duration_text
from tests.keep.builders import POINTS, START


class Day:
    """Events whose times are told in seconds: what is said so many seconds after the last thing."""

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.now_s = 0
        self.stage: Stage = "before"
        self.visit = 1

    def _next(self, after_s: int = 0) -> dict[str, Any]:
        self.now_s += after_s
        return {"seq": len(self.events) + 1, "at": START + timedelta(seconds=self.now_s)}

    def opened(self, after_s: int = 0, visit: int | None = None) -> None:
        self.visit = visit or self.visit
        given: dict[str, Any] = {"job": "a", "board": "b", "board_sha256": "c", "points": POINTS, "engine": "e"}
        self.events.append(Opened(**self._next(after_s), **given, version="0", visit=self.visit))
        self.stage = "before"

    def closed(self, after_s: int = 0, why: str = "by voice") -> None:
        self.events.append(Closed(**self._next(after_s), why=why))

    def say(self, what: str, after_s: int, **heard: Any) -> None:
        given: dict[str, Any] = {"source": "bench", "text": what, "engine": "e", "outcome": "accepted"}
        self.events.append(Heard(**self._next(after_s), **given | heard))
        of: dict[str, Any] = {"heard": len(self.events)}
        told = self._next()
        thing = ThingSaid(kind="cover", name="lid")
        event: Event | None = None
        match what:
            case "reading":
                reading: dict[str, Any] = {"point": "rail 5", "quantity": "voltage", "value": "5.0", "unit": "V"}
                event = Reading(**told, **of, **reading, statement="pass", stage=self.stage)
            case "step":
                event = ChecklistStep(**told, **of, action="done", step="look")
            case "out":
                event = Removed(**told, **of, thing=thing)
            case "fitted":
                event = Replaced(**told, **of, ref="U4")
            case "unit closed":
                event = UnitClosed(**told, **of)
            case "note":
                event = Note(**told, **of, text="hot")
            case "after" | "before":
                self.stage = "before" if what == "before" else "after"
                event = Command(**told, **of, name=what)
        if event is not None:
            self.events.append(event)

    @property
    def times(self) -> TimesRecord:
        return times_of(self.events)

    @property
    def spent(self) -> dict[str, int]:
        return {row.activity: row.seconds for row in self.times.activities}


def times_of(events: list[Event]) -> TimesRecord:
    folding = TimeFold()
    for event in events:
        folding.take(event)
    return folding.record()


def test_a_whole_repair() -> None:
    day = Day()
    day.opened()
    day.say("talk", 60, outcome="ignored")
    day.say("note", 30)  # up to here it is the intake
    day.say("reading", 20)
    day.say("note", 5)
    day.say("reading", 15)
    day.say("out", 100)
    day.say("fitted", 300)
    day.say("unit closed", 50)
    day.say("after", 7)
    day.say("reading", 13)
    day.say("talk", 8)
    day.closed(2)
    assert day.spent == {"intake": 90, "finding the fault": 40, "work on the unit": 450, "proof": 30}
    assert (day.times.worked_s, day.times.pauses, day.times.sessions) == (610, 0, 1)
    assert fold(day.events).times == day.times


def test_a_long_quiet_time_is_a_pause_and_belongs_to_nothing() -> None:
    day = Day()
    day.opened()
    day.say("reading", 600)  # not longer than that
    day.say("reading", 601)
    day.closed(5000)
    assert day.spent == {"finding the fault": 600}
    assert (day.times.pauses, day.times.paused_s, day.times.pause_after_s) == (2, 5601, 600)


def test_sessions_are_added_and_the_time_between_them_is_nobodys() -> None:
    day = Day()
    day.opened()
    day.say("reading", 10)
    day.say("note", 4)  # cut off: it goes with what came before
    day.opened(after_s=86_400)
    day.say("note", 6)
    day.say("fitted", 20)
    day.closed(1)
    assert day.spent == {"finding the fault": 14, "work on the unit": 27}
    assert (day.times.sessions, day.times.pauses) == (2, 0)


def test_each_visit_has_its_own_times() -> None:
    day = Day()
    day.opened()
    day.say("reading", 10)
    day.closed(1)
    day.opened(after_s=99, visit=2)
    day.say("out", 30)
    day.closed(2)
    assert day.spent == {"work on the unit": 32}
    record = fold(day.events)
    assert [visit.times.worked_s for visit in record.earlier] == [11]
    assert record.times.worked_s == 32


def test_a_recording_is_as_long_as_it_is_however_fast_it_is_heard() -> None:
    day = Day()
    day.opened()
    for start_s in (2.0, 9.5, 40.25):
        day.say("reading", 1, source="a.flac", start_s=start_s)
    day.closed(1)
    assert day.spent == {"finding the fault": 40}  # 1 + 7.5 + 30.75 + 1


def test_a_clock_that_went_back_and_a_stream_that_began_anew_take_nothing_away() -> None:
    day = Day()
    day.opened()
    day.say("reading", 10, start_s=500.0)
    day.say("reading", 7, start_s=3.0)
    day.say("reading", -60)
    assert day.spent == {"finding the fault": 17}


WHATS = st.sampled_from(["reading", "step", "out", "fitted", "unit closed", "note", "after", "before", "talk"])
GAPS = st.integers(0, 500) | st.sampled_from([600, 601, 4000])


@st.composite
def days(draw: st.DrawFn) -> Day:
    day = Day()
    day.opened()
    for _ in range(draw(st.integers(0, 25))):
        match draw(st.sampled_from(["say"] * 8 + ["closed", "opened", "came back"])):
            case "say":
                day.say(draw(WHATS), draw(GAPS))
            case "closed":
                day.closed(draw(GAPS))
            case "opened":
                day.opened(draw(GAPS))
            case "came back":
                day.opened(draw(GAPS), visit=day.visit + 1)
    return day


def gaps(events: list[Event]) -> list[timedelta]:
    """The times between two utterances of one session of the last visit, told another way."""
    visit = max(event.visit for event in events if isinstance(event, Opened))
    first = next(n for n, event in enumerate(events) if isinstance(event, Opened) and event.visit == visit)
    moments = [event for event in events[first:] if isinstance(event, Opened | Heard | Closed)]
    return [
        two.at - one.at for one, two in pairwise(moments) if not isinstance(one, Closed) and not isinstance(two, Opened)
    ]


@settings(max_examples=200, deadline=None)
@given(days())
def test_every_second_is_counted_once(day: Day) -> None:
    times = day.times
    paused = [gap for gap in gaps(day.events) if gap > PAUSE_AFTER]
    worked = sum(gaps(day.events), timedelta()) - sum(paused, timedelta())
    assert times.worked_s == sum(row.seconds for row in times.activities) == worked.total_seconds()
    assert (times.pauses, times.paused_s) == (len(paused), sum(paused, timedelta()).total_seconds())


@settings(max_examples=100, deadline=None)
@given(days())
def test_time_only_grows_within_a_visit(day: Day) -> None:
    folding, last, visit = TimeFold(), TimesRecord(), 1
    for event in day.events:
        folding.take(event)
        now = folding.record()
        if isinstance(event, Opened) and event.visit != visit:
            visit, last = event.visit, TimesRecord()
        assert now.worked_s >= last.worked_s
        assert now.paused_s >= last.paused_s
        last = now


@settings(max_examples=60, deadline=None)
@given(days(), st.integers(-(10**6), 10**6))
def test_when_it_was_does_not_matter(day: Day, moved_s: int) -> None:
    moved = [event.model_copy(update={"at": event.at + timedelta(seconds=moved_s)}) for event in day.events]
    assert times_of(moved) == day.times


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "0 s"), (59, "59 s"), (60, "1 min"), (89, "1 min"), (91, "2 min"), (3599, "1 h"), (3600, "1 h"),
     (4320, "1 h 12 min"), (86_400, "24 h")],
)  # fmt: skip
def test_spans_in_words(seconds: int, text: str) -> None:
    assert duration_text(seconds).replace("\u00a0", " ") == text

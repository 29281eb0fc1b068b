"""A unit that came back: each visit has its own record, and nothing of an earlier one counts in a later one."""

from __future__ import annotations

from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.events import EVENTS, Caution, Event, Opened
from benchvoice.keep.record import JobRecord, fold, record_schema
from benchvoice.keep.record_models import JobSummary
from benchvoice.keep.report import render_html
from tests.keep.builders import POINTS, Story, kiln_job
from tests.keep.test_record_compare import Repair


def came_back() -> Repair:
    """Visit 1 mends rail 3.3; the unit comes back with another complaint, and rail 5 is read."""
    s = Repair()
    s.opened(complaint="kiln stays cold", serial="KC4-00112")
    s.heard("rail three point three reads four point oh")
    s.reading("rail 3.3", "4.0", "fail", direction="high")
    s.heard("input reads twenty four")
    s.reading("input", "24.0")
    s.heard("fitted u four")
    s.fitted("U4", what="3.3 V regulator", again=("rail 3.3",))
    s.heard("after the repair")
    s.command("after")
    s.heard("rail three point three reads three point three one")
    s.reading("rail 3.3", "3.31", stage="after")
    s.closed("by voice")
    s.opened(resumed=True, visit=2, complaint="smells burnt", serial=None)
    s.heard("rail five reads five point one")
    s.reading("rail 5", "5.1")
    s.heard("note fan is quiet")
    s.note("fan is quiet")
    return s


def test_the_latest_visit_stands_alone() -> None:
    record = fold(came_back().events)
    assert (record.visit, record.complaint, record.serial) == (2, "smells burnt", "KC4-00112")
    assert record.stages == ("before",)
    assert {point.name: point.before and point.before.value for point in record.points if point.before} == {
        "rail 5": "5.1"
    }
    assert all(point.after is None for point in record.points)
    assert (record.counts.readings, record.rework, record.parts_used, record.measure_again) == (1, (), (), ())
    assert [(gap.stage, "rail 3.3" in gap.points) for gap in record.not_read] == [("before", True)]
    assert [session.visit for session in record.sessions] == [1, 2]
    assert [note.visit for note in record.notes] == [2]


def test_the_earlier_visit_keeps_what_counted_at_its_end() -> None:
    (visit,) = fold(came_back().events).earlier
    assert (visit.visit, visit.complaint, visit.closed_why) == (1, "kiln stays cold", "by voice")
    assert [(p.name, p.before and p.before.value, p.after and p.after.value, p.change) for p in visit.points] == [
        ("input", "24.0", None, None),
        ("rail 3.3", "4.0", "3.31", "-0.69"),
    ]
    assert visit.points[0].lacks == ("not measured after the repair",)
    assert [part.ref for part in visit.parts_used] == ["U4"]


def test_readings_say_of_which_visit_they_are() -> None:
    record = fold(came_back().events)
    opening = next(event.seq for event in came_back().events if isinstance(event, Opened) and event.visit == 2)
    assert [(r.point, r.visit, r.status, r.ended_by) for r in record.readings] == [
        ("rail 3.3", 1, "earlier visit", opening),
        ("input", 1, "earlier visit", opening),
        ("rail 3.3", 1, "earlier visit", opening),
        ("rail 5", 2, "current", None),
    ]


def test_the_same_point_is_not_superseded_by_another_visit() -> None:
    s = came_back()
    s.reading("rail 3.3", "3.9", "fail", direction="high")
    record = fold(s.events)
    assert [r.status for r in record.readings if r.point == "rail 3.3"] == ["earlier visit", "earlier visit", "current"]
    (point,) = [point for point in record.points if point.name == "rail 3.3"]
    assert (point.before and point.before.value, point.after, point.change) == ("3.9", None, None)


def test_the_page_shows_both_and_says_that_the_earlier_one_proves_nothing() -> None:
    page = render_html(fold(came_back().events))
    for text in (
        "<dt>Visit</dt><dd>2</dd>",
        "Result of visit 2",
        "<b>The unit was here before:</b> visit 1, closed 2026-03-02",
        "Readings before the repair, visit 2",
        "<h2>Earlier visit 1</h2>",
        "Nothing below is proof of this visit",
        "kiln stays cold",
        "The unit came back, visit 2, before the repair",
        "Session 2 (visit 2)",
    ):
        assert text in page
    assert "Readings that do not count" not in page
    assert "visit" not in render_html(fold(kiln_job())).split("<body>")[1]


def test_what_lies_in_an_earlier_visit_says_so_wherever_it_is_listed() -> None:
    s = Repair()
    s.opened()
    s.note("of the first")
    s.withdrawn(s.reading("rail 5", "5.0"))
    s.closed("by voice")
    s.opened(resumed=True, visit=2)
    s.note("of the second")
    page = render_html(fold(s.events))
    assert page.count('<span class="small">visit 1</span>') == 2
    assert page.count('<span class="small">visit 2</span>') == 0


def test_cautions_and_timers_belong_to_their_visit() -> None:
    s = came_back()
    caution = Caution(seq=1, at=s.events[0].at, hazard="mains", about="input")
    events: list[Event] = [s.events[0], caution, *s.events[1:], caution]
    events = [event.model_copy(update={"seq": number}) for number, event in enumerate(events, 1)]
    record = fold(events)
    assert [caution.seq for caution in record.cautions] == [len(events)]
    assert [caution.seq for visit in record.earlier for caution in visit.cautions] == [2]
    assert "<b>Cautions then:</b> mains, <bdi>input</bdi> (not acknowledged)" in render_html(record)


def test_records_and_journals_of_before_are_read() -> None:
    """A record of a version that knew no visits, and a journal whose openings have none."""
    old = fold(kiln_job()).model_dump(mode="json", exclude={"visit", "earlier", "parts_used", "checks", "times"})
    for reading in old["readings"]:
        del reading["visit"]
    read = JobRecord.model_validate(old)
    assert (read.visit, read.earlier, read.readings[0].visit) == (1, (), 1)
    lines = [event.model_dump(mode="json", exclude={"visit", "over", "checks"}) for event in kiln_job()]
    assert fold([EVENTS.validate_python(line) for line in lines]) == fold(kiln_job())


@pytest.mark.parametrize("first", [2, 7])
def test_a_journal_that_begins_with_a_later_visit_has_a_record(first: int) -> None:
    s = Story()
    s.opened(visit=first)
    s.reading("rail 5", "5.0")
    record = fold(s.events)
    assert (record.visit, record.earlier, record.counts.readings) == (first, (), 1)


@st.composite
def visits(draw: st.DrawFn) -> list[list[Event]]:
    """Several visits, each the events of its sessions; numbers continue from one to the next."""
    s = Repair()
    found: list[list[Event]] = []
    names = st.sampled_from([point.name for point in POINTS])
    for visit in range(1, draw(st.integers(1, 4)) + 1):
        begun = len(s.events)
        s.opened(resumed=visit > 1, visit=visit)
        for _ in range(draw(st.integers(0, 8))):
            match draw(st.sampled_from(["reading", "reading", "fitted", "after", "session", "strike"])):
                case "reading":
                    s.reading(
                        draw(names),
                        draw(st.sampled_from(["5.0", "3.3"])),
                        stage=draw(st.sampled_from(["before", "after"])),
                    )
                case "fitted":
                    s.fitted("U4", again=(draw(names),))
                case "after":
                    s.command("after")
                case "session":
                    s.closed("a signal")
                    s.opened(resumed=True, visit=visit)
                case "strike":
                    of_visit = [event.seq for event in s.events[begun:] if event.kind == "reading"]
                    if of_visit:
                        s.withdrawn(draw(st.sampled_from(of_visit)))
        s.closed("by voice")
        found.append(s.events[begun:])
    return found


_OF_A_VISIT = ("stages", "not_read", "strip_down", "rework", "measure_again", "parts_used", "checks", "times", "visit")


@settings(max_examples=60, deadline=None)
@given(visits())
def test_the_latest_visit_is_what_its_own_events_make(found: list[list[Event]]) -> None:
    record = fold([event for visit in found for event in visit])
    alone = fold(found[-1])
    for name in _OF_A_VISIT:
        assert getattr(record, name) == getattr(alone, name)
    assert record.counts.statements == alone.counts.statements
    assert [shown(point) for point in record.points] == [shown(point) for point in alone.points]
    assert [visit.visit for visit in record.earlier] == list(range(1, len(found)))
    for events, visit in zip(found, record.earlier, strict=False):
        own: JobSummary = fold(events)
        assert [shown(p) for p in visit.points] == [shown(p) for p in own.points if p.before or p.after]
        assert (visit.parts_used, visit.times) == (own.parts_used, own.times)
    jsonschema.Draft202012Validator(record_schema()).validate(record.model_dump(mode="json"))
    assert JobRecord.model_validate_json(record.model_dump_json()) == record


def shown(point: Any) -> tuple[Any, ...]:
    """What is shown of a point: by number and value, since an earlier visit's readings have another status."""
    readings = [reading and (reading.seq, reading.value, reading.stage) for reading in (point.before, point.after)]
    return (point.name, *readings, point.change, point.lacks)

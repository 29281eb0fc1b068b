"""Before beside after: what is missing before a point is proven, and which parts were used."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.events import Event, Reading, Refitted, Removed, Replaced, Reworked, ThingSaid
from benchvoice.keep.record import JobRecord, fold
from benchvoice.keep.record_models import STATEMENTS, PointRecord
from benchvoice.keep.report import render_html
from tests.keep.builders import START, Story, kiln_job

STAGES = ("before", "after")


class Repair(Story):
    """A story with work on the unit."""

    def fitted(self, ref: str = "U4", again: tuple[str, ...] = (), **fields: Any) -> int:
        return self._add(Replaced(**self._next(), heard=1, ref=ref, again=again, **fields))

    def removed(self, ref: str) -> int:
        return self._add(Removed(**self._next(), heard=1, thing=ThingSaid(kind="part", name=ref)))

    def refitted(self, removed: int, again: tuple[str, ...] = ()) -> int:
        return self._add(Refitted(**self._next(), heard=1, removed=removed, again=again))

    def told(self, act: Any, text: str = "", ref: str = "U4", **fields: Any) -> int:
        return self._add(Reworked(**self._next(), heard=1, ref=ref, act=act, text=text, **fields))


def by_name(record: JobRecord) -> dict[str, PointRecord]:
    return {point.name: point for point in record.points}


def lacks(events: list[Event]) -> dict[str, tuple[str, ...]]:
    return {name: point.lacks for name, point in by_name(fold(events)).items() if point.lacks}


def test_what_is_missing_of_the_kiln_job() -> None:
    assert lacks(kiln_job()) == {
        "input": ("not measured after the repair",),
        "rail 5": ("not measured after the repair",),
        "rail 3.3 to ground": ("not measured before the repair",),
        "thermocouple": ("not measured",),
    }


def test_without_a_repair_nothing_is_missing_of_it() -> None:
    s = Repair()
    s.opened()
    s.reading("rail 5", "5.0")
    s.told("inspected", "passed")
    assert lacks(s.events) == {}
    s.told("method", "hot air")
    assert lacks(s.events)["rail 5"] == ("not measured after the repair",)


def test_what_a_replaced_part_feeds_is_due_and_says_why() -> None:
    s = Repair()
    s.opened()
    s.reading("rail 3.3", "4.0", "fail")
    s.reading("rail 3.3", "3.31", stage="after")
    s.reading("rail 5", "5.0", stage="after")
    s.fitted("U4", again=("rail 3.3",))
    found = lacks(s.events)
    assert found["rail 3.3"] == ("to measure again, since U4 feeds it",)
    assert found["rail 5"] == ("not measured before the repair", "read before U4 was fitted")
    s.reading("rail 3.3", "3.31", stage="after")
    assert "rail 3.3" not in lacks(s.events)


@pytest.mark.parametrize(
    ("work", "lack"),
    [
        (lambda s: s.removed("C7"), "read before C7 was removed"),
        (lambda s: s.refitted(s.removed("C7")), "read before C7 was put back"),
        (lambda s: s.told("mended", "jumper wire"), "read before the rework on U4"),
        (lambda s: s.told("method", "iron", ref=""), "read before the rework"),
        (lambda s: s.told("part number", "LM1117"), None),
        (lambda s: s.told("inspected", "passed"), None),
        (lambda s: s.told("damage", "lifted pad"), None),
    ],
)
def test_a_reading_of_before_the_last_change_of_a_part_says_so(work: Callable[[Repair], object], lack: str) -> None:
    s = Repair()
    s.opened()
    s.reading("rail 5", "5.0")
    s.reading("rail 5", "5.1", stage="after")
    work(s)
    assert by_name(fold(s.events))["rail 5"].lacks == (() if lack is None else (lack,))


def test_a_part_that_was_put_back_is_named_too() -> None:
    s = Repair()
    s.opened()
    s.reading("rail 3.3", "3.31")
    s.refitted(s.removed("U4"), again=("rail 3.3",))
    assert lacks(s.events)["rail 3.3"] == (
        "not measured after the repair",
        "to measure again, since U4 feeds it",
    )


def test_a_struck_reading_is_told_as_struck() -> None:
    s = Repair()
    s.opened()
    s.reading("rail 5", "5.0")
    s.withdrawn(s.reading("rail 5", "5.1", stage="after"))
    assert lacks(s.events)["rail 5"] == ("the reading after the repair was struck",)


def test_the_page_has_what_is_missing_beside_each_point() -> None:
    s = Repair()
    s.opened()
    s.reading("rail 3.3", "4.0", "fail", direction="high")
    s.fitted("<U4>", again=("rail 3.3",))
    page = render_html(fold(s.events))
    assert "<h2>Before and after</h2>" in page  # nothing was read after the repair: all the more
    assert "to measure again, since &lt;U4&gt; feeds it" in page
    assert "not measured after the repair" in page


# --- parts --------------------------------------------------------------------------------------------------------
def test_parts_used_with_all_that_was_told_of_them() -> None:
    s = Repair()
    s.opened()
    s.fitted("U4", what="3.3 V regulator")
    s.told("value", value="3.3", unit="V")
    s.told("part number", "LM1117-33")
    s.fitted("R7", value="4.70", unit="kohm")
    s.told("method", "iron", ref="R7")
    s.fitted("U4")
    s.told("part number", "AZ1117", ref="U4")
    s.told("value", ref="C9", value="1", unit="uF")  # nothing was fitted there
    found = fold(s.events).parts_used
    assert [(part.ref, part.what, part.value, part.unit, part.code, part.part_number) for part in found] == [
        ("U4", "3.3 V regulator", "3.3", "V", "3V3", "LM1117-33"),
        ("R7", "", "4.70", "kohm", "4K70", ""),
        ("U4", "", None, None, "", "AZ1117"),
    ]
    page = render_html(fold(s.events))
    assert "<h2>Parts used</h2>" in page
    assert "LM1117-33" in page


@st.composite
def repairs(draw: st.DrawFn) -> list[Event]:
    """Readings, strikes and parts in any order, sensible or not."""
    s = Repair()
    s.opened()
    names = st.sampled_from(["input", "rail 5", "rail 3.3"])
    again = st.lists(names, max_size=2).map(tuple)
    for _ in range(draw(st.integers(0, 15))):
        match draw(
            st.sampled_from(["reading", "reading", "reading", "strike", "fitted", "removed", "refitted", "told"])
        ):
            case "reading":
                s.reading(draw(names), "5.0", draw(st.sampled_from(STATEMENTS)), stage=draw(st.sampled_from(STAGES)))
            case "strike":
                s.withdrawn(draw(st.integers(1, 15)))
            case "fitted":
                s.fitted(draw(st.sampled_from(["U4", "C7"])), again=draw(again))
            case "removed":
                s.removed("U4")
            case "refitted":
                s.refitted(draw(st.integers(1, 15)), again=draw(again))
            case "told":
                s.told(draw(st.sampled_from(["method", "cleaned", "inspected", "damage", "value", "part number"])))
    return s.events


def last_change(events: list[Event]) -> int:
    """When a part was last worked on, told another way; 0 for never."""
    parts = {event.seq for event in events if isinstance(event, Removed)}  # no story here takes out anything else
    changed = [0]
    for event in events:
        put_back = isinstance(event, Refitted) and event.removed in parts and event.removed < event.seq
        reworked = isinstance(event, Reworked) and event.act in ("method", "mended")
        if put_back or reworked or isinstance(event, Removed | Replaced):
            changed.append(event.seq)
    return max(changed)


@settings(max_examples=200, deadline=None)
@given(repairs())
def test_a_point_that_lacks_nothing_was_read_since_the_last_part_or_there_was_no_repair(events: list[Event]) -> None:
    record = fold(events)
    fitted = [event.seq for event in events if isinstance(event, Replaced)]
    changed = last_change(events)
    repaired = changed or any(isinstance(event, Reading) and event.stage == "after" for event in events)
    for point in record.points:
        if repaired and not point.lacks:
            assert point.before is not None
            assert point.after is not None
            assert point.after.seq > changed
        assert any("measure again" in lack for lack in point.lacks) == (point.name in record.measure_again)
    assert len(record.parts_used) == len(fitted)
    assert [part.seq for part in record.parts_used] == fitted


def test_the_time_of_a_part_is_that_of_its_fitting() -> None:
    s = Repair()
    s.opened()
    s.fitted("U4")
    (part,) = fold(s.events).parts_used
    assert (part.seq, part.at > START) == (2, True)

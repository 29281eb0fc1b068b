"""Replaced parts: what they feed has to be measured again, and what is said of rework belongs to the part in hand."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from benchvoice.decide.board import Board, FedBy, Part, Point
from benchvoice.decide.rework import counting, description, fed_through, fitted_last, part_in_hand, value_of
from benchvoice.decide.stripdown import due
from benchvoice.events import Refitted, Removed, Replaced, Reworked, ThingSaid

AT = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)


def point(name: str, fed_by: str | None = None, *through: str) -> Point:
    return Point(name, (name,), "voltage", "V", fed_by=None if fed_by is None else FedBy(fed_by, through))


BOARD = Board(
    "KC-4",
    (
        point("input"),
        point("rail 5", "input", "U3"),
        point("rail 3.3", "rail 5", "U4"),
        point("core", "rail 3.3"),
        point("heater", "input", "F1", "Q1", "K2"),
    ),
    sha256="ab" * 32,
    parts=(Part("U4", "3.3 V regulator"),),
)


def event(kind: Any, seq: int, **fields: Any) -> Any:
    return kind(seq=seq, at=AT, heard=seq, **fields)


def test_a_part_feeds_its_points_and_all_behind_them() -> None:
    assert fed_through(BOARD, "U3") == ("rail 5", "rail 3.3", "core")
    assert fed_through(BOARD, "u4") == ("rail 3.3", "core")
    # whichever of several parts in a row it is
    assert fed_through(BOARD, "F1") == fed_through(BOARD, "Q1") == fed_through(BOARD, "k2") == ("heater",)
    assert fed_through(BOARD, "R9") == ()


def test_what_a_part_is() -> None:
    assert description(BOARD, "u4") == "3.3 V regulator"
    assert description(BOARD, "U9") == ""


def test_the_latest_replacement_counts() -> None:
    events = [
        event(Replaced, 3, ref="U4", again=("rail 3.3", "core")),
        event(Refitted, 8, removed=2, again=("rail 3.3",)),
        event(Refitted, 9, removed=1),
    ]
    assert due(events) == {"rail 3.3": 8, "core": 3}


def test_rework_belongs_to_the_part_in_hand() -> None:
    removed = event(Removed, 1, thing=ThingSaid(kind="part", name="U4"))
    lid = event(Removed, 2, thing=ThingSaid(kind="cover", name="lid"))
    assert part_in_hand([]) == ""
    assert part_in_hand([removed, lid]) == "U4"
    assert part_in_hand([removed, event(Replaced, 3, ref="R7")]) == "R7"


def test_a_value_belongs_to_the_part_that_was_fitted_last() -> None:
    fitted = event(Replaced, 1, ref="R7")
    value = event(Reworked, 2, ref="R7", act="value", value="4.7", unit="kohm")
    lid = event(Removed, 3, thing=ThingSaid(kind="cover", name="lid"))
    assert fitted_last([fitted]) == "R7"
    assert fitted_last([fitted, value]) == "R7"
    assert fitted_last([fitted, value, lid]) == ""


def test_of_what_is_told_twice_the_latest_counts() -> None:
    fitted = event(Replaced, 1, ref="R7", value="100", unit="kohm")
    one = event(Reworked, 2, ref="R7", act="value", value="47", unit="kohm")
    cleaned = event(Reworked, 3, ref="R7", act="cleaned", text="alcohol")
    two = event(Reworked, 4, ref="R7", act="value", value="4.7", unit="kohm")
    again = event(Replaced, 5, ref="R7", value="10", unit="kohm")
    assert counting([fitted]) == (fitted,)
    assert counting([fitted, one, cleaned, cleaned, two]) == (
        fitted.model_copy(update={"value": None, "unit": None}),
        *(cleaned, cleaned, two),
    )
    assert counting([one, again]) == (one, again)  # of another one that was fitted before
    told = [value_of(log, "R7") for log in ([fitted], [fitted, one, two], [two, again])]
    assert [str(value) for value in told] == ["100 kohm", "4.7 kohm", "10 kohm"]
    assert value_of([fitted], "R8") is None


@given(st.lists(st.integers(-1, 12), min_size=1, max_size=14))
def test_everything_downstream_and_nothing_else_is_measured_again(feeds: list[int]) -> None:
    """A random tree of supplies, each point fed through two parts of its own, found again by going up from each."""
    parents = [feed if feed < at else -1 for at, feed in enumerate(feeds)]
    points = tuple(
        point(f"p{at}") if up < 0 else point(f"p{at}", f"p{up}", f"F{at}", f"U{at}") for at, up in enumerate(parents)
    )
    board = Board("tree", points, sha256="cd" * 32)
    for at, up in enumerate(parents):
        wanted = []
        for other in range(len(parents)):
            above = other
            while above not in (at, -1):
                above = parents[above]
            if above == at and up >= 0:
                wanted.append(f"p{other}")
        assert list(fed_through(board, f"U{at}")) == list(fed_through(board, f"F{at}")) == wanted

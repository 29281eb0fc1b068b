"""Patterns of lamps and beepers: how they are written and read, and what one misheard element makes of them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.patterns import COLOURS, MOST_COUNT, STATES, Pattern, one_off, read_pattern

READ = [
    ("2 short, 1 long, red", "2 short, 1 long, red"),
    ("two short one long red", "2 short, 1 long, red"),
    ("Two short, one long.", None),  # a stop is no part of a pattern
    ("short short long", "2 short, 1 long"),
    ("1 short pause 1 short", "1 short, pause, 1 short"),
    ("2 short pause", "2 short"),  # between two rounds of it there is a pause anyhow
    ("pause 2 short pause pause 1 long", "2 short, pause, 1 long"),
    ("steady, green", "steady, green"),
    ("dark", "dark"),
    ("12 short", "12 short"),
    ("13 short", None),
    ("0 short", None),
    ("steady 2 short", None),
    ("2 steady", None),
    ("two", None),
    ("2 pause", None),
    ("pause", None),
    ("red", None),
    ("2 short, 1 pink", None),
    ("2 short; 1 long", None),
    ("", None),
]  # the forms are our own


@pytest.mark.parametrize(("text", "written"), READ)
def test_read_and_written(text: str, written: str | None) -> None:
    pattern = read_pattern(text)
    assert (None if pattern is None else str(pattern)) == written


_GROUPS = st.lists(st.tuples(st.integers(1, 4), st.sampled_from(["short", "long", "pause"])), min_size=1, max_size=5)


def patterns() -> st.SearchStrategy[Pattern]:
    """Patterns of flashes, or states; with a colour or without."""
    colours = st.sampled_from(["", "", "red", "green"])
    flashes = st.builds(Pattern.of, _GROUPS, colours)
    states = st.builds(lambda state, colour: Pattern.of([(1, state)], colour), st.sampled_from(STATES), colours)
    return (flashes | states).filter(lambda made: made is not None).map(lambda made: made or Pattern(()))


@given(patterns())
def test_what_is_written_is_read_again(pattern: Pattern) -> None:
    assert read_pattern(str(pattern)) == pattern


@given(patterns())
def test_one_element_off_is_another_pattern_of_its_form(pattern: Pattern) -> None:
    near = one_off(pattern)
    assert near
    assert pattern not in near
    for other in near:
        assert read_pattern(str(other)) == other
        assert all(1 <= count <= MOST_COUNT for count, _ in other.groups)


OFF = [
    ("2 short, 1 long", "3 short, 1 long"),
    ("2 short, 1 long", "2 short, 2 long"),
    ("2 short, 1 long", "2 short"),
    ("2 short, 1 long", "3 long"),
    ("2 short, 1 long", "1 short, 2 long"),  # one flash of another length
    ("2 short, 1 long", "2 short, pause, 1 long"),
    ("2 short, 1 long", "2 short, 1 long, 1 short"),
    ("2 short, 1 long", "2 short, 1 long, red"),
    ("1 short, 1 long, 1 short", "2 short"),
    ("steady, red", "dark, red"),
    *[("2 short, red", f"2 short, {colour}") for colour in COLOURS if colour != "red"],
]


@pytest.mark.parametrize(("pattern", "other"), OFF)
def test_one_element_off(pattern: str, other: str) -> None:
    one, another = read_pattern(pattern), read_pattern(other)
    assert one is not None
    assert another in one_off(one)


@pytest.mark.parametrize(
    "other", ["5 short, 3 long", "3 short, 2 long", "2 short, 2 long, red", "dark", "1 long, 2 short"]
)
def test_two_elements_off(other: str) -> None:
    one, another = read_pattern("2 short, 1 long"), read_pattern(other)
    assert one is not None
    assert another is not None
    assert another not in one_off(one)

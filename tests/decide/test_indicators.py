"""What was seen against the board's table: nothing is sure that one misheard element makes of another entry."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.decide.indicators import Entry, distance, judge
from benchvoice.patterns import COLOURS, STATES, Pattern, read_pattern
from tests.test_patterns import patterns


def seen(text: str) -> Pattern:
    found = read_pattern(text)
    assert found is not None
    return found


def table(*rows: str) -> tuple[Entry, ...]:
    return tuple(Entry(seen(text), f"means {text}") for text in rows)


LAMP = table("2 short, 1 long", "2 short, 2 long", "5 short, red", "steady, green")

JUDGED = [
    ("5 short, red", "sure", "5 short, red"),
    ("steady, green", "sure", "steady, green"),
    ("2 short, 1 long", "ask back", "2 short, 1 long"),  # one count from "2 short, 2 long"
    ("2 short, 1 long, red", "ask back", "2 short, 1 long"),  # the colour is not in the table: it may be misheard
    ("5 short", "nearest", "5 short, red"),
    ("5 short, green", "nearest", "5 short, red"),
    ("4 short, red", "nearest", "5 short, red"),
    ("1 short, 1 long", "nearest", "2 short, 1 long"),
    ("2 short, 3 long", "nearest", "2 short, 2 long"),  # both are one count off: the one of fewer flashes off
    ("steady, red", "nearest", "steady, green"),
    ("dark, green", "nearest", "steady, green"),
    ("1 long, pause, 7 short", "nearest", "5 short, red"),
]


@pytest.mark.parametrize(("pattern", "how", "entry"), JUDGED)
def test_judged(pattern: str, how: str, entry: str) -> None:
    found = judge(LAMP, seen(pattern))
    assert (found.how, str(found.entry.shows) if found.entry else "") == (how, entry)


def test_without_a_table_nothing_is_sure() -> None:
    assert judge((), seen("2 short")).how == "no table"


def misheard(pattern: Pattern, rng: random.Random) -> Pattern | None:
    """The pattern with one element of what is said misheard, as words may be; written without `patterns.one_off`."""
    groups, colour = list(pattern.groups), pattern.colour
    at = rng.randrange(len(groups))
    count, kind = groups[at]
    slip = rng.choice(("count", "kind", "lost", "put in", "colour"))
    if slip == "colour":
        colour = rng.choice(["", *COLOURS])
    elif kind in STATES:
        groups = [(1, rng.choice(STATES))]
    elif slip == "count":
        groups[at] = (rng.randint(1, 9) if kind != "pause" else 1, kind)
    elif slip == "kind":
        groups[at] = (count, rng.choice(("short", "long", "pause")))
    elif slip == "lost":
        del groups[at]
    else:
        groups.insert(rng.randrange(len(groups) + 1), (rng.randint(1, 9), rng.choice(("short", "long", "pause"))))
    return Pattern.of(groups, colour)


@given(st.lists(patterns(), min_size=1, max_size=8, unique=True), st.integers(0, 2**32))
@settings(max_examples=500)
def test_whatever_one_element_of_an_entry_is_misheard_it_is_not_sure(shown: list[Pattern], seed: int) -> None:
    rng = random.Random(seed)
    entries = tuple(Entry(pattern, str(pattern)) for pattern in shown)
    meant = rng.choice(shown)
    heard = misheard(meant, rng)
    if heard is not None and heard != meant:
        assert judge(entries, heard).how in ("ask back", "nearest")


@given(st.lists(patterns(), min_size=1, max_size=8, unique=True), patterns())
def test_only_what_is_listed_is_sure_and_it_is_the_same_each_time(shown: list[Pattern], pattern: Pattern) -> None:
    entries = tuple(Entry(each, str(each)) for each in shown)
    found = judge(entries, pattern)
    assert found == judge(entries, pattern)
    assert found.entry in entries
    if found.how == "sure":
        assert found.entry is not None
        assert found.entry.shows == pattern


@given(patterns(), patterns())
def test_distance_is_nought_for_the_same_and_the_same_both_ways(one: Pattern, other: Pattern) -> None:
    assert (distance(one, other) == 0) == (one == other)
    assert distance(one, other) == distance(other, one)

"""The strip and the meter of terminal characters: what is drawn stands where the numbers say."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.screen.gauges import level_meter, tolerance_strip
from benchvoice.screen.large_type import Ink
from benchvoice.screen.view import Strip


def strip(
    value: str | None,
    low: str | None = "4.75",
    high: str | None = "5.25",
    u: str | None = "0.05",
    *,
    over: bool = False,
) -> Strip:
    low_limit, high_limit, read, uncertainty = (
        None if text is None else Decimal(text) for text in (low, high, value, u)
    )
    return Strip(low_limit, high_limit, None, read, uncertainty, over)


def test_a_value_in_the_middle_of_its_limits() -> None:
    assert tolerance_strip(strip("5.00"), 41, Ink.BLOCKS) == (
        "                  ├─◆─┤",
        "·······░░┃░═══════════════════░┃░░·······",
        "      4.75                     5.25",
    )


def test_a_value_above_its_limits_in_ascii() -> None:
    assert tolerance_strip(strip("5.5"), 41, Ink.ASCII) == (
        "                                  <-*->",
        "......::|:================:|::...........",
        "     4.75                  5.25",
    )


@pytest.mark.parametrize(
    ("drawn", "mark"),
    [
        (strip("50"), 40 * " " + "▶"),
        (strip(None, over=True), 40 * " " + "▶"),
        (strip("0.02"), "◀"),
        (strip(None), ""),
    ],
)
def test_far_and_missing_values(drawn: Strip, mark: str) -> None:
    assert tolerance_strip(drawn, 41, Ink.BLOCKS)[0] == mark


@pytest.mark.parametrize(("low", "high"), [("200", None), (None, "0.05"), ("0", None)])
def test_one_limit_is_enough(low: str | None, high: str | None) -> None:
    _, zones, labels = tolerance_strip(strip("300", low, high, "1"), 41, Ink.ASCII)
    assert zones.count("|") == 1
    assert labels.strip() == (low or high)
    inner = zones.split("|")[0 if low is None else 1]
    assert inner.strip(":") == len(inner.strip(":")) * "="


def test_an_uncertainty_wider_than_the_tolerance_leaves_no_zone_to_pass_in() -> None:
    assert "=" not in tolerance_strip(strip("5.00", u="0.3"), 41, Ink.ASCII)[1]


def test_limits_that_would_run_into_each_other_are_not_written() -> None:
    assert tolerance_strip(strip("5.00"), 8, Ink.BLOCKS)[2] == ""


number = st.decimals(-10_000, 10_000, places=3)


@given(number, st.tuples(number, number), st.none() | st.decimals(0, 500, places=4), st.integers(3, 200))
def test_a_reading_never_stands_on_the_wrong_side_of_a_limit(
    value: Decimal, limits: tuple[Decimal, Decimal], u: Decimal | None, width: int
) -> None:
    low, high = sorted(limits)
    marks, zones, labels = tolerance_strip(Strip(low, high, None, value, u), width, Ink.BLOCKS)
    assert len(zones) == width
    assert max(len(marks), len(labels)) <= width
    places = [at for at, mark in enumerate(zones) if mark == "┃"]
    assert 1 <= len(places) <= 2
    at = max(marks.find(mark) for mark in "◆◀▶")
    assert at >= 0
    if low <= value <= high:
        assert places[0] <= at <= places[-1]
    elif value > high:
        assert at > places[-1] or at == width - 1
    else:
        assert at < places[0] or at == 0


def test_the_meter_fills_from_minus_sixty_decibels_to_full_scale() -> None:
    assert level_meter(-60, None, 12, Ink.ASCII) == "[----------]"
    assert level_meter(-30, None, 12, Ink.ASCII) == "[#####-----]"
    assert level_meter(0, None, 12, Ink.BLOCKS) == "[██████████]"
    assert level_meter(-30, -54, 12, Ink.BLOCKS) == "[█┃███─────]"


@given(st.floats(-200, 20), st.none() | st.floats(-200, 20), st.integers(0, 60))
def test_the_meter_keeps_its_width(level: float, noise: float | None, width: int) -> None:
    assert len(level_meter(level, noise, width, Ink.BLOCKS)) == (width if width > 2 else 0)

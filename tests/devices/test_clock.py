"""When samples sounded: no overlap, holes as holes, a crystal's drift taken back."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.devices.clock import SampleClock

BLOCK_S = 0.02


def run(clock: SampleClock, seconds: float, *, drift: float = 0.0, late_s: float = 0.03, from_s: float = 0.0) -> float:
    """Feeds blocks of a crystal that is off by `drift`, each late by chance; how far the last is off, in seconds."""
    chance = random.Random(7)
    off_s = 0.0
    for index in range(1, round(seconds / BLOCK_S)):
        end_s = from_s + index * BLOCK_S * (1 + drift)
        placed = clock.take(BLOCK_S, end_s + chance.uniform(0, late_s))
        off_s = placed.start_s + BLOCK_S - end_s
        assert not placed.broken
    return off_s


@pytest.mark.parametrize("drift", [0.0, 100e-6, -100e-6])
def test_an_hour_does_not_drift(drift: float) -> None:
    """A crystal that is 100 ppm off would be 0.36 s off after an hour (arithmetic)."""
    assert abs(run(SampleClock(), 3600, drift=drift)) < 0.005


def test_times_follow_on_by_the_number_of_samples_within_half_a_millisecond() -> None:
    clock, chance, end_s = SampleClock(), random.Random(3), None
    for index in range(1, 3000):
        placed = clock.take(BLOCK_S, index * BLOCK_S * 1.0001 + chance.uniform(0, 0.03))
        if end_s is not None:
            assert abs(placed.start_s - end_s) < 0.0005
        end_s = placed.start_s + BLOCK_S


def test_a_hole_that_is_told_is_a_hole_in_time() -> None:
    clock = SampleClock()
    run(clock, 5)
    clock.breaks()
    placed = clock.take(BLOCK_S, 7.0)
    assert placed.broken
    assert placed.start_s == pytest.approx(7.0 - BLOCK_S)
    assert placed.missing_s == pytest.approx(2.0, abs=0.1)


def test_a_hole_that_nobody_tells_is_found() -> None:
    clock = SampleClock()
    run(clock, 10)
    found = [clock.take(BLOCK_S, 10.3 + index * BLOCK_S) for index in range(500)]
    holes = [placed for placed in found if placed.broken]
    assert len(holes) == 1
    assert holes[0].missing_s == pytest.approx(0.3, abs=0.05)


@given(st.lists(st.tuples(st.floats(0.001, 1), st.floats(0, 5), st.booleans()), max_size=60))
def test_time_never_runs_back(blocks: list[tuple[float, float, bool]]) -> None:
    clock, now_s, end_s = SampleClock(), 0.0, 0.0
    for length_s, late_s, lost in blocks:
        now_s += length_s
        if lost:
            clock.breaks()
        placed = clock.take(length_s, now_s + late_s)
        assert placed.start_s >= end_s - 0.002 * length_s
        end_s = placed.start_s + length_s * 0.998

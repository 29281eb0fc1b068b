"""Where the sound's time stands on ours, and jumps of the clock."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.live.timing import ClockWatch, StreamClock
from benchvoice.records import RATE_HZ, AudioBlock


def block(start_s: float) -> AudioBlock:
    return AudioBlock(np.zeros(RATE_HZ // 50, dtype=np.int16), start_s)


@given(st.floats(0, 1e5), st.lists(st.floats(0, 0.5), min_size=1, max_size=50))
def test_the_least_late_block_tells_the_time(origin_s: float, late_s: list[float]) -> None:
    clock = StreamClock()
    for number, late in enumerate(late_s):
        clock.see(block(number * 0.02), origin_s + number * 0.02 + 0.02 + late)
    assert clock.at(1.0) == pytest.approx(origin_s + 1.0 + min(late_s), abs=1e-6)


def test_a_sound_clock_that_runs_slow_is_followed() -> None:
    """A crystal may be off by 100 parts in a million (common practice, no source): 0.36 s in an hour."""
    clock = StreamClock()
    for number in range(0, 180_000, 10):
        clock.see(block(number * 0.02), (number + 1) * 0.02 * 1.0001)
    assert clock.at(3600.0) == pytest.approx(3600.36, abs=0.01)


def test_sound_that_goes_on_elsewhere_in_time_is_believed() -> None:
    clock = StreamClock()
    clock.see(block(0.0), 10.02)
    clock.see(block(5.0), 10.1)
    assert clock.at(5.0) == pytest.approx(10.08)


def test_only_a_jump_of_the_clock_is_told_and_only_once() -> None:
    now, wall = 0.0, 1000.0
    watch = ClockWatch(lambda: now, lambda: wall)
    now, wall = 60.0, 1060.5
    assert watch.jumped_s() is None
    wall += 300.0
    assert watch.jumped_s() == pytest.approx(300.0)
    assert watch.jumped_s() is None
    wall -= 10.0
    assert watch.jumped_s() == pytest.approx(-10.0)

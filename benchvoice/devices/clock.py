"""Pure: when the samples of a stream sounded. Counting them is exact but drifts; their arrival is late by chance."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Placed", "SampleClock"]

_WINDOW_S = 2.0
_HOLE_S = 0.15  # later than this for a whole window: samples were lost and nobody said so
_STEEPEST = 0.001  # of the rate: real crystals are off by less than a fifth of this (common practice, no source)


class Placed(NamedTuple):
    """When a block began, whether samples are missing before it, and for how long; in seconds."""

    start_s: float
    broken: bool
    missing_s: float


class SampleClock:
    """Gives every block the time of its first sample, in seconds of one clock, never backwards.

    Within an unbroken stretch, times follow from the number of samples. No block arrives before it has sounded, so the
    earliest arrivals of each window tell how far the count is off the clock; that is taken back little by little.
    """

    def __init__(self) -> None:
        self._next_s: float | None = None
        self._broken = True
        self._begin_stretch()

    def _begin_stretch(self) -> None:
        self._late_s = float("inf")  # the least of this window
        self._window_s = 0.0
        self._slope = 0.0

    def breaks(self) -> None:
        """Samples were lost: the next block is placed by its arrival."""
        self._broken = True

    def take(self, length_s: float, arrived_s: float) -> Placed:
        """Places the next block, which lasts `length_s` seconds and had arrived whole at `arrived_s`."""
        expected_s, broken = self._next_s, self._broken
        if broken or expected_s is None:
            start_s = max(expected_s or 0.0, arrived_s - length_s)
            self._broken = False
            self._begin_stretch()
        else:
            start_s = expected_s
        self._next_s = start_s + length_s * (1 + self._slope)
        self._watch(length_s, arrived_s - start_s - length_s)
        if expected_s is None:
            return Placed(start_s, False, 0.0)
        return Placed(start_s, broken, start_s - expected_s)

    def _watch(self, length_s: float, late_s: float) -> None:
        """Learns from how late a block came; where samples are found to be missing, the next one is placed anew."""
        # what earlier blocks were late is less by what was taken back since
        self._late_s = min(self._late_s, late_s) - length_s * self._slope
        self._window_s += length_s
        if self._window_s < _WINDOW_S:
            return
        off_s = self._late_s
        self._late_s, self._window_s = float("inf"), 0.0
        if off_s > _HOLE_S:
            self._broken = True
            return
        self._slope = max(-_STEEPEST, min(_STEEPEST, off_s / _WINDOW_S))

"""What was played lately, and when: so that what the microphone hears can be compared with what we said."""

from __future__ import annotations

import threading
from collections import deque

import numpy as np

from benchvoice.records import RATE_HZ, Samples

__all__ = ["Played"]


_APART_S = 0.02  # further off than this from where it would follow on, a part was played later, after a gap
_PULL = 0.05  # how much of what it is off by less is believed: what a device says of its delay trembles

_ROUNDED = 2  # samples that times may be off by when they are made into places


class Played:
    """The last seconds of what left a device. Filled by the device's thread, read by any.

    Args:
        rate_hz: samples a second of what is put in.
        longest_s: how much is remembered, in seconds.
    """

    def __init__(self, rate_hz: int, *, longest_s: float = 20.0) -> None:
        self._rate_hz = rate_hz
        self._longest_s = longest_s
        self._next_s: float | None = None  # when the next part leaves if it follows on
        self._parts: deque[tuple[float, Samples]] = deque()  # start (monotonic clock, seconds), samples
        self._lock = threading.Lock()

    def put(self, samples: Samples, leaves_s: float) -> None:
        """Remembers samples that leave the device from about `leaves_s` on (monotonic clock, seconds)."""
        if self._next_s is None or abs(leaves_s - self._next_s) > _APART_S:
            start_s = leaves_s
        else:
            start_s = self._next_s + _PULL * (leaves_s - self._next_s)
        self._next_s = start_s + len(samples) / self._rate_hz
        with self._lock:
            self._parts.append((start_s, samples.copy()))
            while self._parts[0][0] < start_s - self._longest_s:
                self._parts.popleft()

    def between(self, since_s: float, until_s: float) -> Samples:
        """What left the device between two times (monotonic clock, seconds), at 16 kHz mono.

        Its length is that of the time between; what is not remembered, or has not been played, is silence.
        """
        with self._lock:
            parts = list(self._parts)
        sound = np.zeros(max(0, round((until_s - since_s) * self._rate_hz)), dtype=np.int16)
        end = 0
        for start_s, samples in parts:
            at = round((start_s - since_s) * self._rate_hz)
            if abs(at - end) <= _ROUNDED:  # it follows on: no sample may go missing between
                at = end
            end = at + len(samples)
            first, last = max(0, at), min(len(sound), at + len(samples))
            if first < last:
                sound[first:last] = samples[first - at : last - at]
        if self._rate_hz == RATE_HZ or not len(sound):
            return sound
        import soxr

        resampled: Samples = soxr.resample(sound, self._rate_hz, RATE_HZ)
        return resampled

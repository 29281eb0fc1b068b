"""How loud it is at the microphone: the level just now, the noise beneath it, and whether samples reach full scale."""

from __future__ import annotations

import math
from collections import deque

import numpy as np

from benchvoice.records import RATE_HZ, AudioBlock

__all__ = ["TOO_LOUD_DBFS", "Gauge"]

TOO_LOUD_DBFS = -35.0
"""Noise from which speech at a usual level (-20 dBFS or so) is hard to hear, relative to a full-scale square wave.

Readings need 20 dB above the noise to be taken rather than asked (`hearing` measurements); common practice, no source
for the usual level.
"""

_LOOK_BACK_S = 5.0
_CLIPPED_FOR_S = 1.0
_FULL_SCALE = 32767
_QUIET_DBFS = -100.0


class Gauge:
    """Follows the level block by block. Needs no clock: it goes by the sound's own time."""

    def __init__(self) -> None:
        self.level_dbfs: float | None = None
        self._levels: deque[tuple[float, float]] = deque()
        self._clipped_s = -math.inf
        self._now_s = 0.0

    def see(self, block: AudioBlock) -> None:
        """Take in a block."""
        if not len(block.samples):
            return
        self._now_s = block.start_s + len(block.samples) / RATE_HZ
        rms = math.sqrt(float(np.mean(np.square(block.samples.astype(np.float64)))))
        self.level_dbfs = max(_QUIET_DBFS, 20 * math.log10(rms / 32768)) if rms else _QUIET_DBFS
        self._levels.append((self._now_s, self.level_dbfs))
        while self._levels[0][0] < self._now_s - _LOOK_BACK_S:
            self._levels.popleft()
        if np.count_nonzero(np.abs(block.samples.astype(np.int32)) >= _FULL_SCALE) >= 3:
            self._clipped_s = self._now_s

    @property
    def noise_dbfs(self) -> float | None:
        """The level that a tenth of the last seconds' blocks stay below; None before the first block."""
        if not self._levels:
            return None
        return sorted(level for _, level in self._levels)[len(self._levels) // 10]

    @property
    def clipped(self) -> bool:
        """Whether samples reached full scale within the last second."""
        return self._now_s - self._clipped_s < _CLIPPED_FOR_S

    @property
    def too_loud(self) -> bool:
        """Whether the noise alone is loud, after at least a second of sound."""
        noise = self.noise_dbfs
        heard_s = self._levels[-1][0] - self._levels[0][0] if self._levels else 0.0
        return noise is not None and heard_s >= 1.0 and noise > TOO_LOUD_DBFS

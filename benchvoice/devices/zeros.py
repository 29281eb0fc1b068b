"""Pure: whether nothing but zeros means that a microphone gives nothing."""

from __future__ import annotations

__all__ = ["GATED_PATIENCE_S", "PATIENCE_S", "ZeroWatch"]

PATIENCE_S = 2.0
"""Seconds of zeros after which a microphone counts as silent: one that works has some noise."""
GATED_PATIENCE_S = 60.0
"""The same once it has fallen silent and come back by itself: some headsets gate their noise, zeros in each pause."""

_TIMES = 2


class ZeroWatch:
    """Follows stretches of zeros. A microphone that is opened anew is another one."""

    def __init__(self) -> None:
        self._zeros_s = 0.0
        self._came_back = 0

    def take(self, *, zeros: bool, length_s: float, opened: bool = False) -> None:
        """Take note of some sound.

        Args:
            zeros: whether it is nothing but zeros.
            length_s: how long it lasts, in seconds.
            opened: whether it is the first after the device was opened.
        """
        if opened:
            self._came_back = 0
        elif not zeros and self._zeros_s > PATIENCE_S:
            self._came_back += 1
        self._zeros_s = self._zeros_s + length_s if zeros and not opened else 0.0

    @property
    def gated(self) -> bool:
        """Whether it seems to gate its noise."""
        return self._came_back >= _TIMES

    @property
    def silent(self) -> bool:
        """Whether it gives no sound at all."""
        return self._zeros_s > (GATED_PATIENCE_S if self.gated else PATIENCE_S)

"""Clocks: where the microphone's time stands on ours, and whether the machine slept."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from benchvoice.records import RATE_HZ, AudioBlock

__all__ = ["ClockWatch", "StreamClock"]

_LOOK_BACK_S = 20.0
_JUMP_S = 2.0


class StreamClock:
    """Seconds of the microphone's stream ↔ seconds of the monotonic clock.

    A block cannot arrive before its sound has ended, and often arrives late; the least delay of the last 20 s is the
    true one, which also follows a sound clock that runs a little fast or slow.
    """

    def __init__(self) -> None:
        self._seen: deque[tuple[float, float]] = deque()  # when seen, offset: the least ones, ascending

    def see(self, block: AudioBlock, now_s: float) -> None:
        """Take note of a block that arrived just now."""
        offset_s = now_s - (block.start_s + len(block.samples) / RATE_HZ)
        if self._seen and offset_s < self._seen[0][1] - _JUMP_S:
            self._seen.clear()
        while self._seen and self._seen[-1][1] >= offset_s:
            self._seen.pop()
        self._seen.append((now_s, offset_s))
        while self._seen[0][0] < now_s - _LOOK_BACK_S:
            self._seen.popleft()

    def at(self, stream_s: float) -> float:
        """When the sound at `stream_s` could first be read, by the monotonic clock."""
        return stream_s + (self._seen[0][1] if self._seen else 0.0)


class ClockWatch:
    """Notices that time passed without us: the machine slept, or its clock was set.

    Args:
        monotonic, wall: the two clocks, in seconds.
    """

    def __init__(self, monotonic: Callable[[], float], wall: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._wall = wall
        self._apart_s = wall() - monotonic()

    def jumped_s(self) -> float | None:
        """By how much the wall clock left the monotonic one since the last call; None where by less than 2 s."""
        apart_s = self._wall() - self._monotonic()
        jump_s, self._apart_s = apart_s - self._apart_s, apart_s
        return jump_s if abs(jump_s) > _JUMP_S else None

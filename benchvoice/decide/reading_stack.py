"""The readings that count, so that the latest can be struck and any session of whatever length takes little memory."""

from __future__ import annotations

from collections.abc import Iterator

from benchvoice.events import Reading

__all__ = ["ReadingStack"]


class ReadingStack:
    """The readings that count, the latest on top. Immutable; push and pop take constant time and share the rest.

    Of what lies deeper than `DEEPEST` only each point's and stage's latest is held: the journal has all of them, and
    nobody strikes a day's work one by one.
    """

    DEEPEST = 256
    __slots__ = ("_below", "_height", "_top")
    _top: Reading | None
    _below: ReadingStack | None
    _height: int

    def __init__(self, top: Reading | None = None, below: ReadingStack | None = None) -> None:
        self._top = top
        self._below = below
        self._height = 0 if below is None else below._height + 1

    @property
    def top(self) -> Reading | None:
        """The latest reading that counts."""
        return self._top

    def push(self, reading: Reading) -> ReadingStack:
        """The stack with a reading more."""
        pushed = ReadingStack(reading, self)
        return pushed if pushed._height <= 2 * self.DEEPEST else pushed._thinned()

    def _thinned(self) -> ReadingStack:
        kept: list[Reading] = []
        seen: set[tuple[str, str]] = set()
        for depth, reading in enumerate(self):
            place = (reading.point, reading.stage)
            if depth < self.DEEPEST or place not in seen:
                kept.append(reading)
            seen.add(place)
        thinned = ReadingStack()
        for reading in reversed(kept):
            thinned = ReadingStack(reading, thinned)
        return thinned

    def without(self, seq: int) -> ReadingStack:
        """The stack without the reading of that `seq`; the same where it has none."""
        above: list[Reading] = []
        stack: ReadingStack | None = self
        while stack is not None and stack._top is not None and stack._top.seq != seq:
            above.append(stack._top)
            stack = stack._below
        if stack is None or stack._top is None or stack._below is None:
            return self
        rest = stack._below
        for reading in reversed(above):
            rest = rest.push(reading)
        return rest

    def __iter__(self) -> Iterator[Reading]:
        stack: ReadingStack | None = self
        while stack is not None and stack._top is not None:
            yield stack._top
            stack = stack._below

    def __eq__(self, other: object) -> bool:
        return isinstance(other, ReadingStack) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"ReadingStack({[reading.seq for reading in self]})"

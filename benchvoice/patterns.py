"""What a lamp or a beeper does, as it is said, written and compared: "2 short, 1 long, red", or "steady, green".

Pure, and known to all rooms: words become a pattern where they are understood, and board files write the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from benchvoice.spelling import spell_number

__all__ = ["COLOURS", "FLASHES", "MOST_COUNT", "MOST_GROUPS", "STATES", "Group", "Pattern", "one_off", "read_pattern"]

FLASHES = ("short", "long", "pause")
"""What a pattern is made of."""
STATES = ("steady", "dark", "flickering", "silent")
"""What stands alone instead."""
COLOURS = ("red", "green", "amber", "yellow", "orange", "blue", "white")

MOST_COUNT = 12
"""How many flashes of one kind in a row can be told."""
MOST_GROUPS = 12

_WORD = re.compile(r"[a-z]+|[0-9]+")
_COUNTS = {spell_number(str(number)): number for number in range(1, MOST_COUNT + 1)}

Group = tuple[int, str]
"""So many of one of `FLASHES`, or one of `STATES`."""


@dataclass(frozen=True)
class Pattern:
    """What is seen or heard, from one quiet to the next. Made by `Pattern.of` or `read_pattern`.

    Attributes:
        groups: in their order; no two of one kind in a row, and no pause first or last.
        colour: one of `COLOURS`; "" where none was said.
    """

    groups: tuple[Group, ...]
    colour: str = ""

    @classmethod
    def of(cls, groups: Iterable[Group], colour: str = "") -> Pattern | None:
        """The pattern of these groups; None where they make none: nothing, too much, or a state beside flashes."""
        merged: list[Group] = []
        for count, kind in groups:
            before = merged.pop()[0] if merged and merged[-1][1] == kind else 0
            merged.append((1 if kind == "pause" else before + count, kind))
        while merged and merged[0][1] == "pause":
            merged.pop(0)
        while merged and merged[-1][1] == "pause":
            merged.pop()
        if not merged or len(merged) > MOST_GROUPS or not all(1 <= count <= MOST_COUNT for count, _ in merged):
            return None
        if any(kind in STATES for _, kind in merged) and merged != [(1, merged[0][1])]:
            return None
        return cls(tuple(merged), colour)

    @property
    def flashes(self) -> tuple[str, ...]:
        """The groups flash by flash."""
        return tuple(kind for count, kind in self.groups for _ in range(count))

    def __str__(self) -> str:
        said = [kind if kind == "pause" or kind in STATES else f"{count} {kind}" for count, kind in self.groups]
        return ", ".join([*said, self.colour] if self.colour else said)


def read_pattern(text: str) -> Pattern | None:
    """The pattern that a text writes or says: "two short, one long, red", "short short long"; None where it is none."""
    words = _WORD.findall(text.lower())
    if "".join(words) != re.sub(r"[\s,]", "", text.lower()):
        return None
    colour = words.pop() if words and words[-1] in COLOURS else ""
    groups: list[Group] = []
    count = 0
    for word in words:
        number = int(word) if word.isdigit() else _COUNTS.get(word, 0)
        if count and word not in ("short", "long"):
            return None
        if number:
            count = number
        elif word in FLASHES or word in STATES:
            groups.append((count or 1, word))
            count = 0
        else:
            return None
    return None if count else Pattern.of(groups, colour)


@lru_cache(maxsize=4096)
def one_off(pattern: Pattern) -> frozenset[Pattern]:
    """What a pattern may be taken for where one element of it is misheard, itself left out.

    One count, or one kind of flash; one group or one flash that is lost or put in; one flash of another length; one
    state for another; a colour that is another, or was lost or put in.
    """
    found = {Pattern.of(groups, pattern.colour) for groups in _groups_off(pattern.groups)}
    found |= {Pattern.of(((1, kind) for kind in flashes), pattern.colour) for flashes in _flashes_off(pattern.flashes)}
    found |= {Pattern(pattern.groups, colour) for colour in ("", *COLOURS)}
    return frozenset(other for other in found if other is not None and other != pattern)


def _groups_off(groups: tuple[Group, ...]) -> Iterator[tuple[Group, ...]]:
    put_in = [(count, kind) for kind in ("short", "long") for count in range(1, MOST_COUNT + 1)] + [(1, "pause")]
    state = groups[0][1] in STATES
    for at, (count, kind) in enumerate(groups):
        before, after = groups[:at], groups[at + 1 :]
        if state:
            yield from (((1, other),) for other in STATES if other != kind)
            continue
        yield before + after
        if kind != "pause":
            yield from ((*before, (other, kind), *after) for other in range(1, MOST_COUNT + 1))
        yield from ((*before, (count, other), *after) for other in FLASHES if other != kind)
    if not state:
        for at in range(len(groups) + 1):
            yield from ((*groups[:at], new, *groups[at:]) for new in put_in)


def _flashes_off(flashes: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    if flashes[0] in STATES:
        return
    for at, flash in enumerate(flashes):
        yield (*flashes[:at], *flashes[at + 1 :])
        yield from ((*flashes[:at], other, *flashes[at + 1 :]) for other in FLASHES if other != flash)
    for at in range(len(flashes) + 1):
        yield from ((*flashes[:at], new, *flashes[at:]) for new in FLASHES)

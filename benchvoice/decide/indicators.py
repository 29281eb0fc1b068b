"""A board's table of what its lamps and beepers do and what that means; what was seen is matched to it.

Pure. It knows the table alone: an entry that no other is within one element of may still be what was misheard, of a
pattern that the table does not list. So `decide/intake.py` asks back whatever was heard.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from benchvoice.patterns import Pattern, one_off

__all__ = ["Entry", "Indicator", "Match", "distance", "judge", "near"]


@dataclass(frozen=True)
class Entry:
    """One line of the table: what is seen, and what it means. Without a colour it holds for any."""

    shows: Pattern
    means: str


@dataclass(frozen=True)
class Indicator:
    """A lamp or a beeper: its name, what it may be called in words, and its table."""

    name: str
    say: tuple[str, ...]
    patterns: tuple[Entry, ...] = ()


@dataclass(frozen=True)
class Match:
    """What follows from what was seen.

    Attributes:
        how: "sure": it is listed, and nothing like it is; "ask back": it is listed, but something like it is too, or
            only its colour is not; "nearest": it is not listed, `entry` is the nearest; "no table".
        entry: the entry; None where there is none.
    """

    how: Literal["sure", "ask back", "nearest", "no table"]
    entry: Entry | None = None


def near(one: Pattern, other: Pattern) -> bool:
    """Whether one may be the other with a single element misheard."""
    return other in one_off(one) or one in one_off(other)


def distance(one: Pattern, other: Pattern) -> int:
    """How many flashes were lost, put in or of another length; a colour that is another counts as one."""
    row = list(range(len(other.flashes) + 1))
    for at, flash in enumerate(one.flashes, 1):
        above, row = row, [at]
        for place, another in enumerate(other.flashes, 1):
            row.append(min(above[place] + 1, row[-1] + 1, above[place - 1] + (flash != another)))
    return row[-1] + (one.colour != other.colour)


def judge(table: tuple[Entry, ...], seen: Pattern) -> Match:
    """The entry that was seen, and whether another is like it.

    An entry without a colour holds for any; but a colour that was said and is not in the table is asked, like any
    element that may have been misheard. Of what is equally near the first in the table is the nearest.
    """
    if not table:
        return Match("no table")
    exact = next((entry for entry in table if entry.shows == seen), None)
    if exact is not None:
        others = any(near(entry.shows, seen) for entry in table if entry is not exact)
        return Match("ask back" if others else "sure", exact)
    any_colour = next((entry for entry in table if entry.shows == Pattern(seen.groups)), None)
    if any_colour is not None:
        return Match("ask back", any_colour)
    # one element off comes before what fewer flashes part
    nearest = min(table, key=lambda entry: (not near(entry.shows, seen), distance(entry.shows, seen)))
    return Match("nearest", nearest)

"""What is drawn of terminal characters: the tolerance strip and the level meter.

The strip reads as the record's does: lower values to the left, outside the limits dotted, the guard bands hatched, and
between them the zone where a reading passes. Its numbers are for drawing only; judging is done elsewhere, by Decimal.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from benchvoice.keep.strip import scale_of
from benchvoice.keep.wording import amount
from benchvoice.screen.large_type import Ink
from benchvoice.screen.view import Strip

__all__ = ["level_meter", "tolerance_strip"]

_QUIETEST_DBFS = -60.0


@dataclass(frozen=True)
class _Characters:
    outside: str
    guard: str
    inside: str
    limit: str
    value: str
    bar: str
    bar_start: str
    bar_end: str
    far_left: str
    far_right: str
    level: str
    empty: str
    noise: str


_CHARACTERS = {
    Ink.BLOCKS: _Characters("·", "░", "═", "┃", "◆", "─", "├", "┤", "◀", "▶", "█", "─", "┃"),
    Ink.ASCII: _Characters(".", ":", "=", "|", "*", "-", "<", ">", "<", ">", "#", "-", "|"),
}


def level_meter(level_dbfs: float, noise_dbfs: float | None, width: int, ink: Ink) -> str:
    """A bar of `width` columns from -60 dBFS to full scale, with a stroke at the room's noise."""
    draw = _CHARACTERS[ink]
    inner = max(width - 2, 0)
    filled = _column(1 - level_dbfs / _QUIETEST_DBFS, inner + 1)
    cells = [draw.level] * filled + [draw.empty] * (inner - filled)
    if noise_dbfs is not None and inner:
        cells[_column(1 - noise_dbfs / _QUIETEST_DBFS, inner)] = draw.noise
    return f"[{''.join(cells)}]" if inner else ""


def tolerance_strip(strip: Strip, width: int, ink: Ink) -> tuple[str, str, str]:
    """The strip in three lines of at most `width` columns: the reading with its uncertainty, the zones, the limits.

    A reading that lies outside a limit never stands on or inside it, however narrow the strip is.
    """
    low, high, nominal, value = map(_drawable, (strip.low, strip.high, strip.nominal, strip.value))
    u = _drawable(strip.uncertainty) or 0.0
    scale = scale_of(low, high, nominal, value, u)

    def column(number: float | None, otherwise: int) -> int:
        return otherwise if number is None else _column(scale.place(number), width)

    draw = _CHARACTERS[ink]
    low_at, high_at = column(low, -1), column(high, width)
    zones = [draw.outside] * width
    for margin, drawn in ((-u, draw.guard), (u, draw.inside)):
        start = 0 if low is None else column(low + margin, 0)
        end = width - 1 if high is None else column(high - margin, 0)
        if low is None or high is None or low + margin <= high - margin:
            zones[start : end + 1] = drawn * (end + 1 - start)
    for at in {low_at, high_at} & set(range(width)):
        zones[at] = draw.limit

    marks = [" "] * width
    if strip.over_range or (value is not None and value > scale.end):
        marks[-1] = draw.far_right
    elif value is not None and value < scale.start:
        marks[0] = draw.far_left
    elif value is not None:
        at = column(value, 0)
        if high is not None and value > high:
            at = min(max(at, high_at + 1), width - 1)
        if low is not None and value < low:
            at = max(min(at, low_at - 1), 0)
        start, end = min(column(value - u, 0), at), max(column(value + u, 0), at)
        marks[start : end + 1] = draw.bar * (end + 1 - start)
        marks[start], marks[end], marks[at] = draw.bar_start, draw.bar_end, draw.value
    return "".join(marks).rstrip(), "".join(zones), _labels(strip, low_at, high_at, width)


def _labels(strip: Strip, low_at: int, high_at: int, width: int) -> str:
    """The limits below their strokes; nothing where they would run into each other."""
    low = "" if strip.low is None else amount(f"{strip.low:f}", "")
    high = "" if strip.high is None else amount(f"{strip.high:f}", "")
    low_start = max(low_at + 1 - len(low), 0)
    high_start = min(high_at, width - len(high))
    if high_start < 0 or low_start + len(low) > width or (low and high and low_start + len(low) >= high_start):
        return ""
    return f"{'':{low_start}}{low}".ljust(high_start) + high if high else f"{'':{low_start}}{low}"


def _drawable(number: Decimal | None) -> float | None:
    return None if number is None else float(number)


def _column(place: float, width: int) -> int:
    """The column at `place` (0 to 1) of `width` columns."""
    return round(min(max(place, 0.0), 1.0) * (width - 1))

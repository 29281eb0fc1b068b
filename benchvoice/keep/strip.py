"""The tolerance strip: one reading drawn against its limits, as an SVG image inside the page.

From left to right, lower values to higher: outside the limits (dotted), the guard bands on either side of each limit
(hatched), and inside them the plain zone where a reading passes. The diamond is the reading, the bar its expanded
uncertainty U. A reading beyond the picture is an arrow at its edge. Patterns and shapes carry all of it; colour only
helps.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from benchvoice.keep.record_models import ReadingRecord
from benchvoice.keep.record_points import number
from benchvoice.keep.wording import amount, limits_text, uncertainty_text, verdict_text, visible

__all__ = ["PATTERNS", "Scale", "scale_of", "tolerance_strip"]

WIDTH, HEIGHT = 240.0, 36.0
_TOP, _BOTTOM, _MIDDLE = 4.0, 22.0, 13.0
_CHARACTER = 6.4  # width of a digit at the size of the labels
_ROOM, _MOST_ROOM = 0.4, 2.0  # free space beyond a limit, in widths of the tolerance: the least, and the most

PATTERNS = (
    '<svg class="patterns" width="0" height="0" aria-hidden="true"><defs>'
    '<pattern id="guard" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="5" height="5" fill="#fbf3dc"/><rect width="1.3" height="5" fill="#b98a1d"/></pattern>'
    '<pattern id="outside" width="4" height="4" patternUnits="userSpaceOnUse">'
    '<rect width="4" height="4" fill="#fff"/><circle cx="1" cy="1" r="0.6" fill="#b3535a"/></pattern></defs></svg>'
)
"""The fillings that every strip of a page shares; stands once before the first strip."""


@dataclass(frozen=True)
class Scale:
    """Places values between `start` and `end`, the ends of the picture."""

    start: float
    end: float

    def place(self, value: float) -> float:
        """Where a value lies: 0 at the left end, 1 at the right one, never beyond."""
        return min(max((value - self.start) / (self.end - self.start), 0.0), 1.0)

    def x(self, value: float) -> float:
        """The same on the width of the picture."""
        return self.place(value) * WIDTH


def _optional(text: str | None) -> float | None:
    read = number(text)
    return None if read is None else float(read)


def scale_of(low: float | None, high: float | None, nominal: float | None, value: float | None, u: float) -> Scale:
    """The part of the number line that shows the limits and, where it is near enough, the value.

    Args:
        low, high: the limits, at least one of them.
        nominal: the nominal value, or None.
        value: the reading; None where there is none, or it is over range.
        u: its expanded uncertainty, 0 where not known.
    """
    limit = low if low is not None else high
    if limit is None:
        raise ValueError("a strip needs a limit")
    if low is not None and high is not None:
        width = high - low
    else:
        width = max(abs((nominal if nominal is not None else limit) - limit) * 2, abs(limit) * 0.25)
    width = max(width, 2 * u) or max(abs(limit) * 0.1, 1.0)
    bottom = low if low is not None else limit - width
    top = high if high is not None else limit + width
    below = _ROOM if value is None else min(max(_ROOM, (bottom - value + u) / width + 0.1), _MOST_ROOM)
    above = _ROOM if value is None else min(max(_ROOM, (value + u - top) / width + 0.1), _MOST_ROOM)
    return Scale(bottom - below * width, top + above * width)


def _zone(scale: Scale, start: float | None, end: float | None, fill: str) -> str:
    left = 0.0 if start is None else scale.x(start)
    right = WIDTH if end is None else scale.x(end)
    if right <= left:
        return ""
    return f'<rect x="{left:.1f}" y="{_TOP}" width="{right - left:.1f}" height="{_BOTTOM - _TOP}" fill="{fill}"/>'


def _limit(scale: Scale, limit: float, label: str, *, is_low: bool) -> str:
    x = scale.x(limit)
    wide = len(label) * _CHARACTER
    at = max(x + 3, wide) if is_low else min(x - 3, WIDTH - wide)
    anchor = "end" if is_low else "start"
    return (
        f'<line x1="{x:.1f}" x2="{x:.1f}" y1="1" y2="{_BOTTOM + 3}" stroke="#222" stroke-width="1.4"/>'
        f'<text x="{at:.1f}" y="{HEIGHT - 2}" text-anchor="{anchor}">{escape(label)}</text>'
    )


def _marker(scale: Scale, value: float | None, u: float) -> str:
    """The diamond with its bar, or an arrow where the value lies beyond the picture (None: over range)."""
    if value is None or value > scale.end:
        return f'<path class="off" d="M{WIDTH - 12} {_TOP + 2} L{WIDTH - 1} {_MIDDLE} L{WIDTH - 12} {_BOTTOM - 2} Z"/>'
    if value < scale.start:
        return f'<path class="off" d="M12 {_TOP + 2} L1 {_MIDDLE} L12 {_BOTTOM - 2} Z"/>'
    x, left, right = scale.x(value), scale.x(value - u), scale.x(value + u)
    caps = "".join(f"M{end:.1f} {_MIDDLE - 3.5} v7 " for end in (left, right) if 0 < end < WIDTH)
    return (
        f'<path class="bar" d="M{left:.1f} {_MIDDLE} H{right:.1f} {caps}"/>'
        f'<path class="value" d="M{x - 4.5:.1f} {_MIDDLE} l4.5 -6 l4.5 6 l-4.5 6 Z"/>'
    )


def tolerance_strip(reading: ReadingRecord) -> str:
    """The strip of a reading as SVG with a title for those who cannot see it; "" where the point has no limits."""
    low, high, nominal = _optional(reading.low), _optional(reading.high), _optional(reading.nominal)
    if low is None and high is None:
        return ""
    value, u = _optional(reading.value), _optional(reading.uncertainty) or 0.0
    scale = scale_of(low, high, nominal, value, u)
    inner_low = None if low is None else low + u
    inner_high = None if high is None else high - u
    parts = [
        _zone(scale, None, None, "url(#outside)"),
        _zone(scale, None if low is None else low - u, None if high is None else high + u, "url(#guard)"),
        _zone(scale, inner_low, inner_high, "#e2f1e6"),
        f'<rect x="0.5" y="{_TOP}" width="{WIDTH - 1}" height="{_BOTTOM - _TOP}" fill="none" stroke="#8a8f94"/>',
    ]
    if nominal is not None and scale.start < nominal < scale.end:
        x = scale.x(nominal)
        parts.append(f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{_TOP}" y2="{_BOTTOM}" class="nominal"/>')
    if low is not None and reading.low is not None:
        parts.append(_limit(scale, low, amount(reading.low, ""), is_low=True))
    if high is not None and reading.high is not None:
        parts.append(_limit(scale, high, amount(reading.high, ""), is_low=False))
    parts.append(_marker(scale, value, u))
    limits = limits_text(reading.low, reading.high, reading.unit)
    told = (visible(reading.point), amount(reading.value, reading.unit), verdict_text(reading), limits)
    title = "; ".join(part for part in (*told, uncertainty_text(reading)) if part)
    return (
        f'<svg class="strip" viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" role="img">'
        f"<title>{escape(title)}</title>{''.join(parts)}</svg>"
    )

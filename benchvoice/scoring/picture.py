"""The sweep as a picture: an SVG of its own, which reads on light and on dark ground."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from benchvoice.scoring.sweep import Point

__all__ = ["picture"]

_WIDTH, _HEIGHT = 640, 420
_LEFT, _RIGHT, _TOP, _BOTTOM = 70, 20, 50, 60
_STYLE = """\
  svg { color-scheme: light dark; font: 13px system-ui, sans-serif }
  text { fill: #222 } .ground, .here { fill: #fff } .rule { stroke: #ccc }
  .margin { stroke: #0b5fa5; fill: #0b5fa5 } .gap { stroke: #b34700; fill: #b34700 }
  polyline { fill: none; stroke-width: 2 } .gap polyline { stroke-dasharray: 6 4 }
  .here { stroke-width: 2 } text.margin, text.gap { stroke: none }
  @media (prefers-color-scheme: dark) {
    text { fill: #e6e6e6 } .ground, .here { fill: #1b1b1b } .rule { stroke: #555 }
    .margin { stroke: #6cb6ff; fill: #6cb6ff } .gap { stroke: #ffa657; fill: #ffa657 }
    polyline { fill: none }
  }
"""


def picture(points: Sequence[Point], recordings: int) -> str:
    """The share asked (across, %) against the share accepted wrong (up, %), one line for each threshold; SVG text.

    A ring marks the thresholds as they are. Each mark has its shift and both shares as its title.
    """
    across = _ceiling(max((100 * (point.asked.rate or 0) for point in points), default=0))
    up = _ceiling(max((100 * (point.accepted_wrong.rate or 0) for point in points), default=0))
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img"'
        ' aria-label="Accepted wrong against asked">',
        f"<style>\n{_STYLE}</style>",
        f'<rect class="ground" width="{_WIDTH}" height="{_HEIGHT}"/>',
        f'<text x="{_LEFT}" y="22">Accepted wrong against asked, {recordings} recordings; ring: as it is</text>',
        *_axes(across, up),
    ]
    for place, threshold in enumerate(dict.fromkeys(point.setting.threshold for point in points)):
        own = [point for point in points if point.setting.threshold == threshold]
        lines += _line(own, threshold, across, up)
        lines.append(f'<text class="{threshold}" x="{_LEFT + 210 * place}" y="42">{_mark(threshold)} varies</text>')
    return "\n".join([*lines, "</svg>", ""])


def _mark(threshold: str) -> str:
    return escape({"margin": "● — least margin", "gap": "● - - greatest gap"}.get(threshold, threshold))


def _axes(across: float, up: float) -> list[str]:
    right, bottom = _WIDTH - _RIGHT, _HEIGHT - _BOTTOM
    lines = []
    for step in range(6):
        x, y = _x(across * step / 5, across), _y(up * step / 5, up)
        lines += [
            f'<line class="rule" x1="{x:.1f}" y1="{_TOP}" x2="{x:.1f}" y2="{bottom}"/>',
            f'<line class="rule" x1="{_LEFT}" y1="{y:.1f}" x2="{right}" y2="{y:.1f}"/>',
            f'<text x="{x:.1f}" y="{bottom + 20}" text-anchor="middle">{across * step / 5:g}</text>',
            f'<text x="{_LEFT - 8}" y="{y + 4:.1f}" text-anchor="end">{up * step / 5:g}</text>',
        ]
    middle = (_TOP + bottom) / 2
    lines += [
        f'<text x="{(_LEFT + right) / 2:.1f}" y="{_HEIGHT - 15}" text-anchor="middle">asked (% of recordings)</text>',
        f'<text transform="translate(18 {middle:.1f}) rotate(-90)" text-anchor="middle">'
        "accepted wrong (% of recordings)</text>",
    ]
    return lines


def _line(points: Sequence[Point], threshold: str, across: float, up: float) -> list[str]:
    places = [
        (_x(100 * (point.asked.rate or 0), across), _y(100 * (point.accepted_wrong.rate or 0), up)) for point in points
    ]
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
    lines = [f'<g class="{escape(threshold)}">', f'<polyline points="{path}"/>']
    for (x, y), point in zip(places, points, strict=True):
        shares = f"asked {100 * (point.asked.rate or 0):.1f} %, wrong {100 * (point.accepted_wrong.rate or 0):.2f} %"
        title = f"<title>{escape(threshold)} {point.setting.shift:+g}: {shares}</title>"
        here = point.setting.shift == 0
        kind = 'class="here" r="6"' if here else 'r="3.5"'
        lines.append(f'<circle {kind} cx="{x:.1f}" cy="{y:.1f}">{title}</circle>')
    return [*lines, "</g>"]


def _x(value: float, most: float) -> float:
    return _LEFT + value / most * (_WIDTH - _LEFT - _RIGHT)


def _y(value: float, most: float) -> float:
    return _HEIGHT - _BOTTOM - value / most * (_HEIGHT - _TOP - _BOTTOM)


def _ceiling(most: float) -> float:
    """The end of an axis that shows up to `most` (above 0): 1, 2 or 5 times a power of ten."""
    if most <= 0:
        return 1.0
    power: float = 10.0 ** math.floor(math.log10(most))
    return next(power * step for step in (1, 2, 5, 10) if power * step >= most)

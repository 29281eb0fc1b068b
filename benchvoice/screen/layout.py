"""The view laid out for a terminal of any size: never a line wider than it, never more lines than it has.

The page is a column of parts. Each part first gets the one row without which it says nothing, the most important part
first; then rows are given out by one list of wishes until none fits any more, so that the value is as large as the
terminal allows and small terminals lose what matters least.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from typing import Any

from benchvoice.records import Statement
from benchvoice.screen.gauges import level_meter, tolerance_strip
from benchvoice.screen.large_type import Ink, largest, rows_of
from benchvoice.screen.lines import Line, Look, clean, crop, in_ascii, sides, wrap
from benchvoice.screen.plain import ear_words, judgement, last_reading, standing
from benchvoice.screen.view import SIGNS, EarState, View

__all__ = ["layout"]

_LEAST_WIDTH, _LEAST_HEIGHT = 20, 5
_WIDEST_METER = 24
_LARGEST = 12
_ORDER = (
    "ears",
    "job",
    "top",
    "middle",
    "bottom",
    "detail",
    "limits",
    "strip",
    "last",
    "now",
    "timers",
    "heard",
    "said",
    "journal",
)
_LOOKS = {
    Statement.PASS: Look.PASS,
    Statement.CONDITIONAL_PASS: Look.DOUBT,
    Statement.CONDITIONAL_FAIL: Look.DOUBT,
    Statement.FAIL: Look.FAIL,
    Statement.RECORDED: Look.BAND,
}


@dataclass(frozen=True)
class _Headline:
    """What is shown large: three lines of it, and a text of several lines in a band.

    `bottom` has the same in several lengths, the one to prefer first; `bottom_lines` so for small letters.
    """

    top: str
    middle: str
    bottom: tuple[str, ...] = ()
    bottom_lines: tuple[str, ...] = ()
    look: Look = Look.BAND
    middle_look: Look = Look.STRONG
    detail: str = ""
    shows_reading: bool = False


def layout(view: View, width: int, height: int, ink: Ink) -> tuple[Line, ...]:
    """The screen's lines from the top, at most `height` of them, none wider than `width` columns."""
    shown = _cleaned(view, ascii_only=ink is Ink.ASCII)
    if width < _LEAST_WIDTH or height < _LEAST_HEIGHT:
        return _smallest(shown, width, height)
    page = _Page(shown, _headline(_cleaned(view)), width, ink)
    parts: dict[str, tuple[Line, ...]] = dict.fromkeys(_ORDER, ())
    spare = height
    for name, rows in _wishes(ink):
        lines = page.part(name, rows)
        more = len(lines) - len(parts[name])
        if 0 < more <= spare:
            parts[name] = lines
            spare -= more
    return tuple(line for name in _ORDER for line in parts[name])


def _wishes(ink: Ink) -> Iterator[tuple[str, int]]:
    """Who gets how many rows, in this order, as long as there are any."""
    yield from (("ears", 1), ("middle", 1), ("bottom", 1), ("top", 1), ("detail", 2))
    yield "middle", rows_of(1, ink)
    yield from (("limits", 1), ("strip", 2), ("detail", 8), ("now", 1), ("timers", 1), ("last", 1), ("said", 1))
    yield "bottom", rows_of(1, ink)
    yield from (("heard", 1), ("job", 1))
    yield "top", rows_of(1, ink)
    yield "middle", rows_of(2, ink)
    yield from (("journal", 1), ("strip", 3), ("said", 2))
    for size in range(2, _LARGEST):
        yield from (
            ("middle", rows_of(size + 1, ink)),
            ("bottom", rows_of(size, ink)),
            ("top", rows_of(size, ink)),
        )


def _smallest(view: View, width: int, height: int) -> tuple[Line, ...]:
    """All that matters as running text."""
    ears = ear_words(view)
    told = [view.question or view.refused or standing(view), ears]
    if view.ear is EarState.DEAF:
        told.reverse()
    if width < 1:
        return ()
    lines = [line for text in told for line in wrap(text, width, height)]
    return tuple(Line(crop(line, width)) for line in lines[:height])


def _cleaned(view: View, *, ascii_only: bool = False) -> View:
    """The view with every text on one line, in characters that can be shown."""
    texts: dict[str, Any] = {
        field.name: clean(getattr(view, field.name), ascii_only=ascii_only)
        for field in fields(view)
        if field.type == "str"
    }
    return replace(view, offers=tuple(clean(offer, ascii_only=ascii_only) for offer in view.offers), **texts)


def _headline(view: View) -> _Headline:
    """What matters most just now."""
    if view.ear is EarState.DEAF:
        return _Headline("", "DEAF", look=Look.FAIL, middle_look=Look.FAIL, detail=ear_words(view))
    if view.question:
        offers = " OR ".join(map(_offer, view.offers))
        return _Headline(view.asked_about, f"{offers}?", look=Look.DOUBT, detail=f"? {view.question}")
    if view.ear is EarState.NOT_LISTENING:
        return _Headline("", "NOT LISTENING", middle_look=Look.BAND, detail=ear_words(view))
    if view.refused:
        return _Headline("", "NOT TAKEN", look=Look.DOUBT, detail=view.refused)
    if view.statement is None:
        return _Headline(view.point, "NOT READ" if view.point else "READY", shows_reading=True)
    words = (f"{view.statement} {view.direction or ''}".strip().upper(), str(view.statement).upper())
    lines = tuple(f"{SIGNS[view.statement]} {told}" for told in (judgement(view).upper(), words[1]))
    return _Headline(
        view.point,
        f"{view.value_text.upper()} {view.unit}".rstrip(),
        (words[0], _short(words[0])),
        (*lines, *map(_short, lines)),
        _LOOKS[view.statement],
        shows_reading=True,
    )


def _first_fitting(texts: tuple[str, ...], width: int) -> str:
    """The first text that fits in `width` columns, else the last one, cropped."""
    return next((text for text in texts if crop(text, width) == text), crop(texts[-1], width) if texts else "")


def _capitals(text: str) -> str:
    """Capitals throughout, also where a unit would be written small; what has no capital of its own stays."""
    return "".join(letter.upper() if letter.isascii() else letter for letter in text)


def _offer(offer: str) -> str:
    """A value as it is written, with its unit's small letters; a name in capitals."""
    return offer if offer.lstrip("+-\u2212")[:1].isdigit() else _capitals(offer)


def _short(statement: str) -> str:
    return statement.replace("CONDITIONAL", "COND.")


class _Page:
    """Draws each part of the page into the rows that it is given."""

    def __init__(self, view: View, headline: _Headline, width: int, ink: Ink) -> None:
        self.view = view
        self.headline = headline  # in all its characters: large letters are drawn whatever the encoding
        self.width = width
        self.ink = ink
        self._parts: dict[str, Callable[[int], tuple[Line, ...]]] = {
            "ears": self._ears,
            "top": lambda rows: self._large((_capitals(headline.top),), (headline.top,), rows, Look.STRONG),
            "middle": lambda rows: self._large((headline.middle,), (headline.middle,), rows, headline.middle_look),
            "bottom": self._bottom,
            "detail": lambda rows: self._band(wrap(self._written(headline.detail), width - 2, rows), headline.look),
            "strip": self._strip,
        }
        left = f"{view.left} not read" if view.left else "all read"
        self._texts = {
            "job": sides(f"{view.board}, job {view.job}", (left,), width),
            "limits": self._limits(),
            "last": f"last   {last_reading(view)}" if view.reading and not headline.shows_reading else "",
            "now": self._now(),
            "timers": f"timer  {view.timers}" if view.timers else "",
            "heard": f"heard  {view.heard}" if view.heard else "",
            "journal": f"kept   {view.journal}" if view.journal else "",
        }

    def part(self, name: str, rows: int) -> tuple[Line, ...]:
        """A part in at most `rows` rows; no rows where it has nothing to show."""
        if name == "said":
            lines = wrap(self.view.said, self.width - 7, rows)
            return tuple(Line(f"{'said' if row == 0 else '':7}{line}") for row, line in enumerate(lines))
        if name in self._parts:
            return self._parts[name](rows)
        text = self._texts[name]
        return (Line(crop(text, self.width)),) if text else ()

    def _large(self, texts: tuple[str, ...], lines: tuple[str, ...], rows: int, look: Look) -> tuple[Line, ...]:
        """The first of `texts` that can be drawn large, else the first of `lines` that fits in one row."""
        for text in texts:
            drawn = largest(text, self.width - 2, rows, self.ink)
            if drawn:
                return self._band(drawn, look)
        fitting = _first_fitting(tuple(map(self._written, lines)), self.width - 2)
        return self._band((fitting,), look) if fitting else ()

    def _written(self, text: str) -> str:
        return in_ascii(text) if self.ink is Ink.ASCII else text

    def _band(self, lines: tuple[str, ...], look: Look) -> tuple[Line, ...]:
        return tuple(Line(sides(f" {line}", (), self.width), look) for line in lines)

    def _bottom(self, rows: int) -> tuple[Line, ...]:
        return self._large(self.headline.bottom, self.headline.bottom_lines, rows, self.headline.look)

    def _ears(self, _rows: int) -> tuple[Line, ...]:
        view = self.view
        plain = view.ear in (EarState.LISTENING, EarState.THINKING, EarState.SPEAKING)
        words, stage = ear_words(view), f"{view.stage} the repair"
        words = words.replace(view.ear, view.ear.upper(), 1)
        rights: tuple[str, ...] = (stage,)
        if view.level_dbfs is not None:
            level = f"{view.level_dbfs:.0f} dBFS"
            meter = level_meter(view.level_dbfs, view.noise_dbfs, min(_WIDEST_METER, self.width // 3), self.ink)
            rights = (f"{meter} {level}   {stage}", f"{meter} {level}", level)
        return (Line(sides(f" {words}", rights, self.width), Look.STRONG if plain else Look.BAND),)

    def _limits(self) -> str:
        view = self.view
        if not self.headline.shows_reading or not view.point:
            return ""
        limits = f"limits {view.limits_text}" if view.limits_text else "no limits"
        verdict = f"{SIGNS[view.statement]} {judgement(view)}" if view.statement else ""
        forms = ((verdict, limits, view.uncertainty_text), (limits, view.uncertainty_text), (limits,))
        texts = tuple("; ".join(part for part in form if part) for form in forms)
        return _first_fitting(texts, self.width)

    def _strip(self, rows: int) -> tuple[Line, ...]:
        strip = self.view.strip
        if strip is None or not self.headline.shows_reading or rows < 2:
            return ()
        return tuple(Line(self._written(line)) for line in tolerance_strip(strip, self.width, self.ink)[:rows])

    def _now(self) -> str:
        view = self.view
        if view.step:
            return f"step   {view.step}"
        if view.now_on and view.now_on != view.point:
            return f"now    on {view.now_on}"
        return "" if view.now_on or not view.point else "now    on no point: say one first"

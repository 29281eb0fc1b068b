"""What a point may be called aloud: the names a board file gives, or those that follow from its written name."""

from __future__ import annotations

import re
from decimal import Decimal

from benchvoice.decide.yaml_text import Document, Path
from benchvoice.spelling import spell_number

__all__ = ["NameBook", "name_in_words", "rail_by_nominal", "spoken_form"]

_SPOKEN = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)?(?: [^\W\d_]+(?:'[^\W\d_]+)?)*")
_TOKEN = re.compile(
    r"(?P<number>(?:(?<!\w)[+\-\u2212])?[0-9]+(?:\.[0-9]+)?)"  # a sign stands free: "rail -12", but "fan-2" has none
    r"|(?P<word>[^\W\d_]+(?:'[^\W\d_]+)?)"
    r"|(?P<gap>[\s_/(),:]+|-(?![0-9])|(?<=\w)-)"
)
# how a written name is read aloud at the bench (common practice, no source)
_READ_AS = {
    "gnd": "ground",
    "tp": "test point",
    "vcc": "v c c",
    "vdd": "v d d",
    "vin": "v in",
    "vout": "v out",
    "v": "volt",
    "mv": "millivolt",
    "a": "amp",
    "hz": "hertz",
    "khz": "kilohertz",
    "mhz": "megahertz",
}


def spoken_form(text: str) -> str | None:
    """A given spoken name in lower case with single spaces; None where it is not made of words alone."""
    plain = " ".join(text.lower().split())
    return plain if _SPOKEN.fullmatch(plain) else None


def name_in_words(name: str) -> str | None:
    """A written name in words: `rail 3.3 to ground` → "rail three point three to ground", `TP7` → "test point seven".

    None where it holds a sign that cannot be read aloud for certain.
    """
    words: list[str] = []
    at = 0
    while at < len(name):
        match = _TOKEN.match(name, at)
        if match is None:
            return None
        at = match.end()
        if match["number"]:
            words.append(spell_number(match["number"]))
        elif match["word"]:
            lower = match["word"].lower()
            # "a" alone is an amp only after a number: "5 A fuse", but "phase A"
            after_number = bool(re.search(r"\d\s*$", name[: match.start()]))
            unit_alone = lower in ("v", "a") and not after_number
            words.append(lower if unit_alone else _READ_AS.get(lower, lower))
    return spoken_form(" ".join(words))


def rail_by_nominal(name: str, nominal: Decimal) -> str | None:
    """The name of a supply rail by its nominal voltage, in volts: "rail three point three"; None for other points.

    A rail is recognised by the word in its name; "rail 5 to ground" is not the rail itself.
    """
    words = name.lower().split()
    if "rail" not in words or "to" in words:
        return None
    plain = format(nominal.normalize(), "f")
    return f"rail {spell_number(plain)}"


class NameBook:
    """The spoken names of all points while a board file is read: no two points may share one."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._owners: dict[str, tuple[int, Path]] = {}
        self._names: dict[int, list[str]] = {}

    def names(self, index: int) -> tuple[str, ...]:
        """The names of the point at that position, in the order in which they were given."""
        return tuple(self._names.get(index, ()))

    def add(self, index: int, name: str, say: tuple[str, ...]) -> None:
        """Takes the names that a point is given, or else the one that its written name makes.

        Raises:
            BoardError: one is not made of words, or belongs to another point.
        """
        for position, given in enumerate(say):
            path: Path = ("points", index, "say", position)
            self._claim(self._checked(given, path), index, path)
        if not say:
            path = ("points", index, "name")
            in_words = name_in_words(name)
            if in_words is None:
                cure = "Add say: with the words for it, such as say: [test point seven]"
                raise self._document.error(f"'{name}' cannot be said as it is written", path, cure)
            self._claim(in_words, index, path)

    def add_nominal(self, index: int, name: str, nominal_volts: Decimal) -> None:
        """Adds a rail's name by its voltage; a convenience that gives way where another point has that name."""
        by_nominal = rail_by_nominal(name, nominal_volts)
        if by_nominal is not None and by_nominal not in self._owners:
            self._claim(by_nominal, index, ("points", index, "nominal"))

    def _checked(self, given: str, path: Path) -> str:
        name = spoken_form(given)
        if name is None:
            in_words = name_in_words(given)
            cure = f"Write: {in_words}" if in_words else "Write letters and spaces only"
            raise self._document.error(f"'{given}' is not made of words alone", path, cure)
        return name

    def _claim(self, name: str, index: int, path: Path) -> None:
        if name not in self._owners:
            self._owners[name] = (index, path)
            self._names.setdefault(index, []).append(name)
            return
        owner, place = self._owners[name]
        if owner != index:
            line = self._document.lines.get(place)
            what = f"'{name}' is also a spoken name of points[{owner}], line {line}"
            raise self._document.error(what, path, "Give one of them another name to be called by")

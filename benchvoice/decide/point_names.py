"""What a point may be called aloud: the names a board file gives, or those that follow from its written name."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from benchvoice.decide.yaml_text import Document, Path
from benchvoice.spelling import NUMBER_WORDS, name_in_words, spell_number, spoken_form

__all__ = ["NameBook", "rail_by_nominal"]


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
    """The spoken names of all points while a board file is read: no two points may share one.

    Args:
        document: the board file.
        taken_for: what a name already means at the bench, empty for none.
    """

    def __init__(self, document: Document, taken_for: Callable[[str], str]) -> None:
        self._document = document
        self._taken_for = taken_for
        self._owners: dict[str, tuple[int, Path]] = {}
        self._names: dict[int, list[str]] = {}

    def names(self, index: int) -> tuple[str, ...]:
        """The names of the point at that position, in the order in which they were given."""
        return tuple(self._names.get(index, ()))

    def add(self, index: int, name: str, say: tuple[str, ...]) -> None:
        """Takes the names that a point is given, or else the one that its written name makes.

        Raises:
            BoardError: one is not made of words, means something else, or belongs to another point.
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

    def add_written(self, index: int, name: str) -> None:
        """Adds a written name beside the names that a point is given; a convenience that gives way to every other.

        Only where all its words are said at the bench anyhow: then it would be heard as another point's name, and a
        recogniser has no new word to know.
        """
        in_words = name_in_words(name)
        if in_words is None or in_words in self._owners or self._taken_for(in_words):
            return
        known = NUMBER_WORDS.union(*(owned.split() for owned in self._owners))
        if known.issuperset(in_words.split()):
            self._claim(in_words, index, ("points", index, "name"))

    def _checked(self, given: str, path: Path) -> str:
        name = spoken_form(given)
        if name is None:
            in_words = name_in_words(given)
            cure = f"Write: {in_words}" if in_words else "Write letters and spaces only"
            raise self._document.error(f"'{given}' is not made of words alone", path, cure)
        return name

    def _claim(self, name: str, index: int, path: Path) -> None:
        taken = self._taken_for(name)
        if taken:
            how = "Add say: with words" if path[-1] == "name" else "Write words"
            cure = f"{how} of its own, such as: [test point seven]"
            raise self._document.error(f"'{name}' would be taken for {taken}", path, cure)
        if name not in self._owners:
            self._owners[name] = (index, path)
            self._names.setdefault(index, []).append(name)
            return
        owner, place = self._owners[name]
        if owner != index:
            line = self._document.lines.get(place)
            what = f"'{name}' is also a spoken name of points[{owner}], line {line}"
            raise self._document.error(what, path, "Give one of them another name to be called by")

"""A board file's own words for the intake, and its table of lamps and beepers, read and checked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pydantic import Field

from benchvoice.decide.fields import FileModel, Line
from benchvoice.decide.indicators import Entry, Indicator
from benchvoice.decide.yaml_text import Document, Path
from benchvoice.patterns import COLOURS, FLASHES, STATES, read_pattern
from benchvoice.records import SpokenIntake
from benchvoice.spelling import name_in_words, spoken_form

__all__ = ["BoardIntake", "IndicatorInFile", "read_intake"]


@dataclass(frozen=True)
class BoardIntake:
    """What a board file says of the intake; all in words that can be said, but for the names of indicators."""

    complaints: tuple[str, ...] = ()
    accessories: tuple[str, ...] = ()
    indicators: tuple[Indicator, ...] = ()

    def indicator(self, name: str) -> Indicator | None:
        """The lamp or beeper of that name; None where the file names none such."""
        return next((each for each in self.indicators if each.name == name), None)

    @property
    def spoken(self) -> SpokenIntake:
        """What the grammar needs to know of it."""
        said = tuple((words, each.name) for each in self.indicators for words in each.say)
        return SpokenIntake(self.complaints, self.accessories, said)


class _PatternInFile(FileModel):
    shows: Line
    means: Line


class IndicatorInFile(FileModel):
    """A lamp or a beeper as the board file writes it."""

    name: Line
    say: tuple[Line, ...] | None = Field(default=None, min_length=1)
    patterns: tuple[_PatternInFile, ...] = Field(min_length=1)


def read_intake(
    document: Document,
    complaints: tuple[str, ...],
    accessories: tuple[str, ...],
    indicators: tuple[IndicatorInFile, ...],
    taken_for: Callable[[str], str],
) -> BoardIntake:
    """What a board file says of the intake.

    Args:
        document: the file, for errors.
        complaints, accessories, indicators: its entries under these keys.
        taken_for: what words already mean at the bench, empty for none; no indicator may be called by such words.

    Raises:
        BoardError: naming file, line and field of the first that makes no sense.
    """
    owners: set[str] = set()
    return BoardIntake(
        _words(document, "complaints", complaints),
        _words(document, "accessories", accessories),
        tuple(_indicator(document, each, ("indicators", at), owners, taken_for) for at, each in enumerate(indicators)),
    )


def _words(document: Document, key: str, given: tuple[str, ...]) -> tuple[str, ...]:
    found: list[str] = []
    for at, text in enumerate(given):
        words = _in_words(document, text, (key, at))
        if words in found:
            raise document.error(f"'{text}' is given twice", (key, at), "Keep one of them")
        found.append(words)
    return tuple(found)


def _in_words(document: Document, text: str, path: Path) -> str:
    words = spoken_form(text)
    if words is None:
        raise document.error(f"'{text}' cannot be said as it is written", path, "Write it in words alone")
    return words


def _indicator(
    document: Document, written: IndicatorInFile, path: Path, owners: set[str], taken_for: Callable[[str], str]
) -> Indicator:
    say = tuple(_in_words(document, text, (*path, "say", at)) for at, text in enumerate(written.say or ()))
    if not say:
        in_words = name_in_words(written.name)
        if in_words is None:
            cure = "Add say: with the words for it, such as say: [front lamp]"
            raise document.error(f"'{written.name}' cannot be said as it is written", (*path, "name"), cure)
        say = (in_words,)
    for at, words in enumerate(say):
        field: Path = ("say", at) if written.say else ("name",)
        taken = taken_for(words)
        if taken:
            cure = "Write other words" if written.say else "Add say: with other words, such as say: [front lamp]"
            raise document.error(f"'{words}' would be taken for {taken}", (*path, *field), cure)
        if words in owners:
            raise document.error(f"two indicators would be called '{words}'", (*path, *field), "Rename one")
        owners.add(words)
    return Indicator(written.name, say, _patterns(document, written, path))


def _patterns(document: Document, written: IndicatorInFile, path: Path) -> tuple[Entry, ...]:
    found: list[Entry] = []
    for at, entry in enumerate(written.patterns):
        field: Path = (*path, "patterns", at, "shows")
        pattern = read_pattern(entry.shows)
        if pattern is None:
            flashes, others = " or ".join(FLASHES[:2]), ", ".join(STATES)
            cure = f"Write how many {flashes} (2 short, pause, 1 long, red), or {others}; colours: {', '.join(COLOURS)}"
            raise document.error(f"'{entry.shows}' is no pattern", field, cure)
        if any(pattern == other.shows for other in found):
            raise document.error(f"'{pattern}' is listed twice", field, "Keep one of them")
        found.append(Entry(pattern, entry.means))
    return tuple(found)

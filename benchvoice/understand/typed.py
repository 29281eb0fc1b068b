"""Typed numbers and units → the words that would have been said, so that one parser judges both.

Digits are kept: `4.0 V` becomes "four point zero volts". What could be read in two ways (`3,3`, `4K7`, `1e3`, `10 M`,
`1 200`, a sign that stands apart) is left as it was typed; the parser then refuses it, digits being no words. So is
punctuation within a value ("3, 3", "twenty, four"): it may part two numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

from benchvoice.errors import UnitError
from benchvoice.records import SpokenPoint
from benchvoice.spelling import name_in_words, spell_number
from benchvoice.understand.language import Language
from benchvoice.understand.numbers import OL
from benchvoice.units import UNITS, unit

__all__ = ["WrittenNames", "normalise"]

_OPENING = "\"'([{\u2018\u201c\u00ab\u00bf\u00a1"
_CLOSING = "\"')]}\u2019\u201d\u00bb.,;:!?\u2026"
_NUMBER = re.compile(r"(?P<number>[+\-\u2212]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+))(?P<unit>[^\d\s.,+\-\u2212]*)")
_JOINT = re.compile(r"(?<=[^\W\d_])[-\u2010\u2011](?=[^\W\d_])")
_NOT_LETTERS = re.compile(r"[\W\d_]+")
_SIGNS_SAID = ("minus", "negative", "plus", "positive")
# lower case is safe where no prefix could be meant; a lone K is kilo, as it is typed of resistors: a rise is computed
_ANY_CASE = {"v": "V", "hz": "Hz", "db": "dB", "k": "k"}
# as meters show over range, beside "OL" (common practice, no source); only as a value it means that
_OVER_RANGE = frozenset({"O.L", "0L", "0.L", "OFL", "O/L"})
_SYMBOLS_ANY_CASE = frozenset(symbol.lower() for symbol in UNITS)


class WrittenNames:
    """The names of a board's points as they may be typed: `TP 1` and `test point 1` for "test point one".

    Args:
        points: the board's points. What a point is called in the board file counts too, whatever it is called aloud.
    """

    def __init__(self, points: Iterable[SpokenPoint] = ()) -> None:
        points = tuple(points)
        self._said = {name: name for point in points for name in point.say}
        for point in points:
            self._said.setdefault(name_in_words(point.name) or point.name, point.say[0])
        self._starts = frozenset(name.split()[0] for name in self._said)
        self._longest = max((len(name.split()) for name in self._said), default=0)

    def at(self, cores: Sequence[str], at: int) -> tuple[str, int] | None:
        """The spoken name that begins at a position, and how many tokens it stands for.

        None where there is none, or none that holds a digit: words need no spelling.
        """
        start = _in_words(cores[at])
        if start is None or start.partition(" ")[0] not in self._starts:
            return None
        for length in range(min(self._longest, len(cores) - at), 0, -1):
            typed = " ".join(cores[at : at + length])
            said = self._said.get(_in_words(typed) or "") if _has_digit(typed) else None
            if said is not None:
                return said, length
        return None


@lru_cache(maxsize=4096)
def _in_words(typed: str) -> str | None:
    return name_in_words(typed)


_NO_NAMES = WrittenNames()


def normalise(text: str, language: Language, names: WrittenNames = _NO_NAMES) -> str:
    """A typed sentence in lower-case words: `Rail 5 is 4.0 V.` → "rail five is four point zero volts".

    Args:
        text: one line as it was typed.
        language: gives number words and the names of units.
        names: the board's points; their names become what they are called aloud.

    Returns:
        Words parted by single spaces. What is doubtful stays as it was typed. What holds no digit any more
        is not changed by doing it again.
    """
    tokens = text.split()
    cores = [token.lstrip(_OPENING).rstrip(_CLOSING) for token in tokens]
    said: list[str] = []
    at = 0
    spelled = _spelled_at(cores, language)
    while at < len(tokens):
        if at >= spelled:
            said.append(language.intake.letters(cores[at]) or _word(tokens[at], cores[at]))
            at += 1
            continue
        words, used = names.at(cores, at) or _read(tokens, cores, at, language)
        said += [words] if words is not None else tokens[at : at + used]
        at += used
    return " ".join(said)


def _spelled_at(cores: Sequence[str], language: Language) -> int:
    """Where the characters of a serial or part number begin; past the last token where no such sentence begins."""
    for begins in language.spelled_begins:
        if tuple(core.lower() for core in cores[: len(begins)]) == begins:
            return len(begins)
    return len(cores)


def _read(tokens: Sequence[str], cores: Sequence[str], at: int, language: Language) -> tuple[str | None, int]:
    """The words at a position, and how many tokens they stand for; None where it is doubtful what they are."""
    if cores[at].upper() in _OVER_RANGE:
        return OL, 1
    if _has_digit(tokens[at]):
        return _number(cores, at, language)
    if _parted(tokens, cores, at, language) or (at > 0 and _parted(tokens, cores, at - 1, language)):
        return tokens[at].lower(), 1
    return _word(tokens[at], cores[at]), 1


def _parted(tokens: Sequence[str], cores: Sequence[str], at: int, language: Language) -> bool:
    """Whether punctuation stands between a token and the next where both may belong to one value.

    "Twenty, four" may be two numbers. Only before "point" it is a pause for certain: "five, point one".
    """
    if at + 1 >= len(tokens) or (tokens[at].endswith(cores[at]) and tokens[at + 1].startswith(cores[at + 1])):
        return False
    before, after = _parts(cores[at])[-1], _parts(cores[at + 1])[0]
    value_begun = _has_digit(before) or before in language.number_words or before in language.unit_words
    return value_begun and (_has_digit(after) or after in language.number_words) and after not in language.point


def _parts(core: str) -> list[str]:
    return _JOINT.sub(" ", core.lower()).split() or [""]


def _has_digit(token: str) -> bool:
    return any(character.isnumeric() for character in token)


def _word(token: str, core: str) -> str:
    """A word without its punctuation; a hyphen within it parts two words. A sign alone stays, for the parser to see."""
    return _JOINT.sub(" ", core.lower()) if core else token.lower()


def _number(cores: Sequence[str], at: int, language: Language) -> tuple[str | None, int]:
    """The words of the number at a position, and how many tokens they stand for; None where it is doubtful."""
    match = _NUMBER.fullmatch(cores[at])
    if match is None or (at > 0 and _clashes(cores[at - 1], language, before=True)):
        return None, 1
    after = at + 1
    unit_words = _unit_words(match["unit"], language) if match["unit"] else ""
    if not match["unit"] and after < len(cores):
        unit_words = _unit_words(cores[after], language)
        if unit_words:
            after += 1
        elif unit_words is None and not _may_follow(cores[after]):
            return None, 1
    if (match["unit"] and unit_words is None) or (
        after < len(cores) and _clashes(cores[after], language, before=False)
    ):
        return None, after - at
    return f"{spell_number(match['number'])} {unit_words or ''}".rstrip(), after - at


def _unit_words(symbol: str, language: Language) -> str | None:
    """What a unit's symbol is called; the symbol itself where it is a unit's name already; None if it is neither."""
    symbol = "degC" if symbol == "C" else _ANY_CASE.get(symbol.lower(), symbol)
    if symbol == "k" or (len(symbol) > 1 and (symbol.lower(),) in language.units and symbol not in UNITS):
        return symbol.lower()
    try:
        found = unit(symbol).symbol
    except UnitError:
        return None
    return next((" ".join(phrase) for phrase, name in language.units.items() if name == found), None)


def _may_follow(core: str) -> bool:
    """Whether a word that is no unit may stand after a number without being a unit in disguise (`M`, `MV`, `mhz`)."""
    return len(core) > 1 and core.lower() not in _SYMBOLS_ANY_CASE


def _clashes(core: str, language: Language, *, before: bool) -> bool:
    """Whether a neighbour of a number may be part of it: another number, a number word, or a sign that stands apart."""
    if _has_digit(core) or not any(character.isalpha() for character in core):
        return True
    parts = set(_NOT_LETTERS.split(core.lower()))
    if before and core.lower() in _SIGNS_SAID:
        return False
    return not parts.isdisjoint(language.number_words | language.hundred | language.thousand)

"""Typed numbers and units → the words that would have been said, so that one parser judges both.

Digits are kept: `4.0 V` becomes "four point zero volts". What could be read in two ways (`3,3`, `4K7`, `1e3`, `10 M`,
`1 200`, a sign that stands apart) is left as it was typed; the parser then refuses it, digits being no words.
"""

from __future__ import annotations

import re

from benchvoice.errors import UnitError
from benchvoice.spelling import spell_number
from benchvoice.understand.language import Language
from benchvoice.units import UNITS, unit

__all__ = ["normalise"]

_OPENING = "\"'([{\u2018\u201c\u00ab\u00bf\u00a1"
_CLOSING = "\"')]}\u2019\u201d\u00bb.,;:!?\u2026"
_NUMBER = re.compile(r"(?P<number>[+\-\u2212]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+))(?P<unit>[^\d\s.,+\-\u2212]*)")
_JOINT = re.compile(r"(?<=[^\W\d_])[-\u2010\u2011](?=[^\W\d_])")
_NOT_LETTERS = re.compile(r"[\W\d_]+")
_SIGNS_SAID = ("minus", "negative", "plus", "positive")
# lower case is safe where no prefix could be meant; a lone K is kilo, there being no kelvin among our units
_ANY_CASE = {"v": "V", "hz": "Hz", "k": "k"}
_SYMBOLS_ANY_CASE = frozenset(symbol.lower() for symbol in UNITS)


def normalise(text: str, language: Language) -> str:
    """A typed sentence in lower-case words: `Rail 5 is 4.0 V.` → "rail five is four point zero volts".

    Args:
        text: one line as it was typed.
        language: gives number words and the names of units.

    Returns:
        Words parted by single spaces. What is doubtful stays as it was typed. Doing it twice changes nothing.
    """
    tokens = text.split()
    cores = [token.lstrip(_OPENING).rstrip(_CLOSING) for token in tokens]
    said: list[str] = []
    at = 0
    while at < len(tokens):
        words, used = _number(cores, at, language) if _has_digit(tokens[at]) else (_word(tokens[at], cores[at]), 1)
        said += [words] if words is not None else tokens[at : at + used]
        at += used
    return " ".join(said)


def _has_digit(token: str) -> bool:
    return any(character.isnumeric() for character in token)


def _word(token: str, core: str) -> str:
    """A word without its punctuation; a hyphen within it parts two words. A sign alone stays, for the parser to see."""
    return _JOINT.sub(" ", core.lower()) if core else token.lower()


def _number(cores: list[str], at: int, language: Language) -> tuple[str | None, int]:
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
    symbol = _ANY_CASE.get(symbol.lower(), symbol)
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

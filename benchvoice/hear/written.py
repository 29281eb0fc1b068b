"""How a sentence may be written: in words, in figures, and with names in one word or in two.

A model that has read much writes "rail 3.3 reads 4.02" as readily as "rail three point three reads four point oh two".
How probable a sentence is to it is how probable all ways to write it are together. Pure; the words are English.
"""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet

from benchvoice.spelling import DIGITS, TEENS, TENS

__all__ = ["in_figures", "ways_to_write"]

_ONES = {word: digit for digit, word in enumerate(DIGITS)} | {"oh": 0}
_BELOW_TWENTY = _ONES | {word: 10 + more for more, word in enumerate(TEENS)}
_TENS = {word: 10 * many for many, word in enumerate(TENS) if word}
_SYMBOLS = {"nanofarads": "nF", "microfarads": "\u00b5F", "kilohertz": "kHz", "megahertz": "MHz"}
"""Units whose symbols the transformer writes now and then; of the others it nearly always writes the word (measured on
640 readings of the tuning voices)."""
_PREFIXES = ("pico", "nano", "micro", "milli", "kilo", "meg")  # units are written in one word
_SHORTEST_HALF = 3  # letters; shorter ones part what is one word ("reset")


def ways_to_write(text: str, known: AbstractSet[str]) -> tuple[str, ...]:
    """The ways in which a sentence of words may be written, itself first; each once.

    Args:
        text: words separated by spaces.
        known: the words of the language. One that is not, and is made of two ("pulldown"), may be written in two.
    """
    words = text.split()
    parted = [part for word in words for part in _parted(word, known)]
    figures, figures_parted = in_figures(words), in_figures(parted)
    ways = [
        words,
        ["o" if word == "oh" else word for word in words],
        figures,
        [_SYMBOLS.get(word, word) for word in figures],
        parted,
        figures_parted,
    ]
    return tuple(dict.fromkeys(" ".join(way) for way in ways))


def in_figures(words: Sequence[str]) -> list[str]:
    """The words with every number among them in figures: "two oh five" is 205, "point five" 0.5, "ten k" 10k.

    What follows a round number stands apart ("two hundred zero" is 200 0), since together they would be another.
    """
    found: list[str] = []
    figure = ""  # the number that is being written
    closed = False  # whether nothing more belongs to it
    at = 0
    while at < len(words):
        digits, taken = _number(words, at)
        decimals_follow = words[at] == "point" and "." not in figure and bool(_number(words, at + 1)[0])
        if digits and not closed:
            figure += digits
        elif decimals_follow:
            figure, taken = f"{figure or '0'}.", 1
        else:
            found += [figure] if figure else []
            figure = digits
            if not digits:
                taken = 1
                _append(found, words[at])
        closed = bool(digits) and "." not in figure and (taken > 1 or words[at] in _TENS) and digits.endswith("0")
        at += taken
    return [*found, figure] if figure else found


def _append(found: list[str], word: str) -> None:
    if word == "k" and found and found[-1][-1].isdigit():
        found[-1] += word
    else:
        found.append(word)


def _number(words: Sequence[str], at: int) -> tuple[str, int]:
    """The number that stands at a place, in figures, and how many words it takes; ("", 0) for none.

    "Two hundred and five" is one number, "two oh five" are three.
    """
    value, taken = _below_hundred(words, at)
    if not taken:
        return "", 0
    for name, times in (("hundred", 100), ("thousand", 1000)):
        if words[at + taken : at + taken + 1] == [name] and 0 < value < times:
            rest, more = _rest(words, at + taken + 1, times)
            value, taken = value * times + rest, taken + 1 + more
    return str(value), taken


def _rest(words: Sequence[str], at: int, below: int) -> tuple[int, int]:
    """What follows "hundred" or "thousand": "and five"; 0 and no words for none, or for a nought of its own."""
    joint = int(words[at : at + 1] == ["and"])
    value, taken = _below_hundred(words, at + joint)
    if below > 100 and 0 < value < 10 and words[at + joint + taken : at + joint + taken + 1] == ["hundred"]:
        rest, more = _rest(words, at + joint + taken + 1, 100)
        value, taken = value * 100 + rest, taken + 1 + more
    return (value, joint + taken) if value else (0, 0)


def _below_hundred(words: Sequence[str], at: int) -> tuple[int, int]:
    first, second = (words[place] if place < len(words) else "" for place in (at, at + 1))
    if first in _TENS:
        one = _ONES.get(second, 0)
        return (_TENS[first] + one, 2) if one else (_TENS[first], 1)
    return (_BELOW_TWENTY[first], 1) if first in _BELOW_TWENTY else (0, 0)


def _parted(word: str, known: AbstractSet[str]) -> tuple[str, ...]:
    """The two words that an unknown one is made of; itself where it is known, or is not made of two."""
    if word in known or word.startswith(_PREFIXES):
        return (word,)
    places = range(_SHORTEST_HALF, len(word) - _SHORTEST_HALF + 1)
    halves = ((word[:at], word[at:]) for at in places)
    return next(((one, other) for one, other in halves if one in known and other in known), (word,))

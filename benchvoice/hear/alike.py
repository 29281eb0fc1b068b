"""Sentences that are easily taken for one another: teens and tens, a word that was swallowed, one that was said twice.

Pure. The words are English; which word an ear swallows, it swallows in any language.
"""

from __future__ import annotations

from benchvoice.records import WordNetwork
from benchvoice.spelling import DIGITS

__all__ = [
    "TEENS_AND_TENS",
    "a_syllable_apart",
    "easily_swallowed",
    "extra_word",
    "likely_said",
    "near_sounding",
    "neighbours",
    "twins",
]

TEENS_AND_TENS = {
    "thirteen": "thirty",
    "fourteen": "forty",
    "fifteen": "fifty",
    "sixteen": "sixty",
    "seventeen": "seventy",
    "eighteen": "eighty",
    "nineteen": "ninety",
}
"""The pairs that differ in their ending alone."""

_OTHER = TEENS_AND_TENS | {ten: teen for teen, ten in TEENS_AND_TENS.items()}
_MADE_OF = {
    ("two", "twenty"),
    *((digit, made) for digit, pair in zip(DIGITS[3:], TEENS_AND_TENS.items(), strict=True) for made in pair),
}
"""Digits, and what is made of them."""
_ONES = frozenset(DIGITS[1:])


def twins(network: WordNetwork, text: str) -> tuple[str, ...]:
    """The network's sentences that say a ten where `text` says a teen, or a teen where it says a ten."""
    words = text.split()
    swapped = (
        " ".join([*words[:at], _OTHER[word], *words[at + 1 :]]) for at, word in enumerate(words) if word in _OTHER
    )
    return tuple(other for other in swapped if network.accepts(other))


def neighbours(network: WordNetwork, text: str) -> tuple[str, ...]:
    """The network's sentences that differ from `text`, one of its sentences, in one word."""
    words = text.split()
    found: list[str] = []
    node = 0
    for at, word in enumerate(words):
        arcs = network.leaving(node)
        others = (" ".join([*words[:at], arc.word, *words[at + 1 :]]) for arc in arcs if arc.word != word)
        found += [other for other in others if network.accepts(other)]
        node = next((arc.target for arc in arcs if arc.word == word), node)
    return tuple(found)


def near_sounding(one: str, other: str) -> bool:
    """Whether two sentences are easily taken for one another.

    They differ in one word, and the two begin alike ("thirteen", "thirty"); or one says a word twice that the other
    says once ("point oh oh", "point oh").
    """
    words, others = one.split(), other.split()
    if len(words) == len(others):
        pairs = [(a, b) for a, b in zip(words, others, strict=True) if a != b]
        return len(pairs) == 1 and pairs[0][0][:2] == pairs[0][1][:2]
    return _says_twice(one, other) or _says_twice(other, one)


def a_syllable_apart(one: str, other: str) -> bool:
    """Whether two sentences differ in a digit and a teen or ten made of it: "eight", and "eighty" or "eighteen".

    One of them has a syllable more. A teen and a ten have as many, and so have two units ("milliamps", "microamps").
    """
    words, others = one.split(), other.split()
    pairs = [(a, b) for a, b in zip(words, others, strict=False) if a != b]
    if len(words) != len(others) or len(pairs) != 1:
        return False
    return pairs[0] in _MADE_OF or pairs[0][::-1] in _MADE_OF


def extra_word(text: str, than: str) -> tuple[int, ...]:
    """The places, any of which can be that of the one word that a sentence says besides all of another's."""
    longer, shorter = text.split(), than.split()
    return tuple(at for at in range(len(longer)) if longer[:at] + longer[at + 1 :] == shorter)


def _says_twice(text: str, than: str) -> bool:
    """Whether a sentence differs from another by saying one of its words twice."""
    words = text.split()
    return any(at and words[at] == words[at - 1] for at in extra_word(text, than))


def easily_swallowed(text: str, than: str) -> bool:
    """Whether the extra word comes last, or says once more what was said before it."""
    return len(text.split()) - 1 in extra_word(text, than) or _says_twice(text, than)


def likely_said(text: str, heard: str) -> bool:
    """Whether a sentence that sounds like the one heard is as usual a way to speak.

    A teen before a digit ("eighteen one") is not; and a word that was heard twice was not said once: ears swallow
    words, they do not make them.
    """
    words, others = text.split(), heard.split()
    if len(words) != len(others):
        return len(words) > len(others)
    at = next(at for at, (one, other) in enumerate(zip(words, others, strict=True)) if one != other)
    return not (words[at] in TEENS_AND_TENS and not _ONES.isdisjoint(words[at + 1 : at + 2]))

"""The pronunciations that a profile may add: of words of the prompts, new ones, and none nearer to another word."""

from __future__ import annotations

import pytest

from benchvoice.commands.tune import _prompts
from benchvoice.hear.lexicon import Lexicon, Phones, dictionary
from benchvoice.tuning.profile import variants
from tests.understand.boards import english

KNOWN = [(word, phones) for word, ways in variants().entries.items() for phones in ways]


def usual(word: str) -> tuple[Phones, ...]:
    return (*Lexicon.shipped().variants(word), *dictionary().variants(word))


def words_of_readings() -> set[str]:
    """Number words, units and verbs: what may stand where another word of a reading stands."""
    language = english()
    units = {word for name in language.units for word in " ".join(name).split()}
    numbers = {"oh", "zero", "point", "hundred", "thousand", "and", "minus", "double", "triple", "volt", "ohm", "amp"}
    numbers |= {word for prompt in _prompts() for word in prompt.split()}
    numbers |= {f"{stem}teen" for stem in ("thir", "four", "fif", "six", "seven", "eigh", "nine")}
    numbers |= {"ten", "eleven", "twelve", "twenty", "forty", "sixty", "eighty"}
    return {word for word in units | numbers if usual(word)}


def distance(one: Phones, other: Phones) -> int:
    """How many sounds must be changed, put in or left out (Levenshtein)."""
    row = list(range(len(other) + 1))
    for number, sound in enumerate(one, 1):
        before, row[0] = row[0], number
        for at, another in enumerate(other, 1):
            before, row[at] = row[at], min(row[at] + 1, row[at - 1] + 1, before + (sound != another))
    return row[-1]


@pytest.mark.parametrize(("word", "phones"), KNOWN)
def test_a_variant_is_new_and_of_a_word_of_the_prompts(word: str, phones: Phones) -> None:
    assert word in {each for prompt in _prompts() for each in prompt.split()}
    assert phones not in usual(word)


@pytest.mark.parametrize(("word", "phones"), KNOWN)
def test_a_variant_comes_no_nearer_to_another_word(word: str, phones: Phones) -> None:
    """Nearer than the usual ways, or than two sounds."""
    for other in words_of_readings() - {word}:
        before = min(distance(one, another) for one in usual(word) for another in usual(other))
        after = min(distance(phones, another) for another in usual(other))
        assert after >= min(2, before), other


def test_every_variant_keeps_away_from_every_other_words_variants() -> None:
    for word, phones in KNOWN:
        for other, others in KNOWN:
            assert word == other or distance(phones, others) >= 2, (word, phones, other, others)


def test_teens_and_tens_differ_in_their_ends_alone() -> None:
    """Whoever begins one of two twins otherwise begins the other so too: with one of them changed it would be heard for
    both."""
    twins = [(word, phones) for word, phones in KNOWN if word in {*english().teens, *english().tens}]
    assert twins
    for word, phones in twins:
        assert phones[:-2] in {known[:-2] for known in usual(word)}

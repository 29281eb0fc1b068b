"""Pronunciations in the network's symbols."""

from __future__ import annotations

import pytest

from benchvoice.errors import GrammarError
from benchvoice.hear.lexicon import Lexicon
from benchvoice.hear.network_sounds import NetworkSounds, parse_heard_as

SYMBOLS = ("t", "w", "u", "oʊ", "o", "n", "e", "ʌ", "ə", "v", "l", "s", "k", "eɪ")


def guess(word: str) -> tuple[str, ...]:
    return {"one": ("o", "n", "e"), "volts": ("v", "oʊ", "l", "t", "s"), "k": ("junk",)}.get(word, ("?",))


def spelt(sounds: NetworkSounds, word: str) -> list[str]:
    return [" ".join(SYMBOLS[number] for number in variant) for variant in sounds.variants(word)]


def test_the_models_own_answer_comes_first_then_the_dictionary() -> None:
    sounds = NetworkSounds(SYMBOLS, guess, heard_as={}, lexicon=Lexicon({}))
    assert spelt(sounds, "one") == ["o n e", "w ʌ n", "w ə n"]  # the dictionary: W AH N


def test_what_is_known_spares_the_model() -> None:
    def never(word: str) -> tuple[str, ...]:
        raise AssertionError(word)

    known = parse_heard_as("two t w oʊ\ntwo t u  # measured\n\n# a comment\n")
    sounds = NetworkSounds(SYMBOLS, never, heard_as=known, lexicon=Lexicon({}))
    assert spelt(sounds, "two") == ["t w oʊ", "t u"]


def test_our_lexicon_counts_too() -> None:
    sounds = NetworkSounds(SYMBOLS, guess, heard_as={}, lexicon=Lexicon.parse("volts V OW L S"))
    assert spelt(sounds, "volts") == ["v oʊ l t s", "v oʊ l s"]


def test_a_letter_is_looked_up_not_guessed() -> None:
    assert spelt(NetworkSounds(SYMBOLS, guess, heard_as={}, lexicon=Lexicon({})), "k") == ["k eɪ"]


@pytest.mark.parametrize("word", ["zq", "r2", "", "-"])
def test_nothing_where_no_symbols_fit(word: str) -> None:
    assert NetworkSounds(SYMBOLS, guess, heard_as={}, lexicon=Lexicon({})).variants(word) == ()


def test_a_word_without_sounds_is_refused_with_its_line() -> None:
    with pytest.raises(GrammarError, match=r"heard\.txt, line 2: 'two' has no sounds\. Write the word and IPA"):
        parse_heard_as("one o n e\ntwo  # nothing\n", file="heard.txt")

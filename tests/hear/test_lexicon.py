"""Pronunciations: the shipped lexicon, ARPAbet and IPA, letter-to-sound."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import GrammarError
from benchvoice.hear.lexicon import IPA, Lexicon, Phones, arpabet, dictionary, ipa, letters_to_sound


def test_arpabet_is_complete() -> None:
    """39 phones: the phone set of the CMU Pronouncing Dictionary (its own dictionary file is read here)."""
    used = {phone for variants in dictionary().entries.values() for phones in variants for phone in phones}
    assert len(IPA) == 39
    assert used == set(IPA)


@given(st.lists(st.sampled_from(sorted(IPA)), min_size=1, max_size=12).map(tuple))
def test_ipa_and_back(phones: Phones) -> None:
    assert arpabet(ipa(phones)) == phones


def test_what_is_no_english_sound_is_not_guessed_at() -> None:
    assert arpabet(["k͈", "ɯ"]) is None
    assert arpabet([]) is None


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        # hearing measured on synthesised readings: the variants that gave the fewest errors
        ("amps", "AE M S"),
        ("kilohms", "K AY L OW M Z"),
        ("millivolts", "M IH L IY V OW L T S"),
        # ICAO spelling alphabet as given in FAA AIM 4-2-7: FOW-er, JEW-lee-ETT, ECKS-RAY
        ("fower", "F AW ER"),
        ("juliett", "JH UW L IY EH T"),
        ("xray", "EH K S R EY"),
    ],
)
def test_the_shipped_lexicon(word: str, phones: str) -> None:
    assert tuple(phones.split()) in Lexicon.shipped().variants(word)


def test_a_multiple_of_a_unit_ends_as_its_unit_does() -> None:
    """Checked against the dictionary, which has the units but not their multiples."""
    for word in Lexicon.shipped().entries:
        for unit in ("volts", "volt", "ohms", "ohm", "watts", "watt"):
            if word.endswith(unit) and word != unit:
                ends = dictionary().variants(unit)
                for phones in Lexicon.shipped().variants(word):
                    assert any(phones[-len(end) :] == end for end in ends), (word, phones)
                break


@pytest.mark.parametrize("word", ["reflow", "snubbers", "kiln", "tachometer", "loom", "discoloured"])
def test_letters_to_sound_gives_sounds_that_the_engines_have(word: str) -> None:
    pytest.importorskip("hama", reason="the letter-to-sound model has no build for this system")
    phones = letters_to_sound(word)
    assert phones
    assert set(phones) <= set(IPA)


@pytest.mark.parametrize("word", ["", "u4", "3v3", "ça", "two words", "Ω"])
def test_letters_to_sound_refuses_what_is_not_a_word(word: str) -> None:
    assert letters_to_sound(word) is None


def test_letters_to_sound_agrees_with_the_dictionary_more_often_than_not() -> None:
    """Common practice, no source: a guess that is right for fewer than half of ordinary words is of no use."""
    pytest.importorskip("hama", reason="the letter-to-sound model has no build for this system")
    words = [
        "regulator",
        "heater",
        "supply",
        "reference",
        "logic",
        "sensor",
        "motor",
        "valve",
        "battery",
        "output",
        "switch",
        "fuse",
    ]
    right = [word for word in words if letters_to_sound(word) in dictionary().variants(word)]
    assert len(right) > len(words) / 2, right


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("volt V OW L T\nohm\n", r"lexicon.txt, line 2: 'ohm' is not a word and its sounds"),
        ("ohm OW QQ\n", r"line 1: 'QQ' is not an ARPAbet phone"),
        ("ohm ow m\n", r"'ohm ow m' is not a word and its sounds"),
        ("volt V OW1 L T", r"is not a word and its sounds"),
    ],
)
def test_a_bad_line_is_named(text: str, message: str) -> None:
    with pytest.raises(GrammarError, match=message):
        Lexicon.parse(text, file="lexicon.txt")


def test_variants_keep_their_order_and_comments_are_none() -> None:
    lexicon = Lexicon.parse("# a comment\n\nAmps AE M P S # usual\namps AE M S\namps AE M P S\n")
    assert lexicon.variants("AMPS") == (("AE", "M", "P", "S"), ("AE", "M", "S"))
    assert lexicon.variants("volts") == ()


def test_a_language_without_a_lexicon_has_an_empty_one() -> None:
    assert Lexicon.shipped("zz").entries == {}

"""How a sentence may be written: in words, in figures, in two words. English spelling of numbers: everyday use."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.hear.lexicon import dictionary_words
from benchvoice.hear.written import in_figures, ways_to_write
from benchvoice.spelling import spell_digits, spell_number

KNOWN = frozenset({"pull", "down", "heat", "sink", "stand", "by", "standby", "reads", "milli", "volts", "reset", "set"})

FIGURES = [
    ("rail three point three reads four point oh two", "rail 3.3 reads 4.02"),
    ("zero point five seven", "0.57"),
    ("point oh five", "0.05"),
    ("minus four point zero three volts", "minus 4.03 volts"),
    ("two oh five", "205"),
    ("two hundred and five", "205"),
    ("two hundred five point one", "205.1"),
    ("nine fifteen", "915"),
    ("ten thousand and five", "10005"),
    ("one thousand two hundred and thirty four", "1234"),
    ("three hundred and twenty two thousand", "322000"),
    ("point eighty three", "0.83"),
    ("two hundred and seventy eight k oh two", "278k 02"),
    ("four volts sixteen", "4 volts 16"),
    ("four double two", "4 double 2"),
    # what stands apart, since together it would be another number
    ("two hundred zero", "200 0"),
    ("twenty oh five", "20 05"),
    ("sixty sixty", "60 60"),
    # no number
    ("", ""),
    ("point", "point"),
    ("ten point", "10 point"),
    ("two point five point five", "2.5 point 5"),
    ("hundred and one", "hundred and 1"),
    ("zero hundred", "0 hundred"),
    ("k reads k", "k reads k"),
]


@pytest.mark.parametrize(("words", "figures"), FIGURES)
def test_numbers_are_written_in_figures(words: str, figures: str) -> None:
    assert " ".join(in_figures(words.split())) == figures


@given(st.integers(0, 999_999), st.from_regex(r"[0-9]{0,4}", fullmatch=True))
def test_what_was_spelled_is_written_as_it_was(whole: int, decimals: str) -> None:
    number = f"{whole}.{decimals}" if decimals else str(whole)
    assert in_figures(["reads", *spell_number(number).split(), "volts"]) == ["reads", number, "volts"]


@given(st.from_regex(r"[1-9][0-9]{0,8}", fullmatch=True))
def test_digits_one_by_one_are_written_together(digits: str) -> None:
    assert in_figures(spell_digits(digits).split()) == [digits]


@given(
    st.lists(
        st.sampled_from(
            ["oh", "zero", "two", "ten", "fifteen", "twenty", "hundred", "thousand", "and", "point", "k", "volts"]
        ),
        max_size=9,
    )
)
def test_every_word_that_is_no_number_stays_where_it_was(words: list[str]) -> None:
    kept = [word for word in words if word == "volts"]
    written = " ".join(in_figures(words))
    assert re.findall("volts", written) == kept
    assert not any(word in written.split() for word in ("oh", "zero", "two", "ten", "fifteen", "twenty"))


def test_a_sentence_is_written_in_each_way_once() -> None:
    assert ways_to_write("pulldown reads four point oh nanofarads", KNOWN) == (
        "pulldown reads four point oh nanofarads",
        "pulldown reads four point o nanofarads",
        "pulldown reads 4.0 nanofarads",
        "pulldown reads 4.0 nF",
        "pull down reads four point oh nanofarads",
        "pull down reads 4.0 nanofarads",
    )
    assert ways_to_write("strike that", KNOWN) == ("strike that",)


@pytest.mark.parametrize(
    ("word", "two"),
    [
        ("pulldown", "pull down"),
        ("heatsink", "heat sink"),
        ("standby", "standby"),  # a word of the language
        ("millivolts", "millivolts"),  # units are written in one word
        ("snubber", "snubber"),
        ("reset", "reset"),
    ],
)
def test_a_name_that_is_no_word_may_be_written_in_two(word: str, two: str) -> None:
    assert ways_to_write(word, KNOWN) == tuple(dict.fromkeys((word, two)))


def test_the_words_of_the_language_are_those_of_the_dictionary() -> None:
    """The CMU Pronouncing Dictionary as the pocketsphinx package carries it."""
    words = dictionary_words()
    if not words:
        pytest.skip("PocketSphinx is not installed")
    assert {"standby", "thermostat", "down"} <= words
    assert not {"pulldown", "snubber", "standby(2)"} & words

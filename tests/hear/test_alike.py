"""Which sentences are easily taken for one another."""

from __future__ import annotations

import pytest

from benchvoice.hear.alike import a_syllable_apart, near_sounding, neighbours, twins
from benchvoice.hear.choices import network_of


# English: the seven pairs that differ in their ending alone (common practice, no source)
@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("rail reads thirteen volts", ("rail reads thirty volts",)),
        ("rail reads thirty volts", ("rail reads thirteen volts",)),
        ("rail reads forty", ("rail reads fourteen",)),
        ("rail reads fourteen", ("rail reads forty",)),
        ("rail reads fifteen", ("rail reads fifty",)),
        ("rail reads ninety", ("rail reads nineteen",)),
        ("rail thirty reads fifty", ("rail thirty reads fifteen",)),  # no rail of that other name
        ("rail reads twenty", ()),
        ("rail reads three", ()),
        ("rail reads eighty", ()),  # "eighteen" is no sentence of this network
    ],
)
def test_teens_and_tens_are_twins(text: str, expected: tuple[str, ...]) -> None:
    words = (
        "thirteen",
        "thirty",
        "fourteen",
        "forty",
        "fifteen",
        "fifty",
        "ninety",
        "nineteen",
        "twenty",
        "three",
        "eighty",
    )
    sentences = [f"rail reads {word}{unit}" for word in words for unit in ("", " volts")]
    network = network_of([*sentences, "rail thirty reads fifty", "rail thirty reads fifteen"])
    assert twins(network, text) == expected


@pytest.mark.parametrize(
    ("one", "other", "near"),
    [
        ("rail five is thirteen", "rail five is thirty", True),
        ("nineteen", "ninety", True),
        ("four", "forty", True),
        ("five", "nine", False),
        ("five point two", "five point two", False),
        ("five point oh", "five point oh oh", True),
        ("five point two", "five point two three", False),
        ("five point two", "point two", False),
        ("four point two", "forty point three", False),
    ],
)  # which words sound alike: common practice, no source
def test_near_sounding(one: str, other: str, near: bool) -> None:
    assert near_sounding(one, other) is near
    assert near_sounding(other, one) is near


def test_the_neighbours_of_a_sentence_differ_in_one_word() -> None:
    network = network_of(["five point two", "five point three", "nine point two", "nine point three", "five"])
    assert set(neighbours(network, "five point two")) == {"five point three", "nine point two"}
    assert neighbours(network, "five") == ()


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("reads eight volts", "reads eighty volts", True),
        ("reads eighteen volts", "reads eight volts", True),
        ("reads twenty", "reads two", True),
        ("reads eighteen", "reads eighty", False),  # as many syllables
        ("three milliamps", "three microamps", False),
        ("megahertz", "megohms", False),
        ("reads eight", "reads nine", False),
        ("reads seventy", "reads six", False),
        ("point oh", "point oh oh", False),
        ("eight eight", "eighty eighty", False),
    ],
)
def test_a_digit_and_what_is_made_of_it_are_a_syllable_apart(one: str, other: str, apart: bool) -> None:
    assert a_syllable_apart(one, other) is apart
    assert a_syllable_apart(other, one) is apart

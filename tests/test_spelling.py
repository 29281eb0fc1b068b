"""Numbers in words, against num2words 0.5.14 where that keeps the digits, and by hand where it drops them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from num2words import num2words

from benchvoice.spelling import DIGITS, spell_digits, spell_number


def oracle(number: int | Decimal) -> str:
    """num2words without its commas and hyphens."""
    return str(num2words(number)).replace(",", "").replace("-", " ")


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("12.07", "twelve point zero seven"),  # num2words 0.5.14
        ("-5.47", "minus five point four seven"),  # num2words 0.5.14
        ("105", "one hundred and five"),  # num2words 0.5.14
        ("3.30", "three point three zero"),  # by hand: num2words drops the last zero
        ("4.0", "four point zero"),
        ("0.00", "zero point zero zero"),
        ("-0.5", "minus zero point five"),
        (".452", "point four five two"),
        ("+5", "plus five"),
        ("\u221212", "minus twelve"),  # U+2212, the minus sign of printed text
        ("01803", "zero one eight zero three"),  # leading zeros count on a unit that shows bare digits
        ("1000000", "one zero zero zero zero zero zero"),
        ("999999", "nine hundred and ninety nine thousand nine hundred and ninety nine"),
        ("1005", "one thousand and five"),
        ("24.66", "twenty four point six six"),
    ],
)
def test_written_numbers_are_said_with_every_digit(written: str, said: str) -> None:
    assert spell_number(written) == said


@given(st.integers(-999_999, 999_999))
@example(100_000)
@example(21_017)
def test_whole_numbers_agree_with_num2words(number: int) -> None:
    assert spell_number(str(number)) == oracle(number)


@given(st.integers(-999_999, 999_999), st.integers(1, 9_999).filter(lambda decimals: decimals % 10 != 0))
def test_decimals_agree_with_num2words_where_it_keeps_them(whole: int, decimals: int) -> None:
    text = f"{whole}.{decimals:04d}"
    assert spell_number(text) == oracle(Decimal(text))


@given(st.from_regex(r"[0-9]{1,6}\.[0-9]{1,8}", fullmatch=True))
def test_the_digits_after_the_point_come_back(text: str) -> None:
    said = spell_number(text).split(" point ")[1].split()
    assert "".join(str(DIGITS.index(word)) for word in said) == text.split(".")[1]


@pytest.mark.parametrize("text", ["", "-", ".", "3.", "3,3", "1e3", "4K7", "1 000", "٣", "--1", "1.2.3", "NaN"])
def test_what_is_not_a_plain_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not a plain decimal number"):
        spell_number(text)


def test_digits_one_by_one() -> None:
    assert spell_digits("462") == "four six two"
    with pytest.raises(ValueError, match="not digits"):
        spell_digits("4.6")

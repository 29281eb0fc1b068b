"""Spoken values, against the table of meanings and against two number libraries."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from num2words import num2words
from text_to_num import alpha2digit, text2num

from benchvoice.records import SpokenValue
from benchvoice.understand.numbers import Values, spoken_values
from benchvoice.units import QUANTITIES, convert, quantity_kind
from tests.understand.boards import english

HERE = Path(__file__).parent
SHARED = HERE.parents[2] / "shared" / "spoken_values.tsv"


def rows(path: Path) -> list[tuple[str, str, str, str]]:
    """phrase, quantity, value, unit of every row."""
    if not path.is_file():
        return []
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]
    cells = [line.split("\t") for line in lines if not line.startswith("phrase\t")]
    return [(row[0], row[1], row[2], row[3]) for row in cells]


def meanings(phrase: str, quantity: str, volts_shown: bool | None = None) -> Values:
    return spoken_values(phrase.split(), quantity_kind(quantity), english(), volts_shown=volts_shown)


@pytest.mark.parametrize(("phrase", "quantity", "value", "unit"), rows(HERE / "spoken_values.tsv"))
def test_table_of_meanings(phrase: str, quantity: str, value: str, unit: str) -> None:
    found = meanings(phrase, quantity)
    if value == "REFUSE":
        assert found.meanings == ()
        assert found.why
        return
    wanted = ["over range"] if value == "OVERRANGE" else value.split("|")
    assert [meaning.digits for meaning in found.meanings] == wanted
    if unit:
        # the second meaning of a diode drop's bare digits is what a meter shows in millivolts
        assert found.meanings[0].unit == unit


@pytest.mark.skipif(not SHARED.is_file(), reason="the shared table is not beside this checkout")
def test_the_shared_table_is_all_in_ours() -> None:
    assert set(rows(SHARED)) <= set(rows(HERE / "spoken_values.tsv"))


@pytest.mark.parametrize(
    ("phrase", "waveform"),
    [
        ("four millivolts ac", "AC"),
        ("twelve point six volts dc", "DC"),
        ("five volts a c", "AC"),
        ("five volts ac true rms", "AC"),
        ("five volts true r m s", "AC"),
    ],
)
def test_waveform_is_kept(phrase: str, waveform: str) -> None:
    assert meanings(phrase, "voltage").meanings[0].waveform == waveform


@pytest.mark.parametrize(
    ("volts_shown", "digits", "unit"), [(True, "0.462", "V"), (False, "462", "mV")]
)  # common practice, no source: meters show a diode drop in either form
def test_diode_drop_by_the_meters_display(volts_shown: bool, digits: str, unit: str) -> None:
    assert meanings("four six two", "diode drop", volts_shown).meanings == (SpokenValue(digits, unit),)


@pytest.mark.parametrize(
    ("phrase", "volts_shown", "found"),
    [
        ("eighteen fifty", True, ["1.850 V", "0.1850 V"]),
        ("eighteen fifty", False, ["1850 mV"]),
        ("one eight five oh", True, ["1.850 V", "0.1850 V"]),
        ("one eight five", True, ["0.185 V", "1.85 V"]),
        ("one eight five", False, ["185 mV"]),
        ("one eight five", None, ["0.185 V", "1.85 V", "185 mV"]),
        ("one eight", True, ["0.18 V", "1.8 V"]),
        ("forty six", None, ["0.46 V", "46 mV"]),
        ("four six two oh", True, ["0.4620 V"]),  # no diode test reaches 4.620 V
        ("minus one eight five", True, ["-0.185 V", "-1.85 V"]),
        ("one point eight five", None, ["1.85 V"]),
        ("four six two point five", None, ["462.5 mV", "462.5 V"]),
        ("zero", None, ["0 V"]),
    ],
)  # common practice, no source
def test_diode_drop_of_any_size(phrase: str, volts_shown: bool | None, found: list[str]) -> None:
    assert [str(value) for value in meanings(phrase, "diode drop", volts_shown).meanings] == found


@pytest.mark.parametrize(
    ("phrase", "found"),
    [
        ("three thirty", ["330", "3.30"]),
        ("three oh three", ["303", "3.03"]),
        ("two thirty volts", ["230", "2.30"]),
        ("three hundred and thirty", ["330"]),
        ("thirty three", ["33"]),
    ],
)
def test_the_everyday_form_of_hundreds_may_hide_a_point(phrase: str, found: list[str]) -> None:
    values = spoken_values(phrase.split(), quantity_kind("voltage"), english(), point_unsaid=True).meanings
    assert [value.digits for value in values] == found


@pytest.mark.parametrize(
    ("phrase", "found"),
    [
        ("ten point two", (SpokenValue("10.2", "kohm"), SpokenValue("10.2", "ohm"))),  # a meter shows both as 10.2
        ("ten point two k", (SpokenValue("10.2", "kohm", True),)),
        ("zero point zero", (SpokenValue("0.0", "kohm"),)),
        ("overload", (SpokenValue("over range", "kohm"),)),
    ],
)
def test_a_point_written_in_another_unit(phrase: str, found: tuple[SpokenValue, ...]) -> None:
    assert spoken_values(phrase.split(), quantity_kind("resistance"), english(), own_unit="kohm").meanings == found


@given(st.decimals(min_value=Decimal("-999999.999"), max_value=Decimal("999999.999"), places=3))
def test_every_number_of_num2words_reads_back(number: Decimal) -> None:
    # num2words 0.5.14 drops trailing zeros, so compare as numbers; digits are the table's business
    plain = number.normalize()
    # ... and it drops the sign between -1 and 0, so the sign is put in by hand
    phrase = ("minus " if plain < 0 else "") + re.sub(r"[-,]", " ", num2words(abs(plain)))
    found = meanings(" ".join(phrase.split()), "voltage")
    assert [meaning.number for meaning in found.meanings] == [plain]


@given(st.integers(0, 9999), st.text("0123456789", min_size=1, max_size=4), st.booleans())
def test_digits_are_kept_one_by_one(whole: int, decimals: str, minus: bool) -> None:
    names = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    spoken = " ".join(names[int(digit)] for digit in decimals)
    whole_words = re.sub(r"[-,]", " ", num2words(whole))
    found = meanings(" ".join(f"{'minus ' if minus else ''}{whole_words} point {spoken}".split()), "voltage")
    assert [meaning.digits for meaning in found.meanings] == [f"{'-' if minus else ''}{whole}.{decimals}"]


def text2num_digits(phrase: str) -> str | None:
    """The one number that text2num 3.1.0 finds in the whole phrase, in digits; None where it gives no such value.

    A cross-check, not our parser. Its `text2num` knows whole numbers only, its `alpha2digit` decimals too.
    """
    found = alpha2digit(phrase, "en", 0)
    return found if re.fullmatch(r"\d+(\.\d+)?", found) else None


def agrees_with_text2num(phrase: str) -> bool:
    """Whether both give a value; an error where the values differ, down to the last zero."""
    other = text2num_digits(phrase)
    ours = [meaning.digits for meaning in meanings(phrase, "voltage").meanings]
    if other is None or not ours:
        return False
    assert other in ours
    if "." not in other:
        assert text2num(phrase, "en") == int(other)
    return True


@given(st.integers(0, 999_999), st.text("0123456789", max_size=6))
def test_text2num_gives_the_same_value_for_every_number_said_plainly(whole: int, decimals: str) -> None:
    phrase = re.sub(r"[-,]", " ", num2words(whole))
    if decimals:
        phrase += " point " + " ".join(num2words(int(digit)) for digit in decimals)
    assert agrees_with_text2num(" ".join(phrase.split()))


NUMBER_WORDS = sorted(english().number_words | {"and"})


@settings(max_examples=1000)
@given(st.lists(st.sampled_from(NUMBER_WORDS), min_size=1, max_size=6))
def test_text2num_agrees_wherever_both_give_a_value(words: list[str]) -> None:
    agrees_with_text2num(" ".join(words))


# a row of digits or a part-value code is no number to it, and what we refuse has no value to compare
BOTH = [
    (phrase, value)
    for phrase, quantity, value, _ in rows(HERE / "spoken_values.tsv")
    if quantity not in ("digits", "diode drop") and value != "REFUSE" and text2num_digits(phrase) is not None
]


@pytest.mark.parametrize(("phrase", "value"), BOTH)
def test_text2num_agrees_with_the_table(phrase: str, value: str) -> None:
    assert text2num_digits(phrase) in value.split("|")


WORDS = sorted(english().number_words | english().unit_words | {"and", "a", "overload", "ac", "banana"})


@example(["overload"], "continuity")
@given(st.lists(st.sampled_from(WORDS), max_size=9), st.sampled_from(sorted(QUANTITIES)))
def test_any_words_give_meanings_or_a_reason(words: list[str], quantity: str) -> None:
    kind = quantity_kind(quantity)
    found = spoken_values(words, kind, english())
    assert bool(found.meanings) != bool(found.why)
    assert len(set(found.meanings)) == len(found.meanings)
    for meaning in found.meanings:
        if meaning.over_range:
            continue
        if kind.words:  # over range is an open circuit there
            assert meaning.digits in kind.words
            continue
        assert re.fullmatch(r"-?\d+(\.\d+)?", meaning.digits)
        if meaning.unit:
            convert(meaning.number, meaning.unit, kind.base)

"""Part-value codes: what they mean, and what must not be misread."""

from __future__ import annotations

from decimal import Decimal

import pytest
from eseries import ESeries, series
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import UnitError
from benchvoice.part_values import part_quantity, read_part_value, unusual, value_code
from benchvoice.units import convert

# IEC 60062, read second hand; the capacitors from memory
CODES = [
    ("R47", "resistance", "0.47", "ohm"),
    ("4R7", "resistance", "4.7", "ohm"),
    ("470R", "resistance", "470", "ohm"),
    ("4K7", "resistance", "4.7", "kohm"),
    ("47K3", "resistance", "47.3", "kohm"),
    ("4M7", "resistance", "4.7", "Mohm"),
    ("3V3", "voltage", "3.3", "V"),
    ("100n", "capacitance", "100", "nF"),
    ("4u7", "capacitance", "4.7", "uF"),
    ("4\u00b57", "capacitance", "4.7", "uF"),
    ("p33", "capacitance", "0.33", "pF"),
    ("4k70", "resistance", "4.70", "kohm"),  # digits are kept as they are written
]


@pytest.mark.parametrize(("code", "quantity", "digits", "unit"), CODES)
def test_codes(code: str, quantity: str, digits: str, unit: str) -> None:
    assert read_part_value(code, quantity) == (digits, unit)


# what readers of typed values made of them stands in the project's check values, section 3
@pytest.mark.parametrize(
    ("text", "quantity"),
    [("G10", "resistance"), ("10 M", "resistance"), ("3,3", "voltage"), ("K47", "resistance"), ("4M7", "capacitance"),
     ("4.7", "resistance"), ("4K7K", "resistance"), ("47", "resistance"), ("", "resistance"), ("R", "resistance"),
     ("4K7", ""), ("4K7", "capacitance"), ("V33", "voltage"), ("-4K7", "resistance"), ("\u0664K7", "resistance")],
)  # fmt: skip
def test_what_can_be_misread_is_refused(text: str, quantity: str) -> None:
    with pytest.raises(UnitError, match=r"is not the value of a part|can be read in two ways"):
        read_part_value(text, quantity)


@pytest.mark.parametrize(
    ("ref", "quantity"), [("R7", "resistance"), ("c101", "capacitance"), ("D2", "voltage"), ("U4", "voltage"),
                          ("FB1", ""), ("RN1", ""), ("seven", ""), ("R", "")],
)  # fmt: skip
def test_which_parts_have_a_value(ref: str, quantity: str) -> None:
    assert part_quantity(ref) == quantity


E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)  # IEC 60063


@given(st.sampled_from(E24), st.integers(0, 7))
def test_every_e24_value_is_read_as_it_is_written(tenths: int, decade: int) -> None:
    """The code is made here, not by the module."""
    number = Decimal(tenths).scaleb(decade - 1)
    unit, letter = next((u, x) for u, x, least in (("Mohm", "M", 6), ("kohm", "K", 3), ("ohm", "R", -9))
                        if decade >= least)  # fmt: skip
    plain = f"{convert(number, 'ohm', unit).normalize():f}"
    code = plain.replace(".", letter) if "." in plain else f"{plain}{letter}"
    digits, read_unit = read_part_value(code, "resistance")
    assert convert(Decimal(digits), read_unit, "ohm") == number
    assert value_code(digits, read_unit) == code


@given(st.text(max_size=8), st.sampled_from(["resistance", "capacitance", "voltage", ""]))
def test_any_text_is_read_exactly_or_refused(text: str, quantity: str) -> None:
    try:
        digits, unit = read_part_value(text, quantity)
    except UnitError:
        return
    assert value_code(digits, unit).casefold().strip("0").replace("\u00b5", "u") in text.casefold().replace(
        "\u00b5", "u").replace("\u03bc", "u")  # fmt: skip
    assert [x for x in text if x.isdigit()] == [x for x in (digits[1:] if text.strip()[:1].isalpha() else digits)
                                                if x.isdigit()]  # fmt: skip


# the reference library's rows of IEC 60063
@pytest.mark.parametrize(("row", "unit"), [(ESeries.E24, "kohm"), (ESeries.E24, "nF"), (ESeries.E96, "ohm"),
                                           (ESeries.E192, "kohm"), (ESeries.E48, "kohm")])  # fmt: skip
def test_every_preferred_number_is_usual(row: ESeries, unit: str) -> None:
    for number in series(row):
        for size in ("0.001", "0.1", "1", "10"):
            digits = format(Decimal(str(number)) * Decimal(size), "f")
            assert unusual(digits, unit) == "", digits


@given(st.integers(100, 999))
def test_no_other_resistor_is_usual(figures: int) -> None:
    known = {
        round(float(number) * (10 if number < 100 else 1))
        for row in (ESeries.E24, ESeries.E192)
        for number in series(row)
    }
    assert (unusual(str(figures), "ohm") == "") == (figures in known)


@pytest.mark.parametrize(
    ("digits", "unit", "why"),
    [
        ("0", "ohm", ""),
        ("4.70", "kohm", ""),
        ("3.3", "V", ""),
        ("19", "kohm", "it is no preferred number"),
        ("90", "kohm", "it is no preferred number"),
        ("49.9", "uF", "it is no preferred number"),
        ("49.9", "kohm", ""),
        ("47", "kV", "it is too large for a part"),
        ("4700", "Mohm", "it is too large for a part"),
        ("100", "F", "it is too large for a part"),
    ],
)
def test_unusual(digits: str, unit: str, why: str) -> None:
    assert unusual(digits, unit) == why

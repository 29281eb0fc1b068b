"""Units, quantities and typed values: what is read, and above all what must not be misread."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import UnitError
from benchvoice.units import PREFIXES, QUANTITIES, UNITS, convert, quantity_kind, read_typed, unit

# SI Brochure, 9th ed., table 7 (from memory): name and power of ten of the prefixes that are used at the bench
SI_PREFIXES = {"p": -12, "n": -9, "u": -6, "m": -3, "k": 3, "M": 6, "G": 9}

TAKEN = [
    # typed, number with its digits, unit; how values are written: SI Brochure, 9th ed., 5.4.3 (from memory)
    ("3.30 V", "3.30", "V"),
    ("3.30V", "3.30", "V"),
    ("-12 V", "-12", "V"),
    ("\u221212 V", "-12", "V"),
    ("+5 V", "5", "V"),
    ("4.70 V", "4.70", "V"),  # must not lose its last digit, as pint does (check values, section 3)
    ("4.7kohm", "4.7", "kohm"),
    ("4.7 k\u03a9", "4.7", "kohm"),  # Greek capital omega
    ("4.7 k\u2126", "4.7", "kohm"),  # ohm sign
    ("4.7k\u03a9", "4.7", "kohm"),
    ("200 ohm", "200", "ohm"),
    ("10 Mohm", "10", "Mohm"),
    ("25 mV", "25", "mV"),
    ("100 \u00b5F", "100", "uF"),  # micro sign
    ("100 \u03bcF", "100", "uF"),  # Greek mu
    ("100 uF", "100", "uF"),
    ("32.768 kHz", "32.768", "kHz"),
    ("62 \u00b0C", "62", "degC"),
    ("62 degC", "62", "degC"),
    ("12.5 K", "12.5", "K"),
    ("-3.0 dB", "-3.0", "dB"),
    ("10 %", "10", "%"),
    ("0.5%", "0.5", "%"),
    ("7", "7", ""),
    ("  3.3   V  ", "3.3", "V"),
]

REFUSED = [
    # typed, and what other readers make of it where that was seen (check values, section 3)
    ("4K7", "quantiphy: 4.0 of a unit K7; IEC 60062 means 4700"),
    ("4k7", "IEC 60062"),
    ("4R7", "IEC 60062 means 4.7 ohm"),
    ("R47", "IEC 60062 means 0.47 ohm"),
    ("3V3", "IEC 60062 manner: 3.3 V"),
    ("G10", "rkm_codes: 1e8"),
    ("3,3 V", "pint: 33 V"),
    ("1,200 ohm", "thousands or decimals"),
    ("1 200 ohm", "thousands parted by a space"),
    ("10 M", "pint: molar"),
    ("10 m", "metre is no unit here"),
    ("5 amps", "pint: attometre per second"),
    ("5 volts", "a unit is written by its symbol"),
    ("5 v", "the volt's symbol is a capital"),
    ("5 MV", "no voltage of ours; a slip for mV"),
    ("5 mhz", "case decides between milli and mega"),
    ("5 DB", "the decibel's symbol is dB"),
    ("1e3 V", "exponent"),
    ("0x10 V", "hexadecimal"),
    ("1/2 V", "a fraction"),
    ("\u00bd V", "a fraction sign"),
    ("\uff13 V", "a full-width digit"),
    ("\u0663 V", "an Arabic-Indic digit"),
    ("- 5 V", "a sign that stands apart"),
    ("--5 V", "two signs"),
    ("5. V", "no digit after the point"),
    (".5 V", "no digit before the point"),
    ("5 V 3", "two numbers"),
    ("5 V/s", "no unit of ours"),
    ("3.3.1 V", "two points"),
    ("V", "no number"),
    ("", "nothing"),
    ("nan V", "not a number"),
    ("inf", "not a number"),
]


@pytest.mark.parametrize(("typed", "number", "symbol"), TAKEN)
def test_typed_value_is_read_with_its_digits(typed: str, number: str, symbol: str) -> None:
    read, read_symbol = read_typed(typed)
    assert (str(read), read_symbol) == (number, symbol)


@pytest.mark.parametrize(("typed", "why"), REFUSED)
def test_what_could_be_misread_is_refused(typed: str, why: str) -> None:
    with pytest.raises(UnitError, match=r"is not a (value|unit benchvoice knows)") as caught:
        read_typed(typed)
    assert caught.value.cure, why


def test_refusal_names_the_value_and_the_way_to_write_it() -> None:
    with pytest.raises(
        UnitError, match=r"^'3,3 V' is not a value\. Write a number and a unit, such as 3\.3 V, 4\.7 kohm"
    ):
        read_typed("3,3 V")
    with pytest.raises(UnitError, match=r"^'amps' is not a unit benchvoice knows\. Write one of: V, kV"):
        read_typed("5 amps")


def test_prefixes_are_the_si_ones() -> None:
    assert {prefix: power for prefix, power in PREFIXES.items() if prefix} == SI_PREFIXES
    for symbol, known in UNITS.items():
        prefix = symbol.removesuffix(known.base)
        assert known.exponent == (SI_PREFIXES[prefix] if prefix else 0)
        assert known.symbol == symbol


@pytest.mark.parametrize("kind", QUANTITIES.values(), ids=lambda kind: kind.name)
def test_quantities_are_consistent(kind: object) -> None:
    name, base, symbols = kind.name, kind.base, kind.units  # type: ignore[attr-defined]
    assert quantity_kind(name) is kind
    assert symbols[:1] == ((base,) if base else ())
    assert all(UNITS[symbol].base == base for symbol in symbols)
    assert len(set(symbols)) == len(symbols)


def test_unknown_quantity_and_unit_are_named() -> None:
    with pytest.raises(
        UnitError, match=r"^'voltages' is not a quantity benchvoice knows\. Write one of: voltage, ripple"
    ):
        quantity_kind("voltages")
    with pytest.raises(UnitError, match=r"^'KV' is not a unit benchvoice knows"):
        unit("KV")


@pytest.mark.parametrize(
    ("number", "source", "target", "expected"),
    [
        ("3.30", "V", "mV", "3300"),
        ("4750", "mV", "V", "4.750"),
        ("0.47", "ohm", "mohm", "470"),
        ("2.2", "Mohm", "kohm", "2200"),
        ("-12.1", "V", "uV", "-12100000"),
        ("32.768", "kHz", "Hz", "32768"),
        ("5", "V", "V", "5"),
    ],
)
def test_conversion(number: str, source: str, target: str, expected: str) -> None:
    converted = convert(Decimal(number), source, target)
    assert converted == Decimal(expected)
    assert len(converted.as_tuple().digits) == len(Decimal(number).as_tuple().digits)


def test_units_of_different_quantities_do_not_convert() -> None:
    with pytest.raises(UnitError, match=r"^ohm cannot be expressed in V\.$"):
        convert(Decimal(5), "ohm", "V")


symbols = st.sampled_from(list(UNITS))
numbers = st.from_regex(r"-?(0|[1-9][0-9]{0,8})(\.[0-9]{1,8})?", fullmatch=True)


@given(numbers, symbols, st.sampled_from(["", " ", "\u00a0"]))
def test_written_value_is_read_back(number: str, symbol: str, gap: str) -> None:
    assert read_typed(f"{number}{gap}{symbol}") == (Decimal(number), symbol)
    assert str(read_typed(f"{number}{gap}{symbol}")[0]) == str(Decimal(number))


@given(numbers, symbols, st.data())
def test_conversion_there_and_back_keeps_every_digit(number: str, symbol: str, data: st.DataObject) -> None:
    alike = [other for other in UNITS if UNITS[other].base == UNITS[symbol].base]
    other = data.draw(st.sampled_from(alike))
    back = convert(convert(Decimal(number), symbol, other), other, symbol)
    assert back.as_tuple() == Decimal(number).as_tuple()


@given(st.text(max_size=12))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        number, symbol = read_typed(text)
    except UnitError:
        return
    assert number.is_finite()
    assert symbol in ("", "%") or symbol in UNITS

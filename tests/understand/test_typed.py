"""Typed sentences: what becomes words, digit for digit, and what is left so that the parser refuses it."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.records import Context, ReadingIntent, SpokenPoint
from benchvoice.understand.numbers import spoken_values
from benchvoice.understand.typed import WrittenNames, normalise
from benchvoice.units import QUANTITIES
from tests.understand.boards import english, parser

CONTEXT = Context()

# typed, in words. Sources: SI Brochure 9th ed. for how units are written (from memory); the rest common practice.
TAKEN = [
    ("Rail 3.3 reads 4.0 V.", "rail three point three reads four point zero volts"),
    ("rail 5 reads 5.02V", "rail five reads five point zero two volts"),
    ("-5.47", "minus five point four seven"),
    ("\u22125.47 V", "minus five point four seven volts"),
    ("+5 V", "plus five volts"),
    ("minus 5 V", "minus five volts"),
    (".452 V", "point four five two volts"),
    ("-.5 V", "minus point five volts"),
    ("3.30", "three point three zero"),
    ("105 V", "one hundred and five volts"),
    ("4.7 k\u03a9", "four point seven kilohms"),
    ("4.7 k\u2126", "four point seven kilohms"),
    ("4.7kohm", "four point seven kilohms"),
    ("10k", "ten k"),
    ("10 K", "ten k"),
    ("10 ohms", "ten ohms"),
    ("100 \u00b5F", "one hundred microfarads"),
    ("100 uF", "one hundred microfarads"),
    ("62 \u00b0C", "sixty two degrees"),
    ("62 C", "sixty two degrees"),  # no unit here is the coulomb
    # as meters show over range (common practice, no source)
    ("rail 5 reads OL", "rail five reads ol"),
    ("rail 5 reads 0L.", "rail five reads ol"),
    ("rail 5 reads O.L", "rail five reads ol"),
    ("32.768 kHz", "thirty two point seven six eight kilohertz"),
    ("50 hz", "fifty hertz"),
    ("4 mV AC", "four millivolts ac"),
    ("12.6 V DC", "twelve point six volts dc"),
    ("01803", "zero one eight zero three"),
    ("(3.3 V)", "three point three volts"),
    ("twenty-four point six", "twenty four point six"),
    ("What is left?", "what is left"),
    ("Note: capacitor leaking!", "note capacitor leaking"),
    ("it's dry", "it's dry"),
    ("", ""),
    ("3.3 v", "three point three volts"),
    ("5volts", "five volts"),
    ("12 wires", "twelve wires"),
    ("The serial number is AB-12", "the serial number is alpha bravo dash one two"),
    # a serial number that is spoken of is spelled nowhere but at the beginning
    (
        "note serial number of U4 is 74 and rail 5 is 4.2 V",
        "note serial number of U4 is seventy four and rail five is four point two volts",
    ),
    ("note the serial number label, 4.2 V", "note the serial number label four point two volts"),
    ("five, point one", "five point one"),  # a pause for certain
    ("on rail five, i read five", "on rail five i read five"),
]

# typed and left. The reason is beside each; check values: units of typed values that other readers misread.
LEFT = [
    ("3,3 V", "decimal comma: another reader takes 33 V"),
    ("4K7", "IEC 60062 code: another reader takes 4.0 of a unit K7"),
    ("R47", "IEC 60062 code, or the part R47"),
    ("3V3", "IEC 60062 code"),
    ("G10", "another reader takes 1e8"),
    ("1e3 V", "exponent"),
    ("10 M", "mega or metre: another reader takes molar"),
    ("10 m", "milli or metre"),
    ("10 R", "ohm by IEC 60062, or a part"),
    ("5 MV", "mega or milli volts"),
    ("5 mhz", "mega or milli hertz"),
    ("5 ma", "case decides the unit"),
    ("1 200 ohm", "thousands parted by a space (SI Brochure), or two numbers"),
    ("1\u202f200 ohm", "thousands parted by a thin space (SI Brochure)"),
    ("1,200 ohm", "thousands separator, or a decimal comma"),
    ("5 . 3", "a point that stands apart"),
    ("- 5.47", "a sign that stands apart"),
    ("\u20135.47", "a dash for a minus"),
    ("\u00b15", "plus or minus"),
    ("~5 V", "about"),
    ("<5 V", "less than"),
    ("5\u00b11", "a tolerance"),
    ("3-5 V", "a range"),
    ("1/2", "a fraction"),
    ("5 / 3", "a fraction"),
    ("10:30", "a time"),
    ("0x1F", "hexadecimal"),
    ("5%", "no unit of a reading"),
    ("20 five", "a number in digits and words"),
    ("five 4.0", "a number in words and digits"),
    ("3 point 3", "digits and words mixed"),
    ("3 V 3", "3.3 V in speech, two numbers in writing"),
    ("\u00bd V", "a fraction sign"),
    ("\uff13.3 V", "full-width digits"),
    ("3.3.1", "two points"),
    ("--5", "two signs"),
    ("5-", "a sign after the number"),
    ("3, 3", "a decimal comma with a slip, or two numbers"),
    ("5. 1", "a point with a slip, or two numbers"),
    ("3;3", "two numbers"),
    ("5.1, 3", "two numbers"),
]

PARTED = ["twenty, four", "three; three", "five. one", "five point, one", "twenty-four, five", "five volts, three"]


@pytest.mark.parametrize(("typed", "words"), TAKEN)
def test_typed_becomes_words(typed: str, words: str) -> None:
    assert normalise(typed, english()) == words


@pytest.mark.parametrize(("typed", "reason"), LEFT)
def test_doubtful_is_left_and_the_parser_refuses_it(typed: str, reason: str) -> None:
    left = normalise(typed, english())
    assert any(character.isnumeric() for character in left), reason
    for point in ("rail 5", "logic rail to ground", "clock"):
        parse = parser().parse(left, Context(current=point))
        assert parse.intents == (), reason
        assert parser().parse(normalise(f"{point} reads {typed}", english()), CONTEXT).intents == (), reason


@pytest.mark.parametrize("typed", PARTED)
def test_punctuation_within_a_value_is_never_dropped(typed: str) -> None:
    left = normalise(f"rail 5 reads {typed}", english())
    assert left == f"rail five reads {typed}"
    assert parser().parse(left, CONTEXT).why == "the value is parted by a sign"


NAMES = WrittenNames(
    (
        SpokenPoint("test point one", ("test point one",), "voltage", "V"),
        SpokenPoint("TP2", ("gate drive",), "voltage", "V"),
        SpokenPoint("rail 3.3 to ground", ("logic rail to ground",), "resistance", "ohm"),
    )
)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("test point 1 reads 5 V", "test point one reads five volts"),
        ("TP 1 reads 5", "test point one reads five"),
        ("TP1: reads 5", "test point one reads five"),
        ("on tp-1", "on test point one"),
        ("TP2 is 3.3", "gate drive is three point three"),  # the name in the board file counts too
        ("Rail 3.3 to ground reads 4.7k", "logic rail to ground reads four point seven k"),
        ("rail 3.3 reads 4.0", "rail three point three reads four point zero"),  # no name of this board: as it stands
        ("TP10 reads 5", "TP10 reads five"),
        ("TP1", "test point one"),
    ],
)
def test_typed_names_become_what_they_are_called(typed: str, words: str) -> None:
    assert normalise(typed, english(), NAMES) == words
    assert normalise(words, english(), NAMES) == words


def test_a_typed_reading_reaches_its_point() -> None:
    parse = parser().parse(normalise("Rail 3.3 reads 4.0 V.", english()), CONTEXT)
    (intent,) = parse.intents
    assert isinstance(intent, ReadingIntent)
    assert (intent.point, intent.value.digits, intent.value.unit) == ("rail 3.3", "4.0", "V")


letters = st.characters(categories=("L", "N", "P", "S", "Z"))
typing = st.lists(
    st.text(letters, max_size=6)
    | st.from_regex(r"[-+]?[0-9]{1,4}([.,][0-9]{1,3})?[.,;]?", fullmatch=True)
    | st.sampled_from(["V", "mV", "k\u03a9", "M", "K", "K.", "MV", "-", "five", "minus", "HZ", "(5", "x-five", "ohm,"]),
    max_size=6,
).map(" ".join)


@given(typing)
def test_what_is_in_words_stays_as_it_is(text: str) -> None:
    """A number that was doubtful beside other typing ("0 V A-FIFE") may no longer be once that is in words."""
    once = normalise(text, english())
    if not any(character.isdigit() for character in once):
        assert normalise(once, english()) == once
    assert "  " not in once


@given(
    st.from_regex(r"-?(0|[1-9][0-9]{0,5})(\.[0-9]{1,4})?", fullmatch=True),
    st.sampled_from([(name, symbol) for name, kind in QUANTITIES.items() for symbol in kind.units]),
    st.sampled_from(["", " "]),
)
def test_every_typed_value_is_read_back_as_typed(digits: str, unit: tuple[str, str], gap: str) -> None:
    """Typed → words → the value parser: the same digits and the same unit, never another."""
    quantity, symbol = unit
    if symbol == "K":  # a lone K is kilo, as it is typed of resistors: of a rise it is refused, never misread
        assert normalise(f"{digits}{gap}K", english()).endswith(" k")
        return
    words = normalise(f"{digits}{gap}{symbol}", english())
    assert re.fullmatch(r"[a-z ]+", words)
    found = spoken_values(tuple(words.split()), QUANTITIES[quantity], english()).meanings
    assert [(Decimal(value.digits), value.digits, value.unit) for value in found] == [(Decimal(digits), digits, symbol)]


@pytest.mark.parametrize("shown", ["OL", "O.L", "0L", "ol", "OFL"])
def test_over_range_as_meters_show_it_is_over_range(shown: str) -> None:
    (intent,) = parser().parse(normalise(f"rail 5 reads {shown}", english()), CONTEXT).intents
    assert isinstance(intent, ReadingIntent)
    assert intent.value.over_range


@pytest.mark.parametrize("typed", ["1 OL", "-OL", "0 L", "OL V"])
def test_what_only_looks_like_it_is_refused(typed: str) -> None:
    assert parser().parse(normalise(f"rail 5 reads {typed}", english()), CONTEXT).intents == ()


def test_a_name_with_these_letters_is_a_name() -> None:
    names = WrittenNames((SpokenPoint("OL trip", ("ol trip",), "voltage", "V"),))
    assert normalise("on OL trip", english(), names) == "on ol trip"

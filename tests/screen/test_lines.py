"""Lines that fit: cropped, wrapped, and in characters that the terminal has."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from benchvoice.screen.lines import clean, crop, in_ascii, sides, wrap


@pytest.mark.parametrize(
    ("text", "width", "cropped"),
    [
        ("rail 5", 6, "rail 5"),
        ("rail 12", 6, "rai..."),
        ("rail −12", 6, "rail…"),
        ("温度計", 5, "温度…"),
        ("温度計", 4, "温…"),
        ("rail", 2, "ra"),
        ("rail", 0, ""),
    ],
)
def test_cropping_shows_that_something_is_left_out(text: str, width: int, cropped: str) -> None:
    assert crop(text, width) == cropped


def test_wrapping_keeps_words_whole_where_it_can() -> None:
    assert wrap("fifteen volts, or fifty volts?", 14, 9) == ("fifteen volts,", "or fifty", "volts?")
    assert wrap("fifteen volts, or fifty volts?", 14, 2) == ("fifteen volts,", "or fifty vo...")
    assert wrap("abcdefghij", 4, 9) == ("abcd", "efgh", "ij")
    assert wrap("a b", 4, 0) == ()


def test_the_right_side_is_left_out_before_the_left_one() -> None:
    assert sides("left", ("a long right", "right"), 13) == "left    right"
    assert sides("left", ("right",), 10) == "left"


def test_odd_characters_are_made_visible_and_lines_joined() -> None:
    assert clean("rail\n5\x1b[2J \u202e") == "rail 5⟨U+001B⟩[2J ⟨U+202E⟩"
    assert clean("47 kΩ ± 5 °C", ascii_only=True) == "47 kohm ? 5 deg C"
    assert in_ascii("−4.7 µF … Lüfter") == "-4.7 uF ... L?fter"


@given(st.text(), st.integers(1, 60), st.integers(0, 5))
def test_nothing_is_wider_than_its_room(text: str, width: int, most: int) -> None:
    shown = clean(text)
    assert cell_len(crop(shown, width)) <= width
    lines = wrap(shown, max(width, 2), most)
    assert len(lines) <= most
    assert all(cell_len(line) <= max(width, 2) for line in lines)
    assert clean(text, ascii_only=True).isascii()


@given(st.text(), st.integers(2, 60))
def test_wrapping_loses_no_letter(text: str, width: int) -> None:
    shown = clean(text)
    assert "".join("".join(wrap(shown, width, 10_000)).split()) == "".join(shown.split())

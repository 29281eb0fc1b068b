"""Large letters: legible, told apart, and as large as they can be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.records import Statement
from benchvoice.screen.large_type import Ink, largest, rows_of
from benchvoice.units import UNITS

DRAWN = "0123456789.-+?ABCDEFGHIJKLMNOPQRSTUVWXYZ/_kmnpzµ°Ω%(),:#"


def lines(text: str, width: int, rows: int, ink: Ink = Ink.BLOCKS) -> str:
    return "\n".join(largest(text, width, rows, ink))


def test_digits_in_half_blocks() -> None:
    assert (
        "\n" + lines("0123456789", 60, 4)
        == """
▄▀▀▀▄ ▄█  ▄▀▀▀▄ ▄▀▀▀▄   ▄█  █▀▀▀▀ ▄▀▀▀  ▀▀▀▀█ ▄▀▀▀▄ ▄▀▀▀▄
█   █  █     ▄▀   ▄▄▀ ▄▀ █  ▀▀▀▀▄ █▄▄▄     █  ▀▄▄▄▀ ▀▄▄▄█
█   █  █   ▄▀   ▄   █ ▀▀▀█▀ ▄   █ █   █   █   █   █     █
 ▀▀▀  ▀▀▀ ▀▀▀▀▀  ▀▀▀     ▀   ▀▀▀   ▀▀▀    ▀    ▀▀▀   ▀▀▀"""
    )


def test_a_value_in_ascii() -> None:
    assert (
        "\n" + lines("\u22122.5 kΩ", 70, 7, Ink.ASCII)
        == """
            ######          ##########        ##          ######
          ##      ##        ##                ##        ##      ##
                  ##        ########          ##    ##  ##      ##
########        ##                  ##        ##  ##    ##      ##
              ##                    ##        ####      ##      ##
            ##        ####  ##      ##        ##  ##      ##  ##
          ##########  ####    ######          ##    ##  ####  ####"""
    )


def test_twice_the_room_is_twice_the_size() -> None:
    small, large = largest("4.0", 15, 4, Ink.BLOCKS), largest("4.0", 30, 7, Ink.BLOCKS)
    assert (len(small), max(map(len, small))) == (4, 14)
    assert (len(large), max(map(len, large))) == (7, 28)


@pytest.mark.parametrize("ink", Ink)
def test_no_two_letters_look_alike(ink: Ink) -> None:
    seen: dict[tuple[str, ...], str] = {}
    for letter in DRAWN.replace("O", ""):  # O and 0 are alike at any distance; a value holds no O
        drawn = largest(letter, 20, 7, ink)
        assert drawn
        assert drawn not in seen, f"{letter} looks like {seen.get(drawn)}"
        seen[drawn] = letter


@pytest.mark.parametrize("symbol", [symbol.replace("ohm", "Ω").replace("degC", "°C") for symbol in UNITS])
def test_every_unit_can_be_drawn(symbol: str) -> None:
    assert largest(symbol.replace("u", "µ"), 80, 7, Ink.ASCII)


@pytest.mark.parametrize(
    "words", [*Statement, "over range", "deaf", "not listening", "not taken", "high", "low", "cond. fail"]
)
def test_every_word_of_the_screen_can_be_drawn(words: str) -> None:
    assert largest(words.upper(), 120, 4, Ink.BLOCKS)


@pytest.mark.parametrize(("text", "width", "rows"), [("", 80, 7), ("ж", 80, 7), ("4.0", 13, 7), ("4.0", 80, 3)])
def test_what_cannot_be_drawn_or_has_no_room_is_empty(text: str, width: int, rows: int) -> None:
    assert largest(text, width, rows, Ink.BLOCKS) == ()


@given(st.text(DRAWN + " ", min_size=1, max_size=12), st.integers(1, 200), st.integers(0, 40), st.sampled_from(Ink))
def test_letters_stay_in_their_room(text: str, width: int, rows: int, ink: Ink) -> None:
    drawn = largest(text, width, rows, ink)
    assert len(drawn) <= rows
    assert all(len(line) <= width for line in drawn)
    if drawn:
        assert len(drawn) in {rows_of(size, ink) for size in range(1, 20)}
        wider = largest(text, width + 1, rows, ink)
        assert len(wider) >= len(drawn), "more room never makes them smaller"

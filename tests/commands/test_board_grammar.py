"""A board's grammar as the bench uses it; its sentences are tested in tests/understand."""

from __future__ import annotations

import pytest

from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.loading import load_language
from benchvoice.decide.profile import read_board
from benchvoice.records import POINT_UNSAID, Context

BOARD = "board: GF-2 greenhouse fan controller\npoints: [{name: rail 5, nominal: 5 V, say: [rail five]}]\n"
GRAMMAR = BoardGrammar(read_board(BOARD, "board.yaml"), None, load_language())


@pytest.mark.parametrize(
    "written",
    # the first three as the transformer wrote values that synthetic voices said
    [
        "Twenty-four point, one volts,",
        "Four hundred and seven deals.",
        "Three-point, three-volps,",
        "24.1 volts",
        "12 V",
    ],
)
def test_a_value_that_belongs_to_no_point_is_one_however_it_is_written(written: str) -> None:
    found = GRAMMAR.unplaced(written, Context())
    assert found is not None
    assert (found.intents, found.why, found.tried) == ((), POINT_UNSAID, True)


@pytest.mark.parametrize(
    "written",
    ["", "Five.", "Five, five.", "Eight of spades.", "Two of them came.", "The rail is five volts.",
     "Rail five is five volts.", "Strike that."],
)  # fmt: skip
def test_talk_is_none(written: str) -> None:
    assert GRAMMAR.unplaced(written, Context()) is None


@pytest.mark.parametrize(
    "context", [Context(current="rail 5"), Context(spelling=True, question_open=True), Context(listening=False)]
)
def test_where_a_point_is_in_hand_or_nothing_is_measured_there_is_none(context: Context) -> None:
    assert GRAMMAR.unplaced("24.1 volts", context) is None

"""The grammar's contexts: what may be said when."""

from __future__ import annotations

import pytest

from benchvoice.errors import GrammarError
from benchvoice.records import Context
from benchvoice.understand.grammar import Grammar
from tests.understand.boards import english, grammar

CAN_BE_SAID = [
    (Context(), "rail five reads five point oh", True),
    (Context(), "rail five reads five volts oh five", True),
    (Context(), "rail five reads five ohms", True),  # a slip: heard, so that it can be refused
    (Context(), "rail six reads five point one", True),  # a point that is not there: the same
    (Context(), "rail fifty reads five point one", False),
    (Context(), "logic rail to ground is five ohms", True),
    (Context(), "logic rail to ground is minus five", False),  # nothing below zero where it cannot be
    (Context(), "five point one", False),
    (Context(current="rail 5"), "five point one", True),
    (Context(current="logic rail to ground"), "four k seven", True),
    (Context(current="rail 5"), "four k seven", False),
    (Context(current="rail 5"), "four ohms", True),
    (Context(), "yes", False),
    (Context(question_open=True), "yes", True),
    (Context(), "correction five", False),
    (Context(last="rail 5"), "correction five point oh", True),
    (Context(), "note electrolytic capacitor near the input is bulging", True),
    (Context(), "note customer wants it back", False),
    (Context(current="rail 5"), "five point one two three", True),
    (Context(current="rail 5"), "five point one two three four", False),  # no more decimals than the meter shows
    (Context(current="regulator body"), "five point two five", True),  # one more than the meter shows: not cut to fit
    (Context(current="regulator body"), "five point two five five", False),
    (Context(current="rail 5", last="rail 5"), "volts", False),
    (Context(current="rail 5", last="rail 5", follows="five"), "volts", True),  # the rest of the reading before it
    (Context(current="fault code"), "oh one eight oh three", True),
    (Context(), "rail five reads", True),  # its value was swallowed: heard, so that it can be refused
    (Context(), "rail five reads minus five point", True),
    (Context(current="rail 5"), "five point", True),
    (Context(current="rail 5"), "", False),
    (Context(), "five point", False),
    (Context(), "unit powered up", False),  # only where it matters: no rival of a reading without need
    (Context(power=True), "unit powered up", True),
    (Context(power=True), "supply disconnected", True),
    (Context(power=True), "power is off", False),  # too near to "power is on": understood in a transcript alone
    (Context(power=True), "caution understood", False),
    (Context(unacknowledged=True), "caution understood", True),
    (Context(unacknowledged=True), "understood", False),
    (Context(), "which cautions apply", False),
    (Context(cautions=True), "which cautions apply", True),
    (Context(listening=False), "rail five reads", False),
    (Context(listening=False), "start listening", True),
    (Context(listening=False), "rail five reads five", False),
]


@pytest.mark.parametrize(("context", "text", "can"), CAN_BE_SAID)
def test_what_can_be_said(context: Context, text: str, can: bool) -> None:
    assert grammar().network(context).accepts(text) is can


SLIPS = [
    (Context(), "rail five reads five point two wait", True),
    (Context(), "rail five reads five point two", False),
    (Context(), "rail five reads um five point two", True),
    (Context(), "rail five never reads five point two", True),
    (Context(), "rail five reads five point wait two", True),
    (Context(), "rail five reads five no four point nine", True),
    (Context(), "five point two wait", False),
    (Context(current="rail 5"), "five point two wait", True),
    (Context(current="rail 5"), "about five", True),
    (Context(), "rail five was five point two", True),
    (Context(), "rail five should be five volts", True),
    (Context(), "rail five drops to four point nine", True),
    (Context(current="rail 5"), "went to five", True),
    (Context(), "rail five reads went to one point five", False),  # nobody says that, and "twenty one" sounds like it
    (Context(), "rail five is was five", False),
    (Context(), "rail five reads five point one two three four", True),
    (Context(current="rail 5"), "five point one two three four five six volts", True),
]


@pytest.mark.parametrize(("context", "text", "can"), SLIPS)
def test_slips_are_no_rivals_of_sentences(context: Context, text: str, can: bool) -> None:
    assert grammar().slip_network(context).accepts(text) is can
    assert not can or not grammar().network(context).accepts(text)


def test_networks_are_kept_by_kind_of_context() -> None:
    assert grammar().network(Context(current="rail 5")) is grammar().network(Context(current="input"))


def test_the_vocabulary_covers_every_context() -> None:
    words = set(grammar().vocabulary())
    assert {"rail", "millivolts", "kilohms", "degrees", "yes", "correction", "start", "flyback"} <= words


def test_a_board_without_points_has_no_grammar() -> None:
    with pytest.raises(GrammarError, match="no points to measure"):
        Grammar(english(), ())

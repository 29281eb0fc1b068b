"""The attention word: every sentence with it, none without it, and what follows a pause both ways."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.commands.opening import BoardGrammar
from benchvoice.decide.profile import read_board
from benchvoice.errors import GrammarError
from benchvoice.records import Context, ReadingIntent
from benchvoice.understand.attention import called, read_attention
from tests.decide.builders import BOARD
from tests.understand.boards import english

PROFILE = read_board(BOARD, "board.yaml")
PLAIN = BoardGrammar(PROFILE, None, english())
CALLED = BoardGrammar(PROFILE, None, english(), "Gadget")
READING = "rail five reads five point one volts"


@given(seed=st.integers(0, 2**32))
def test_every_sentence_is_heard_with_it_and_none_without(seed: int) -> None:
    text = PLAIN.grammar.sample(random.Random(seed), Context()).text
    network = CALLED.network(Context())
    assert network.accepts(f"gadget {text}")
    assert not network.accepts(text)
    assert CALLED.parse(f"gadget {text}", Context()).intents == PLAIN.parse(text, Context()).intents
    assert CALLED.parse(text, Context()).intents == ()


def test_the_network_stays_a_network() -> None:
    """As `WordNetwork` demands: arcs lead upwards, and no two from one node have the same word."""
    for optional in (False, True):
        network = called(PLAIN.network(Context()), "gadget", optional=optional)
        assert all(arc.source < arc.target < network.n_nodes for arc in network.arcs)
        assert len({(arc.source, arc.word) for arc in network.arcs}) == len(network.arcs)


def test_slips_are_listened_for_behind_it() -> None:
    slips = CALLED.slip_network(Context())
    assert slips.accepts("gadget rail five reads five point two wait")
    assert not slips.accepts("rail five reads five point two wait")


def test_what_goes_on_after_a_pause_needs_none() -> None:
    context = Context(last="rail 5", follows="gadget rail five reads five")
    for text in ("point one volts", "gadget point one volts"):
        assert CALLED.network(context).accepts(text) == PLAIN.network(context).accepts("point one volts")
        plain = PLAIN.parse("point one volts", Context(last="rail 5", follows="rail five reads five"))
        assert CALLED.parse(text, context).intents == plain.intents
    whole = Context(last="rail 5", follows=f"gadget {READING}")
    assert CALLED.network(whole).accepts("input reads twenty four volts")


def test_the_words_are_kept_as_they_were_said() -> None:
    parse = CALLED.parse(f"gadget {READING}", Context())
    assert parse.text == f"gadget {READING}"
    assert isinstance(parse.intents[0], ReadingIntent)
    unlike = CALLED.parse(READING, Context())
    assert (unlike.text, unlike.why, unlike.tried) == (READING, "the attention word was not said", False)


def test_it_is_among_the_words_that_must_be_heard() -> None:
    assert set(CALLED.vocabulary()) == {*PLAIN.vocabulary(), "gadget"}


@pytest.mark.parametrize(
    ("word", "why"),
    [
        ("two words", "is not one word of letters"),
        ("", "is not one word of letters"),
        ("g4dget", "is not one word of letters"),
        ("hey", "is too short"),
        ("reads", "is said in sentences of the bench anyhow"),
        ("Seven", "is said in sentences of the bench anyhow"),
    ],
)
def test_a_word_that_cannot_serve_is_refused(word: str, why: str) -> None:
    with pytest.raises(GrammarError, match=why):
        read_attention(word, PLAIN.vocabulary())

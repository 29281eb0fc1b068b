"""The attention word: every sentence with it, none without it, and what follows a pause both ways."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.commands.board_grammar import BoardGrammar
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
    assert CALLED.uncalled_network(context) is None  # what may be the rest has no rivals


@pytest.mark.parametrize("text", ["input reads twenty four volts", "strike that", "on rail five", "note fuse is blown"])
def test_a_sentence_of_its_own_needs_it_after_a_pause_too(text: str) -> None:
    context = Context(last="rail 5", follows=f"gadget {READING}")
    assert PLAIN.parse(text, replace(context, follows=READING)).intents
    assert CALLED.parse(f"gadget {text}", context).intents
    unlike = CALLED.parse(text, context)
    assert (unlike.text, unlike.intents, unlike.why) == (text, (), "the attention word was not said")


def test_a_rest_that_means_nothing_is_still_refused_with_its_reason() -> None:
    """Left out, half a value would stand."""
    context = Context(last="rail 5", follows="gadget rail five reads five")
    plain = PLAIN.parse("ohms", replace(context, follows="rail five reads five"))
    assert plain.intents == ()
    assert CALLED.parse("ohms", context) == plain


@given(seed=st.integers(0, 2**32))
def test_without_it_they_are_rivals_as_they_are_and_behind_other_words(seed: int) -> None:
    text = PLAIN.grammar.sample(random.Random(seed), Context()).text
    network = CALLED.uncalled_network(Context())
    assert network is not None
    assert network.accepts(text)
    assert network.accepts(f"so {text}")
    assert not network.accepts(f"gadget {text}")


def test_where_none_is_needed_there_are_no_rivals() -> None:
    assert PLAIN.uncalled_network(Context()) is None


def test_rivals_never_begin_in_two_ways() -> None:
    """While a question is open "no" is a sentence, so that it is not put before one."""
    context = Context(question_open=True)
    network = CALLED.uncalled_network(context)
    assert network is not None
    assert network.accepts("no")
    assert not network.accepts(f"no {READING}")
    assert network.accepts(f"so {READING}")
    assert len({(arc.source, arc.word) for arc in network.arcs}) == len(network.arcs)
    assert all(arc.source < arc.target < network.n_nodes for arc in network.arcs)


def test_the_words_are_kept_as_they_were_said() -> None:
    parse = CALLED.parse(f"gadget {READING}", Context())
    assert parse.text == f"gadget {READING}"
    assert isinstance(parse.intents[0], ReadingIntent)
    unlike = CALLED.parse(READING, Context())
    assert (unlike.text, unlike.why, unlike.tried) == (READING, "the attention word was not said", False)


def test_it_is_among_the_words_that_must_be_heard() -> None:
    """So must be those with which other talk begins."""
    assert set(CALLED.vocabulary()) == {*PLAIN.vocabulary(), "gadget", *english().talk_begins}
    assert "so" in english().talk_begins


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


@pytest.mark.parametrize(
    ("word", "why"),
    [
        ("well", "is said in sentences of the bench anyhow"),
        ("ping", r"has only 3 sounds \(P IH NG\)"),
        ("inputs", "sounds like 'input', which is said anyhow"),
    ],
)
def test_a_word_that_would_be_misheard_is_refused(word: str, why: str) -> None:
    pytest.importorskip("pocketsphinx", reason="the dictionary comes with it")
    with pytest.raises(GrammarError, match=f"the attention word '{word}' {why}"):
        BoardGrammar(PROFILE, None, english(), word)

"""Sentences that hold every word pair of a network."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from benchvoice.hear.phrases import covering_sentences
from benchvoice.records import WordArc, WordNetwork
from tests.hear.networks import network_of, readings

words = st.sampled_from(["one", "two", "three", "point", "oh", "volts"])
sentences = st.lists(st.lists(words, min_size=1, max_size=5).map(" ".join), min_size=1, max_size=12)


@given(sentences)
def test_every_pair_occurs_and_every_sentence_is_the_network_s_own(texts: list[str]) -> None:
    found = covering_sentences(network_of(texts))
    assert set(found) <= set(texts)
    pairs = {pair for text in texts for pair in pairwise(["", *text.split(), ""])}
    assert {pair for text in found for pair in pairwise(["", *text.split(), ""])} == pairs


def test_far_fewer_sentences_than_the_network_has() -> None:
    network = readings(["rail five", "input"], ["volts", "millivolts"])
    found = covering_sentences(network)
    assert all(network.accepts(text) for text in found)
    assert len(found) < 1000
    assert {word for text in found for word in text.split()} == set(network.words)


def test_a_dead_end_is_left_out() -> None:
    network = WordNetwork(4, frozenset({2}), (WordArc(0, 1, "one"), WordArc(1, 2, "volt"), WordArc(1, 3, "point")))
    assert covering_sentences(network) == ("one volt",)

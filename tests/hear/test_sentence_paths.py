"""The paths of pieces through a network: they are its sentences, and nothing else."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.hear.pieces import Pieces
from benchvoice.hear.sentence_paths import Paths, Place
from benchvoice.records import WordArc, WordNetwork
from tests.hear.networks import network_of, sentences

# words that share their beginnings, as letters and as pieces; two that are written in one piece, one in single letters
JOINTS = ("fi", "ve", "five", "\u2581f", "\u2581fi", "\u2581five", "ty", "fif", "\u2581fif", "\u2581o", "ti", "teen")
WORDS = ("five", "fifty", "fifteen", "f", "fi", "o", "oh", "zq")


@cache
def pieces() -> Pieces:
    texts = [b"<unk>", b"<s>", b"</s>", *(bytes([byte]) for byte in range(256)), *(text.encode() for text in JOINTS)]
    return Pieces(b"".join(bytes([len(text)]) + text for text in texts))


def written(paths: Paths) -> dict[tuple[int, ...], tuple[str, ...]]:
    """All that can be written along the paths, piece by piece, and which sentence it is."""
    found: dict[tuple[int, ...], tuple[str, ...]] = {}
    unfinished: list[tuple[tuple[int, ...], frozenset[Place]]] = [((), paths.start)]
    while unfinished:
        begun, places = unfinished.pop()
        words = paths.ended(places)
        if words is not None:
            assert begun not in found
            found[begun] = words
        unfinished += [((*begun, piece), led) for piece, led in paths.following(places).items()]
    return found


@st.composite
def networks(draw: st.DrawFn) -> WordNetwork:
    """Small acyclic networks in which no word leaves a node twice."""
    n_nodes = draw(st.integers(1, 4))
    arcs = []
    for source in range(n_nodes - 1):
        for word in draw(st.lists(st.sampled_from(WORDS), max_size=4, unique=True)):
            arcs.append(WordArc(source, draw(st.integers(source + 1, n_nodes - 1)), word))
    return WordNetwork(n_nodes, draw(st.frozensets(st.integers(0, n_nodes - 1))), tuple(arcs))


@given(networks())
def test_what_can_be_written_is_the_sentences_of_the_network(network: WordNetwork) -> None:
    found = written(Paths(network, pieces()))
    assert found == {pieces().of_sentence(" ".join(words)): words for words in sentences(network)}


def test_words_that_begin_alike_are_followed_at_once() -> None:
    paths = Paths(network_of(["o fifty", "o fifteen", "o five"]), pieces())
    first = pieces().of_word("o", first=True)
    places = paths.start
    for piece in first:
        places = paths.following(places)[piece]
    after = paths.following(places)
    fif, five = pieces().of_word("fifty")[0], pieces().of_word("five")[0]
    assert set(after) == {fif, five}
    assert {place.words for place in after[fif]} == {("o", "fifty"), ("o", "fifteen")}
    assert {place.words for place in after[five]} == {("o", "five")}


@pytest.mark.parametrize(("said", "over"), [("five", False), ("five oh", True)])
def test_a_sentence_has_ended_only_with_its_stop(said: str, over: bool) -> None:
    paths = Paths(network_of(["five", "five oh"]), pieces())
    places = paths.start
    *letters, stop = pieces().of_sentence(said)
    for piece in letters:
        assert paths.ended(places) is None
        places = paths.following(places)[piece]
    assert paths.ended(places) is None
    onward = paths.following(places)
    assert (set(onward) == {stop}) is over
    ended = onward[stop]
    assert paths.ended(ended) == tuple(said.split())
    assert paths.following(ended) == {}


def test_a_network_without_a_sentence_goes_nowhere() -> None:
    assert written(Paths(WordNetwork(1, frozenset(), ()), pieces())) == {}
    dead_end = WordNetwork(2, frozenset(), (WordArc(0, 1, "five"),))
    assert written(Paths(dead_end, pieces())) == {}

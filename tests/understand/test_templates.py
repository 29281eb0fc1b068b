"""Templates and the networks compiled from them, against every sentence spelt out."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import GrammarError
from benchvoice.records import WordNetwork
from benchvoice.understand.network import NetworkCompiler
from benchvoice.understand.templates import (
    EMPTY,
    Alt,
    Mark,
    Node,
    Seq,
    Slot,
    Tag,
    Word,
    fill,
    match,
    optional,
    phrase,
    read_template,
    sample,
    slots_in,
)

_LEAVES: list[Node] = [Word("a"), Word("b"), Word("c"), Mark(Tag("digits", "0")), EMPTY]
NODES: st.SearchStrategy[Node] = st.recursive(
    st.sampled_from(_LEAVES),
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: Seq(tuple(parts))),
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: Alt(tuple(parts))),
    ),
    max_leaves=8,
)


def sentences(node: Node) -> set[tuple[str, ...]]:
    """Every sentence of a template without slots, spelt out."""
    if isinstance(node, Word):
        return {(node.text,)}
    if isinstance(node, Alt):
        return set().union(*(sentences(part) for part in node.parts))
    if isinstance(node, Seq):
        rows = product(*(sentences(part) for part in node.parts))
        return {tuple(word for part in row for word in part) for row in rows}
    return {()}


def paths(network: WordNetwork) -> list[tuple[str, ...]]:
    """The words along every path of a network, one entry a path."""

    def walk(node: int) -> Iterator[tuple[str, ...]]:
        if node in network.finals:
            yield ()
        for arc in network.arcs:
            if arc.source == node:
                yield from ((arc.word, *rest) for rest in walk(arc.target))

    return list(walk(0))


@given(NODES)
def test_a_network_has_each_sentence_once(node: Node) -> None:
    wanted = sentences(node)
    if wanted <= {()}:
        with pytest.raises(GrammarError, match="at least one sentence"):
            NetworkCompiler().compile(node)
        return
    network = NetworkCompiler().compile(node)
    found = paths(network)
    assert len(found) == len(set(found))
    assert set(found) == wanted
    assert all(arc.source < arc.target < network.n_nodes for arc in network.arcs)


@given(NODES, st.integers(0, 1000))
def test_samples_are_sentences_and_match(node: Node, seed: int) -> None:
    text = sample(node, random.Random(seed)).text
    words = tuple(text.split())
    assert words in sentences(node)
    assert {} in list(match(node, words, lambda _slot, _at: iter(())))


def test_template_text() -> None:
    node = read_template("[the] <point> (reads|is) <value>")
    assert slots_in(node) == {"point", "value"}
    filled = fill(node, {"point": phrase(("rail", "five")), "value": Word("five")})
    assert sentences(filled) == {
        ("the", "rail", "five", "reads", "five"),
        ("the", "rail", "five", "is", "five"),
        ("rail", "five", "reads", "five"),
        ("rail", "five", "is", "five"),
    }


def test_slots_take_the_spans_they_may() -> None:
    node = read_template("on <point> [<value>]")
    ends = {("point", 1): (2, 3), ("value", 2): (3,), ("value", 3): ()}
    found = list(match(node, ("on", "rail", "five"), lambda slot, at: iter(ends.get((slot, at), ()))))
    assert found == [{"point": (1, 2), "value": (2, 3)}, {"point": (1, 3)}]


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("read [back", r"a '\[' without its '\]'"),
        ("read (back|up", r"a '\(' without its '\)'"),
        ("read back]", r"a '\]' too many"),
        ("read 5", "something unreadable at ' 5'"),
        ("read <point", "something unreadable at ' <point'"),
    ],
)
def test_unreadable_templates(text: str, complaint: str) -> None:
    with pytest.raises(GrammarError, match=complaint):
        read_template(text)


def test_an_open_slot_can_be_neither_compiled_nor_sampled() -> None:
    with pytest.raises(GrammarError, match="slot <point> was not filled"):
        NetworkCompiler().compile(Slot("point"))
    with pytest.raises(GrammarError, match="slot <point> was not filled"):
        sample(optional(Slot("point")), random.Random(1))

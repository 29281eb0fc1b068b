"""The compiled network holds the template's sentences and no other, whatever was compiled before."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import GrammarError
from benchvoice.records import WordNetwork
from benchvoice.understand.network import NetworkCompiler
from benchvoice.understand.templates import EMPTY, Alt, Mark, Node, Seq, Shared, Slot, Tag, Word, words_in

_LEAVES = st.one_of(st.sampled_from("abc").map(Word), st.just(Mark(Tag("x", "y"))), st.just(EMPTY), st.just(Alt(())))


def _more(nodes: st.SearchStrategy[Node]) -> st.SearchStrategy[Node]:
    several = st.lists(nodes, max_size=3).map(tuple)
    return st.one_of(several.map(Seq), several.map(Alt), nodes.map(Shared))


TEMPLATES: st.SearchStrategy[Node] = st.recursive(_LEAVES, _more, max_leaves=10)
Sentence = tuple[str, ...]


def sentences(node: Node) -> set[Sentence]:
    """What a template says, by trying everything."""
    match node:
        case Word(text=text):
            return {(text,)}
        case Shared(node=inside):
            return sentences(inside)
        case Seq(parts=parts):
            said: set[Sentence] = {()}
            for part in parts:
                said = {(*one, *other) for one in said for other in sentences(part)}
            return said
        case Alt(parts=parts):
            return set().union(*map(sentences, parts))
        case _:
            return {()}


def walked(network: WordNetwork) -> list[Sentence]:
    """The words along every path."""
    found: list[Sentence] = []
    todo: list[tuple[int, Sentence]] = [(0, ())]
    while todo:
        node, words = todo.pop()
        found += [words] if node in network.finals else []
        todo += [(arc.target, (*words, arc.word)) for arc in network.leaving(node)]
    return found


@given(st.lists(TEMPLATES, min_size=1, max_size=4))
def test_it_says_what_its_template_says_and_everything_once(templates: list[Node]) -> None:
    compiler = NetworkCompiler()
    for template in templates:
        meant = sentences(template)
        if not meant - {()}:
            with pytest.raises(GrammarError, match="at least one sentence"):
                compiler.compile(template)
            assert words_in(template) == (frozenset() if meant else None)
            continue
        network = compiler.compile(template)
        found = walked(network)
        assert (set(found), len(found)) == (meant, len(meant))
        assert all(arc.source < arc.target for arc in network.arcs)
        assert words_in(template) == frozenset(word for words in meant for word in words)
        assert network == NetworkCompiler().compile(template)  # what was compiled before changes nothing


@given(TEMPLATES)
def test_it_is_as_small_as_it_can_be(template: Node) -> None:
    """No two nodes can be followed by the same."""
    if not sentences(template) - {()}:
        return
    network = NetworkCompiler().compile(template)
    after: dict[int, frozenset[Sentence]] = {}
    for node in reversed(range(network.n_nodes)):
        ends = {()} if node in network.finals else set()
        goes_on = {(arc.word, *rest) for arc in network.leaving(node) for rest in after[arc.target]}
        after[node] = frozenset(ends | goes_on)
    assert len(set(after.values())) == network.n_nodes
    assert all(after.values())


def test_a_slot_that_nobody_filled_is_told() -> None:
    for refused in (NetworkCompiler().compile, words_in):
        with pytest.raises(GrammarError, match="slot <point> was not filled"):
            refused(Seq((Word("on"), Slot("point"))))

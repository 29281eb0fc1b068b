"""Sentences of a network that together hold every pair of neighbouring words, for engines that learn from phrases."""

from __future__ import annotations

from collections.abc import Sequence

from benchvoice.records import WordArc, WordNetwork

__all__ = ["covering_sentences"]

_EDGE = ""  # stands before the first word and after the last


def covering_sentences(network: WordNetwork) -> tuple[str, ...]:
    """Sentences in which every word pair of the network occurs, with each word that can begin or end a sentence there.

    A bigram model of them gives every sentence of the network a path. Few rather than fewest: each sentence is led
    through pairs that no earlier one had.
    """
    outgoing = [network.leaving(node) for node in range(network.n_nodes)]
    into = _shortest_in(network, outgoing)
    out_of = _shortest_out(network, outgoing)
    seen: set[tuple[str, str]] = set()
    sentences: dict[str, None] = {}

    def keep(path: Sequence[str]) -> None:
        seen.update(zip([_EDGE, *path], [*path, _EDGE], strict=True))
        sentences[" ".join(path)] = None

    for arc in network.arcs:
        before = into[arc.source]
        if before is None or out_of[arc.target] is None:
            continue  # on no path from the start to an end
        path = [*before, arc.word]
        if arc.target in network.finals and (arc.word, _EDGE) not in seen:
            keep(path)
        for follow in outgoing[arc.target]:
            if out_of[follow.target] is not None and (arc.word, follow.word) not in seen:
                keep([*path, *_onward(follow, outgoing, out_of, seen)])
        if not before and (_EDGE, arc.word) not in seen:
            keep(_onward(arc, outgoing, out_of, seen))
    return tuple(sentences)


_Path = tuple[str, ...]


def _shortest_in(network: WordNetwork, outgoing: Sequence[Sequence[WordArc]]) -> list[_Path | None]:
    """The fewest words from the start to each node; arcs lead to higher nodes, so one pass does."""
    best: list[_Path | None] = [None] * network.n_nodes
    best[0] = ()
    for node, arcs in enumerate(outgoing):
        here = best[node]
        if here is None:
            continue
        for arc in arcs:
            there = best[arc.target]
            if there is None or len(there) > len(here) + 1:
                best[arc.target] = (*here, arc.word)
    return best


def _shortest_out(network: WordNetwork, outgoing: Sequence[Sequence[WordArc]]) -> list[int | None]:
    """The fewest words from each node to an end; None where there is no way to one."""
    best: list[int | None] = [0 if node in network.finals else None for node in range(network.n_nodes)]
    for node in reversed(range(network.n_nodes)):
        for arc in outgoing[node]:
            there = best[arc.target]
            here = best[node]
            if there is not None and (here is None or there + 1 < here):
                best[node] = there + 1
    return best


def _onward(
    arc: WordArc, outgoing: Sequence[Sequence[WordArc]], out_of: list[int | None], seen: set[tuple[str, str]]
) -> list[str]:
    """The words from `arc` to an end, by pairs not yet seen where there are any, else the short way."""
    words = [arc.word]
    node = arc.target
    while True:
        ways = [way for way in outgoing[node] if out_of[way.target] is not None]
        fresh = [way for way in ways if (words[-1], way.word) not in seen]
        if not fresh and out_of[node] == 0:
            return words
        way = min(fresh or ways, key=lambda way: (out_of[way.target] or 0, way.word))
        words.append(way.word)
        node = way.target

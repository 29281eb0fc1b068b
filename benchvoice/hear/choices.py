"""A word network of a few given sentences."""

from __future__ import annotations

from collections.abc import Iterable

from benchvoice.records import WordArc, WordNetwork

__all__ = ["network_of"]


def network_of(sentences: Iterable[str]) -> WordNetwork:
    """The network that accepts exactly these sentences, words separated by spaces.

    It is a tree: sentences share their beginnings only, which is enough for the few it is meant for.
    """
    targets: dict[tuple[int, str], int] = {}
    finals = set()
    for sentence in sentences:
        node = 0
        for word in sentence.split():
            node = targets.setdefault((node, word), len(targets) + 1)
        finals.add(node)
    arcs = tuple(WordArc(source, target, word) for (source, word), target in targets.items())
    return WordNetwork(len(targets) + 1, frozenset(finals), arcs)

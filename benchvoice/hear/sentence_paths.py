"""A word network as paths of pieces: which piece of a word may follow where, and which sentence has been written."""

from __future__ import annotations

from collections import defaultdict
from typing import NamedTuple

from benchvoice.hear.pieces import Pieces
from benchvoice.records import WordNetwork

__all__ = ["Paths", "Place"]


class Place(NamedTuple):
    """Somewhere in a network.

    Attributes:
        node: the node that is reached once `rest` is written.
        rest: the pieces of the present word that are still to come.
        words: the words so far, the present one included.
        stopped: whether the full stop was begun.
    """

    node: int
    rest: tuple[int, ...]
    words: tuple[str, ...]
    stopped: bool = False


class Paths:
    """What may be written along a network's sentences. Two words can begin with the same pieces: places are a set.

    Args:
        network: the sentences.
        pieces: the model's pieces.
    """

    def __init__(self, network: WordNetwork, pieces: Pieces) -> None:
        self._network = network
        self._pieces = pieces
        self.start = frozenset({Place(0, (), ())})

    def following(self, places: frozenset[Place]) -> dict[int, frozenset[Place]]:
        """Each piece that may come next, with where it leads."""
        found: dict[int, set[Place]] = defaultdict(set)
        for place in places:
            for rest, onward in self._onward(place):
                if rest:
                    found[rest[0]].add(onward._replace(rest=rest[1:]))
        return {piece: frozenset(led) for piece, led in found.items()}

    def ended(self, places: frozenset[Place]) -> tuple[str, ...] | None:
        """The sentence that has been written in full, its stop included; None where none has."""
        return next((place.words for place in places if place.stopped and not place.rest), None)

    def _onward(self, place: Place) -> list[tuple[tuple[int, ...], Place]]:
        """What is still to be written from a place, and where it leads."""
        if place.rest or place.stopped:
            return [(place.rest, place)]
        onward = [
            (
                self._pieces.of_word(arc.word, first=not place.words),
                Place(arc.target, (), (*place.words, arc.word)),
            )
            for arc in self._network.leaving(place.node)
        ]
        if place.node in self._network.finals:
            onward.append((self._pieces.stop, place._replace(stopped=True)))
        return onward

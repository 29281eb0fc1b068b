"""What the arbiter will most likely be asked is asked ahead, while slower recognisers still hear.

The list of sentences to weigh follows from the ranking voter's hearing wherever the others heard one of its sentences,
and that voter is the first to be done. What is asked ahead is the very list that is asked for then, so the same is
found: what is weighed together is quantised together, and a part of the list would come out otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future
from threading import Lock

from benchvoice.hear.alike import twins
from benchvoice.hear.arbiter import Scribe, texts_to_weigh
from benchvoice.hear.votes import Vote
from benchvoice.records import Alternative, Utterance, WordNetwork

__all__ = ["InTurn", "weigh_ahead"]


class InTurn:
    """A scribe that several threads may ask about one utterance, each in its turn; it weighs the same list once.

    Args:
        scribe: serves one thread at a time. Closing it is for whoever opened it.
    """

    def __init__(self, scribe: Scribe) -> None:
        self._scribe = scribe
        self._turn = Lock()
        self._weighed: dict[tuple[str, ...], tuple[float | None, ...]] = {}

    @property
    def name(self) -> str:
        return self._scribe.name

    def free(self, utterance: Utterance) -> Alternative:
        with self._turn:
            return self._scribe.free(utterance)

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        asked = tuple(texts)
        with self._turn:
            if asked not in self._weighed:
                self._weighed[asked] = self._scribe.weigh(utterance, asked)
            return self._weighed[asked]

    def probability(self, utterance: Utterance, text: str) -> float:
        with self._turn:
            return self._scribe.probability(utterance, text)

    def length(self, text: str) -> float:
        with self._turn:
            return self._scribe.length(text)

    def prefer(self, utterance: Utterance, text: str, others: Sequence[str]) -> tuple[float, ...]:
        with self._turn:
            return self._scribe.prefer(utterance, text, others)


def weigh_ahead(
    scribe: InTurn,
    utterance: Utterance,
    network: WordNetwork,
    vote_of: Callable[[], Vote],
    slipped: Future[Alternative | None],
) -> None:
    """Have the scribe weigh what a voter that ranks offers, and then its slip, as soon as each is known."""
    vote = vote_of()
    texts = texts_to_weigh([vote], twins(network, vote.transcript.text))
    scribe.weigh(utterance, texts)
    slip = slipped.result()
    if slip is not None and slip.text not in texts:
        scribe.weigh(utterance, (slip.text,))

"""What will most likely be asked of one utterance is asked ahead, while slower recognisers still hear.

The list of sentences that the arbiter weighs follows from the ranking voter's hearing wherever the others heard one of
its sentences, and that voter is the first to be done. What is asked ahead is the very list that is asked for then, so
the same is found: what is weighed together is quantised together, and a part of the list would come out otherwise. A
voter that weighs takes one sentence after the other, and begins with those that hardly lead each other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future, wait
from dataclasses import replace
from threading import Event, Lock
from typing import Any

from benchvoice.hear.agreement import in_quiet
from benchvoice.hear.alike import twins
from benchvoice.hear.arbiter import Arbiter, Scribe, texts_to_weigh
from benchvoice.hear.arbitration import BESIDES
from benchvoice.hear.recogniser import Weigher
from benchvoice.hear.votes import Vote, Voter, offers
from benchvoice.records import Alternative, Utterance, WordNetwork

__all__ = ["AskedAhead", "ScribeInTurn", "WeigherInTurn"]

_LEAD_UNASKED = 4.0
"""A lead from which a voter is hardly asked for a second opinion, or another to weigh: of 490 readings 83 were asked
for the one, one of them with such a lead, and 32 for the other, none of them."""


class ScribeInTurn:
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


class WeigherInTurn:
    """A weigher that is asked ahead, sentence by sentence, until somebody asks in earnest.

    Args:
        weigher: serves one thread at a time, and remembers what it weighed of the last utterance.
    """

    def __init__(self, weigher: Weigher) -> None:
        self._weigher = weigher
        self._turn = Lock()
        self._enough = Event()

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        self.end()
        with self._turn:
            return self._weigher.weigh(utterance, texts)

    def weigh_ahead(self, utterance: Utterance, texts: Sequence[str]) -> None:
        for text in texts:
            with self._turn:
                if self._enough.is_set():
                    return
                self._weigher.weigh(utterance, [text])

    def end(self) -> None:
        """Ask no more ahead."""
        self._enough.set()


class AskedAhead:
    """Asks ahead about one utterance.

    Args:
        threads: has one for each voter and for each that is asked ahead.
        arbiter: without one nobody is asked ahead.

    Attributes:
        arbiter: the same, with a scribe that may be asked meanwhile.
        voters: the same, with weighers that may be asked meanwhile.
    """

    def __init__(
        self,
        threads: Executor,
        utterance: Utterance,
        network: WordNetwork,
        voters: Sequence[Voter],
        arbiter: Arbiter | None,
    ) -> None:
        self._threads = threads
        self._utterance = utterance
        self._network = network
        self._scribe = None if arbiter is None else ScribeInTurn(arbiter.scribe)
        self.arbiter = arbiter if arbiter is None or self._scribe is None else replace(arbiter, scribe=self._scribe)
        self.voters, self._weighers = _in_turn(voters)
        self._asked: list[Future[Any]] = []

    def begin(
        self,
        votes: Sequence[Callable[[], Vote]],
        slips: Sequence[Future[Alternative | None]],
        at_work: Sequence[Future[Any]],
    ) -> None:
        """Ask as soon as there is something to ask about.

        Args:
            votes: of each voter, waits for its vote.
            slips: of each voter, its slip once it is known.
            at_work: of each voter, done as soon as its engine is free again.
        """
        ranking = next((at for at, voter in enumerate(self.voters) if voter.margin_least is not None), None)
        if self._scribe is None or ranking is None:
            return
        vote_of = votes[ranking]
        self._asked.append(self._threads.submit(self._weigh, self._scribe, vote_of, slips[ranking]))
        for at, weigher in self._weighers.items():
            if in_quiet(self._utterance):
                self._asked.append(self._threads.submit(self._weigh_besides, weigher, vote_of, at_work[at]))

    def get_ready(self, vote_of: Callable[[], Vote]) -> None:
        """Have a voter do in time what a second opinion takes, where it will likely be asked for one."""
        vote = vote_of()
        reviewer = vote.voter.reviewer
        if reviewer is None or self.arbiter is None or self._utterance.narrow:
            return
        if _unsure(vote) or twins(self._network, vote.transcript.text):
            reviewer.get_ready(self._utterance)

    def end(self) -> None:
        """Wait until nobody is asked ahead any more. What failed there fails again where it is asked in earnest."""
        for weigher in self._weighers.values():
            weigher.end()
        wait(self._asked)

    def _weigh(self, scribe: ScribeInTurn, vote_of: Callable[[], Vote], slipped: Future[Alternative | None]) -> None:
        vote = vote_of()
        texts = texts_to_weigh([vote], twins(self._network, vote.transcript.text))
        scribe.weigh(self._utterance, texts)
        slip = slipped.result()
        if slip is not None and slip.text not in texts:
            scribe.weigh(self._utterance, (slip.text,))

    def _weigh_besides(self, weigher: WeigherInTurn, vote_of: Callable[[], Vote], at_work: Future[Any]) -> None:
        wait([at_work])
        vote = vote_of()
        if _unsure(vote):
            likeliest = offers([vote], vote.meaning)[:BESIDES]
            weigher.weigh_ahead(self._utterance, [offer.text for offer in likeliest])


def _unsure(vote: Vote) -> bool:
    lead = vote.lead_of(vote.meaning)
    return lead is None or lead < _LEAD_UNASKED


def _in_turn(voters: Sequence[Voter]) -> tuple[tuple[Voter, ...], dict[int, WeigherInTurn]]:
    """The voters, and by their number the weighers that some of them now have."""
    weighers = {at: WeigherInTurn(voter.weigher) for at, voter in enumerate(voters) if voter.weigher is not None}
    return tuple(
        replace(voter, weigher=weighers[at]) if at in weighers else voter for at, voter in enumerate(voters)
    ), weighers

"""An arbiter settles what several recognisers offer: who is asked what, and in which order."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial

from benchvoice.hear.agreement import in_quiet
from benchvoice.hear.alike import neighbours, twins
from benchvoice.hear.arbiter import SETTLED, Arbiter, arbitrate, backed_by, texts_to_weigh
from benchvoice.hear.votes import MeaningOf, Vote, in_doubt
from benchvoice.records import Alternative, Transcript, Trust, Utterance, WordNetwork

__all__ = ["BESIDES", "arbitrated"]

BESIDES, _BESIDES_WEIGHT = 3, 0.3
"""How many meanings are weighed by a third expert, and what its natural log counts beside the others': PocketSphinx's
20, by which what is right leads in 302 of 320 readings, as 6; no rival ever led by 10."""
_WRITTEN = 3
"""How many of the next meanings are compared in figures too, where nobody backs the first."""


def arbitrated(
    arbiter: Arbiter,
    utterance: Utterance,
    network: WordNetwork,
    votes: Sequence[Vote],
    with_slips: Callable[[], list[Vote]],
    *,
    free: Alternative,
    meaning: MeaningOf,
    number: MeaningOf | None = None,
) -> Transcript | None:
    """What the arbiter makes of the votes; None where there is nothing to weigh.

    Where it is doubtful what exactly was meant but not which `number`, that is agreed upon.

    The slips are still being heard while it weighs what was heard.
    """
    if utterance.narrow:
        backed, unbacked = (max(arbiter.lead_narrow, lead) for lead in (arbiter.lead_backed, arbiter.lead_unbacked))
        arbiter = replace(arbiter, lead_backed=backed, lead_unbacked=unbacked)
    alike = [twin for vote in votes for twin in twins(network, vote.transcript.text)]
    case = _Case(arbiter, utterance, network, free, meaning)
    weighed = case.weigh(texts_to_weigh(votes, alike))
    votes = with_slips()
    if not weighed or not case.weigh(texts_to_weigh(votes, alike)):
        return None
    found = case.settled(votes, meaning)
    if found is None or found.trust is not Trust.DOUBTFUL or number is None:
        return found
    # what sounds like another way to say that number is weighed too
    said = number(found.text)
    ways = [] if said is None else [text for text in case.weights if number(text) == said]
    if not case.weigh([twin for way in ways for twin in twins(network, way)]):
        return found
    same = case.settled(votes, number)
    return same if same is not None and same.trust is Trust.AGREED else found


class _Case:
    """One utterance before the arbiter, with what the scribe and the reviewer said of it: neither is asked that again.

    Attributes:
        weights: the scribe's natural logs by text.
    """

    def __init__(
        self, arbiter: Arbiter, utterance: Utterance, network: WordNetwork, free: Alternative, exactly: MeaningOf
    ) -> None:
        self._arbiter = arbiter
        self._utterance = utterance
        self._network = network
        self._free = free
        self._exactly = exactly
        self._however: dict[str, float] = {}
        self._again: dict[str, float | None] = {}
        self.weights: dict[str, float] = {}

    def weigh(self, texts: Sequence[str]) -> bool:
        """Have the scribe weigh what it has not; whether all has a weight."""
        new = [text for text in texts if text not in self.weights]
        found = self._arbiter.scribe.weigh(self._utterance, new) if new else ()
        self.weights.update((text, weight) for text, weight in zip(new, found, strict=True) if weight is not None)
        return all(text in self.weights for text in texts)

    def settled(self, votes: Sequence[Vote], means: MeaningOf) -> Transcript | None:
        """What was said, by what texts mean: in doubt, those are asked that need more time; then whether it stands."""
        meant = [
            replace(vote, meanings=tuple(means(each.text) for each in vote.transcript.alternatives)) for vote in votes
        ]
        judged = partial(
            arbitrate,
            self._arbiter,
            meant,
            self.weights,
            self._free,
            means,
            however_written=self._however_written,
            exactly=self._exactly,
        )
        found, again = judged(), {}
        if found is None:
            return None
        quiet, lead_in_doubt = in_quiet(self._utterance), partial(_lead_in_doubt, self._arbiter, meant)

        def heard_too(found: Transcript) -> bool:
            return bool(backed_by(votes, self._exactly(found.text)))

        # in noise an ear that hears once more makes the same mistake once more: another must have heard it too
        if (quiet or heard_too(found)) and ((found.trust is Trust.AGREED and found.twins) or lead_in_doubt(found)):
            again = self._heard_again(votes)
            if again:
                found = judged(again=again) or found
        if quiet and lead_in_doubt(found):
            besides = _weighed_besides(self._utterance, meant, found, self.weights)
            if besides:
                found = judged(again=again, besides=besides) or found
        if found.trust is not Trust.AGREED:
            return found
        rival = None if quiet else self._likelier(found.text, means)
        if rival is None and not heard_too(found):
            rival = self._preferred(found.text, means) or self._written_rather(found)
        return found if rival is None else in_doubt(found, rival, means)

    def _likelier(self, text: str, means: MeaningOf) -> Alternative | None:
        """The sentence with another meaning that the scribe finds more probable than what the others heard, or None."""
        own = self.weights[text]
        likelier = [Alternative(other, weight - own) for other, weight in self.weights.items() if weight > own]
        rivals = (found for found in likelier if means(found.text) not in (None, means(text)))
        return max(rivals, key=lambda found: found.score, default=None)

    def _however_written(self, text: str) -> float:
        if text not in self._however:
            self._however[text] = self._arbiter.scribe.probability(self._utterance, text)
        return self._however[text]

    def _heard_again(self, votes: Sequence[Vote]) -> dict[str, float]:
        """A voter's second opinion on all texts, natural logs, below its best by what is settled at most."""
        reviewer = next((vote.voter.reviewer for vote in votes if vote.voter.reviewer is not None), None)
        if reviewer is None or self._utterance.narrow:
            return {}
        new = [text for text in self.weights if text not in self._again]
        if new:
            self._again.update(zip(new, reviewer.review(self._utterance, new), strict=True))
        best = max((fit for fit in self._again.values() if fit is not None), default=None)
        if best is None:
            return {}
        least = best - SETTLED
        return {text: least if fit is None else max(least, fit) for text, fit in self._again.items()}

    def _preferred(self, text: str, means: MeaningOf) -> Alternative | None:
        """The sentence with another meaning and one other word that the scribe would rather have written, or None."""
        others = neighbours(self._network, text)
        leads = sorted(zip(self._arbiter.scribe.prefer(self._utterance, text, others), others, strict=True))
        for lead, other in leads:
            if lead >= 0:
                break
            if means(other) not in (None, means(text)):
                return Alternative(other, lead)
        return None

    def _written_rather(self, found: Transcript) -> Alternative | None:
        """The next meaning that the scribe would rather have written, in words or in figures; None for none.

        It writes "5.09" where it would not write "five point oh nine".
        """
        first, *others = found.alternatives[: _WRITTEN + 1]
        own = self._however_written(first.text)
        return next((other for other in others if self._however_written(other.text) > own), None)


def _lead_in_doubt(arbiter: Arbiter, votes: Sequence[Vote], found: Transcript) -> bool:
    """Whether other scores could dispel the doubt: a gap they do not change."""
    unrelated = any(vote.unrelated for vote in votes if vote.voter.margin_least is not None)
    return found.trust is Trust.DOUBTFUL and not arbiter.doubts(found.gap or 0.0, unrelated=unrelated)


def _weighed_besides(
    utterance: Utterance, votes: Sequence[Vote], found: Transcript, weights: Mapping[str, float]
) -> dict[str, float]:
    """What a voter that weighs says of the likeliest meanings, as a third expert; empty where none weighs."""
    vote = next((vote for vote in votes if vote.voter.weigher is not None), None)
    texts = [text for text in dict.fromkeys(offer.text for offer in found.alternatives) if text in weights]
    if vote is None or vote.voter.weigher is None or len(texts) < 2:
        return {}
    fits = vote.voter.weigher.weigh(utterance, texts[:BESIDES])
    best = max((fit for fit in fits if fit is not None), default=0.0)
    lost = vote.voter.weigh_least * 2
    return {
        text: _BESIDES_WEIGHT * max(-lost, (best - lost if fit is None else fit) - best)
        for text, fit in zip(texts, fits, strict=False)
    }

"""An arbiter settles what several recognisers offer: who is asked what, and in which order."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache

from benchvoice.hear.agreement import in_quiet
from benchvoice.hear.alike import neighbours, twins
from benchvoice.hear.arbiter import Arbiter, arbitrate, backed_by, texts_to_weigh
from benchvoice.hear.votes import MeaningOf, Vote, offered_second
from benchvoice.records import Alternative, Transcript, Trust, Utterance, WordNetwork

__all__ = ["arbitrated"]

_BESIDES, _BESIDES_WEIGHT = 3, 0.3
"""How many meanings are weighed by a third expert, and what its natural log counts beside the others': PocketSphinx's
20, by which what is right leads in 302 of 320 readings, as 6; no rival ever led by 10."""


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
    weights: dict[str, float] = {}

    def weigh(texts: Sequence[str]) -> bool:
        new = [text for text in texts if text not in weights]
        found = arbiter.scribe.weigh(utterance, new) if new else ()
        weights.update((text, weight) for text, weight in zip(new, found, strict=True) if weight is not None)
        return all(text in weights for text in texts)

    weighed = weigh(texts_to_weigh(votes, alike))
    votes = with_slips()
    if not weighed or not weigh(texts_to_weigh(votes, alike)):
        return None

    @cache
    def however_written(text: str) -> float:
        return arbiter.scribe.probability(utterance, text)

    def settled(means: MeaningOf) -> Transcript | None:
        meant = [
            replace(vote, meanings=tuple(means(each.text) for each in vote.transcript.alternatives)) for vote in votes
        ]

        def with_scores(besides: Mapping[str, float]) -> Transcript | None:
            return arbitrate(
                arbiter, meant, weights, free, means, however_written=however_written, besides=besides, exactly=meaning
            )

        found = with_scores({})
        if found is not None and _lead_in_doubt(arbiter, meant, found) and in_quiet(utterance):
            besides = _weighed_besides(utterance, meant, found, weights)
            found = with_scores(besides) if besides else found
        if found is None or found.trust is not Trust.AGREED or backed_by(votes, meaning(found.text)):
            return found
        rival = _preferred(arbiter, utterance, network, found.text, means)
        if rival is None:
            return found
        offers = offered_second(found.alternatives, rival, means)
        return replace(found, alternatives=offers, trust=Trust.DOUBTFUL, why=f"it may have been {rival.text}")

    found = settled(meaning)
    if found is None or found.trust is not Trust.DOUBTFUL or number is None:
        return found
    # what sounds like another way to say that number is weighed too
    said = number(found.text)
    ways = [] if said is None else [text for text in weights if number(text) == said]
    if not weigh([twin for way in ways for twin in twins(network, way)]):
        return found
    same = settled(number)
    return same if same is not None and same.trust is Trust.AGREED else found


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
    fits = vote.voter.weigher.weigh(utterance, texts[:_BESIDES])
    best = max((fit for fit in fits if fit is not None), default=0.0)
    lost = vote.voter.weigh_least * 2
    return {
        text: _BESIDES_WEIGHT * max(-lost, (best - lost if fit is None else fit) - best)
        for text, fit in zip(texts, fits, strict=False)
    }


def _preferred(
    arbiter: Arbiter, utterance: Utterance, network: WordNetwork, text: str, meaning: MeaningOf
) -> Alternative | None:
    """The sentence with another meaning and one other word that the scribe would rather have written; None for none."""
    others = neighbours(network, text)
    leads = sorted(zip(arbiter.scribe.prefer(utterance, text, others), others, strict=True))
    for lead, other in leads:
        if lead >= 0:
            break
        if meaning(other) not in (None, meaning(text)):
            return Alternative(other, lead)
    return None

"""Recognisers settle among themselves what was heard: where there is no arbiter, or nothing for it to weigh."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from benchvoice.hear.alike import twins
from benchvoice.hear.choices import network_of
from benchvoice.hear.votes import (
    Judgement,
    MeaningOf,
    Vote,
    Voter,
    alone,
    favourite,
    near_rivals,
    needs_gaps,
    second_hearing,
    together,
    transcript_of,
    worth_asking_again,
)
from benchvoice.records import Transcript, Trust, Utterance, WordNetwork

__all__ = ["QUIET_DB", "Ask", "among_themselves", "in_quiet"]

Ask = Callable[[Sequence[Voter], WordNetwork], list[Vote]]
"""Has voters hear the utterance along a network."""

QUIET_DB = 28.0
"""Speech this much above the noise, in dB, counts as heard in quiet."""


def in_quiet(utterance: Utterance) -> bool:
    """Whether the utterance stands so far above the noise that weighing it against single sentences tells something."""
    return utterance.noise_dbfs is not None and utterance.level_dbfs - utterance.noise_dbfs >= QUIET_DB


def among_themselves(
    utterance: Utterance, network: WordNetwork, votes: Sequence[Vote], ask: Ask, meaning: MeaningOf
) -> Transcript:
    """What the voters agree on; where they nearly do, those that do not rank are asked again among few sentences."""
    votes = _with_gaps(votes, utterance, network)
    if len(votes) == 1:
        judgement = alone(votes[0])
    else:
        judgement = together(votes)
        if in_quiet(utterance):
            judgement = _weighed(utterance, votes, judgement)
        choices = worth_asking_again(votes, judgement)
        if choices:
            few = network_of(choices)
            again = ask([vote.voter for vote in votes if vote.voter.margin_least is None], few)
            judgement = second_hearing(votes, _with_gaps(again, utterance, few, beside=votes), judgement)
    if judgement.trust is Trust.AGREED and utterance.narrow:
        judgement = Judgement(Trust.DOUBTFUL, "the sound has only a narrow band", judgement.meaning)
    if judgement.trust is Trust.AGREED:
        slip = _slip(utterance, votes, judgement.meaning, meaning)
        if slip is not None:
            judgement = Judgement(Trust.DOUBTFUL, f"it may have been {slip.transcript.text}", judgement.meaning)
            votes.append(slip)
    found = transcript_of(votes, judgement)
    return replace(found, twins=_not_excluded(votes, twins(network, found.text)))


def _with_gaps(
    votes: Sequence[Vote], utterance: Utterance, network: WordNetwork, *, beside: Sequence[Vote] = ()
) -> list[Vote]:
    """The votes with the gaps that were left out, where these votes and those `beside` need them."""
    if not needs_gaps([*beside, *votes]):
        return list(votes)
    return [
        replace(vote, transcript=vote.voter.recogniser.hear(utterance, network)) if vote.gap_left_out else vote
        for vote in votes
    ]


def _not_excluded(votes: Sequence[Vote], texts: Sequence[str]) -> tuple[str, ...]:
    """The texts that a voter which ranks still offers; all of them where none ranks."""
    offered = [alternative.text for vote in votes if vote.voter.margin_least is not None
               for alternative in vote.transcript.alternatives]  # fmt: skip
    return tuple(text for text in texts if text in offered or not offered)


def _slip(utterance: Utterance, votes: Sequence[Vote], meant: str | None, meaning: MeaningOf) -> Vote | None:
    """The slip that explains the sound about as well as what was heard, as a voter heard it; None where none does."""
    for vote in votes:
        heard, slip, least = vote.transcript.alternatives, vote.slip, vote.voter.slip_lead
        if not heard or slip is None or least is None:
            continue
        means = meaning(slip.text)
        near = means != meant and slip.score - heard[0].score >= least
        if near and not any(_outweighs(utterance, other.voter, heard[0].text, slip.text) for other in votes):
            return Vote(vote.voter, Transcript(vote.name, (slip,)), (means,))
    return None


def _outweighs(utterance: Utterance, voter: Voter, text: str, slip: str) -> bool:
    if voter.weigher is None:
        return False
    own, other = voter.weigher.weigh(utterance, [text, slip])
    return own is not None and (other is None or own - other > voter.slip_weight)


def _weighed(utterance: Utterance, votes: Sequence[Vote], judgement: Judgement) -> Judgement:
    """Agreement that a ranking voter only hardly preferred, settled by voters that weigh it against its rivals."""
    meaning, backers = favourite(votes)
    rivals = near_rivals(votes, backers, meaning) if judgement.trust is Trust.DOUBTFUL and meaning else []
    if not rivals:
        return judgement
    for vote in backers:
        weigher, least = vote.voter.weigher, vote.voter.weigh_least
        if weigher is None:
            continue
        own, *others = weigher.weigh(utterance, [vote.transcript.text, *rivals])
        lead = math.inf if own is None else own - max((fit for fit in others if fit is not None), default=-math.inf)
        if own is not None and lead >= least:
            names = " and ".join(backer.name for backer in backers)
            return Judgement(Trust.AGREED, f"{names} agree, {vote.name} clearly", meaning)
    return judgement

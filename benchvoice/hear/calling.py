"""Whether the attention word was said: sound that may as well be a sentence without it was not meant for the bench.

A network in which every sentence begins with the word forces it upon whatever is said. So the sentences without it are
heard beside those with it; a word that was said is missed in each of them, and one that was not is a burden to all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from benchvoice.hear.recogniser import Weigher
from benchvoice.hear.votes import Vote
from benchvoice.records import Utterance, WordNetwork

__all__ = ["not_called"]


def not_called(utterance: Utterance, votes: Sequence[Vote], uncalled: WordNetwork) -> str:
    """Why what was heard was not meant for us; empty where every voter that can tell hears the attention word.

    Args:
        utterance: the sound.
        votes: what was heard of it, each sentence with the word before it.
        uncalled: the sentences without it.
    """
    hidden: Vote | None = None
    for vote in votes:
        heard, without, least = vote.transcript.alternatives, vote.uncalled, vote.voter.call_lead
        if not heard or without is None or least is None:
            continue
        lead = heard[0].score - without.score
        if lead < vote.voter.call_lead_least:
            return _missed(vote)
        hidden = vote if lead < least else hidden
    with_it = [found.text for vote in votes for found in vote.transcript.alternatives[: vote.voter.hearings]]
    rivals = [vote.uncalled.text for vote in votes if vote.uncalled is not None]
    for vote in votes if with_it else ():
        weigher, least_weight = vote.voter.weigher, vote.voter.call_weight
        if weigher is None or least_weight is None:
            continue
        # alone it has nobody to tell it what else there is without the word
        known = rivals or [found.text for found in vote.voter.recogniser.hear(utterance, uncalled).alternatives]
        without_it = [*(text.partition(" ")[2] for text in with_it), *known]
        own, other = _best(weigher, utterance, with_it), _best(weigher, utterance, without_it)
        lead = -math.inf if own is None else math.inf if other is None else own - other
        if lead < least_weight:
            return _missed(vote)
        if lead >= vote.voter.call_weight_clear:
            hidden = None
    return "" if hidden is None else _missed(hidden)


def _missed(vote: Vote) -> str:
    return f"{vote.name} does not hear the attention word"


def _best(weigher: Weigher, utterance: Utterance, texts: Iterable[str]) -> float | None:
    """How well the best of them fits; None where none does."""
    found = weigher.weigh(utterance, tuple(dict.fromkeys(texts)))
    return max((fit for fit in found if fit is not None), default=None)

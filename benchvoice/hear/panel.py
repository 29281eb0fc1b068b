"""Several recognisers hear one utterance: what they agree on, how clearly, and whether it was meant for us.

Independent recognisers err independently, so a meaning on which two agree is seldom wrong; where they differ, or agree
but hardly prefer it, the panel says so and offers what each heard, so that a question can be asked. It judges by
meaning, not by words: "four point oh" and "four point zero volts" are one vote. What a text means is for its caller
to say.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import replace
from functools import partial
from typing import Protocol, runtime_checkable

from benchvoice.hear.arbiter import Arbiter, arbitrate, backed_by, neighbours, texts_to_weigh, twins
from benchvoice.hear.calling import not_called
from benchvoice.hear.choices import network_of
from benchvoice.hear.recogniser import Recogniser, Unheard
from benchvoice.hear.votes import (
    Judgement,
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
from benchvoice.records import Alternative, Transcript, Trust, Utterance, WordNetwork

__all__ = ["MeaningOf", "Panel", "Voter", "check_vocabulary"]

MeaningOf = Callable[[str], str | None]
"""Text → one string that is equal for texts that mean the same; None where the text means nothing."""

_Ask = Callable[[Sequence[Voter], WordNetwork], list[Vote]]

_BESIDES, _BESIDES_WEIGHT = 3, 0.3
"""How many meanings are weighed by a third expert, and what its natural log counts beside the others': PocketSphinx's
20, by which what is right leads in 302 of 320 readings, as 6; no rival ever led by 10."""

QUIET_DB = 28.0
"""Speech this much above the noise, in dB, counts as heard in quiet."""


@runtime_checkable
class _Closable(Protocol):
    def close(self) -> None: ...


class Panel:
    """Hears with every voter at once, each on a thread of its own.

    Args:
        voters: at least one, each with an engine of its own; where votes are level the earlier one's text is given.
        arbiter: weighs what they offer, where one of them ranks; without one they settle it among themselves.
        caution: what the user should know before starting, where the panel is not all that it could be.

    Raises:
        ValueError: no voters.
    """

    name = "panel"

    def __init__(self, voters: Sequence[Voter], arbiter: Arbiter | None = None, *, caution: str = "") -> None:
        if not voters:
            raise ValueError("a panel needs at least one voter")
        self.voters = tuple(voters)
        self.arbiter = arbiter
        self._caution = caution
        self._brief = any(voter.gap_sure is not None for voter in voters)  # else every gap is needed: at once, then
        self._threads = ThreadPoolExecutor(len(self.voters) + 1, thread_name_prefix="hear")

    @property
    def recognisers(self) -> tuple[Recogniser, ...]:
        return tuple(voter.recogniser for voter in self.voters)

    @property
    def caution(self) -> str:
        """What the user should know before starting, as a sentence; empty where the panel is complete."""
        if len(self.voters) > 1 or self.arbiter is not None:
            return self._caution
        return f"Only {self.voters[0].recogniser.name} is listening, with nobody to agree with: it will ask more often"

    def hear(
        self,
        utterance: Utterance,
        network: WordNetwork,
        meaning_of: MeaningOf,
        slips: WordNetwork | None = None,
        uncalled: WordNetwork | None = None,
    ) -> Transcript:
        """What was said, how far that can be relied upon, and what else it may have been, by meaning.

        Args:
            slips: what nobody means to say ("five point two wait"). It is no rival of the network's sentences, but
                what was heard is doubted where a slip explains the sound as well.
            uncalled: where every sentence of the network begins with the attention word, those without it: sound
                that may be one of them was not meant for us.

        Raises:
            VocabularyError: a voter cannot hear a word of the network.
        """
        known: dict[str, str | None] = {}

        def meaning(text: str) -> str | None:
            if text not in known:
                known[text] = meaning_of(text)
            return known[text]

        free = None if self.arbiter is None else self._threads.submit(self.arbiter.scribe.free, utterance)

        def ask(voters: Sequence[Voter], choices: WordNetwork, uncalled: WordNetwork | None = None) -> list[Vote]:
            hear = partial(_hear, utterance, choices, uncalled, brief=self._brief)
            hearings = [self._threads.submit(hear, voter) for voter in voters]
            wait(hearings)  # all of them, even where one fails: an engine serves one thread at a time
            heard = [hearing.result() for hearing in hearings]
            return [
                Vote(voter, said, tuple(meaning(alternative.text) for alternative in said.alternatives), uncalled=best)
                for voter, (said, best) in zip(voters, heard, strict=True)
            ]

        slipped: list[Future[Alternative | None]] = []
        try:
            votes = ask(self.voters, network, uncalled)
            why = "" if uncalled is None else not_called(utterance, votes, uncalled)
            if why:
                return transcript_of(votes, Judgement(Trust.UNRELATED, why, None))
            slipped += [self._threads.submit(_slip_of, vote.voter, utterance, slips) for vote in votes]

            def with_slips() -> list[Vote]:
                return [replace(vote, slip=slip.result()) for vote, slip in zip(votes, slipped, strict=True)]

            written = None if free is None else free.result()
            found = None
            if self.arbiter is not None and written is not None:
                found = _arbitrated(self.arbiter, utterance, network, votes, with_slips, free=written, meaning=meaning)
            if found is None:
                found = self._among_themselves(utterance, network, with_slips(), ask, meaning)
            return found if written is None else replace(found, free=written.text)
        finally:  # whatever happens, every engine is free again when this returns
            wait(slipped)
            if free is not None:
                wait([free])

    def _among_themselves(
        self, utterance: Utterance, network: WordNetwork, votes: list[Vote], ask: _Ask, meaning: MeaningOf
    ) -> Transcript:
        votes = _with_gaps(votes, utterance, network)
        if len(votes) == 1:
            judgement = alone(votes[0])
        else:
            judgement = together(votes)
            if _in_quiet(utterance):
                judgement = _weighed(utterance, votes, judgement)
            choices = worth_asking_again(votes, judgement)
            if choices:
                few = network_of(choices)
                again = ask([vote.voter for vote in votes if vote.voter.margin_least is None], few)
                judgement = second_hearing(votes, _with_gaps(again, utterance, few, beside=votes), judgement)
        if judgement.trust is Trust.AGREED:
            slip = _slip(utterance, votes, judgement.meaning, meaning)
            if slip is not None:
                judgement = Judgement(Trust.DOUBTFUL, f"it may have been {slip.transcript.text}", judgement.meaning)
                votes.append(slip)
        found = transcript_of(votes, judgement)
        return replace(found, twins=_not_excluded(votes, twins(network, found.text)))

    def close(self) -> None:
        """End the threads, and the recognisers that have something to end."""
        self._threads.shutdown()
        for voter in self.voters:
            if isinstance(voter.recogniser, _Closable):
                voter.recogniser.close()
        if self.arbiter is not None and isinstance(self.arbiter.scribe, _Closable):
            self.arbiter.scribe.close()

    def without(self, name: str) -> Panel:
        """The other voters as a panel of their own, with their engines as they are; this one is not used again."""
        self._threads.shutdown()
        left = [voter for voter in self.voters if voter.recogniser.name != name]
        return Panel(left, self.arbiter, caution=self._caution)

    def __enter__(self) -> Panel:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()


def check_vocabulary(recognisers: Iterable[Recogniser], words: Iterable[str]) -> tuple[Unheard, ...]:
    """Every word that some recogniser cannot hear, with what to say instead where that is known."""
    wanted = tuple(dict.fromkeys(words))
    return tuple(missing for recogniser in recognisers for missing in recogniser.unheard(wanted))


def _hear(
    utterance: Utterance, network: WordNetwork, uncalled: WordNetwork | None, voter: Voter, *, brief: bool
) -> tuple[Transcript, Alternative | None]:
    """What a voter hears, and the best without the attention word where it ranks such."""
    if brief and voter.brief is not None:
        heard = voter.brief.hear_briefly(utterance, network)
    else:
        heard = voter.recogniser.hear(utterance, network)
    if uncalled is None or voter.call_lead is None:
        return heard, None
    return heard, next(iter(voter.recogniser.hear(utterance, uncalled).alternatives), None)


def _slip_of(voter: Voter, utterance: Utterance, slips: WordNetwork | None) -> Alternative | None:
    """The slip that fits best, where the voter ranks such."""
    if slips is None or voter.slip_lead is None:
        return None
    return next(iter(voter.recogniser.hear(utterance, slips).alternatives), None)


def _arbitrated(
    arbiter: Arbiter,
    utterance: Utterance,
    network: WordNetwork,
    votes: Sequence[Vote],
    with_slips: Callable[[], list[Vote]],
    *,
    free: Alternative,
    meaning: MeaningOf,
) -> Transcript | None:
    """What the arbiter makes of the votes; None where there is nothing to weigh.

    The slips are still being heard while it weighs what was heard.
    """
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
    found = arbitrate(arbiter, votes, weights, free, meaning)
    if found is not None and _lead_in_doubt(arbiter, votes, found) and _in_quiet(utterance):
        besides = _weighed_besides(utterance, votes, found, weights)
        found = arbitrate(arbiter, votes, weights, free, meaning, besides=besides) if besides else found
    if found is None or found.trust is not Trust.AGREED or backed_by(votes, meaning(found.text)):
        return found
    rival = _preferred(arbiter, utterance, network, found.text, meaning)
    if rival is None:
        return found
    others = [alternative for alternative in found.alternatives[1:] if meaning(alternative.text) != meaning(rival.text)]
    offers = (found.alternatives[0], rival, *others)
    return replace(found, alternatives=offers, trust=Trust.DOUBTFUL, why=f"it may have been {rival.text}")


def _lead_in_doubt(arbiter: Arbiter, votes: Sequence[Vote], found: Transcript) -> bool:
    """Whether other scores could dispel the doubt: a gap they do not change."""
    strange = any(vote.unrelated for vote in votes if vote.voter.margin_least is not None)
    return found.trust is Trust.DOUBTFUL and not strange and (found.gap or 0.0) <= arbiter.gap_most


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


def _in_quiet(utterance: Utterance) -> bool:
    return utterance.noise_dbfs is not None and utterance.level_dbfs - utterance.noise_dbfs >= QUIET_DB


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

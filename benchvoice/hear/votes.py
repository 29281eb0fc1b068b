"""What a panel's voters heard, and what follows from it: how far they agree, how clearly, and what else it may be.

Pure: nothing here hears. A meaning is judged, not its words: "four point oh" and "four point zero volts" are one vote.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from benchvoice.hear.recogniser import Brief, Finder, Recogniser, Reviewer, Weigher
from benchvoice.records import Alternative, Transcript, Trust

__all__ = ["MOST_OFFERED", "Judgement", "MeaningOf", "Vote", "Voter", "alone", "favourite", "in_doubt", "near_rivals",
           "needs_gaps", "offers", "second_hearing", "together", "transcript_of",
           "worth_asking_again"]  # fmt: skip

MeaningOf = Callable[[str], str | None]
"""Text → one string that is equal for texts that mean the same; None where the text means nothing."""

MOST_OFFERED = 5
"""How many meanings a transcript offers at most."""

_RIVAL_WITHIN = 6.0  # of the favourite, on the ranking voter's scale; what lies deeper is settled


@dataclass(frozen=True)
class Voter:
    """A recogniser on the panel, and how to take what it says. The figures are on the engine's own scales.

    Attributes:
        recogniser: the engine.
        gap_most: above this gap the sound is no sentence of the network; None where the engine has no gap.
        gap_sure: up to this gap the sound is a sentence of the network, whatever the gap of those that hear briefly.
        brief: the same engine where it can leave its gap out until somebody needs it.
        margin_least: how far the best meaning must lead the next for agreement to count; None where the engine's
            scores do not rank meanings.
        gap_clear: above this gap the sound fits too badly for weighing to settle anything: a slip that the network of
            sentences does not have ("three point no three point one") fits like that.
        margin_split: the same where agreement is only partial: another voter heard it in two ways, or agreed only
            when it chose among what had been offered.
        hearings: how many of its first alternatives are hearings in their own right (of the sound made clearer and
            as it came, say), not also-rans.
        finder: the same engine where it finds the best sentence sooner alone.
        weigher: the same engine where it can weigh given sentences against each other.
        reviewer: the same engine where it can give a second opinion, of equal weight, on given sentences.
        slip_lead: a slip that leads what was heard by at least this makes it doubtful (negative: that lies behind by
            no more); None where the engine's scores do not rank meanings.
        slip_weight: what outweighs the slip by more than this is not doubted after all.
        weigh_least: by how much the favourite must outweigh each near rival to settle what a ranking voter hardly
            prefers; only in quiet (QUIET_DB), since noise makes every engine prefer the same wrong word.
        call_lead: by how much the best sentence that begins with the attention word must lead the best without it; None
            where the engine's scores do not rank sentences.
        call_weight: the same where it weighs what was heard against what may have been said without the word; None
            where it does not.
        call_lead_least: a lead below `call_lead`, but not below this, is overruled by a voter that weighs clearly.
        call_weight_clear: by how much what was heard must outweigh the rest to be clear in that sense.
        alone_gap, alone_margin: the least gap and margin where nobody else hears. Without a margin, every alternative
            that the engine offers must mean the same; without an `alone_gap` it is never trusted alone.
    """

    recogniser: Recogniser
    gap_most: float | None = None
    gap_sure: float | None = None
    brief: Brief | None = None
    finder: Finder | None = None
    margin_least: float | None = None
    gap_clear: float = math.inf
    margin_split: float = 0.0
    hearings: int = 1
    slip_lead: float | None = None
    weigher: Weigher | None = None
    reviewer: Reviewer | None = None
    slip_weight: float = math.inf
    weigh_least: float = math.inf
    call_lead: float | None = None
    call_weight: float | None = None
    call_lead_least: float = -math.inf
    call_weight_clear: float = math.inf
    alone_gap: float | None = None
    alone_margin: float | None = None


@dataclass(frozen=True)
class Vote:
    voter: Voter
    transcript: Transcript
    meanings: tuple[str | None, ...]  # of each alternative
    slip: Alternative | None = None  # the slip that fits best, where it listened for slips
    uncalled: Alternative | None = None  # what fits best without the attention word, where it listened for that

    @property
    def name(self) -> str:
        return self.voter.recogniser.name

    @property
    def meaning(self) -> str | None:
        return self.meanings[0] if self.meanings else None

    @property
    def voices(self) -> dict[str | None, None]:
        """The meanings of its hearings, in order."""
        return dict.fromkeys(self.meanings[: self.voter.hearings])

    @property
    def unrelated(self) -> bool:
        gap, most = self.transcript.gap, self.voter.gap_most
        return not self.transcript.alternatives or (gap is not None and most is not None and gap > most)

    @property
    def gap_left_out(self) -> bool:
        return bool(self.transcript.alternatives) and self.voter.brief is not None and self.transcript.gap is None

    def lead_of(self, meaning: str | None) -> float | None:
        """Best score with this meaning minus best score with another; at least that much where no other is offered.

        None where the engine does not rank meanings, or does not offer this one.
        """
        if self.voter.margin_least is None or meaning not in self.meanings:
            return None
        scores = [alternative.score for alternative in self.transcript.alternatives]
        own = scores[self.meanings.index(meaning)]
        others = [score for score, other in zip(scores, self.meanings, strict=True) if other != meaning]
        if others:
            return own - max(others)
        return self.transcript.margin if self.transcript.margin is not None else own - scores[-1]


def needs_gaps(votes: Sequence[Vote]) -> bool:
    """Whether the gaps that were left out can change what follows: nobody is sure, and nobody thinks it unrelated."""
    if not any(vote.gap_left_out for vote in votes) or any(vote.unrelated for vote in votes):
        return False
    gaps = ((vote.transcript.gap, vote.voter.gap_sure) for vote in votes)
    return not any(gap is not None and sure is not None and gap <= sure for gap, sure in gaps)


class Judgement(NamedTuple):
    trust: Trust
    why: str
    meaning: str | None


_NOTHING = Judgement(Trust.UNRELATED, "nothing was heard", None)


def transcript_of(votes: Sequence[Vote], judgement: Judgement) -> Transcript:
    heard = [vote for vote in votes if vote.transcript.alternatives]
    leads = (vote.lead_of(judgement.meaning) for vote in heard)
    gaps = (vote.transcript.gap for vote in heard)
    return Transcript(
        "panel",
        offers(heard, judgement.meaning) if heard else (),
        judgement.trust,
        judgement.why,
        margin=next((lead for lead in leads if lead is not None), None),
        gap=next((gap for gap in gaps if gap is not None), None),
    )


def alone(vote: Vote) -> Judgement:
    if not vote.transcript.alternatives:
        return _NOTHING
    gap, lead, voter = vote.transcript.gap, vote.lead_of(vote.meaning), vote.voter
    if vote.unrelated:
        return Judgement(Trust.UNRELATED, f"not a sentence of the bench to {vote.name}", vote.meaning)
    if vote.meaning is None:
        return Judgement(Trust.DOUBTFUL, f"{vote.name} hears what means nothing", None)
    sure, how = _sure_alone(voter, gap, lead, same=len(set(vote.meanings)) == 1)
    return Judgement(Trust.AGREED if sure else Trust.DOUBTFUL, f"only {vote.name} hears, {how}", vote.meaning)


def _sure_alone(voter: Voter, gap: float | None, lead: float | None, *, same: bool) -> tuple[bool, str]:
    if voter.alone_gap is None or (gap is not None and gap > voter.alone_gap):
        return False, "and not clearly enough"
    if lead is None:
        return same, "each time the same" if same else "in two ways"
    return voter.alone_margin is not None and lead >= voter.alone_margin, f"margin {lead:.1f}"


def together(votes: Sequence[Vote]) -> Judgement:
    if not any(vote.transcript.alternatives for vote in votes):
        return _NOTHING
    if len(votes) > 2:
        # an engine without a gap that offers nothing has lost its way; that says nothing about the sound
        votes = [vote for vote in votes if vote.transcript.alternatives or vote.voter.gap_most is not None]
    meaning, backers = favourite(votes)
    strangers = [vote.name for vote in votes if vote.unrelated]
    if strangers:
        return Judgement(Trust.UNRELATED, f"not a sentence of the bench to {' and '.join(strangers)}", meaning)
    if meaning is None:
        return Judgement(Trust.DOUBTFUL, "what was heard means nothing", None)
    if len(backers) < 2:
        others = [vote for vote in votes if vote not in backers]
        return Judgement(Trust.DOUBTFUL, ", ".join(f"{v.name} hears {v.transcript.text}" for v in others), meaning)
    split = sum(len(vote.voices) == 1 for vote in backers) < 2
    objection = _objection(votes, backers, meaning, split=split)
    if objection:
        return Judgement(Trust.DOUBTFUL, objection, meaning)
    agree = " and ".join(vote.name for vote in backers) + " agree"
    return Judgement(Trust.AGREED, agree + (" in part" if split else ""), meaning)


def _objection(votes: Sequence[Vote], backers: Sequence[Vote], meaning: str, *, split: bool) -> str:
    """What a voter whose scores rank meanings has against it; empty where nothing."""
    for vote in votes:
        voter, lead = vote.voter, vote.lead_of(meaning)
        if voter.margin_least is None:
            continue
        least = voter.margin_split if split else voter.margin_least
        if vote in backers and lead is not None and lead < least:
            return f"{vote.name} hardly prefers it: margin {lead:.1f}"
        if vote not in backers and (lead is None or lead <= -least):
            return f"{vote.name} clearly hears {vote.transcript.text}"
    return ""


def near_rivals(votes: Sequence[Vote], backers: Sequence[Vote], meaning: str) -> list[str]:
    """What comes near the favourite, where nothing else speaks against it; otherwise nothing."""
    if len(backers) < 2 or len(backers) < len(votes) or any(vote.unrelated for vote in votes):
        return []
    if any(len(vote.voices) > 1 for vote in votes) or any((vote.lead_of(meaning) or 0.0) < 0 for vote in votes):
        return []
    if any((vote.transcript.gap or 0.0) > vote.voter.gap_clear for vote in votes):
        return []
    rivals: list[str] = []
    for vote in votes:
        if vote.voter.margin_least is not None:
            best = vote.transcript.alternatives[0].score
            rivals += [
                alternative.text
                for alternative, other in zip(vote.transcript.alternatives, vote.meanings, strict=True)
                if other != meaning and best - alternative.score <= _RIVAL_WITHIN
            ]
    return rivals


def favourite(votes: Sequence[Vote]) -> tuple[str | None, list[Vote]]:
    """The meaning with most votes, the earlier voter's where level, and who voted for it."""
    backers: dict[str, list[Vote]] = {}
    for vote in votes:
        for meaning in vote.voices:
            if meaning is not None:
                backers.setdefault(meaning, []).append(vote)
    if not backers:
        return None, []
    return max(backers.items(), key=lambda item: len(item[1]))  # the first of the longest


def worth_asking_again(votes: Sequence[Vote], judgement: Judgement) -> list[str]:
    """The texts among which the voters that do not rank should choose; empty where that could change nothing.

    A recogniser that loses its way in the whole grammar often finds it among a few sentences. It is asked where
    nobody agreed but one that ranks meanings clearly prefers the favourite.
    """
    _, backers = favourite(votes)
    if judgement.trust is not Trust.DOUBTFUL or judgement.meaning is None or len(backers) != 1:
        return []
    lead = backers[0].lead_of(judgement.meaning)
    if lead is None or lead < backers[0].voter.margin_split:
        return []
    texts = [alternative.text for vote in votes for alternative in vote.transcript.alternatives]
    return list(dict.fromkeys(texts))


def second_hearing(votes: Sequence[Vote], again: Sequence[Vote], judgement: Judgement) -> Judgement:
    kept = [vote for vote in votes if vote.voter.margin_least is not None]
    meaning, backers = favourite([*kept, *again])
    if meaning is None or meaning != judgement.meaning or len(backers) < 2:
        return judgement
    if any(vote.unrelated for vote in again) or _objection([*kept, *again], backers, meaning, split=True):
        return judgement
    return Judgement(Trust.AGREED, " and ".join(vote.name for vote in backers) + " agree when asked again", meaning)


def offers(votes: Sequence[Vote], first: str | None) -> tuple[Alternative, ...]:
    """One alternative a meaning: `first`, then each voter's best, then the other alternatives in turn.

    Texts that mean nothing are offered only where nothing else is.
    """
    ranked: dict[str | None, Alternative] = {}
    rows = [list(zip(vote.meanings, vote.transcript.alternatives, strict=True)) for vote in votes]
    everything = [row[place] for place in range(max(map(len, rows))) for row in rows if place < len(row)]
    for meaning, alternative in sorted(everything, key=lambda item: item[0] != first):
        ranked.setdefault(meaning, alternative)
    meant = [alternative for meaning, alternative in ranked.items() if meaning is not None]
    return tuple(meant[:MOST_OFFERED] or list(ranked.values())[:1])


def in_doubt(found: Transcript, rival: Alternative, meaning_of: MeaningOf, why: str = "") -> Transcript:
    """What was found, doubtful since it may have been a rival: offered second, in place of what else means the same."""
    first, *others = found.alternatives
    others = [offer for offer in others if meaning_of(offer.text) != meaning_of(rival.text)]
    offers = (first, rival, *others)[:MOST_OFFERED]
    return replace(found, alternatives=offers, trust=Trust.DOUBTFUL, why=why or f"it may have been {rival.text}")

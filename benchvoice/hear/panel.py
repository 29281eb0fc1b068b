"""Several recognisers hear one utterance: what they agree on, how clearly, and whether it was meant for us.

Independent recognisers err independently, so a meaning on which two agree is seldom wrong; where they differ, or agree
but hardly prefer it, the panel says so and offers what each heard, so that a question can be asked. It judges by
meaning, not by words: "four point oh" and "four point zero volts" are one vote. What a text means is for its caller
to say.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import NamedTuple, Protocol, runtime_checkable

from benchvoice.hear.choices import network_of
from benchvoice.hear.recogniser import Recogniser, Unheard, Weigher
from benchvoice.records import Alternative, Transcript, Trust, Utterance, WordNetwork

__all__ = ["MeaningOf", "Panel", "Voter", "check_vocabulary"]

MeaningOf = Callable[[str], str | None]
"""Text → one string that is equal for texts that mean the same; None where the text means nothing."""

QUIET_DB = 28.0
"""Speech this much above the noise, in dB, counts as heard in quiet."""

_MOST_OFFERED = 5
_RIVAL_WITHIN = 6.0  # of the favourite, on the ranking voter's scale; what lies deeper is settled


@dataclass(frozen=True)
class Voter:
    """A recogniser on the panel, and how to take what it says. The figures are on the engine's own scales.

    Attributes:
        recogniser: the engine.
        gap_most: above this gap the sound is no sentence of the network; None where the engine has no gap.
        margin_least: how far the best meaning must lead the next for agreement to count; None where the engine's
            scores do not rank meanings.
        gap_clear: above this gap the sound fits too badly for weighing to settle anything: a slip that the network of
            sentences does not have ("three point no three point one") fits like that.
        margin_split: the same where agreement is only partial: another voter heard it in two ways, or agreed only
            when it chose among what had been offered.
        hearings: how many of its first alternatives are hearings in their own right (of the sound made clearer and
            as it came, say), not also-rans.
        weigher: the same engine where it can weigh given sentences against each other.
        slip_lead: a slip that leads what was heard by at least this makes it doubtful (negative: that lies behind by
            no more); None where the engine's scores do not rank meanings.
        slip_weight: what outweighs the slip by more than this is not doubted after all.
        weigh_least: by how much the favourite must outweigh each near rival to settle what a ranking voter hardly
            prefers; only in quiet (QUIET_DB), since noise makes every engine prefer the same wrong word.
        alone_gap, alone_margin: the least gap and margin where nobody else hears. Without a margin, every alternative
            that the engine offers must mean the same; without an `alone_gap` it is never trusted alone.
    """

    recogniser: Recogniser
    gap_most: float | None = None
    margin_least: float | None = None
    gap_clear: float = math.inf
    margin_split: float = 0.0
    hearings: int = 1
    slip_lead: float | None = None
    weigher: Weigher | None = None
    slip_weight: float = math.inf
    weigh_least: float = math.inf
    alone_gap: float | None = None
    alone_margin: float | None = None


@dataclass(frozen=True)
class _Vote:
    voter: Voter
    transcript: Transcript
    meanings: tuple[str | None, ...]  # of each alternative

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


@runtime_checkable
class _Closable(Protocol):
    def close(self) -> None: ...


class _Judgement(NamedTuple):
    trust: Trust
    why: str
    meaning: str | None


class Panel:
    """Hears with every voter at once, each on a thread of its own.

    Args:
        voters: at least one, each with an engine of its own; where votes are level the earlier one's text is given.

    Raises:
        ValueError: no voters.
    """

    name = "panel"

    def __init__(self, voters: Sequence[Voter]) -> None:
        if not voters:
            raise ValueError("a panel needs at least one voter")
        self.voters = tuple(voters)
        self._threads = ThreadPoolExecutor(len(self.voters), thread_name_prefix="hear")

    @property
    def recognisers(self) -> tuple[Recogniser, ...]:
        return tuple(voter.recogniser for voter in self.voters)

    @property
    def caution(self) -> str:
        """What the user should know before starting, as a sentence; empty where the panel is complete."""
        if len(self.voters) > 1:
            return ""
        return f"Only {self.voters[0].recogniser.name} is listening, with nobody to agree with: it will ask more often"

    def hear(
        self,
        utterance: Utterance,
        network: WordNetwork,
        meaning_of: MeaningOf,
        slips: WordNetwork | None = None,
    ) -> Transcript:
        """What was said, how far that can be relied upon, and what else it may have been, by meaning.

        Args:
            slips: what nobody means to say ("five point two wait"). It is no rival of the network's sentences, but
                what was heard is doubted where a slip explains the sound as well.

        Raises:
            VocabularyError: a voter cannot hear a word of the network.
        """
        known: dict[str, str | None] = {}

        def meaning(text: str) -> str | None:
            if text not in known:
                known[text] = meaning_of(text)
            return known[text]

        def ask(voters: Sequence[Voter], choices: WordNetwork) -> list[_Vote]:
            heard = self._threads.map(lambda voter: voter.recogniser.hear(utterance, choices), voters)
            return [
                _Vote(voter, transcript, tuple(meaning(alternative.text) for alternative in transcript.alternatives))
                for voter, transcript in zip(voters, heard, strict=True)
            ]

        votes = ask(self.voters, network)
        if len(votes) == 1:
            judgement = _alone(votes[0])
        else:
            judgement = _together(votes)
            if _in_quiet(utterance):
                judgement = _weighed(utterance, votes, judgement)
            choices = _worth_asking_again(votes, judgement)
            if choices:
                again = ask([vote.voter for vote in votes if vote.voter.margin_least is None], network_of(choices))
                judgement = _second_hearing(votes, again, judgement)
        if judgement.trust is Trust.AGREED and slips is not None:
            slip = _slip(utterance, votes, slips, judgement.meaning, meaning)
            if slip:
                judgement = _Judgement(Trust.DOUBTFUL, f"it may have been {slip.text}", judgement.meaning)
                votes.append(_Vote(votes[0].voter, Transcript("slips", (slip,)), (meaning(slip.text),)))
        return _transcript(votes, judgement)

    def close(self) -> None:
        """End the threads, and the recognisers that have something to end."""
        self._threads.shutdown()
        for voter in self.voters:
            if isinstance(voter.recogniser, _Closable):
                voter.recogniser.close()

    def without(self, name: str) -> Panel:
        """The other voters as a panel of their own, with their engines as they are; this one is not used again."""
        self._threads.shutdown()
        return Panel([voter for voter in self.voters if voter.recogniser.name != name])

    def __enter__(self) -> Panel:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()


def check_vocabulary(recognisers: Iterable[Recogniser], words: Iterable[str]) -> tuple[Unheard, ...]:
    """Every word that some recogniser cannot hear, with what to say instead where that is known."""
    wanted = tuple(dict.fromkeys(words))
    return tuple(missing for recogniser in recognisers for missing in recogniser.unheard(wanted))


def _transcript(votes: Sequence[_Vote], judgement: _Judgement) -> Transcript:
    heard = [vote for vote in votes if vote.transcript.alternatives]
    leads = (vote.lead_of(judgement.meaning) for vote in heard)
    gaps = (vote.transcript.gap for vote in heard)
    return Transcript(
        "panel",
        _offers(heard, judgement.meaning) if heard else (),
        judgement.trust,
        judgement.why,
        margin=next((lead for lead in leads if lead is not None), None),
        gap=next((gap for gap in gaps if gap is not None), None),
    )


_NOTHING = _Judgement(Trust.UNRELATED, "nothing was heard", None)


def _slip(
    utterance: Utterance, votes: Sequence[_Vote], slips: WordNetwork, meant: str | None, meaning: MeaningOf
) -> Alternative | None:
    """The slip that explains the sound about as well as what was heard; None where none does."""
    weighers = [vote.voter for vote in votes if vote.voter.weigher is not None]
    for vote in votes:
        least, heard = vote.voter.slip_lead, vote.transcript.alternatives
        found = vote.voter.recogniser.hear(utterance, slips).alternatives[:1] if least is not None and heard else ()
        for slip in found:
            if least is None or slip.score - heard[0].score < least or meaning(slip.text) == meant:
                continue
            if not any(_outweighs(utterance, voter, heard[0].text, slip.text) for voter in weighers):
                return slip
    return None


def _outweighs(utterance: Utterance, voter: Voter, text: str, slip: str) -> bool:
    fits = voter.weigher.weigh(utterance, [text, slip]) if voter.weigher is not None else (None, None)
    if fits[0] is None:
        return False
    return fits[1] is None or fits[0] - fits[1] > voter.slip_weight


def _alone(vote: _Vote) -> _Judgement:
    if not vote.transcript.alternatives:
        return _NOTHING
    gap, lead, voter = vote.transcript.gap, vote.lead_of(vote.meaning), vote.voter
    if vote.unrelated:
        return _Judgement(Trust.UNRELATED, f"not a sentence of the bench to {vote.name}", vote.meaning)
    if vote.meaning is None:
        return _Judgement(Trust.DOUBTFUL, f"{vote.name} hears what means nothing", None)
    sure, how = _sure_alone(voter, gap, lead, same=len(set(vote.meanings)) == 1)
    return _Judgement(Trust.AGREED if sure else Trust.DOUBTFUL, f"only {vote.name} hears, {how}", vote.meaning)


def _sure_alone(voter: Voter, gap: float | None, lead: float | None, *, same: bool) -> tuple[bool, str]:
    if voter.alone_gap is None or (gap is not None and gap > voter.alone_gap):
        return False, "and not clearly enough"
    if lead is None:
        return same, "each time the same" if same else "in two ways"
    return voter.alone_margin is not None and lead >= voter.alone_margin, f"margin {lead:.1f}"


def _together(votes: Sequence[_Vote]) -> _Judgement:
    if not any(vote.transcript.alternatives for vote in votes):
        return _NOTHING
    if len(votes) > 2:
        # an engine without a gap that offers nothing has lost its way; that says nothing about the sound
        votes = [vote for vote in votes if vote.transcript.alternatives or vote.voter.gap_most is not None]
    meaning, backers = _favourite(votes)
    strangers = [vote.name for vote in votes if vote.unrelated]
    if strangers:
        return _Judgement(Trust.UNRELATED, f"not a sentence of the bench to {' and '.join(strangers)}", meaning)
    if meaning is None:
        return _Judgement(Trust.DOUBTFUL, "what was heard means nothing", None)
    if len(backers) < 2:
        others = [vote for vote in votes if vote not in backers]
        return _Judgement(Trust.DOUBTFUL, ", ".join(f"{v.name} hears {v.transcript.text}" for v in others), meaning)
    split = sum(len(vote.voices) == 1 for vote in backers) < 2
    objection = _objection(votes, backers, meaning, split=split)
    if objection:
        return _Judgement(Trust.DOUBTFUL, objection, meaning)
    agree = " and ".join(vote.name for vote in backers) + " agree"
    return _Judgement(Trust.AGREED, agree + (" in part" if split else ""), meaning)


def _objection(votes: Sequence[_Vote], backers: Sequence[_Vote], meaning: str, *, split: bool) -> str:
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


def _in_quiet(utterance: Utterance) -> bool:
    return utterance.noise_dbfs is not None and utterance.level_dbfs - utterance.noise_dbfs >= QUIET_DB


def _weighed(utterance: Utterance, votes: Sequence[_Vote], judgement: _Judgement) -> _Judgement:
    """Agreement that a ranking voter only hardly preferred, settled by voters that weigh it against its rivals."""
    meaning, backers = _favourite(votes)
    rivals = _near_rivals(votes, backers, meaning) if judgement.trust is Trust.DOUBTFUL and meaning else []
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
            return _Judgement(Trust.AGREED, f"{names} agree, {vote.name} clearly", meaning)
    return judgement


def _near_rivals(votes: Sequence[_Vote], backers: Sequence[_Vote], meaning: str) -> list[str]:
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


def _favourite(votes: Sequence[_Vote]) -> tuple[str | None, list[_Vote]]:
    """The meaning with most votes, the earlier voter's where level, and who voted for it."""
    backers: dict[str, list[_Vote]] = {}
    for vote in votes:
        for meaning in vote.voices:
            if meaning is not None:
                backers.setdefault(meaning, []).append(vote)
    if not backers:
        return None, []
    return max(backers.items(), key=lambda item: len(item[1]))  # the first of the longest


def _worth_asking_again(votes: Sequence[_Vote], judgement: _Judgement) -> list[str]:
    """The texts among which the voters that do not rank should choose; empty where that could change nothing.

    A recogniser that loses its way in the whole grammar often finds it among a few sentences. It is asked where
    nobody agreed but one that ranks meanings clearly prefers the favourite.
    """
    _, backers = _favourite(votes)
    if judgement.trust is not Trust.DOUBTFUL or judgement.meaning is None or len(backers) != 1:
        return []
    lead = backers[0].lead_of(judgement.meaning)
    if lead is None or lead < backers[0].voter.margin_split:
        return []
    texts = [alternative.text for vote in votes for alternative in vote.transcript.alternatives]
    return list(dict.fromkeys(texts))


def _second_hearing(votes: Sequence[_Vote], again: Sequence[_Vote], judgement: _Judgement) -> _Judgement:
    kept = [vote for vote in votes if vote.voter.margin_least is not None]
    meaning, backers = _favourite([*kept, *again])
    if meaning is None or meaning != judgement.meaning or len(backers) < 2:
        return judgement
    if any(vote.unrelated for vote in again) or _objection([*kept, *again], backers, meaning, split=True):
        return judgement
    return _Judgement(Trust.AGREED, " and ".join(vote.name for vote in backers) + " agree when asked again", meaning)


def _offers(votes: Sequence[_Vote], first: str | None) -> tuple[Alternative, ...]:
    """One alternative a meaning: `first`, then each voter's best, then the other alternatives in turn.

    Texts that mean nothing are offered only where nothing else is.
    """
    ranked: dict[str | None, Alternative] = {}
    rows = [list(zip(vote.meanings, vote.transcript.alternatives, strict=True)) for vote in votes]
    everything = [row[place] for place in range(max(map(len, rows))) for row in rows if place < len(row)]
    for meaning, alternative in sorted(everything, key=lambda item: item[0] != first):
        ranked.setdefault(meaning, alternative)
    meant = [alternative for meaning, alternative in ranked.items() if meaning is not None]
    return tuple(meant[:_MOST_OFFERED] or list(ranked.values())[:1])

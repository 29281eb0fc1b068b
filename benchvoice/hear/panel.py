"""Several recognisers hear one utterance: what they agree on, how clearly, and whether it was meant for us.

Independent recognisers err independently, so a meaning on which two agree is seldom wrong; where they differ, or agree
but hardly prefer it, the panel says so and offers what each heard, so that a question can be asked. It judges by
meaning, not by words: "four point oh" and "four point zero volts" are one vote. What a text means is for its caller
to say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from benchvoice.hear.recogniser import Recogniser, Unheard
from benchvoice.records import Alternative, Transcript, Trust, Utterance, WordNetwork

__all__ = ["MeaningOf", "Panel", "Voter", "check_vocabulary"]

MeaningOf = Callable[[str], str | None]
"""Text → one string that is equal for texts that mean the same; None where the text means nothing."""

_MOST_OFFERED = 5


@dataclass(frozen=True)
class Voter:
    """A recogniser on the panel, and how to take what it says. The figures are on the engine's own scales.

    Attributes:
        recogniser: the engine.
        gap_most: above this gap the sound is no sentence of the network; None where the engine has no gap.
        margin_least: how far the best meaning must lead the next for others' agreement to count; None where the
            engine's scores do not rank meanings.
        alone_gap, alone_margin: the same where nobody else hears. Without a margin, every alternative that the engine
            offers must mean the same.
    """

    recogniser: Recogniser
    gap_most: float | None = None
    margin_least: float | None = None
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

    def hear(self, utterance: Utterance, network: WordNetwork, meaning_of: MeaningOf) -> Transcript:
        """What was said, how far that can be relied upon, and what else it may have been, by meaning.

        Raises:
            VocabularyError: a voter cannot hear a word of the network.
        """
        heard = list(self._threads.map(lambda voter: voter.recogniser.hear(utterance, network), self.voters))
        known: dict[str, str | None] = {}

        def meaning(text: str) -> str | None:
            if text not in known:
                known[text] = meaning_of(text)
            return known[text]

        votes = [
            _Vote(voter, transcript, tuple(meaning(alternative.text) for alternative in transcript.alternatives))
            for voter, transcript in zip(self.voters, heard, strict=True)
        ]
        return _judge(votes)

    def close(self) -> None:
        """End the threads."""
        self._threads.shutdown()

    def __enter__(self) -> Panel:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()


def check_vocabulary(recognisers: Iterable[Recogniser], words: Iterable[str]) -> tuple[Unheard, ...]:
    """Every word that some recogniser cannot hear, with what to say instead where that is known."""
    wanted = tuple(dict.fromkeys(words))
    return tuple(missing for recogniser in recognisers for missing in recogniser.unheard(wanted))


def _judge(votes: Sequence[_Vote]) -> Transcript:
    heard = [vote for vote in votes if vote.transcript.alternatives]
    if not heard:
        return Transcript("panel", (), Trust.UNRELATED, "nothing was heard")
    trust, why, meaning = _alone(heard[0]) if len(votes) == 1 else _together(votes)
    leads = [vote.lead_of(meaning) for vote in heard]
    gaps = [vote.transcript.gap for vote in heard]
    return Transcript(
        "panel",
        _offers(heard, meaning),
        trust,
        why,
        margin=next((lead for lead in leads if lead is not None), None),
        gap=next((gap for gap in gaps if gap is not None), None),
    )


def _alone(vote: _Vote) -> tuple[Trust, str, str | None]:
    gap, lead = vote.transcript.gap, vote.lead_of(vote.meaning)
    if vote.unrelated:
        return Trust.UNRELATED, f"not a sentence of the bench: gap {gap:.2f}", vote.meaning
    if vote.meaning is None:
        return Trust.DOUBTFUL, f"{vote.name} hears what means nothing", None
    if gap is None or vote.voter.alone_gap is None or gap > vote.voter.alone_gap:
        return Trust.DOUBTFUL, f"only {vote.name} hears, and not clearly enough", vote.meaning
    if lead is None:
        sure = len(set(vote.meanings)) == 1
        return (Trust.AGREED, f"only {vote.name} hears, each time the same", vote.meaning) if sure else (
            Trust.DOUBTFUL, f"{vote.name} hears it in two ways", vote.meaning)  # fmt: skip
    if vote.voter.alone_margin is None or lead < vote.voter.alone_margin:
        return Trust.DOUBTFUL, f"only {vote.name} hears, margin {lead:.1f}", vote.meaning
    return Trust.AGREED, f"only {vote.name} hears, margin {lead:.1f}", vote.meaning


def _together(votes: Sequence[_Vote]) -> tuple[Trust, str, str | None]:
    """Trust, why, and the meaning that goes first."""
    meaning, backers = _favourite(votes)
    strangers = [vote.name for vote in votes if vote.unrelated]
    if strangers:
        return Trust.UNRELATED, f"not a sentence of the bench to {' and '.join(strangers)}", meaning
    if meaning is None:
        return Trust.DOUBTFUL, "what was heard means nothing", None
    if len(backers) < 2:
        rest = [vote for vote in votes if vote not in backers]
        return Trust.DOUBTFUL, ", ".join(f"{vote.name} hears {vote.transcript.text}" for vote in rest), meaning
    for vote in votes:
        lead, least = vote.lead_of(meaning), vote.voter.margin_least
        if least is None:
            continue
        if vote in backers and lead is not None and lead < least:
            return Trust.DOUBTFUL, f"{vote.name} hardly prefers it: margin {lead:.1f}", meaning
        if vote not in backers and (lead is None or lead <= -least):
            return Trust.DOUBTFUL, f"{vote.name} clearly hears {vote.transcript.text}", meaning
    return Trust.AGREED, " and ".join(vote.name for vote in backers) + " agree", meaning


def _favourite(votes: Sequence[_Vote]) -> tuple[str | None, list[_Vote]]:
    """The meaning with most votes, the earlier voter's where level, and who voted for it."""
    backers: dict[str, list[_Vote]] = {}
    for vote in votes:
        if vote.meaning is not None:
            backers.setdefault(vote.meaning, []).append(vote)
    if not backers:
        return None, []
    best = max(backers.values(), key=len)  # the first of the longest
    return best[0].meaning, best


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

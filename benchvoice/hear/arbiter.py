"""An arbiter settles what several recognisers offer: a model of speech and language that weighs whole sentences.

Recognisers that know only sentences of the bench make one of whatever they hear. The arbiter can write anything, so it
tells two things that they cannot: how probable each of the sentences offered is, and how much more probable something
else is. Its weights and the scores of the recogniser that ranks are natural logarithms of likelihoods by models of
different kinds; their sum ranks better than either (a product of experts: Hinton, Neural Computation 14, 2002).

Pure: nothing here hears.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from types import MappingProxyType
from typing import NamedTuple, Protocol

from benchvoice.hear.alike import a_syllable_apart, easily_swallowed, extra_word, likely_said, near_sounding
from benchvoice.hear.votes import MOST_OFFERED, Judgement, MeaningOf, Vote, in_doubt
from benchvoice.records import Alternative, Transcript, Trust, Utterance

__all__ = ["SETTLED", "Arbiter", "Scribe", "arbitrate", "backed_by", "texts_to_weigh"]

SETTLED = 12.0
"""How far below the best what the ranking voter does not offer counts, on its scale."""

_MOST_WEIGHED = 14


class Scribe(Protocol):
    """A model that writes what was said, bound by nothing, and says how probable a given sentence is."""

    @property
    def name(self) -> str: ...

    def free(self, utterance: Utterance) -> Alternative:
        """What was said, with the natural log of its probability."""
        ...

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        """The natural log of each text's probability; None where there is too little sound."""
        ...

    def probability(self, utterance: Utterance, text: str) -> float:
        """The natural log of a text's probability however it is written: "4.0" is "four point oh"."""
        ...

    def length(self, text: str) -> float:
        """How long it takes a text to be, in words of usual length: the more it has to write, the more it can miss."""
        ...

    def prefer(self, utterance: Utterance, text: str, others: Sequence[str]) -> tuple[float, ...]:
        """By how much, natural log, it would rather write `text` than each of the others where they first differ."""
        ...


@dataclass(frozen=True)
class Arbiter:
    """Who weighs, and what follows from it. Leads are sums of both logarithms, gaps the scribe's log per word.

    Attributes:
        scribe: the model.
        lead_backed: how far the best meaning must lead the next where a voter that does not rank heard it too, each
            time it listened.
        lead_unbacked: the same where none did. Then the scribe itself, too, must prefer it to every sentence that
            differs in one word, since what nobody offered was not weighed.
        lead_narrow: the same where the sound has only a narrow band, whoever heard it too.
        lead_near: by how much it must lead every sentence that sounds nearly the same: teens and tens, or a digit said
            once and twice, are so much alike that all ears may mistake them together.
        gap_sure: up to this gap it is the sentence of the bench that was heard, whatever the ranking voter's own gap.
        gap_most: above this gap what was said is hardly the sentence: asked.
        gap_stranger: above this gap, and above the ranking voter's own `gap_most`, it is no sentence of the bench.
        gap_strange: above this gap it is none, whatever the ranking voter says.
        fewest_words: by so many words the gap is divided at least: "yes" may be written in many ways ("Yeah."), which
            costs a single word as much as a sentence.
        lead_twin: up to this lead what sounds nearly the same is named beside what was heard (`Transcript.twins`).
        lead_syllable: the same where one of them says a syllable more ("eighty", "eight"), which is heard better.
        lead_fuller: how far it must lead a sentence that says one word more: that word may have been swallowed.
        slip_prior: how much less likely a slip of the tongue is than a sentence without one, before anything is heard.
        lead_swallowed: the same where that word comes last, or says once more what was said before it ("oh oh"), since
            those are swallowed most easily.
    """

    scribe: Scribe
    lead_backed: float
    lead_unbacked: float
    lead_near: float
    gap_most: float
    gap_stranger: float
    gap_strange: float
    fewest_words: int = 1
    lead_twin: float = 0.0
    lead_syllable: float = 0.0
    gap_sure: float = -math.inf
    lead_fuller: float = 0.0
    lead_swallowed: float = 0.0
    lead_narrow: float = 0.0
    slip_prior: float = 0.0

    def doubts(self, gap: float, *, unrelated: bool) -> bool:
        """Whether it is hardly the sentence; `unrelated`: the ranking voter's own gap says that it is none."""
        return gap > self.gap_most or (unrelated and gap > self.gap_sure)


class _Ranked(NamedTuple):
    """A meaning with its best sentence."""

    score: float
    meaning: str | None
    text: str
    slip: bool


def texts_to_weigh(votes: Sequence[Vote], alike: Sequence[str] = ()) -> tuple[str, ...]:
    """What the arbiter is asked about: all that is likely to the voter that ranks, and all that the others heard.

    The best text that means something else than the first is among them however many ways there are to say the first,
    and so is every one that says one word more, and what sounds `alike`, whatever anybody thinks of it.
    """
    texts: list[str] = []
    for vote in votes:
        offered = [alternative.text for alternative in vote.transcript.alternatives]
        rivals = (text for text, meaning in zip(offered, vote.meanings, strict=True) if meaning != vote.meaning)
        fuller = (text for text in offered if extra_word(text, vote.transcript.text))
        texts += [*offered[:_MOST_WEIGHED], *islice(rivals, 1), *fuller] if _ranks(vote) else offered
        texts += [vote.slip.text] if vote.slip is not None else []
    return tuple(dict.fromkeys([*texts, *alike]))


def arbitrate(
    arbiter: Arbiter,
    votes: Sequence[Vote],
    weights: Mapping[str, float],
    free: Alternative,
    meaning_of: MeaningOf,
    *,
    however_written: Callable[[str], float] | None = None,
    besides: Mapping[str, float] = MappingProxyType({}),
    again: Mapping[str, float] = MappingProxyType({}),
    exactly: MeaningOf | None = None,
) -> Transcript | None:
    """What was said, by all voters and the arbiter together; None where no voter that ranks heard anything.

    Args:
        arbiter: the thresholds.
        votes: what the voters heard.
        weights: the arbiter's natural logs by text, for all of `texts_to_weigh`.
        free: what the arbiter would write, bound by nothing.
        meaning_of: what a text means.
        however_written: the natural log of a text's probability, in words or in figures; without it as in words.
        besides: what is added to the scores of some texts, where somebody else weighed them too.
        again: the ranking voter's second opinion, natural logs by text, for all of them or for none. It adds to a lead
            or takes from it, but no more than there was: it confirms what was heard, or not. Nothing else is accepted
            for it.
        exactly: what a text means where `meaning_of` is the same for several meanings: those that the best comes near
            to are named among the twins.
    """
    ranking = next((vote for vote in votes if _ranks(vote) and vote.transcript.alternatives), None)
    if ranking is None:
        return None
    slips = _slips(ranking, votes, weights, meaning_of)
    once = _scores(ranking, votes, weights, slips, arbiter.slip_prior)
    at_first = _ranked(votes, _with(besides, once), meaning_of)
    favourite = at_first[0]  # without the second opinion
    scores = _confirmed(once, again, favourite.text, slips) if again else once
    ranked = _ranked(votes, _with(besides, scores), meaning_of) if again else at_first
    best = ranked[0]
    gap = _gap(arbiter, free.score, best.text, weights[best.text], however_written)
    same = _same(arbiter, best, scores, meaning_of, exactly or meaning_of)
    forms = (best.text, *same)
    alike = [text for text in scores if _sounds_like(best, forms, text, meaning_of)]
    # without what was added besides: what sounds alike misleads that ear as well
    near = _led(scores, best.text, alike)
    judgement = _judged(arbiter, ranking, votes, ranked, gap, alike=near[0] if near else None)
    twins = [text for lead, text in _led(once, best.text, alike) if _is_twin(arbiter, forms, text, lead)]
    offers = sorted((found for found in ranked if not found.slip), key=lambda found: found.meaning is None)
    meant = [found for found in offers if found.meaning is not None] or offers[:1]
    alternatives = tuple(Alternative(found.text, found.score) for found in meant[:MOST_OFFERED])
    found = Transcript(
        "panel",
        alternatives,
        judgement.trust,
        judgement.why,
        margin=min(_lead(ranking, ranked), _lead(ranking, at_first)),  # no second opinion lowers what is wanted of it
        gap=gap,
        twins=(*same, *twins),
        unlikely=tuple(text for text in twins if _is_unlikely(arbiter, forms, text, scores[best.text] - scores[text])),
    )
    if found.trust is not Trust.AGREED:
        return found
    if again and best.meaning != favourite.meaning:
        return in_doubt(found, Alternative(favourite.text, favourite.score), meaning_of)
    fuller = next(filter(None, (_fuller(arbiter, best, text, once, meaning_of) for text in forms)), None)
    return found if fuller is None else in_doubt(found, fuller, meaning_of)


def _is_twin(arbiter: Arbiter, forms: Sequence[str], text: str, lead: float) -> bool:
    """Whether a text is a twin of any of the ways in which what was heard may have been said."""
    return any(
        lead <= (arbiter.lead_syllable if a_syllable_apart(heard, text) else arbiter.lead_twin)
        and likely_said(text, heard)
        for heard in forms
        if near_sounding(heard, text)
    )


def _led(scores: Mapping[str, float], best: str, texts: Iterable[str]) -> list[tuple[float, str]]:
    """By how much the best leads each of the texts, the nearest first."""
    return sorted((scores[best] - scores[text], text) for text in texts)


def _is_unlikely(arbiter: Arbiter, forms: Sequence[str], text: str, lead: float) -> bool:
    """Whether a twin is led by too much to be one; never where a word was said twice, which is swallowed each time."""
    near = [heard for heard in forms if near_sounding(heard, text)]
    return all(len(heard.split()) == len(text.split()) for heard in near) and not _is_twin(arbiter, forms, text, lead)


def _same(
    arbiter: Arbiter, best: _Ranked, scores: Mapping[str, float], meaning_of: MeaningOf, exactly: MeaningOf
) -> tuple[str, ...]:
    """Sentences near the best that have its meaning, but not exactly; one for each that they mean, likeliest first."""
    own, found = scores[best.text], {exactly(best.text): best.text}
    for text, score in sorted(scores.items(), key=lambda item: -item[1]):
        if own - score < arbiter.lead_swallowed and meaning_of(text) == best.meaning:
            found.setdefault(exactly(text), text)
    return tuple(text for text in found.values() if text != best.text)


def _gap(
    arbiter: Arbiter, free: float, text: str, in_words: float, however_written: Callable[[str], float] | None
) -> float:
    """How much more probable what the arbiter would write unbound is than the sentence, per word of usual length."""
    words = max(arbiter.fewest_words, arbiter.scribe.length(text))
    gap = (free - in_words) / words
    if gap <= arbiter.gap_sure or however_written is None:
        return gap
    return (free - max(in_words, however_written(text))) / words


def _sounds_like(best: _Ranked, forms: Sequence[str], text: str, meaning_of: MeaningOf) -> bool:
    """Whether a text sounds nearly like one of the best's forms and means something else."""
    return any(near_sounding(form, text) for form in forms) and meaning_of(text) not in (None, best.meaning)


def _fuller(
    arbiter: Arbiter, best: _Ranked, than: str, scores: Mapping[str, float], meaning_of: MeaningOf
) -> Alternative | None:
    """The likeliest sentence that says one word more than another, where the best does not lead it by enough."""
    own = scores[best.text]
    for text, score in sorted(scores.items(), key=lambda item: -item[1]):
        least = arbiter.lead_swallowed if easily_swallowed(text, than) else arbiter.lead_fuller
        if own - score < least and extra_word(text, than) and meaning_of(text) not in (None, best.meaning):
            return Alternative(text, score)
    return None


def _judged(
    arbiter: Arbiter,
    ranking: Vote,
    votes: Sequence[Vote],
    ranked: Sequence[_Ranked],
    gap: float,
    *,
    alike: tuple[float, str] | None,
) -> Judgement:
    """What follows from the leads and the gap; `alike` is by how much what was heard leads what sounds like it."""
    best, name = ranked[0], arbiter.scribe.name
    strange = ranking.unrelated and gap > arbiter.gap_stranger
    if strange or gap > arbiter.gap_strange:
        names = f"{ranking.name} and {name}" if strange else name
        return Judgement(Trust.UNRELATED, f"not a sentence of the bench to {names}", best.meaning)
    backers = backed_by(votes, best.meaning)
    lead, least = _lead(ranking, ranked), arbiter.lead_backed if backers else arbiter.lead_unbacked
    doubt = ""
    if best.slip:
        doubt = f"it may have been {best.text}"
    elif best.meaning is None:
        doubt = "what was heard means nothing"
    elif arbiter.doubts(gap, unrelated=ranking.unrelated):
        doubt = f"hardly a sentence of the bench to {ranking.name if ranking.unrelated else name}"
    elif lead < least:
        near = f"{ranked[1].text} is nearly as likely" if len(ranked) > 1 else "something else may be as likely"
        doubt = f"{near}: lead {lead:.1f}"
    elif alike is not None and alike[0] < arbiter.lead_near:
        doubt = f"{alike[1]} is nearly as likely: lead {alike[0]:.1f}"
    if doubt:
        return Judgement(Trust.DOUBTFUL, doubt, best.meaning)
    if backers:
        return Judgement(Trust.AGREED, f"{', '.join([ranking.name, *backers])} and {name} agree", best.meaning)
    return Judgement(Trust.AGREED, f"{ranking.name} and {name} together are clear", best.meaning)


def backed_by(votes: Sequence[Vote], meaning: str | None) -> list[str]:
    """The voters that do not rank, and heard that meaning each time they listened."""
    return [vote.name for vote in votes if not _ranks(vote) and set(vote.voices) == {meaning}]


def _lead(ranking: Vote, ranked: Sequence[_Ranked]) -> float:
    """How far the best meaning leads the next; where there is none, how far the voter that ranks had looked."""
    if len(ranked) > 1:
        return ranked[0].score - ranked[1].score
    return min(SETTLED, ranking.lead_of(ranked[0].meaning) or 0.0)


def _ranked(votes: Sequence[Vote], scores: Mapping[str, float], meaning_of: MeaningOf) -> list[_Ranked]:
    """Every meaning weighed, best first; each slip, and each text without a meaning, counts by itself.

    A slip that means what the best sentence means is left out: it is no other thing to have said.
    """
    slips = {vote.slip.text for vote in votes if vote.slip is not None}
    slips -= {alternative.text for vote in votes for alternative in vote.transcript.alternatives}
    best: dict[str, _Ranked] = {}
    slipped: list[_Ranked] = []
    for text, score in scores.items():
        meaning = meaning_of(text)
        if text in slips:
            slipped.append(_Ranked(score, meaning, text, slip=True))
            continue
        key = f"means {meaning}" if meaning is not None else f"says {text}"
        if key not in best or score > best[key].score:
            best[key] = _Ranked(score, meaning, text, slip=False)
    meant = max(best.values(), key=lambda found: found.score).meaning
    others = [slip for slip in slipped if slip.meaning is None or slip.meaning != meant]
    return sorted([*best.values(), *others], key=lambda found: -found.score)


def _slips(ranking: Vote, votes: Sequence[Vote], texts: Iterable[str], meaning_of: MeaningOf) -> frozenset[str]:
    """Those that nobody means to say; what means nothing ("twelve point", ohms of a voltage) is one of them."""
    ranked = {alternative.text for alternative in ranking.transcript.alternatives}
    slips = {vote.slip.text for vote in votes if vote.slip is not None} - ranked
    return frozenset(text for text in texts if text in slips or meaning_of(text) is None)


def _scores(
    ranking: Vote, votes: Sequence[Vote], weights: Mapping[str, float], slips: frozenset[str], slip_prior: float
) -> dict[str, float]:
    """Both logarithms together, by text."""
    ranks = {alternative.text: alternative.score for alternative in ranking.transcript.alternatives}
    lowest = min(ranks.values())
    floor = min(max(ranks.values()) - SETTLED, lowest)
    slipped = {vote.slip.text: vote.slip.score for vote in votes if vote.slip is not None}
    found = {text: ranks.get(text, slipped.get(text, floor)) + weight for text, weight in weights.items()}
    return {text: score - slip_prior if text in slips else score for text, score in found.items()}


def _with(besides: Mapping[str, float], scores: Mapping[str, float]) -> dict[str, float]:
    return {text: score + besides.get(text, 0.0) for text, score in scores.items()}


def _confirmed(
    once: Mapping[str, float], again: Mapping[str, float], best: str, slips: frozenset[str]
) -> dict[str, float]:
    """The scores with a second opinion, which changes by how much the best leads each other by as much at most.

    It takes nothing from a lead over a slip: those differ in a syllable ("oh", "uh") that it tells no better.
    """
    leads = {text: once[best] - score for text, score in once.items()}
    least = {text: 0.0 if text in slips else -abs(lead) for text, lead in leads.items()}
    return {
        text: once[best] - lead - max(least[text], min(abs(lead), again[best] - again[text]))
        for text, lead in leads.items()
    }


def _ranks(vote: Vote) -> bool:
    return vote.voter.margin_least is not None

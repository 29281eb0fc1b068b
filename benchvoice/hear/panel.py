"""Several recognisers hear one utterance: what they agree on, how clearly, and whether it was meant for us.

Independent recognisers err independently, so a meaning on which two agree is seldom wrong; where they differ, or agree
but hardly prefer it, the panel says so and offers what each heard, so that a question can be asked. It judges by
meaning, not by words: "four point oh" and "four point zero volts" are one vote. What a text means is for its caller
to say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import replace
from functools import cache, partial
from typing import Any

from benchvoice.errors import BenchvoiceError, ModelError
from benchvoice.hear.agreement import among_themselves
from benchvoice.hear.arbiter import Arbiter
from benchvoice.hear.arbitration import arbitrated
from benchvoice.hear.asked_ahead import AskedAhead
from benchvoice.hear.calling import not_called
from benchvoice.hear.recogniser import Closable, Recogniser, Unheard
from benchvoice.hear.votes import Judgement, MeaningOf, Vote, Voter, transcript_of
from benchvoice.records import Alternative, Transcript, Trust, Utterance, WordNetwork

__all__ = ["Panel", "Voter", "check_vocabulary"]

_MOST_BROKEN = 5  # an utterance may be heard twice
_Heard = tuple[Transcript, Alternative | None]
"""What a voter heard, and the best without the attention word."""


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
        self._broken = 0  # hearings on which an engine broke, one after the other
        self._brief = any(voter.gap_sure is not None for voter in voters)  # else every gap is needed: at once, then
        self._threads = ThreadPoolExecutor(2 * len(self.voters) + 2, thread_name_prefix="hear")  # and those asked ahead

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
        *,
        number_of: MeaningOf | None = None,
    ) -> Transcript:
        """What was said, how far that can be relied upon, and what else it may have been, by meaning.

        Args:
            slips: what nobody means to say ("five point two wait"). It is no rival of the network's sentences, but
                what was heard is doubted where a slip explains the sound as well.
            uncalled: where every sentence of the network begins with the attention word, those without it: sound
                that may be one of them was not meant for us.
            number_of: as `meaning_of`, but equal as well for what differs in the noughts behind a number ("two point
                oh oh"). Where the meanings are too near to each other and the numbers are not, the number is agreed
                upon, and the other meanings that it may have had are among the twins.

        Where an engine breaks on the sound nothing is known of it (`Trust.FAILED`): a session that lasts an hour is
        not ended by one sentence that a library cannot compute.

        Raises:
            VocabularyError: a voter cannot hear a word of the network.
            ModelError: an engine broke time after time.
        """
        try:
            found = self._heard(utterance, network, meaning_of, slips=slips, uncalled=uncalled, number_of=number_of)
        except BenchvoiceError:
            raise
        except Exception as error:
            self._broken += 1
            why = f"an engine broke on it: {type(error).__name__}: {' '.join(str(error).split())[:200]}"
            if self._broken >= _MOST_BROKEN:
                cure = "Choose another recogniser with --engine, or install the packages again"
                raise ModelError(f"{self._broken} times one after the other {why}", cure=cure) from error
            return Transcript(self.name, (), Trust.FAILED, why)
        self._broken = 0
        return found

    def _heard(
        self,
        utterance: Utterance,
        network: WordNetwork,
        meaning_of: MeaningOf,
        *,
        slips: WordNetwork | None,
        uncalled: WordNetwork | None,
        number_of: MeaningOf | None,
    ) -> Transcript:
        meaning = cache(meaning_of)
        number = None if number_of is None else cache(number_of)
        ahead = AskedAhead(self._threads, utterance, network, self.voters, self.arbiter)
        voters, arbiter = ahead.voters, ahead.arbiter
        free = None if arbiter is None else self._threads.submit(arbiter.scribe.free, utterance)

        def votes_of(voters: Sequence[Voter], hearings: Sequence[Future[_Heard]]) -> list[Vote]:
            wait(hearings)  # all of them, even where one fails: an engine serves one thread at a time
            return [_vote_of(voter, hearing, meaning) for voter, hearing in zip(voters, hearings, strict=True)]

        def ask(voters: Sequence[Voter], choices: WordNetwork) -> list[Vote]:
            hear = partial(_hear, utterance, choices, None, brief=self._brief)
            return votes_of(voters, [self._threads.submit(hear, voter) for voter in voters])

        hear = partial(_hear, utterance, network, uncalled, brief=self._brief)
        slipped: list[Future[Alternative | None]] = []
        at_work: list[Future[Any]] = []
        why = ""
        try:
            if uncalled is None:  # each engine goes on as soon as it has heard
                hearings: list[Future[_Heard]] = [Future() for _ in voters]
                slipped += [Future() for _ in voters]
                each = [partial(_vote_of, voter, said, meaning) for voter, said in zip(voters, hearings, strict=True)]
                for hearing, slip, vote, voter in zip(hearings, slipped, each, voters, strict=True):
                    steps = partial(hear, voter), partial(_slip_of, voter, utterance, slips)
                    get_ready = partial(ahead.get_ready, vote)
                    at_work.append(self._threads.submit(_hear_and_go_on, hearing, slip, *steps, get_ready))
                ahead.begin(each, slipped, at_work)
                votes = votes_of(voters, hearings)
            else:  # what was not meant for us needs none
                votes = votes_of(voters, [self._threads.submit(hear, voter) for voter in voters])
                why = not_called(utterance, votes, uncalled)
                if not why:
                    slipped += [self._threads.submit(_slip_of, voter, utterance, slips) for voter in voters]
                    at_work += slipped

            def with_slips() -> list[Vote]:
                for work in at_work:
                    work.result()  # what comes next may ask any engine again
                return [replace(vote, slip=slip.result()) for vote, slip in zip(votes, slipped, strict=True)]

            written = None if free is None else free.result()
            found = transcript_of(votes, Judgement(Trust.UNRELATED, why, None)) if why else None
            if found is None and arbiter is not None and written is not None:
                found = arbitrated(
                    arbiter, utterance, network, votes, with_slips, free=written, meaning=meaning, number=number
                )
            if found is None:
                ahead.end()
                found = among_themselves(utterance, network, with_slips(), ask, meaning)
            return found if written is None else replace(found, free=written.text)
        finally:  # whatever happens, every engine is free again when this returns
            wait(at_work)
            ahead.end()
            if free is not None:
                wait([free])

    def close(self) -> None:
        """End the threads, and the recognisers that have something to end."""
        self._threads.shutdown()
        for voter in self.voters:
            if isinstance(voter.recogniser, Closable):
                voter.recogniser.close()
        if self.arbiter is not None and isinstance(self.arbiter.scribe, Closable):
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
) -> _Heard:
    """What a voter hears, and the best without the attention word where it ranks such."""
    if brief and voter.brief is not None:
        heard = voter.brief.hear_briefly(utterance, network)
    else:
        heard = voter.recogniser.hear(utterance, network)
    if uncalled is None or voter.call_lead is None:
        return heard, None
    return heard, _best(voter, utterance, uncalled)


def _vote_of(voter: Voter, hearing: Future[_Heard], meaning: MeaningOf) -> Vote:
    said, uncalled = hearing.result()
    meanings = tuple(meaning(alternative.text) for alternative in said.alternatives)
    return Vote(voter, said, meanings, uncalled=uncalled)


def _hear_and_go_on(
    hearing: Future[_Heard],
    slipped: Future[Alternative | None],
    hear: Callable[[], _Heard],
    slip_of: Callable[[], Alternative | None],
    get_ready: Callable[[], None],
) -> None:
    """Hears, looks for slips, and gets ready for a review, while other engines still hear; tells each as it ends."""
    try:
        hearing.set_result(hear())
    except BaseException as error:
        hearing.set_exception(error)
        slipped.set_result(None)
        return
    try:
        slipped.set_result(slip_of())
    except BaseException as error:
        slipped.set_exception(error)
        return
    get_ready()


def _slip_of(voter: Voter, utterance: Utterance, slips: WordNetwork | None) -> Alternative | None:
    """The slip that fits best, where the voter ranks such."""
    if slips is None or voter.slip_lead is None:
        return None
    return _best(voter, utterance, slips)


def _best(voter: Voter, utterance: Utterance, network: WordNetwork) -> Alternative | None:
    if voter.finder is not None:
        return voter.finder.best(utterance, network)
    return next(iter(voter.recogniser.hear(utterance, network).alternatives), None)

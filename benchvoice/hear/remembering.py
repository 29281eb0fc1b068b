"""Voters whose engines remember what they heard, so that other thresholds can judge the same hearings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from benchvoice.hear.arbiter import Arbiter, Scribe
from benchvoice.hear.recogniser import Brief, Finder, Recogniser, Reviewer, Unheard, Weigher
from benchvoice.hear.votes import Voter
from benchvoice.records import Alternative, Transcript, Utterance, WordNetwork

__all__ = ["Memory", "remembering"]

Memory = dict[Any, Any]
"""What was heard and weighed; to be cleared when the utterances are done with."""

T = TypeVar("T")


def _once(memory: Memory, key: tuple[object, ...], ask: Callable[[], T]) -> T:
    """What is remembered under that key; asked for where nothing is."""
    if key not in memory:
        memory[key] = ask()
    remembered: T = memory[key]
    return remembered


class _Remembering:
    """An engine that hears, and weighs, the same only once. It does not own the engine: closing is its opener's."""

    def __init__(self, voter: Voter, memory: Memory) -> None:
        self._engine: Recogniser = voter.recogniser
        self._brief: Brief | None = voter.brief
        self._finder: Finder | None = voter.finder
        self._weigher: Weigher | None = voter.weigher
        self._reviewer: Reviewer | None = voter.reviewer
        self._memory = memory

    @property
    def name(self) -> str:
        return self._engine.name

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        return self._engine.unheard(words)

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        return _once(self._memory, (id(self), utterance, network.key), lambda: self._engine.hear(utterance, network))

    def hear_briefly(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        brief = self._brief
        if brief is None:
            raise ValueError(f"{self.name} does not hear briefly")
        return _once(
            self._memory, (id(self), "briefly", utterance, network.key), lambda: brief.hear_briefly(utterance, network)
        )

    def best(self, utterance: Utterance, network: WordNetwork) -> Alternative | None:
        finder = self._finder
        if finder is None:
            raise ValueError(f"{self.name} does not find the best alone")
        return _once(self._memory, (id(self), "best", utterance, network.key), lambda: finder.best(utterance, network))

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        weigher = self._weigher
        if weigher is None:
            raise ValueError(f"{self.name} does not weigh")
        return _once(self._memory, (id(self), utterance, tuple(texts)), lambda: weigher.weigh(utterance, texts))

    def get_ready(self, utterance: Utterance) -> None:
        """Nothing: what is asked is remembered, and else the engine gets ready by itself."""

    def review(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        reviewer = self._reviewer
        if reviewer is None:
            raise ValueError(f"{self.name} does not review")
        key = id(self), "review", utterance, tuple(texts)
        return _once(self._memory, key, lambda: reviewer.review(utterance, texts))


class _RememberingScribe:
    """The same for what an arbiter asks."""

    def __init__(self, scribe: Scribe, memory: Memory) -> None:
        self._scribe = scribe
        self._memory = memory

    @property
    def name(self) -> str:
        return self._scribe.name

    def free(self, utterance: Utterance) -> Alternative:
        return _once(self._memory, (id(self), utterance), lambda: self._scribe.free(utterance))

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        return _once(self._memory, (id(self), utterance, tuple(texts)), lambda: self._scribe.weigh(utterance, texts))

    def probability(self, utterance: Utterance, text: str) -> float:
        key = id(self), "however written", utterance, text
        return _once(self._memory, key, lambda: self._scribe.probability(utterance, text))

    def length(self, text: str) -> float:
        return self._scribe.length(text)

    def prefer(self, utterance: Utterance, text: str, others: Sequence[str]) -> tuple[float, ...]:
        return _once(
            self._memory,
            (id(self), utterance, text, tuple(others)),
            lambda: self._scribe.prefer(utterance, text, others),
        )


def remembering(voters: Iterable[Voter], arbiter: Arbiter | None = None) -> tuple[Memory, list[Voter], Arbiter | None]:
    """The voters and the arbiter with engines that remember, and what they remember."""
    memory: Memory = {}
    found = []
    for voter in voters:
        engine = _Remembering(voter, memory)
        brief = None if voter.brief is None else engine
        finder = None if voter.finder is None else engine
        weigher = None if voter.weigher is None else engine
        reviewer = None if voter.reviewer is None else engine
        found.append(replace(voter, recogniser=engine, brief=brief, finder=finder, weigher=weigher, reviewer=reviewer))
    if arbiter is not None:
        arbiter = replace(arbiter, scribe=_RememberingScribe(arbiter.scribe, memory))
    return memory, found, arbiter

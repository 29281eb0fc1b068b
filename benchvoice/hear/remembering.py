"""Voters whose engines remember what they heard, so that other thresholds can judge the same hearings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from benchvoice.hear.arbiter import Arbiter, Scribe
from benchvoice.hear.recogniser import Brief, Recogniser, Unheard, Weigher
from benchvoice.hear.votes import Voter
from benchvoice.records import Alternative, Transcript, Utterance, WordNetwork

__all__ = ["Memory", "remembering"]

Memory = dict[Any, Any]
"""What was heard and weighed; to be cleared when the utterances are done with."""


class _Remembering:
    """An engine that hears, and weighs, the same only once. It does not own the engine: closing is its opener's."""

    def __init__(self, engine: Recogniser, brief: Brief | None, weigher: Weigher | None, memory: Memory) -> None:
        self._engine = engine
        self._brief = brief
        self._weigher = weigher
        self._memory = memory

    @property
    def name(self) -> str:
        return self._engine.name

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        return self._engine.unheard(words)

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        key = (id(self), utterance, network.key)
        if key not in self._memory:
            self._memory[key] = self._engine.hear(utterance, network)
        heard: Transcript = self._memory[key]
        return heard

    def hear_briefly(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        if self._brief is None:
            raise ValueError(f"{self.name} does not hear briefly")
        key = (id(self), "briefly", utterance, network.key)
        if key not in self._memory:
            self._memory[key] = self._brief.hear_briefly(utterance, network)
        heard: Transcript = self._memory[key]
        return heard

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        if self._weigher is None:
            raise ValueError(f"{self.name} does not weigh")
        key = (id(self), utterance, tuple(texts))
        if key not in self._memory:
            self._memory[key] = self._weigher.weigh(utterance, texts)
        weights: tuple[float | None, ...] = self._memory[key]
        return weights


class _RememberingScribe:
    """The same for what an arbiter asks."""

    def __init__(self, scribe: Scribe, memory: Memory) -> None:
        self._scribe = scribe
        self._memory = memory

    @property
    def name(self) -> str:
        return self._scribe.name

    def free(self, utterance: Utterance) -> Alternative:
        key = (id(self), utterance)
        if key not in self._memory:
            self._memory[key] = self._scribe.free(utterance)
        written: Alternative = self._memory[key]
        return written

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        key = (id(self), utterance, tuple(texts))
        if key not in self._memory:
            self._memory[key] = self._scribe.weigh(utterance, texts)
        weights: tuple[float | None, ...] = self._memory[key]
        return weights

    def prefer(self, utterance: Utterance, text: str, others: Sequence[str]) -> tuple[float, ...]:
        key = (id(self), utterance, text, tuple(others))
        if key not in self._memory:
            self._memory[key] = self._scribe.prefer(utterance, text, others)
        leads: tuple[float, ...] = self._memory[key]
        return leads


def remembering(voters: Iterable[Voter], arbiter: Arbiter | None = None) -> tuple[Memory, list[Voter], Arbiter | None]:
    """The voters and the arbiter with engines that remember, and what they remember."""
    memory: Memory = {}
    found = []
    for voter in voters:
        engine = _Remembering(voter.recogniser, voter.brief, voter.weigher, memory)
        brief = None if voter.brief is None else engine
        weigher = None if voter.weigher is None else engine
        found.append(replace(voter, recogniser=engine, brief=brief, weigher=weigher))
    if arbiter is not None:
        arbiter = replace(arbiter, scribe=_RememberingScribe(arbiter.scribe, memory))
    return memory, found, arbiter

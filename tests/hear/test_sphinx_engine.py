"""PocketSphinx on people's recordings and on synthesised readings."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from benchvoice.hear.lexicon import Lexicon
from benchvoice.hear.segment import Segmenter
from benchvoice.hear.speech_detector import open_detector
from benchvoice.hear.sphinx_engine import GAP_UNRELATED, SphinxEngine
from benchvoice.records import RATE_HZ, AudioBlock, Samples, Transcript, Utterance
from tests.corpus.fixed import FIXED, labels
from tests.hear.networks import digit_strings, network_of, readings, slots
from tests.hear.sounds import TESTDATA, load, quiet_around, recordings, speak, utterance, with_noise

POINTS = ("rail three point three", "rail five", "core rail", "heater drive")
READINGS = readings(POINTS, ("volts", "millivolts"))


@pytest.fixture(scope="module")
def engine() -> SphinxEngine:
    return SphinxEngine()


def utterances(samples: Samples) -> list[Utterance]:
    segmenter = Segmenter(open_detector())
    return segmenter.feed(AudioBlock(samples, 0.0)) + segmenter.finish()


def test_people_reading_digits(engine: SphinxEngine) -> None:
    """What was said is published with the recordings (example of vosk-api, example of SpeechRecognition)."""
    network = digit_strings(9)
    by_name = {path.name: path for path in recordings("strings")}
    heard = [engine.hear(one, network) for one in utterances(load(by_name["digit_strings.wav"]))]
    assert [item.text for item in heard] == [
        "one zero zero zero one",
        "nine oh two one oh",
        "zero one eight zero three",
    ]
    (one,) = utterances(load(by_name["one_two_three.wav"]))
    last = engine.hear(one, network)
    assert last.text == "one two three"
    assert all(item.gap is not None and item.gap < GAP_UNRELATED for item in [*heard, last])


RANKS = ["ace", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "jack", "queen", "king"]
CARDS = tuple(f"{rank} of {suit}" for rank in RANKS for suit in ("clubs", "diamonds", "hearts", "spades"))


@pytest.mark.apt
@pytest.mark.parametrize(
    ("name", "text"),
    [
        # cards.transcription, Debian pocketsphinx-testdata
        ("001", "ten of clubs"),
        ("002", "four queen of clubs"),
        ("003", "seven of clubs"),
        ("004", "five five"),
        ("005", "eight of spades four of clubs seven of hearts"),
    ],
)
def test_people_reading_cards(engine: SphinxEngine, name: str, text: str) -> None:
    path = TESTDATA / "cards" / f"{name}.wav"
    if not path.is_file():
        pytest.skip("pocketsphinx-testdata is not installed")
    each: Sequence[str] = (*CARDS, *RANKS)
    network = slots([each, ("", *each), ("", *CARDS)])
    assert engine.hear(utterance(quiet_around(load(path))), network).text == text


def test_other_talk_has_a_gap(engine: SphinxEngine) -> None:
    """Prose and cards against readings. "Five five" is left out: the grammar holds "five" and it does fit."""
    for path in recordings("other_speech"):
        if path.name == "cards_004.wav":
            continue
        for one in utterances(load(path)):
            transcript = engine.hear(one, READINGS)
            assert transcript.gap is None or transcript.gap > GAP_UNRELATED, (path.name, transcript)


SAID = (
    "rail three point three reads four point oh volts",
    "rail five measures five point one five",
    "core rail is minus twelve point one volts",
    "heater drive reads two hundred and five millivolts",
)


@pytest.mark.apt
@pytest.mark.parametrize("text", SAID)
@pytest.mark.parametrize("voice", ["slt", "rms"])
def test_synthesised_readings(engine: SphinxEngine, tmp_path: Path, text: str, voice: str) -> None:
    transcript = engine.hear(utterance(speak(text, tmp_path, voice), noise_dbfs=-80.0), READINGS)
    assert transcript.text == text
    assert transcript.gap is not None
    assert transcript.gap < 0.5
    assert transcript.alternatives[0].score == -transcript.gap


@pytest.mark.apt
def test_level_hardly_matters(engine: SphinxEngine, tmp_path: Path) -> None:
    sound = speak(SAID[0], tmp_path)
    for gain in (0.03, 0.3):
        quiet = np.rint(sound * gain).astype(np.int16)
        assert engine.hear(utterance(quiet, noise_dbfs=-80.0), READINGS).text == SAID[0]


@pytest.mark.apt
def test_noise_widens_the_gap_and_what_differs_is_offered(engine: SphinxEngine, tmp_path: Path) -> None:
    sound = speak(SAID[0], tmp_path)
    gaps, offered = [], 0
    for snr_db in (40.0, 20.0, 10.0):
        transcript = engine.hear(utterance(with_noise(sound, snr_db), noise_dbfs=-20.0 - snr_db), READINGS)
        assert transcript.gap is not None
        gaps.append(transcript.gap)
        offered += len(transcript.alternatives) > 1
    assert gaps == sorted(gaps)
    for seed in range(6):
        noisy = with_noise(sound, 8.0, seed=seed, pink=True)
        offered += len(engine.hear(utterance(noisy, noise_dbfs=-28.0), READINGS).alternatives) > 1
    assert offered


@pytest.mark.apt
def test_words_without_an_entry_are_heard_by_their_spelling(engine: SphinxEngine, tmp_path: Path) -> None:
    pytest.importorskip("hama", reason="the letter-to-sound model has no build for this system")
    words = ("tachopulse", "triacbox", "snubbercap")
    assert all(engine._hearing.lookup_word(word) is None for word in words)
    network = network_of([f"{word} reads five" for word in words])
    assert engine.unheard(network.words) == ()
    assert engine.hear(utterance(speak("tachopulse reads five", tmp_path)), network).text == "tachopulse reads five"


def test_a_lexicon_variant_is_added_to_the_dictionary_s_own() -> None:
    engine = SphinxEngine(Lexicon.parse("hertz HH AA R T S\nhertz HH ER T S\nqqqq K Y UW"))
    assert engine.unheard(["hertz", "qqqq"]) == ()
    assert [engine._hearing.lookup_word(f"hertz({n})") for n in (2, 3, 4)] == ["HH ER T S", "HH AA R T S", None]


def test_what_was_heard_before_changes_nothing() -> None:
    """Recordings of quiet and of noise, in two orders, each by an engine that had heard nothing yet: exactly equal."""
    noisy = sorted(label["audio"] for label in labels() if label["noise"] != "none")
    quiet = sorted(label["audio"] for label in labels() if label["noise"] == "none")
    heard = [one for name in (*noisy[:2], *quiet[:2]) for one in utterances(load(FIXED / name))]
    assert len(heard) >= 4

    def in_order(order: Sequence[Utterance]) -> dict[int, tuple[Transcript, tuple[float | None, ...]]]:
        fresh = SphinxEngine()
        found = {}
        for one in order:
            said = fresh.hear(one, READINGS)
            found[id(one)] = said, fresh.weigh(one, ["rail five reads five", said.text or "rail five"])
        return found

    assert in_order(heard) == in_order(heard[::-1])


def test_heard_briefly_it_says_the_same_and_the_gap_follows(monkeypatch: pytest.MonkeyPatch) -> None:
    """Recordings of quiet and of noise; what was heard briefly is not decoded again for the gap."""
    named = [
        next(label["audio"] for label in labels() if (label["noise"] == "none") is quiet) for quiet in (True, False)
    ]
    engine, decoded = SphinxEngine(), []
    decode = engine._decode

    def counted(search: str, sound: Samples) -> str:
        decoded.append(search)
        return decode(search, sound)

    monkeypatch.setattr(engine, "_decode", counted)
    for one in (one for name in named for one in utterances(load(FIXED / name))):
        whole = SphinxEngine().hear(one, READINGS)
        brief = engine.hear_briefly(one, READINGS)
        assert [item.text for item in brief.alternatives] == [item.text for item in whole.alternatives]
        assert brief == whole if len(whole.alternatives) > 1 else brief.gap is None
        before = len(decoded)
        assert engine.hear(one, READINGS) == whole
        assert len(decoded) == before > 0


def test_silence_is_no_reading(engine: SphinxEngine) -> None:
    transcript = engine.hear(utterance(np.zeros(RATE_HZ * 2, dtype=np.int16)), READINGS)
    assert not transcript.alternatives or (transcript.gap is not None and transcript.gap > GAP_UNRELATED)

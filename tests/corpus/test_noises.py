"""The noises are what they are called, as loud as was asked, and the same each time."""

from __future__ import annotations

import numpy as np
import pytest

from benchvoice.records import RATE_HZ
from tests.corpus.noises import MADE, SNRS_DB, add, make, speech_power
from tests.corpus.speech import Floats, mix

N = 20 * RATE_HZ


def _speechlike() -> Floats:
    """Bursts of tone with pauses: half of its frames are loud."""
    at_s = np.arange(2 * RATE_HZ) / RATE_HZ
    return np.asarray(8000 * np.sin(2 * np.pi * 200 * at_s) * (np.sin(2 * np.pi * 2 * at_s) > 0))


def _power(sound: Floats, low_hz: float, high_hz: float) -> float:
    spectrum = np.abs(np.fft.rfft(sound)) ** 2
    frequency_hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    return float(spectrum[(frequency_hz >= low_hz) & (frequency_hz < high_hz)].sum())


@pytest.mark.parametrize("name", MADE)
@pytest.mark.parametrize("snr_db", SNRS_DB)
def test_speech_stands_above_it_by_what_was_asked(name: str, snr_db: int) -> None:
    speech = _speechlike()
    rest = add(speech, make(name, len(speech), 3), snr_db, speech_power(speech)) - speech
    loud = speech[np.abs(np.convolve(np.abs(speech), np.ones(320), "same")) > 320 * 1000]
    assert 10 * np.log10((loud**2).mean() / (rest**2).mean()) == pytest.approx(snr_db, abs=0.5)


@pytest.mark.parametrize("name", ["white", "pink", "hum", "blower"])
def test_the_level_is_that_of_the_older_mix(name: str) -> None:
    """`measure_hearing` and the corpus mean the same by "10 dB"."""
    speech = np.round(_speechlike())
    padded = np.pad(speech, int(0.3 * RATE_HZ))
    ours = add(padded, make(name, len(padded), 5), 10, speech_power(speech))
    theirs = mix(speech.astype(np.int16), name, 10, 5)
    level = [10 * np.log10(((sound - padded) ** 2).mean()) for sound in (ours, theirs.astype(np.float64))]
    assert level[0] == pytest.approx(level[1], abs=0.5)


@pytest.mark.parametrize("name", MADE)
def test_the_same_seed_gives_the_same_samples_and_another_seed_others(name: str) -> None:
    np.testing.assert_array_equal(make(name, RATE_HZ, 7), make(name, RATE_HZ, 7))
    assert not np.array_equal(make(name, RATE_HZ, 7), make(name, RATE_HZ, 8))
    assert make(name, RATE_HZ, 7).std() > 0


def test_white_is_level_and_pink_falls_three_decibels_an_octave() -> None:
    """By definition: white has one power in each hertz, pink in each octave, so half as much in each hertz above."""
    octaves = [(125 * 2**k, 250 * 2**k) for k in range(5)]
    for name, step_db in (("white", 0.0), ("pink", -10 * np.log10(2))):
        sound = make(name, N, 1)
        per_hertz = [10 * np.log10(_power(sound, low, high) / (high - low)) for low, high in octaves]
        np.testing.assert_allclose(np.diff(per_hertz), step_db, atol=0.5)


def test_hum_has_lines_at_the_multiples_of_fifty_hertz() -> None:
    sound = make("hum", N, 1)
    for line_hz in range(50, 1001, 50):
        assert _power(sound, line_hz - 1, line_hz + 1) > 30 * _power(sound, line_hz + 20, line_hz + 22)


def test_the_blower_is_low_and_its_blades_sound() -> None:
    sound = make("blower", N, 1)
    assert _power(sound, 0, 2000) > 5 * _power(sound, 2000, 8000)
    assert _power(sound, 229, 231) > 30 * _power(sound, 240, 242)


@pytest.mark.parametrize(("name", "at_least"), [("keyboard", 5.0), ("tools", 4.0), ("white", 0.0)])
def test_clatter_is_made_of_impulses(name: str, at_least: float) -> None:
    """Excess kurtosis: 0 for Gaussian noise by definition, high where rare peaks hold the power."""
    sound = make(name, N, 1)
    excess = ((sound - sound.mean()) ** 4).mean() / sound.var() ** 2 - 3
    assert excess > at_least or (name == "white" and abs(excess) < 0.1)


def test_music_has_notes_of_one_key() -> None:
    """Most power lies within a quarter of a semitone of the twelve notes (equal temperament, A at 440 Hz)."""
    sound = make("music", N, 1)
    spectrum = np.abs(np.fft.rfft(sound)) ** 2
    hz = np.fft.rfftfreq(N, 1 / RATE_HZ)
    low = (hz > 100) & (hz < 900)
    semitones = 12 * np.log2(hz[low] / 440)
    near = np.abs(semitones - np.round(semitones)) < 0.25
    white = np.abs(np.fft.rfft(make("white", N, 1)))[low] ** 2
    assert spectrum[low][near].sum() / spectrum[low].sum() > 0.75 > white[near].sum() / white.sum()

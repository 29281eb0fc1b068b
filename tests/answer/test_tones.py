"""The tones, measured as a listener would tell them apart: how many pulses, how long, which way the pitch runs."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest

from benchvoice.answer.tones import LEVEL_DBFS, TONES, tone_samples
from benchvoice.records import Samples, Tone

RATE_HZ = 22_050
RATES_HZ = (16_000, 22_050, 44_100, 48_000)


def pulses(samples: Samples, rate_hz: int) -> list[tuple[float, float, float]]:
    """Length in s, and pitch in Hz early and late, of every sound that is parted from the next by 20 ms of quiet."""
    loud = np.flatnonzero(np.abs(samples.astype(int)) > 300)
    breaks = np.flatnonzero(np.diff(loud) > 0.020 * rate_hz)
    starts, ends = loud[np.r_[0, breaks + 1]], loud[np.r_[breaks, len(loud) - 1]] + 1
    found = []
    for start, end in zip(starts, ends, strict=True):
        part = samples[start:end].astype(float)
        third = len(part) // 3
        found.append(((end - start) / rate_hz, pitch_hz(part[:third], rate_hz), pitch_hz(part[-third:], rate_hz)))
    return found


def pitch_hz(part: np.ndarray, rate_hz: int) -> float:
    """The strongest frequency of a windowed, zero-padded stretch."""
    spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part)), 1 << 16))
    return float(np.argmax(spectrum) * rate_hz / (1 << 16))


def rhythm(samples: Samples) -> str:
    return "".join("S" if length_s < 0.1 else "L" for length_s, _, _ in pulses(samples, RATE_HZ))


def contour(samples: Samples) -> str:
    """Up, down or level (within a tenth) between all pitches that follow one another."""
    pitches = [pitch for _, early, late in pulses(samples, RATE_HZ) for pitch in (early, late)]
    return "".join("u" if b > 1.1 * a else "d" if b < a / 1.1 else "-" for a, b in pairwise(pitches))


def test_every_tone_has_a_sound() -> None:
    assert set(TONES) == set(Tone)


@pytest.mark.parametrize("tone", Tone)
@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_tone_is_short_clean_and_of_the_stated_level(tone: Tone, rate_hz: int) -> None:
    samples = tone_samples(tone, rate_hz)
    assert samples.dtype == np.int16
    assert len(samples) / rate_hz <= 0.35
    assert samples[0] == 0
    assert samples[-1] == 0
    assert np.abs(samples.astype(int)).max() < 32767 * 0.6
    # no click: the first and last half millisecond stay 40 dB below full scale
    edge = round(0.0005 * rate_hz)
    assert np.abs(samples[:edge].astype(int)).max() < 328
    assert np.abs(samples[-edge:].astype(int)).max() < 328
    longest = max(TONES[tone], key=lambda pulse: pulse.length_s)
    middle = samples[round(0.01 * rate_hz) : round((TONES[tone][0].length_s - 0.01) * rate_hz)].astype(float)
    assert longest.length_s <= 0.35
    assert 20 * np.log10(np.sqrt(np.mean(middle**2)) / 32767) == pytest.approx(LEVEL_DBFS, abs=0.5)


@pytest.mark.parametrize("tone", Tone)
def test_pitch_stays_where_worn_hearing_still_serves(tone: Tone) -> None:
    for _, early_hz, late_hz in pulses(tone_samples(tone, RATE_HZ), RATE_HZ):
        assert 400 <= early_hz <= 1600
        assert 400 <= late_hz <= 1600


@pytest.mark.parametrize(("one", "other"), list(combinations(Tone, 2)))
def test_two_tones_differ_in_rhythm_and_in_pitch(one: Tone, other: Tone) -> None:
    first, second = tone_samples(one, RATE_HZ), tone_samples(other, RATE_HZ)
    assert rhythm(first) != rhythm(second)
    assert [round(early / 40) for _, early, _ in pulses(first, RATE_HZ)] != [
        round(early / 40) for _, early, _ in pulses(second, RATE_HZ)
    ]


def test_good_rises_and_bad_falls() -> None:
    assert "d" not in contour(tone_samples(Tone.PASS, RATE_HZ))
    assert "u" in contour(tone_samples(Tone.PASS, RATE_HZ))
    for bad in (Tone.FAIL, Tone.CONDITIONAL_FAIL, Tone.REFUSED):
        assert "u" not in contour(tone_samples(bad, RATE_HZ))
        assert "d" in contour(tone_samples(bad, RATE_HZ))


@pytest.mark.parametrize("snr_db", [10, 5])
@pytest.mark.parametrize("tone", Tone)
def test_tone_is_recognised_in_noise_by_its_spectrogram(tone: Tone, snr_db: int) -> None:
    """Correlation with every tone picks the right one in white noise: the sounds are far apart as a whole too."""
    samples = tone_samples(tone, RATE_HZ).astype(float)
    noise = np.random.default_rng(7).normal(0, samples.std() / 10 ** (snr_db / 20), len(samples))
    heard = samples + noise

    def likeness(other: Tone) -> float:
        model = tone_samples(other, RATE_HZ).astype(float)
        n = max(len(model), len(heard))
        a, b = np.pad(heard, (0, n - len(heard))), np.pad(model, (0, n - len(model)))
        return float(a @ b / np.linalg.norm(a) / np.linalg.norm(b))

    assert max(Tone, key=likeness) == tone


def test_same_array_for_everyone_cannot_be_spoilt() -> None:
    samples = tone_samples(Tone.PASS, RATE_HZ)
    with pytest.raises(ValueError, match="read-only"):
        samples[0] = 1


def test_rate_too_low_for_the_octaves_is_refused() -> None:
    with pytest.raises(ValueError, match="4000 Hz is too low"):
        tone_samples(Tone.PASS, 4000)

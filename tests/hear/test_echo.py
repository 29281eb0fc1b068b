"""How far what is heard is our own voice."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.answer.synthesis import Synthesiser
from benchvoice.hear.echo import hears_itself
from benchvoice.records import RATE_HZ, Samples


@pytest.fixture(scope="module")
def voice() -> Samples:
    import soxr

    sound = Synthesiser().speech("Fail, high. Four point zero. Rail three point three.")
    resampled: Samples = soxr.resample(sound.samples, sound.rate_hz, RATE_HZ)
    return resampled


def noise(length: int, seed: int = 1, level: float = 300) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, level, length)


@pytest.mark.parametrize("delay_s", [0.0, 0.06, 0.4])
@pytest.mark.parametrize("gain", [1.0, 0.1, -0.5])
def test_a_copy_is_found_at_any_delay_and_level(voice: Samples, delay_s: float, gain: float) -> None:
    delay = round(delay_s * RATE_HZ)
    captured = (gain * voice[8000 - delay : 16_000 - delay]).astype(np.int16)
    assert hears_itself(captured, voice[:16_000]) > 0.98


def test_somebody_else_and_noise_and_silence_are_not_us(voice: Samples) -> None:
    played = voice[:16_000]
    assert hears_itself(noise(8000).astype(np.int16), played) < 0.15
    assert hears_itself(voice[20_000:28_000], played) < 0.5
    assert hears_itself(np.zeros(8000, dtype=np.int16), played) == 0
    assert hears_itself(voice[:8000], np.zeros(16_000, dtype=np.int16)) == 0
    assert hears_itself(voice[:0], played) == 0


def test_an_echo_through_a_room_lies_between(voice: Samples) -> None:
    """A made-up room: decaying random reflections over 0.1 s, and noise 20 dB below."""
    reflections = noise(1600, 2, 1.0) * np.exp(-np.arange(1600) / 300)
    reflections[0] = 4.0
    echo = np.convolve(voice.astype(float), reflections)[8000:16_000]
    echo = echo / np.abs(echo).max() * 8000
    captured = (echo + noise(8000, 3, 0.1 * echo.std())).astype(np.int16)
    assert 0.2 < hears_itself(captured, voice[:16_000]) < 0.95


@given(st.integers(0, 3000), st.integers(0, 12_000), st.integers(0, 2**32 - 1))
def test_it_is_always_between_0_and_1(near: int, far: int, seed: int) -> None:
    random = np.random.default_rng(seed)
    captured = random.integers(-32768, 32768, near).astype(np.int16)
    played = random.integers(-32768, 32768, far).astype(np.int16)
    assert 0 <= hears_itself(captured, played) <= 1

"""Whether a microphone stands well, from sound whose levels are known."""

from __future__ import annotations

import numpy as np
import pytest

from benchvoice.hear.sound_check import check_sound
from benchvoice.records import RATE_HZ, Samples


def bench(speech_dbfs: float, noise_dbfs: float) -> Samples:
    """Three seconds of noise, a second of "speech" (a tone) in the middle; levels as root mean square."""
    sound = np.random.default_rng(1).normal(0, 10 ** (noise_dbfs / 20), 3 * RATE_HZ)
    tone = np.sin(2 * np.pi * 400 * np.arange(RATE_HZ) / RATE_HZ) * np.sqrt(2)
    sound[RATE_HZ : 2 * RATE_HZ] += 10 ** (speech_dbfs / 20) * tone
    return np.clip(np.rint(sound * 32768), -32768, 32767).astype(np.int16)


@pytest.mark.parametrize(
    ("speech_dbfs", "noise_dbfs", "advice"),
    [
        (-20, -60, ()),
        (-50, -75, ("Too faint: speak closer",)),
        (-5, -60, ("Too loud: turn the microphone down",)),
        (-25, -39.4, ("The room is loud: speech is 15 dB above the noise, 20 would be good",)),
        (-48, -60, ("Too faint", "The room is loud")),
        (-80, -60, ("No speech was heard above the noise",)),
    ],
)
def test_advice(speech_dbfs: float, noise_dbfs: float, advice: tuple[str, ...]) -> None:
    found = check_sound(bench(speech_dbfs, noise_dbfs))
    assert len(found.advice) == len(advice)
    for sentence, begin in zip(found.advice, advice, strict=True):
        assert sentence.startswith(begin)


def test_levels_are_right() -> None:
    found = check_sound(bench(-20, -60))
    assert found.speech_dbfs == pytest.approx(-20, abs=0.5)
    assert found.noise_dbfs == pytest.approx(-60, abs=1)
    assert not found.clipped


def test_clipping_and_silence_are_told() -> None:
    loud = bench(-20, -60)
    loud[20_000:20_010] = 32767
    assert check_sound(loud).clipped
    silent = check_sound(np.zeros(RATE_HZ, dtype=np.int16))
    assert silent.advice == ("The microphone gives no sound at all: it is muted or not connected.",)


def test_too_little_sound_is_refused() -> None:
    with pytest.raises(ValueError, match="10 samples are too few to judge"):
        check_sound(np.zeros(10, dtype=np.int16))

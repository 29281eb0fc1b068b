"""Sound of a narrow band is known by its spectrum, whatever rate it came at."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr

from benchvoice.hear.bandwidth import is_narrow
from benchvoice.records import RATE_HZ, Samples

DEMOS = Path(__file__).parents[2] / "demo_sessions"
SESSION = DEMOS / "failed_regulator" / "session.flac"


def spoken(seconds: float = 8.0) -> Samples:
    samples: Samples = soundfile.read(SESSION, dtype="int16")[0][: int(seconds * RATE_HZ)]
    return samples


def by_telephone(samples: Samples) -> Samples:
    """The same through 8 kHz, the rate of telephones (ITU-T G.711; from memory)."""
    there = soxr.resample(samples.astype(np.float64), RATE_HZ, 8000)
    back: Samples = np.round(np.clip(soxr.resample(there, 8000, RATE_HZ), -32768, 32767)).astype(np.int16)
    return back


def test_speech_recorded_at_its_full_width_is_not_narrow() -> None:
    assert not is_narrow(spoken())


def test_speech_that_came_over_a_telephone_is() -> None:
    assert is_narrow(by_telephone(spoken()))


@pytest.mark.parametrize("gain", [0.03, 0.3, 1.0])
def test_loudness_does_not_matter(gain: float) -> None:
    assert is_narrow((by_telephone(spoken()) * gain).astype(np.int16))
    assert not is_narrow((spoken() * gain).astype(np.int16))


@pytest.mark.parametrize("samples", [np.zeros(0, np.int16), np.zeros(RATE_HZ, np.int16), np.ones(100, np.int16)])
def test_what_tells_nothing_is_not_called_narrow(samples: Samples) -> None:
    assert not is_narrow(samples)

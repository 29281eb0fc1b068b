"""Levels at the microphone, relative to a full-scale square wave."""

from __future__ import annotations

import numpy as np
import pytest

from benchvoice.live.gauge import Gauge
from benchvoice.records import RATE_HZ, AudioBlock


def gauge(*levels: int, block_s: float = 0.1) -> Gauge:
    made = Gauge()
    for number, level in enumerate(levels):
        samples = np.tile([level, -level], round(block_s * RATE_HZ) // 2).astype(np.int16)
        made.see(AudioBlock(samples, number * block_s))
    return made


def test_nothing_is_known_before_the_first_block() -> None:
    made = gauge()
    assert (made.level_dbfs, made.noise_dbfs, made.clipped, made.too_loud) == (None, None, False, False)
    made.see(AudioBlock(np.zeros(0, dtype=np.int16), 0.0))
    assert made.level_dbfs is None


def test_the_noise_is_what_lies_beneath_speech() -> None:
    made = gauge(*[33, 33, 3277, 3277, 3277] * 6)
    assert made.level_dbfs == pytest.approx(-20.0, abs=0.1)  # 3277 / 32768 is a tenth
    assert made.noise_dbfs == pytest.approx(-59.9, abs=0.1)
    assert not made.too_loud


def test_steady_noise_is_too_loud_and_a_loud_word_is_not() -> None:
    assert gauge(*[1000] * 20).too_loud  # -30 dBFS
    assert not gauge(*[1000] * 5).too_loud  # half a second may be a word
    assert not gauge(*[300] * 20).too_loud  # -41 dBFS


def test_clipping_shows_for_a_second() -> None:
    assert gauge(*[32767] * 3).clipped
    assert gauge(32767, *[30] * 8).clipped
    assert not gauge(32767, *[30] * 12).clipped

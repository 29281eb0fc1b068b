"""What was played: each sample at its time, gaps and what is not known as silence."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.answer.played import Played
from benchvoice.records import RATE_HZ


def ramp(length: int, first: int = 1) -> np.ndarray:
    return np.arange(first, first + length, dtype=np.int16)


def test_parts_that_follow_on_are_one_sound_though_their_times_tremble() -> None:
    played = Played(RATE_HZ)
    for index in range(10):
        played.put(ramp(160, 1 + 160 * index), 5.0 + 0.01 * index + (0.0004 if index % 2 else 0.0))
    found = played.between(5.0, 5.1)
    assert len(found) == 1600
    assert np.array_equal(np.diff(found[10:1590]) <= 2, np.ones(1579, dtype=bool))
    assert abs(int(found[800]) - 801) < 4


def test_a_gap_is_silence_of_its_length() -> None:
    played = Played(RATE_HZ)
    played.put(ramp(160), 5.0)
    played.put(ramp(160, 1001), 5.5)
    found = played.between(5.0, 5.51)
    assert np.array_equal(found[:160], ramp(160))
    assert not found[160:8000].any()
    assert np.array_equal(found[8000:], ramp(160, 1001))


def test_only_the_last_seconds_are_remembered_and_the_rest_is_silence() -> None:
    played = Played(RATE_HZ, longest_s=1.0)
    for index in range(300):
        played.put(np.full(160, 7, dtype=np.int16), 0.01 * index)
    found = played.between(0.0, 3.0)
    assert len(found) == 3 * RATE_HZ
    assert not found[: round(1.9 * RATE_HZ)].any()
    assert found[round(2.0 * RATE_HZ) :].all()


def test_another_rate_is_resampled() -> None:
    played = Played(22_050)
    tone = (8000 * np.sin(2 * np.pi * 440 * np.arange(22_050) / 22_050)).astype(np.int16)
    played.put(tone, 1.0)
    found = played.between(1.0, 2.0)
    assert len(found) == RATE_HZ
    expected = 8000 * np.sin(2 * np.pi * 440 * np.arange(RATE_HZ) / RATE_HZ)
    assert np.abs(found[200:-200] - expected[200:-200]).max() < 40


@given(st.floats(0, 10), st.floats(0, 3), st.lists(st.tuples(st.integers(1, 500), st.floats(0, 2)), max_size=20))
def test_its_length_is_that_of_the_time_asked_for(
    since_s: float, length_s: float, parts: list[tuple[int, float]]
) -> None:
    played, now_s = Played(RATE_HZ), 0.0
    for length, gap_s in parts:
        now_s += gap_s
        played.put(ramp(length), now_s)
        now_s += length / RATE_HZ
    assert len(played.between(since_s, since_s + length_s)) == round(((since_s + length_s) - since_s) * RATE_HZ)

"""Echo, band, clipping and gain do to the sound what their names say."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest

from benchvoice.records import RATE_HZ
from tests.corpus.channel import BANDS_HZ, RT60_S, Channel, band_limited, drawn, echo, in_room, plain, written
from tests.corpus.speech import Floats


def _noise(seconds: float = 4.0) -> Floats:
    return np.random.default_rng(1).normal(size=int(seconds * RATE_HZ))


@pytest.mark.parametrize("rt60_s", RT60_S)
def test_the_echo_falls_by_sixty_decibels_in_its_time(rt60_s: float) -> None:
    """RT60 by its definition (ISO 3382): the slope of the energy that is still to come, read from -5 to -35 dB."""
    tail = echo(rt60_s, 1)[1:]
    left_db = 10 * np.log10(np.cumsum(tail[::-1] ** 2)[::-1] / (tail**2).sum())
    from_5, to_35 = (int(np.argmax(left_db < level)) / RATE_HZ for level in (-5, -35))
    assert 2 * (to_35 - from_5) == pytest.approx(rt60_s, rel=0.1)


def test_the_echo_as_a_whole_is_six_decibels_below_the_voice() -> None:
    response = echo(0.4, 2)
    assert response[0] == 1.0
    assert 10 * np.log10((response[1:] ** 2).sum()) == pytest.approx(-6, abs=0.1)


def test_the_room_answers_each_moment_and_no_room_changes_nothing() -> None:
    click = np.zeros(RATE_HZ)
    click[100] = 1.0
    response = echo(0.2, 3)
    np.testing.assert_allclose(in_room(click, 0.2, 3)[100 : 100 + len(response)], response, atol=1e-9)
    np.testing.assert_array_equal(in_room(click, 0.0, 3), click)


@pytest.mark.parametrize("band", BANDS_HZ)
def test_nothing_is_left_outside_the_band_and_everything_inside(band: str) -> None:
    low, high = BANDS_HZ[band]
    before, after = (np.abs(np.fft.rfft(sound)) for sound in (_noise(), band_limited(_noise(), band)))
    hz = np.fft.rfftfreq(4 * RATE_HZ, 1 / RATE_HZ)
    inside, outside = (hz >= low) & (hz <= high), (hz < 0.85 * low) | (hz > 1.15 * high)
    np.testing.assert_allclose(after[inside], before[inside], rtol=1e-6)
    assert after[outside].max() < 1e-6 * before[outside].max()


@pytest.mark.parametrize("gain_db", [-30.0, -12.0, 0.0])
def test_the_peak_is_where_the_gain_puts_it(gain_db: float) -> None:
    sound = written(_noise(), Channel(gain_db=gain_db), 1)
    assert 20 * np.log10(np.abs(sound.astype(float)).max() / 32767) == pytest.approx(gain_db, abs=0.1)


def test_clipping_flattens_the_peaks_and_only_the_peaks() -> None:
    sound = written(_noise(), Channel(gain_db=-6.0, clip_db=12.0), 1).astype(float)
    whole = written(_noise(), Channel(gain_db=-6.0), 1).astype(float)
    top = np.abs(sound).max()
    assert (np.abs(sound) > top - 3).mean() > 0.01 > (np.abs(whole) > np.abs(whole).max() - 3).mean()
    small = np.abs(whole) < 0.2 * np.abs(whole).max()
    np.testing.assert_allclose(sound[small], whole[small] * 10 ** (12 / 20), atol=6)


def test_the_same_seed_writes_the_same_samples() -> None:
    channel = Channel(rt60_s=0.2, band="headset", clip_db=6.0)
    np.testing.assert_array_equal(written(_noise(), channel, 4), written(_noise(), channel, 4))
    assert not np.array_equal(written(_noise(), channel, 4), written(_noise(), replace(channel, gain_db=-7.0), 4))


def test_draws_stay_within_what_is_written_and_reach_all_of_it() -> None:
    rng = random.Random(1)
    many = [drawn(rng) for _ in range(500)]
    assert {channel.rt60_s for channel in many} == {0.0, *RT60_S}
    assert {channel.band for channel in many} == {"", *BANDS_HZ}
    assert {channel.clip_db for channel in many} == {0.0, 6.0, 12.0}
    assert -30 <= min(channel.gain_db for channel in many) < -28
    assert -2 < max(channel.gain_db for channel in many) <= 0
    assert all(replace(plain(rng), gain_db=0.0) == Channel(gain_db=0.0) for _ in range(50))

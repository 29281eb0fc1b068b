"""Between mouth and file: the room's echo, the microphone's band, clipping and gain."""

from __future__ import annotations

import random
from dataclasses import dataclass

import numpy as np

from benchvoice.records import RATE_HZ, Samples
from tests.corpus.speech import Floats

__all__ = ["BANDS_HZ", "Channel", "band_limited", "drawn", "echo", "in_room", "plain", "written"]

BANDS_HZ = {"telephone": (300.0, 3400.0), "headset": (100.0, 7000.0)}  # ITU-T G.712 and G.722, nominal; from memory
RT60_S = (0.2, 0.4, 0.6)  # treated room, workshop, bare room: common practice, no source
FULL = 32767


@dataclass(frozen=True)
class Channel:
    """What happened to the sound on its way.

    Attributes:
        rt60_s: how long the room's echo takes to fall by 60 dB, in seconds; 0 is no echo.
        band: a name in `BANDS_HZ`, or "" for the whole band.
        gain_db: the level of the sound's peak against full scale, before clipping.
        clip_db: by how much the peak was driven over full scale before, and cut off there; 0 clips nothing.
    """

    rt60_s: float = 0.0
    band: str = ""
    gain_db: float = -6.0
    clip_db: float = 0.0


def plain(rng: random.Random) -> Channel:
    """A good microphone close by: only its gain differs."""
    return Channel(gain_db=round(rng.uniform(-20, -3), 1))


def drawn(rng: random.Random) -> Channel:
    """One thing or several wrong: echo in half of them, a narrow band in half, clipping in a fifth, any gain."""
    return Channel(
        rt60_s=rng.choice((0.0, *RT60_S)) if rng.random() < 2 / 3 else 0.0,
        band=rng.choice(tuple(BANDS_HZ)) if rng.random() < 0.5 else "",
        gain_db=round(rng.uniform(-30, 0), 1),
        clip_db=rng.choice((6.0, 12.0)) if rng.random() < 0.2 else 0.0,
    )


def echo(rt60_s: float, seed: int) -> Floats:
    """A room's impulse response, 16 kHz: the direct sound, then noise that falls by 60 dB in `rt60_s`.

    The echo as a whole is 6 dB below the direct sound: a microphone nearer than the room's reverberation radius.
    """
    n = int(rt60_s * RATE_HZ)
    tail = np.random.default_rng(seed).normal(size=n) * 10 ** (-3 * np.arange(n) / n)
    tail[: int(0.003 * RATE_HZ)] = 0  # the nearest surface is half a metre away
    tail *= np.sqrt(0.25 / (tail**2).sum())
    tail[0] = 1.0
    return tail


def in_room(sound: Floats, rt60_s: float, seed: int) -> Floats:
    """The sound as the room gives it back, as long as before."""
    if rt60_s == 0:
        return sound
    response = echo(rt60_s, seed)
    n = len(sound) + len(response)
    return np.fft.irfft(np.fft.rfft(sound, n) * np.fft.rfft(response, n), n)[: len(sound)]


def band_limited(sound: Floats, band: str) -> Floats:
    """The sound within a band's limits, each edge falling over a tenth of its frequency."""
    if not band:
        return sound
    low, high = BANDS_HZ[band]
    frequency = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    keep = np.clip((frequency - 0.9 * low) / (0.1 * low), 0, 1) * np.clip((1.1 * high - frequency) / (0.1 * high), 0, 1)
    return np.fft.irfft(np.fft.rfft(sound) * keep, len(sound))


def written(sound: Floats, channel: Channel, seed: int) -> Samples:
    """The sound as the file holds it: band, clipping, gain, and a converter's noise of one step."""
    limited = band_limited(sound, channel.band)
    peak = max(float(np.abs(limited).max()), 1e-9)
    driven = np.clip(limited / peak * 10 ** (channel.clip_db / 20), -1, 1)
    scaled = driven * FULL * 10 ** (channel.gain_db / 20)
    step = np.random.default_rng(seed).uniform(-1, 1, len(scaled))
    samples: Samples = np.clip(np.round(scaled + step), -FULL, FULL).astype(np.int16)
    return samples

"""The corpus's noises, which of them may be heard while tuning, and how loud they are made.

| noise    | what it is                                                    | split    |
|----------|---------------------------------------------------------------|----------|
| white    | the same power at every frequency                             | tune     |
| pink     | power falling 3 dB an octave                                  | tune     |
| keyboard | key strokes, down and up, in bursts of typing                 | tune     |
| hum      | mains: 50 Hz and its harmonics to 1 kHz                       | held-out |
| blower   | air below about 2 kHz that swells, and the tone of the blades | held-out |
| tools    | metal put down: rare, loud, ringing                           | held-out |
| music    | chords, bass and percussion, a tune of our own                | held-out |
| talker   | a second voice of the same split that talks of something else | held-out |

white, pink, hum and blower are those of `speech.py`, sample by sample.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from benchvoice.records import RATE_HZ
from tests.corpus import speech
from tests.corpus.speech import Floats

__all__ = ["MADE", "NOISE_SPLITS", "SNRS_DB", "TALKER", "add", "make", "noises_of", "speech_power"]

TALKER = "talker"
SNRS_DB = (20, 15, 10, 5)
NOISE_SPLITS = {
    "white": "tune",
    "pink": "tune",
    "keyboard": "tune",
    "hum": "held-out",
    "blower": "held-out",
    "tools": "held-out",
    "music": "held-out",
    TALKER: "held-out",
}

_FRAME = RATE_HZ // 50  # 20 ms


def noises_of(split: str) -> tuple[str, ...]:
    """The noises of a split."""
    return tuple(name for name, belongs in NOISE_SPLITS.items() if belongs == split)


def make(name: str, n: int, seed: int) -> Floats:
    """`n` samples at 16 kHz of a noise that needs no voice, at any level."""
    return MADE[name](n, np.random.default_rng(seed))


def speech_power(sound: Floats) -> float:
    """The mean power of the louder half of the sound's 20 ms frames: what the noise is measured against."""
    frames = sound[: len(sound) // _FRAME * _FRAME].reshape(-1, _FRAME)
    return float(np.sort((frames**2).mean(axis=1))[len(frames) // 2 :].mean())


def add(sound: Floats, noise: Floats, snr_db: float, power: float) -> Floats:
    """`sound` in `noise` so that speech of that power stands `snr_db` above the noise's mean power."""
    return np.asarray(sound + noise / np.sqrt((noise**2).mean()) * np.sqrt(power / 10 ** (snr_db / 10)))


# --- impulses -----------------------------------------------------------------------------------------------------
def _at_random(n: int, rng: np.random.Generator, first_s: float, mean_gap_s: float) -> Iterator[int]:
    """Places in `n` samples, one before `first_s` and then further ones at random gaps."""
    at_s = rng.uniform(0, first_s)
    while at_s < n / RATE_HZ:
        yield int(at_s * RATE_HZ)
        at_s += rng.exponential(mean_gap_s) + 0.03


def _place(into: Floats, at: int, piece: Floats) -> None:
    end = max(at, min(len(into), at + len(piece)))  # nothing where it would begin after the end
    into[at:end] += piece[: end - at]


def _click(rng: np.random.Generator, length_s: float, decay_s: float) -> Floats:
    n = int(length_s * RATE_HZ)
    return np.asarray(rng.normal(size=n) * np.exp(-np.arange(n) / RATE_HZ / decay_s))


def _keyboard(n: int, rng: np.random.Generator) -> Floats:
    """Typing: bursts of strokes about 0.15 s apart, each a click down, a duller thump, and a softer click up."""
    made = 1e-3 * rng.normal(size=n)
    for burst in _at_random(n, rng, 0.2, 0.8):
        at = burst
        for _ in range(int(rng.integers(2, 9))):
            loud = rng.uniform(0.5, 1.0)
            _place(made, at, loud * _click(rng, 0.03, 0.004))
            thump = np.sin(2 * np.pi * rng.uniform(150, 300) * np.arange(800) / RATE_HZ)
            _place(made, at, 0.5 * loud * thump * np.exp(-np.arange(800) / 160))
            _place(made, at + int(rng.uniform(0.05, 0.1) * RATE_HZ), 0.4 * loud * _click(rng, 0.02, 0.003))
            at += int(rng.uniform(0.09, 0.22) * RATE_HZ)
    return made


def _tools(n: int, rng: np.random.Generator) -> Floats:
    """Tools on a bench: a knock, then a few partials that do not belong together, ringing for 0.05 to 0.4 s."""
    made = 1e-3 * rng.normal(size=n)
    for at in _at_random(n, rng, 0.5, 0.7):
        seconds = np.arange(int(0.8 * RATE_HZ)) / RATE_HZ
        piece = np.zeros(len(seconds))
        for _ in range(int(rng.integers(4, 8))):
            tone = np.sin(2 * np.pi * (rng.uniform(900, 7000) * seconds + rng.random()))
            piece += rng.uniform(0.2, 1) * tone * np.exp(-seconds / rng.uniform(0.05, 0.4))
        piece[: int(0.02 * RATE_HZ)] += 2 * _click(rng, 0.02, 0.004)
        _place(made, at, rng.uniform(0.3, 1.0) * piece)
    return made


# --- music --------------------------------------------------------------------------------------------------------
_CHORDS = ((0, 4, 7), (9, 12, 16), (5, 9, 12), (7, 11, 14))  # semitones over the key's note: I vi IV V


def _note(semitones: float, length_s: float, key_hz: float) -> Floats:
    """A plucked tone with six harmonics."""
    seconds = np.arange(int(length_s * RATE_HZ)) / RATE_HZ
    hz = key_hz * 2 ** (semitones / 12)
    tone = sum(np.sin(2 * np.pi * k * hz * seconds) / k**1.5 for k in range(1, 7))
    return np.asarray(tone * np.exp(-seconds / (0.6 * length_s)) * np.minimum(1, seconds / 0.01))


def _music(n: int, rng: np.random.Generator) -> Floats:
    """Four chords round and round, a bass, a melody of their notes, and percussion on the beats."""
    made = np.zeros(n)
    beat_s = 60 / rng.uniform(80, 130)
    key_hz = 110 * 2 ** (int(rng.integers(0, 12)) / 12)
    first = int(rng.integers(0, 4))
    for beat in range(int(n / RATE_HZ / beat_s) + 1):
        at = int(beat * beat_s * RATE_HZ)
        chord = _CHORDS[(first + beat // 4) % 4]
        if beat % 4 == 0:
            for step in chord:
                _place(made, at, 0.4 * _note(12 + step, 4 * beat_s, key_hz))
        _place(made, at, 0.6 * _note(chord[0] - 12, beat_s, key_hz))
        for half in range(2):
            step = 24 + chord[int(rng.integers(0, 3))]
            _place(made, at + int(half * beat_s / 2 * RATE_HZ), 0.5 * _note(step, beat_s / 2, key_hz))
            _place(made, at + int(half * beat_s / 2 * RATE_HZ), 0.25 * np.diff(_click(rng, 0.06, 0.015)))
        _place(made, at, (1.0 if beat % 2 else 0.3) * _click(rng, 0.12, 0.03))
    return made


MADE: dict[str, Callable[[int, np.random.Generator], Floats]] = {
    **speech.NOISES,
    "keyboard": _keyboard,
    "tools": _tools,
    "music": _music,
}

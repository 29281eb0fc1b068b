"""Readings that reach the microphone damaged: cut off, doubled in part, or swallowed.

The label stays what was meant. Accepting that is right, asking is well, and accepting another number is the one sin.
Where a word begins is found by saying the words before it alone, so it is near, not exact.
"""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np

from benchvoice.records import RATE_HZ
from tests.corpus.sentences import Sentence, Speaker
from tests.corpus.speech import Floats
from tests.corpus.voices import say_as

__all__ = ["DAMAGES", "damage", "spoken_s"]

DAMAGES = {
    "cut": ("before the unit", "in the unit", "in the value"),
    "doubled": ("value again", "stuttered value", "unit again"),
    "swallowed": ("unit faint", "end faint", "hole in the value"),
}
"""What can happen, by kind. A single digit said twice is not here: "five five point two" is how 55.2 is said by digits,
so no listener could tell, and a corpus that called it 5.2 would be wrong."""

_QUIET = 0.02  # of the peak: where speech begins and ends
_FAINT = 10 ** (-30 / 20)


def spoken_s(sound: Floats) -> tuple[float, float]:
    """From when to when there is speech, in seconds."""
    loud = np.flatnonzero(np.abs(sound) > _QUIET * np.abs(sound).max())
    return loud[0] / RATE_HZ, (loud[-1] + 1) / RATE_HZ


def damage(how: str, sentence: Sentence, speaker: Speaker, said: tuple[str, Path, float, float], seed: int) -> Floats:
    """The reading's sound, damaged.

    Args:
        how: one of the ways in `DAMAGES`.
        sentence: a reading whose unit is said.
        said: voice, cache, rate and pitch, as `say_as` takes them.
        seed: decides where in the value, and how long.
    """
    voice, cache, rate, pitch = said
    rng = random.Random(seed)

    def sound_of(text: str) -> Floats:
        made = say_as(text, voice, cache, rate, pitch).astype(np.float64)
        start_s, end_s = spoken_s(made)
        return made[int(start_s * RATE_HZ) : int(end_s * RATE_HZ)]

    words = sentence.text.split()
    unitless = speaker.without_unit(sentence) or sentence.text
    at = speaker.value_at(sentence)
    sound = sound_of(sentence.text)
    before_value = min(len(sound_of(" ".join(words[:at]))), len(sound))
    before_unit = min(max(len(sound_of(unitless)), before_value), len(sound))
    if how == "value again":
        return sound_of(" ".join((*unitless.split(), *words[at:])))
    if how == "unit again":
        return np.concatenate([sound, np.zeros(int(0.1 * RATE_HZ)), sound[before_unit:]])
    if how == "stuttered value":
        piece = sound[before_value : before_value + int(rng.uniform(0.10, 0.22) * RATE_HZ)]
        return np.concatenate([sound[:before_value], piece, np.zeros(int(0.05 * RATE_HZ)), sound[before_value:]])
    if how in ("before the unit", "in the unit", "in the value"):
        low, high = {
            "before the unit": (before_unit, before_unit),
            "in the unit": (before_unit, len(sound)),
            "in the value": ((before_value + before_unit) // 2, before_unit),
        }[how]
        return _faded_out(sound[: rng.randint(low, high)])
    faint = sound.copy()
    if how == "hole in the value":
        start = rng.randint(before_value, before_unit)
        faint[start : start + int(rng.uniform(0.08, 0.2) * RATE_HZ)] *= _FAINT
    else:
        start = before_unit if how == "unit faint" else len(sound) - int(rng.uniform(0.3, 0.6) * RATE_HZ)
        falling = np.linspace(1, _FAINT, int(0.08 * RATE_HZ))[: len(sound[start:])]
        faint[start : start + len(falling)] *= falling
        faint[start + len(falling) :] *= _FAINT
    return faint


def _faded_out(sound: Floats) -> Floats:
    """The sound with its last 10 ms faded, as a gate closes, so that the cut does not click."""
    fade = np.ones(len(sound))
    fade[-RATE_HZ // 100 :] = np.linspace(1, 0, RATE_HZ // 100)
    return sound * fade

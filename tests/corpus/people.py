"""Strings of digits spliced from people's single digits: recordings named DIGIT_SPEAKER_TAKE.wav."""

from __future__ import annotations

import random
import re
from pathlib import Path

import numpy as np
import soundfile
import soxr

from benchvoice.records import RATE_HZ
from benchvoice.spelling import spell_digits
from tests.corpus.damaged import spoken_s
from tests.corpus.sentences import Sentence
from tests.corpus.speech import Floats

__all__ = ["digit_files", "digit_string", "spliced"]

_NAME = re.compile(r"(?P<digit>[0-9])_(?P<speaker>[A-Za-z0-9]+)_(?P<take>[0-9]+)\.wav")
_GAP_S = (0.05, 0.15)


def digit_files(folder: Path) -> dict[str, dict[str, list[Path]]]:
    """Speaker → digit → that speaker's recordings of it; only speakers with all ten digits."""
    found: dict[str, dict[str, list[Path]]] = {}
    for path in sorted(folder.glob("*.wav")):
        if name := _NAME.fullmatch(path.name):
            found.setdefault(name["speaker"], {}).setdefault(name["digit"], []).append(path)
    return {speaker: digits for speaker, digits in found.items() if len(digits) == 10}


def digit_string(rng: random.Random) -> Sentence:
    """Three to six digits, to be heard at the point "fault code" of `boards/digits.yaml`."""
    digits = "".join(str(rng.randrange(10)) for _ in range(rng.randint(3, 6)))
    return Sentence(spell_digits(digits), "digits", {"value": digits, "point": "fault code"})


def spliced(digits: str, files: dict[str, list[Path]], seed: int) -> Floats:
    """The digits one after another from one speaker's recordings, each as loud, at 16 kHz, short pauses between."""
    rng = random.Random(seed)
    pieces: list[Floats] = []
    for digit in digits:
        sound, rate_hz = soundfile.read(rng.choice(files[digit]), dtype="float64")
        sound = soxr.resample(sound, rate_hz, RATE_HZ)
        start_s, end_s = spoken_s(sound)
        piece = sound[int(start_s * RATE_HZ) : int(end_s * RATE_HZ)]
        pieces += [piece / np.sqrt((piece**2).mean()), np.zeros(int(rng.uniform(*_GAP_S) * RATE_HZ))]
    return np.concatenate(pieces[:-1]) * 2000.0

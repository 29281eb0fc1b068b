"""One utterance of the corpus: everything that decides its sound, drawn from a seed, and the sound made of it."""

from __future__ import annotations

import hashlib
import json
import random
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from benchvoice.records import RATE_HZ, Samples
from benchvoice.scoring.tallies import SERIAL
from tests.corpus import channel, noises, people
from tests.corpus.channel import Channel
from tests.corpus.damaged import DAMAGES, damage
from tests.corpus.sentences import BOARDS, Sentence, Speaker
from tests.corpus.speech import Floats
from tests.corpus.voices import PITCHES, RATES, VOICES, say_as

__all__ = ["LEAD_S", "SETS", "TAIL_S", "Cast", "Plan", "plan", "sound_of", "speaker_of"]

SETS = (
    "clean", "20dB", "15dB", "10dB", "5dB", "channel", "everything", "talk", "slips", "cut", "serials", "stress",
    "digits_8k",
)  # fmt: skip
"""What can be made. `channel`: echo, band limits, clipping and gain from -30 dB, without noise; `everything`: that, and
noise at 20 to 10 dB; `cut`: values cut off, doubled or swallowed; `serials`: serial
numbers, clean; `stress`: clean, by voices that sound like nobody."""

LEAD_S, TAIL_S = 0.7, 1.2  # quiet around speech; an utterance ends after 0.7 s of it


@dataclass(frozen=True)
class Cast:
    """Who may speak and what may be heard beside them.

    Attributes:
        voices: the voices to be used in turn; for digits_8k the people.
        noises: the noises to be used in turn.
        people: for digits_8k, the folder of their recordings.
    """

    voices: tuple[str, ...]
    noises: tuple[str, ...]
    people: Path | None = None


@dataclass(frozen=True)
class Plan:
    """One utterance before it is made.

    Attributes:
        sentence: what is meant, with its label.
        voice: who says it.
        rate, pitch: as `voices.say_as` takes them.
        noise: the noise's name, or "none"; `snr_db` how far speech stands above it.
        over: for the second talker, who says what.
        damage: what happens to a reading, one of `damaged.DAMAGES`, or "".
        seed: decides the rest, noise samples and room above all.
    """

    sentence: Sentence
    voice: str
    rate: float = 1.0
    pitch: float = 1.0
    noise: str = "none"
    snr_db: float | None = None
    over: tuple[str, str] | None = None
    damage: str = ""
    channel: Channel = field(default_factory=Channel)
    seed: int = 0
    people: Path | None = None

    @property
    def speaker(self) -> str:
        """Who is heard, as the label names it."""
        return self.voice

    @property
    def noise_label(self) -> str:
        """The noise with its level, as the label names it."""
        return self.noise if self.snr_db is None else f"{self.noise} {self.snr_db:g} dB"

    @property
    def all_of_it(self) -> dict[str, Any]:
        """Everything but where recordings lie, for the record beside the corpus."""
        return {key: value for key, value in asdict(self).items() if key != "people"}

    @property
    def key(self) -> str:
        """Short and the same for the same plan."""
        return hashlib.sha256(json.dumps(self.all_of_it, sort_keys=True).encode()).hexdigest()[:10]


@cache
def speaker_of(of_digits: bool = False) -> Speaker:
    """The board's sentences, read once a process."""
    return Speaker(BOARDS / "digits.yaml", None) if of_digits else Speaker()


def plan(split: str, which: str, number: int, seed: int, cast: Cast, *, only: str | None = None) -> Plan:
    """The utterance of that number: the same for the same arguments, whatever else is made.

    Args:
        split: "tune" or "held-out".
        which: one of `SETS`.
        number: counted from 0; voices and noises go round with it, so that each gets its share.
        only: a kind of sentence instead of bench talk's proportions.

    Raises:
        ValueError: no voice, or no noise where the set needs one.
    """
    rng = random.Random(f"{seed}|{split}|{which}|{only or ''}|{number}")
    voice = _in_turn(cast.voices, number, "voice")
    own = rng.randrange(2**31)
    if which == "digits_8k":
        return Plan(people.digit_string(rng), voice, channel=channel.plain(rng), seed=own, people=cast.people)
    how = ""
    if which == "cut":
        kind = tuple(DAMAGES)[number // len(cast.voices) % len(DAMAGES)]
        how = rng.choice(DAMAGES[kind])
        reading = speaker_of().with_unit(rng)
        sentence = replace(reading, kind=kind)
    elif which == "slips":
        sentence = speaker_of().of_kind(only or rng.choice(("slip", "misfit")), rng)
    else:
        of_set = {"talk": "talk", "serials": SERIAL}
        sentence = speaker_of().bench_talk(rng, of_set.get(which, only))
    noise, snr_db = _noise(which, number // len(cast.voices), cast, rng)
    return Plan(
        sentence,
        voice,
        rate=rng.choice(RATES),
        pitch=rng.choice(PITCHES),
        noise=noise,
        snr_db=snr_db,
        over=_other(cast, voice, rng) if noise == noises.TALKER else None,
        damage=how,
        channel=channel.drawn(rng) if which in ("channel", "everything") else channel.plain(rng),
        seed=own,
    )


def _noise(which: str, turn: int, cast: Cast, rng: random.Random) -> tuple[str, float | None]:
    if which.endswith("dB"):
        return _in_turn(cast.noises, turn, "noise"), float(which.removesuffix("dB"))
    if which == "everything":
        return _in_turn(cast.noises, turn, "noise"), float(rng.choice((20, 15, 10)))
    return "none", None


def _in_turn(choices: Sequence[str], number: int, what: str) -> str:
    if not choices:
        raise ValueError(f"there is no {what} to be had for this set")
    return choices[number % len(choices)]


def _other(cast: Cast, voice: str, rng: random.Random) -> tuple[str, str]:
    """Another person of the same cast, and what they say over it."""
    others = [name for name in cast.voices if VOICES[name].speaker != VOICES[voice].speaker]
    says = ". ".join(speaker_of().of_kind("talk", rng).text for _ in range(3))
    return _in_turn(others, rng.randrange(len(others) or 1), "second voice"), says


# --- sound --------------------------------------------------------------------------------------------------------
def sound_of(planned: Plan, cache: Path) -> Samples:
    """The utterance's sound, 16 kHz, with quiet or noise around it."""
    speech = _speech(planned, cache)
    power = noises.speech_power(speech)
    padded = np.pad(speech, (int(LEAD_S * RATE_HZ), int(TAIL_S * RATE_HZ)))
    padded = channel.in_room(padded, planned.channel.rt60_s, planned.seed)
    if planned.snr_db is not None:
        padded = noises.add(padded, _noise_of(planned, len(padded), cache), planned.snr_db, power)
    return channel.written(padded, planned.channel, planned.seed)


def _speech(planned: Plan, cache: Path) -> Floats:
    sentence = planned.sentence
    if planned.people is not None:
        files = people.digit_files(planned.people)[planned.voice]
        return people.spliced(sentence.label["value"], files, planned.seed)
    if planned.damage:
        said = (planned.voice, cache, planned.rate, planned.pitch)
        return damage(planned.damage, sentence, speaker_of(), said, planned.seed)
    return say_as(sentence.text, planned.voice, cache, planned.rate, planned.pitch).astype(np.float64)


def _noise_of(planned: Plan, n: int, cache: Path) -> Floats:
    if planned.over is None:
        return noises.make(planned.noise, n, planned.seed)
    voice, text = planned.over
    said = say_as(text, voice, cache).astype(np.float64)
    return np.roll(np.resize(said, max(n, len(said))), planned.seed % len(said))[:n]

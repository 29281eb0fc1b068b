"""The prompts as somebody speaks them, from the microphone or from recordings, and why a take cannot be used."""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple, Protocol

import numpy as np

from benchvoice.errors import AudioError, DeviceError
from benchvoice.hear.audio import Recording
from benchvoice.hear.microphone import Microphone
from benchvoice.hear.segment import Segmenter
from benchvoice.hear.sound_check import SoundCheck, check_sound
from benchvoice.hear.speech_detector import open_detector
from benchvoice.records import RATE_HZ, AudioBlock, Samples, Utterance

__all__ = ["Live", "Recorded", "Source", "Spoken", "recordings_in", "told"]

_BEGIN_S = 12.0  # for reading the prompt and taking a breath
_LONGEST_S = 30.0
_KINDS = (".wav", ".flac", ".ogg")


class Spoken(NamedTuple):
    """What was said to a prompt.

    Attributes:
        utterances: the stretches of speech in it.
        check: how its sound stands; None for less than 0.2 s of it.
    """

    utterances: tuple[Utterance, ...]
    check: SoundCheck | None

    @property
    def why_unusable(self) -> str:
        """Why nothing can be measured on it, as a phrase; empty where it can."""
        if self.check is not None and self.check.silent:
            return "there is no sound at all: the microphone is muted or not connected"
        if not self.utterances or self.check is None:
            return "nothing was said"
        if len(self.utterances) > 1:
            return "more than one sentence was said, or it has a long pause"
        if self.check.too_loud or self.utterances[0].clipped:
            return "too loud: turn the microphone down, or speak from further away"
        return "it is cut off: leave a second of quiet after it" if self.utterances[0].cut else ""


class Source(Protocol):
    """Where prompts come from.

    Attributes:
        tries: how often a prompt may be asked for.
    """

    tries: int

    def speak(self, number: int) -> Spoken:
        """What was said to the prompt of that number, counted from 0."""
        ...

    def close(self) -> None: ...


def told(text: str) -> None:
    """A line for whoever speaks; standard output holds only the result."""
    print(text, file=sys.stderr, flush=True)


class Recorded:
    """Prompts from recordings, one each.

    Args:
        files: in the order of the prompts.

    Raises:
        AudioError: a file is no recording.
    """

    tries = 1

    def __init__(self, files: Sequence[Path]) -> None:
        self._recordings = [Recording(path) for path in files]

    def speak(self, number: int) -> Spoken:
        """The recording of that prompt."""
        recording = self._recordings[number]
        told(f"   {recording.path.name}")
        blocks = list(recording.blocks())
        for remark in recording.remarks:
            told(f"   {recording.path.name}: {remark}")
        return _spoken(blocks)

    def close(self) -> None:
        """Nothing is open."""


class Live:
    """Prompts from the microphone.

    Args:
        device: as `Microphone` takes it.

    Raises:
        DeviceError: there is none.
    """

    tries = 3

    def __init__(self, device: str | None) -> None:
        self._microphone = Microphone(device)
        told(f"{self._microphone.name} listens. Say each prompt as you would at the bench, once.")

    def speak(self, number: int) -> Spoken:  # noqa: ARG002
        """What is said from now on, until it ends or nobody has begun.

        Raises:
            DeviceError: the microphone went deaf.
        """
        while self._microphone.read(0.0) is not None:  # what came while nobody was asked
            pass
        segmenter = Segmenter(open_detector())
        blocks: list[AudioBlock] = []
        until_s = time.monotonic() + _BEGIN_S
        last_s = time.monotonic() + _LONGEST_S
        while time.monotonic() < (last_s if segmenter.speaking else until_s):
            block = self._microphone.read(0.1)
            if block is None:
                if self._microphone.why_deaf:
                    what = f"nothing is heard: {self._microphone.why_deaf}"
                    raise DeviceError(what, cure="Connect it again, or choose another with --input")
                continue
            blocks.append(block)
            found = segmenter.feed(block)
            if found:
                return Spoken(tuple(found), _check(blocks))
        return Spoken(tuple(segmenter.finish()), _check(blocks))

    def close(self) -> None:
        """Let go of the microphone."""
        self._microphone.close()


def recordings_in(places: Sequence[Path], wanted: int) -> list[Path]:
    """The recordings named, those of a folder in the order of their names.

    Raises:
        AudioError: a folder cannot be read, or they are not as many as there are prompts.
    """
    files: list[Path] = []
    for place in places:
        try:
            inside = [path for path in place.iterdir() if path.suffix.lower() in _KINDS] if place.is_dir() else [place]
            if not place.exists():
                raise AudioError("there is no such recording or folder", file=place, cure="Check the name")
        except OSError as error:
            what = f"the folder cannot be read ({error.strerror})"
            raise AudioError(what, file=place, cure="Check its permissions") from None
        files += sorted(inside)
    if len(files) != wanted:
        named = ", ".join(map(str, places))
        cure = f"Record each of the {wanted} prompts for itself: benchvoice tune --prompts prints them"
        given = f"{len(files)} {'was' if len(files) == 1 else 'were'} given"
        raise AudioError(f"{wanted} recordings are needed, one a prompt, and {given}: {named}", cure=cure)
    return files


def _spoken(blocks: Sequence[AudioBlock]) -> Spoken:
    segmenter = Segmenter(open_detector())
    found = [utterance for block in blocks for utterance in segmenter.feed(block)]
    return Spoken((*found, *segmenter.finish()), _check(blocks))


def _check(blocks: Sequence[AudioBlock]) -> SoundCheck | None:
    samples: Samples = np.concatenate([np.zeros(0, dtype=np.int16), *(block.samples for block in blocks)])
    return check_sound(samples) if len(samples) >= RATE_HZ // 4 else None

"""Recordings of prompts: which can be measured, and why the others cannot."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchvoice.commands.tune_takes import Recorded, Spoken, recordings_in
from benchvoice.errors import AudioError
from benchvoice.records import RATE_HZ, Samples
from tests.hear.sounds import quiet_around, speak


def spoken(samples: Samples, folder: Path) -> Spoken:
    soundfile.write(folder / "take.wav", samples, RATE_HZ)
    return Recorded([folder / "take.wav"]).speak(0)


@pytest.fixture
def sentence(tmp_path: Path) -> Samples:
    return quiet_around((speak("input is thirteen point eight four volts", tmp_path) * 0.5).astype(np.int16), 1.0)


@pytest.mark.apt
def test_a_sentence_with_quiet_around_it_can_be_measured(sentence: Samples, tmp_path: Path) -> None:
    found = spoken(sentence, tmp_path)
    assert found.why_unusable == ""
    assert found.check is not None
    assert found.check.above_noise_db > 40


@pytest.mark.apt
def test_what_cannot_be_measured_says_why(sentence: Samples, tmp_path: Path) -> None:
    loud = np.clip(sentence * 20.0, -32768, 32767).astype(np.int16)
    nothing = np.random.default_rng(1).integers(-2, 3, 3 * RATE_HZ).astype(np.int16)
    for samples, why in (
        (np.zeros(3 * RATE_HZ, np.int16), "there is no sound at all: the microphone is muted or not connected"),
        (nothing, "nothing was said"),
        (nothing[: RATE_HZ // 8], "nothing was said"),
        (np.concatenate([sentence, sentence]), "more than one sentence was said, or it has a long pause"),
        (loud, "too loud: turn the microphone down, or speak from further away"),
        (sentence[: 2 * RATE_HZ], "it is cut off: leave a second of quiet after it"),
    ):
        assert spoken(samples, tmp_path).why_unusable == why


def test_a_folders_recordings_come_by_name_and_nothing_else_counts(tmp_path: Path) -> None:
    for name in ("b.WAV", "a.flac", "c.ogg", "notes.txt", "d.json"):
        (tmp_path / name).touch()
    assert [path.name for path in recordings_in([tmp_path], 3)] == ["a.flac", "b.WAV", "c.ogg"]
    files = [tmp_path / "z.mp3", tmp_path / "a.flac"]
    files[0].touch()
    assert recordings_in(files, 2) == files  # named, and in the order in which they are named


def test_what_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(AudioError, match=r"gone: there is no such recording or folder\. Check the name\.") as caught:
        recordings_in([tmp_path / "gone"], 10)
    assert caught.value.file == str(tmp_path / "gone")


def test_too_few_and_too_many_are_told(tmp_path: Path) -> None:
    (tmp_path / "a.wav").touch()
    with pytest.raises(AudioError, match=r"10 recordings are needed, one a prompt, and 1 was given: .*tune --prompts"):
        recordings_in([tmp_path], 10)

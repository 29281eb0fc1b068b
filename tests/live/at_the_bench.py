"""`benchvoice listen` as its user starts it, on the software sound card: spoken to, listened to, unplugged, killed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from benchvoice.answer.tones import tone_samples
from benchvoice.files import shipped
from benchvoice.hear.audio import Recording
from benchvoice.records import RATE_HZ, Samples, Tone
from benchvoice.understand.transcript import read_transcript
from tests.sound_card import SPEAKER_RATE_HZ, SoundCard, patiently

__all__ = ["BOARD", "METER", "Listening", "in_order", "listening", "sentences", "tones_in"]

SESSION = shipped("demo_sessions") / "failed_regulator"
BOARD, METER = SESSION / "board.yaml", SESSION / "meter.yaml"
_EDGE_S = 0.15


@cache
def in_order() -> tuple[str, ...]:
    """The sentences of that session in their order, answers where they were given."""
    with (SESSION / "transcript.vtt").open(encoding="utf-8") as file:
        return tuple(line.text for line in read_transcript(file, "transcript.vtt"))


@cache
def sentences() -> dict[str, Samples]:
    """What is said in a demo session, each sentence with its sound, 16 kHz mono; no synthesiser is needed."""
    sound = np.concatenate([block.samples for block in Recording(SESSION / "session.flac").blocks()])
    found = {}
    with (SESSION / "transcript.vtt").open(encoding="utf-8") as file:
        for line in read_transcript(file, "transcript.vtt"):
            assert line.start_s is not None
            assert line.end_s is not None
            first, last = round((line.start_s - _EDGE_S) * RATE_HZ), round((line.end_s + _EDGE_S) * RATE_HZ)
            found[line.text] = sound[max(0, first) : last]
    return found


def tones_in(samples: Samples, rate_hz: int = SPEAKER_RATE_HZ) -> list[tuple[float, Tone]]:
    """The tones in a recording of the loudspeaker, with when each begins, in seconds.

    A tone is where the recording is its very shape, up to its loudness: correlation above 0.9.
    """
    sound = samples.astype(np.float64)
    found: list[tuple[float, float, Tone]] = []
    energy = np.concatenate([[0.0], np.cumsum(sound**2)])
    for tone in Tone:
        shape = tone_samples(tone, rate_hz).astype(np.float64)
        if len(sound) < len(shape):
            continue
        size = 1 << (len(sound) + len(shape)).bit_length()
        matched = np.fft.irfft(np.fft.rfft(sound, size) * np.conj(np.fft.rfft(shape, size)), size)
        matched = matched[: len(sound) - len(shape) + 1]
        power = energy[len(shape) :] - energy[: -len(shape)]
        likeness = matched / np.sqrt(np.maximum(power, 1e6) * (shape**2).sum())
        while len(likeness) and likeness.max() > 0.9:
            at = int(likeness.argmax())
            found.append((at / rate_hz, float(likeness[at]), tone))
            likeness[max(0, at - len(shape)) : at + len(shape)] = 0.0
    # a short tone can be part of a longer one: of those that overlap, the longer counts
    found.sort(key=lambda item: -len(tone_samples(item[2], rate_hz)))
    kept: list[tuple[float, float, Tone]] = []
    for at_s, like, tone in found:
        length_s = len(tone_samples(tone, rate_hz)) / rate_hz
        if not any(
            at_s < other + len(tone_samples(name, rate_hz)) / rate_hz and other < at_s + length_s
            for other, _, name in kept
        ):
            kept.append((at_s, like, tone))
    return sorted((at_s, tone) for at_s, _, tone in kept)


class Listening:
    """A running `benchvoice listen --json`.

    Attributes:
        events: what it journalled so far, with the monotonic time at which each line came.
        folder: the job's folder.
        spoken: the sentences that were spoken to it.
    """

    def __init__(self, card: SoundCard, jobs: Path, *options: str, job: str = "bench", json_lines: bool = True) -> None:
        self.card = card
        self.folder = jobs / job
        journal = self.folder / "journal.jsonl"
        self._lines_before = len(journal.read_bytes().splitlines()) if journal.exists() else 0
        self.events: list[tuple[float, dict[str, Any]]] = []
        self.spoken: list[str] = []
        command = [sys.executable, "-m", "benchvoice.cli", "listen", str(BOARD), "--meter", str(METER)]
        command += ["--jobs", str(jobs), "--job", job, *(["--json"] if json_lines else []), *options]
        self.process = subprocess.Popen(
            command,
            env={**card.environment, "PYTHONPATH": os.pathsep.join(sys.path)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        self.output: list[str] = []
        self.errors: list[str] = []
        self._threads = [
            threading.Thread(target=self._read, daemon=True),
            threading.Thread(target=self._read_errors, daemon=True),
        ]
        for thread in self._threads:
            thread.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.output.append(line)
            if line.startswith("{"):
                self.events.append((time.monotonic(), json.loads(line)))

    def _read_errors(self) -> None:
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.errors.append(line)

    def greeted(self) -> bool:
        """Whether it has said in this session that it is ready."""
        journal = self.folder / "journal.jsonl"
        lines = journal.read_text(encoding="utf-8").splitlines() if journal.exists() else []
        kinds = [json.loads(line)["kind"] for line in lines if line.endswith("}")]
        return len(kinds) > self._lines_before and "said" in kinds[self._lines_before :]

    def kinds(self, *kinds: str) -> list[dict[str, Any]]:
        """The events of these kinds."""
        return [event for _, event in list(self.events) if event["kind"] in kinds]

    def wait(self, *kinds: str, count: int = 1, patience_s: float = 60.0) -> list[dict[str, Any]]:
        """Wait until there are `count` events of these kinds.

        Raises:
            AssertionError: there were not.
        """
        done = patiently(lambda: len(self.kinds(*kinds)) >= count or self.process.poll() is not None, patience_s)
        found = self.kinds(*kinds)
        assert done is not None, f"no {count} {' or '.join(kinds)}: {self.told()}"
        assert len(found) >= count, f"it ended with {self.process.returncode}: {''.join(self.errors)}"
        return found

    def told(self) -> list[str]:
        """What happened, in short, for the message of a failed test."""
        fields = ("kind", "text", "why", "value", "device", "state")
        return [" ".join(str(event[name]) for name in fields if event.get(name)) for _, event in self.events]

    def say(self, sentence: str) -> None:
        """Speak one of `sentences()` to it; returns when it was spoken."""
        self.spoken.append(sentence)
        self.card.play(sentences()[sentence], RATE_HZ)

    def say_until_taken(self, sentence: str) -> dict[str, Any]:
        """Speak a reading and wait until it is taken; said again, as a person does, where it is asked.

        On a loaded machine the software sound card loses some sound, and a damaged sentence is rightly asked.

        Raises:
            AssertionError: it was not taken, said three times.
        """
        taken = len(self.kinds("reading"))
        for _ in range(3):
            answered = len(self.kinds("reading", "asked"))
            self.say(sentence)
            self.wait("reading", "asked", count=answered + 1)
            if len(found := self.kinds("reading")) > taken:
                return found[taken]
            time.sleep(6.0)  # what the question lasts
        raise AssertionError(f"{sentence!r} is always asked: {self.told()}")

    def end(self, number: signal.Signals = signal.SIGINT) -> int:
        """Tell it to end; its exit status."""
        if self.process.poll() is None:
            self.process.send_signal(number)
        return self.wait_end()

    def wait_end(self) -> int:
        """Wait until it ends; its exit status."""
        status = self.process.wait(60)
        for thread in self._threads:
            thread.join(10)
        return status


@contextmanager
def listening(card: SoundCard, jobs: Path, *options: str, **more: Any) -> Iterator[Listening]:
    """`benchvoice listen`, ready: it has greeted and is silent again."""
    running = Listening(card, jobs, *options, **more)
    try:
        assert patiently(running.greeted, 60.0) is not None, f"it does not greet: {running.errors}"
        time.sleep(3.5)
        yield running
    finally:
        if running.process.poll() is None:
            running.process.kill()
        running.wait_end()

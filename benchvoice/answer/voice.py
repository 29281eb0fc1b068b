"""Edge: what speaks a reply. A voice that prints, one that writes a WAV file, and how to open any of them."""

from __future__ import annotations

import wave
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, NamedTuple, Protocol, Self, TextIO

import numpy as np

from benchvoice.answer.synthesis import Speech, Synthesiser
from benchvoice.answer.tones import tone_samples
from benchvoice.errors import StorageError
from benchvoice.records import Reply, Samples

if TYPE_CHECKING:
    from benchvoice.answer.speaker import SpeakerVoice

__all__ = ["SPEECH_RATE_HZ", "PrintingVoice", "Spoken", "Voice", "WaveVoice", "open_speaker", "reply_samples"]

SPEECH_RATE_HZ = 22_050
"""Sample rate of everything that is spoken, in hertz: what eSpeak NG makes."""

_TONE_TO_WORDS_S = 0.06
_BETWEEN_REPLIES_S = 0.3


class Voice(Protocol):
    """Speaks replies, one after another."""

    def say(self, reply: Reply) -> None:
        """Queues a reply and returns at once. A reply with neither words nor tone is nothing.

        Raises:
            BenchvoiceError: this reply, or an earlier one, cannot be given.
        """

    def stop(self) -> None:
        """Falls silent and forgets what is queued."""

    @property
    def speaking(self) -> bool:
        """Whether sound is being made or about to be; hearing is muted meanwhile."""

    def wait(self, timeout_s: float | None = None) -> bool:
        """Blocks until silent, at most `timeout_s` seconds; whether it is silent."""

    def close(self) -> None:
        """Says what is queued, then lets go of the device or file. Closing twice is harmless."""


def reply_samples(reply: Reply, synthesiser: Synthesiser, rate_hz: int = SPEECH_RATE_HZ) -> Samples:
    """The sound of a reply: its tone, a short pause, its words; mono int16 at `rate_hz`; empty for nothing.

    Raises:
        SpeechError: the words cannot be synthesised.
    """
    parts: list[Samples] = []
    if reply.tone is not None:
        parts.append(tone_samples(reply.tone, rate_hz))
    if reply.text:
        if parts:
            parts.append(_silence(_TONE_TO_WORDS_S, rate_hz))
        parts.append(_at_rate(synthesiser.speech(reply.text), rate_hz))
    return np.concatenate(parts) if parts else np.zeros(0, dtype=np.int16)


def _silence(length_s: float, rate_hz: int) -> Samples:
    return np.zeros(max(0, round(length_s * rate_hz)), dtype=np.int16)


def _at_rate(speech: Speech, rate_hz: int) -> Samples:
    if speech.rate_hz == rate_hz:
        return speech.samples
    import soxr

    samples: Samples = soxr.resample(speech.samples, speech.rate_hz, rate_hz)
    return samples


class _Silent:
    """The part of a voice that makes no sound of its own in this room."""

    @property
    def speaking(self) -> bool:
        return False

    def stop(self) -> None:
        """Nothing is queued: a reply is given before `say` returns."""

    def wait(self, timeout_s: float | None = None) -> bool:  # noqa: ARG002
        return True

    def close(self) -> None:
        """There is nothing to let go of."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


class PrintingVoice(_Silent):
    """Writes each reply as a line of text; a tone without words as its name in brackets.

    Args:
        stream: where to write; it stays open.
        prefix: begins each line.
    """

    def __init__(self, stream: TextIO, *, prefix: str = "") -> None:
        self._stream = stream
        self._prefix = prefix

    def say(self, reply: Reply) -> None:
        text = reply.text or (f"({reply.tone})" if reply.tone else "")
        if text:
            self._stream.write(f"{self._prefix}{text}\n")
            self._stream.flush()


class Spoken(NamedTuple):
    """A reply in a WAV file: when it starts and ends there, in seconds, and what it is."""

    start_s: float
    end_s: float
    reply: Reply


class WaveVoice(_Silent):
    """Appends every reply, tone and words, to one WAV file: mono, 16 bit, SPEECH_RATE_HZ.

    Args:
        path: the file; what was there is replaced.
        synthesiser: makes the words.

    Raises:
        StorageError: the file cannot be written.
    """

    def __init__(self, path: Path, synthesiser: Synthesiser | None = None) -> None:
        self._path = path
        self._synthesiser = synthesiser or Synthesiser()
        self._written = 0  # samples
        self.spoken: list[Spoken] = []
        try:
            self._bytes = path.open("wb")
        except OSError as error:
            raise self._failed(error) from error
        self._file: wave.Wave_write | None = wave.open(self._bytes, "wb")  # noqa: SIM115 - closed by close()
        self._file.setnchannels(1)
        self._file.setsampwidth(2)
        self._file.setframerate(SPEECH_RATE_HZ)

    def say(self, reply: Reply, *, not_before_s: float = 0.0) -> None:
        """Appends a reply, 0.3 s after the one before and not earlier than `not_before_s` into the file.

        Raises:
            SpeechError: the words cannot be synthesised.
            StorageError: the file is closed or cannot be written.
        """
        samples = reply_samples(reply, self._synthesiser)
        if not len(samples):
            return
        ended_s = self._written / SPEECH_RATE_HZ
        start_s = max(ended_s + _BETWEEN_REPLIES_S if self.spoken else 0.0, not_before_s)
        self._write(_silence(start_s - ended_s, SPEECH_RATE_HZ))
        start_s = self._written / SPEECH_RATE_HZ
        self._write(samples)
        self.spoken.append(Spoken(start_s, self._written / SPEECH_RATE_HZ, reply))

    def close(self) -> None:
        """Completes the file.

        Raises:
            StorageError: that failed.
        """
        if self._file is not None:
            file, self._file = self._file, None
            try:
                with self._bytes:
                    file.close()
            except OSError as error:
                raise self._failed(error) from error

    def _write(self, samples: Samples) -> None:
        if self._file is None:
            raise StorageError("this voice is closed", file=self._path)
        try:
            self._file.writeframes(samples.astype("<i2").tobytes())
        except OSError as error:
            raise self._failed(error) from error
        self._written += len(samples)

    def _failed(self, error: OSError) -> StorageError:
        return StorageError(
            f"spoken replies cannot be written ({error.strerror})", file=self._path, cure="Choose another folder"
        )


def open_speaker(device: str | int | None = None, synthesiser: Synthesiser | None = None) -> SpeakerVoice:
    """A voice that plays through a loudspeaker or headset.

    Args:
        device: its name, part of its name, or its number as `benchvoice devices` lists it; None for the usual one.
        synthesiser: makes the words.

    Raises:
        DeviceError: there is no such device, or PortAudio is missing; says what to install or do.
    """
    from benchvoice.answer.speaker import SpeakerVoice

    return SpeakerVoice(synthesiser or Synthesiser(), device=device)

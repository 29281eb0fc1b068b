"""Edge: the microphone. Its stream only copies and queues; what it gives is told apart from what is missing."""

from __future__ import annotations

import threading
import time
from collections import deque
from enum import StrEnum
from typing import Any, NamedTuple

import numpy as np

from benchvoice.devices.clock import SampleClock
from benchvoice.devices.listing import Device
from benchvoice.devices.stream import KeptStream
from benchvoice.devices.zeros import ZeroWatch
from benchvoice.records import RATE_HZ, AudioBlock, Samples

__all__ = ["Microphone", "MicrophoneState"]

_BLOCK_S = 0.02
_DELAY_S = 0.04  # asked of the device: less, and a busy machine loses sound


class MicrophoneState(StrEnum):
    """Whether anything can be heard."""

    LISTENING = "listening"
    DEAF = "deaf"


class _Chunk(NamedTuple):
    """What one call of the device brought.

    Attributes:
        form: how its samples are to be taken.
        data: int16 samples, channels interleaved.
        arrived_s: when it came, monotonic clock, in seconds.
        overflow: whether the device lost sound before it.
        dropped_s: how much before it found no room in the queue, in seconds.
    """

    form: _Form
    data: bytes
    arrived_s: float
    overflow: bool
    dropped_s: float


class _Form:
    """How an opened device gives its sound, and what turns it into 16 kHz mono.

    Args:
        rate_hz: its samples a second.
        channels: how many, interleaved; they are averaged.
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        self.rate_hz = rate_hz
        self.channels = channels
        self._resampler: Any = None
        if rate_hz != RATE_HZ:
            import soxr

            self._resampler = soxr.ResampleStream(rate_hz, RATE_HZ, 1, dtype="int16", quality="HQ")

    def length_s(self, data: bytes) -> float:
        """How long these samples last, in seconds."""
        return len(data) / 2 / self.channels / self.rate_hz

    def mono(self, data: bytes) -> Samples:
        """The sound at 16 kHz; a resampler gives some of it with the next call."""
        samples = np.frombuffer(data, dtype=np.int16)
        if self.channels > 1:
            samples = np.rint(samples.reshape(-1, self.channels).mean(axis=1)).astype(np.int16)
        if self._resampler is not None:
            samples = self._resampler.resample_chunk(samples)
        return samples


class Microphone:
    """Sound from a microphone, block by block. Where the device goes it says so, and listens again when it returns.

    Args:
        device: name, part of a name or number of the input device; None for the system's default.
        longest_queue_s: how much sound may wait to be read, in seconds; what comes when it is full is dropped.

    Raises:
        DeviceError: PortAudio or the device is missing, busy or unfit, or gives no sign of life.
    """

    def __init__(self, device: str | int | None = None, *, longest_queue_s: float = 10.0) -> None:
        self._longest_s = longest_queue_s
        self._chunks: deque[_Chunk] = deque()
        self._waiting_s = 0.0
        self._arrival = threading.Condition()
        self._no_room_s = 0.0  # of sound that was dropped just before what comes next
        self._dropped_s = 0.0
        self._zeros = ZeroWatch()
        self._clock = SampleClock()
        self._form: _Form | None = None  # of the chunk that was read last
        self._open = True
        self._opened_at_s = time.monotonic()
        self._kept = KeptStream("input", device, self._begin, ended=self._forget)

    # --- what it gives --------------------------------------------------------------------------------------------
    def read(self, timeout_s: float) -> AudioBlock | None:
        """The next block of sound, 16 kHz mono, about 0.02 s; None after `timeout_s` seconds, and while deaf.

        Its `start_s` counts from `opened_at_s` on the monotonic clock, by the number of samples, so a hole in the
        sound is a hole in time. `overflow` tells that sound was lost just before it.
        """
        until_s = time.monotonic() + timeout_s
        while (chunk := self._next(until_s - time.monotonic())) is not None:
            opened = chunk.form is not self._form
            if chunk.overflow or chunk.dropped_s or opened:
                self._clock.breaks()
            self._form = chunk.form
            length_s = chunk.form.length_s(chunk.data)
            self._zeros.take(zeros=not any(chunk.data), length_s=length_s, opened=opened)
            samples = chunk.form.mono(chunk.data)
            if len(samples):
                placed = self._clock.take(len(samples) / RATE_HZ, chunk.arrived_s - self._opened_at_s)
                if not opened:  # else it was deaf, which is told otherwise
                    self._dropped_s += max(0.0, placed.missing_s - chunk.dropped_s)
                return AudioBlock(samples, placed.start_s, overflow=placed.broken)
        return None

    @property
    def state(self) -> MicrophoneState:
        """Whether it hears."""
        return MicrophoneState.DEAF if self.why_deaf else MicrophoneState.LISTENING

    @property
    def why_deaf(self) -> str:
        """Why it hears nothing, as a phrase for the user; "" while it listens."""
        if not self._open:
            return "the microphone is closed"
        if self._kept.why:
            return self._kept.why
        return "the microphone gives no sound at all" if self._zeros.silent else ""

    @property
    def dropped_s(self) -> float:
        """Seconds of sound lost since opening, in the full queue or in the device, the time of deafness left out."""
        return self._dropped_s

    @property
    def name(self) -> str:
        """The device's name."""
        return self._kept.name

    @property
    def delay_s(self) -> float:
        """The device's own delay, as it states it, in seconds: so much earlier than it arrived sound was made."""
        return self._kept.delay_s

    @property
    def opened_at_s(self) -> float:
        """The monotonic clock's time, in seconds, at which a block's `start_s` is 0."""
        return self._opened_at_s

    def close(self) -> None:
        """Lets go of the device, within a second even where that hangs. Closing twice is harmless."""
        self._open = False
        self._kept.close()
        with self._arrival:
            self._arrival.notify_all()

    # --- the queue ------------------------------------------------------------------------------------------------
    def _next(self, timeout_s: float) -> _Chunk | None:
        with self._arrival:
            if not self._chunks and self._open:
                self._arrival.wait_for(lambda: self._chunks or not self._open, max(0.0, timeout_s))
            if not self._chunks:
                return None
            chunk = self._chunks.popleft()
            self._waiting_s -= chunk.form.length_s(chunk.data)
            return chunk

    def _put(self, form: _Form, data: bytes, overflow: bool) -> None:
        now_s = time.monotonic()
        length_s = form.length_s(data)
        with self._arrival:
            if self._waiting_s + length_s > self._longest_s:
                self._no_room_s += length_s
                self._dropped_s += length_s
                return
            self._chunks.append(_Chunk(form, data, now_s, overflow, self._no_room_s))
            self._waiting_s += length_s
            self._no_room_s = 0.0
            self._arrival.notify()

    def _forget(self) -> None:
        """Drops what waits: before it was noticed that the device went, the sound may have come from elsewhere."""
        with self._arrival:
            self._chunks.clear()
            self._waiting_s = 0.0

    # --- the device -----------------------------------------------------------------------------------------------
    def _begin(self, sounddevice: Any, device: Device, kept: KeptStream) -> Any:
        form = _Form(*_agree(sounddevice, device))

        def call(data: Any, _frames: int, _time: Any, status: Any) -> None:
            # called by the device's thread: it copies and queues, and must neither raise nor wait
            kept.beat()
            if kept.alive:
                self._put(form, bytes(data), bool(status.input_overflow))

        return sounddevice.RawInputStream(
            samplerate=form.rate_hz,
            blocksize=round(_BLOCK_S * form.rate_hz),
            device=device.opened_as,
            channels=form.channels,
            dtype="int16",
            latency=_DELAY_S,
            callback=call,
        )


def _agree(sounddevice: Any, device: Device) -> tuple[int, int]:
    """Rate in hertz and number of channels that the device takes, as near to 16 kHz mono as it goes.

    Raises:
        sounddevice.PortAudioError: it takes none.
    """
    choices = [
        (rate_hz, channels)
        for rate_hz in dict.fromkeys((RATE_HZ, device.rate_hz))
        for channels in dict.fromkeys((1, min(2, device.inputs), device.inputs))
    ]
    for rate_hz, channels in choices[:-1]:
        try:
            sounddevice.check_input_settings(device.opened_as, channels, "int16", samplerate=rate_hz)
        except sounddevice.PortAudioError:
            continue
        return rate_hz, channels
    return choices[-1]

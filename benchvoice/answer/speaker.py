"""Edge: a voice that plays through one output stream of ours, so that it can be cut short and known to be silent."""

from __future__ import annotations

import queue
import threading
import time
from collections import deque
from types import TracebackType
from typing import Any, Self

import numpy as np

from benchvoice.answer.synthesis import Synthesiser
from benchvoice.answer.voice import SPEECH_RATE_HZ, reply_samples
from benchvoice.errors import BenchvoiceError, DeviceError
from benchvoice.records import Reply, Samples

__all__ = ["SampleQueue", "SpeakerVoice"]

_DELAY_S = 0.04  # asked of the device: less, and a busy machine leaves gaps
_FADE_S = 0.005  # sound that is cut short fades this long instead of clicking
_STALLED_S = 2.0  # a device that has asked for nothing this long is gone


class SampleQueue:
    """Samples waiting to be played. Safe between the thread that fills it and the device's own.

    Args:
        rate_hz: samples a second.
    """

    def __init__(self, rate_hz: int) -> None:
        self._fade = round(_FADE_S * rate_hz)
        self._parts: deque[Samples] = deque()
        self._lock = threading.Lock()

    def __len__(self) -> int:
        with self._lock:
            return sum(len(part) for part in self._parts)

    def put(self, samples: Samples) -> None:
        """Appends samples."""
        if len(samples):
            with self._lock:
                self._parts.append(samples)

    def take(self, out: Samples) -> int:
        """Fills `out` with the next samples, then with silence; how many were samples."""
        filled = 0
        with self._lock:
            while filled < len(out) and self._parts:
                part = self._parts.popleft()
                n = min(len(part), len(out) - filled)
                out[filled : filled + n] = part[:n]
                if n < len(part):
                    self._parts.appendleft(part[n:])
                filled += n
        out[filled:] = 0
        return filled

    def cut(self) -> None:
        """Forgets all but the next few milliseconds, which fade away."""
        with self._lock:
            rest = np.concatenate(self._parts)[: self._fade] if self._parts else np.zeros(0, dtype=np.int16)
            self._parts.clear()
            if len(rest):
                self._parts.append((rest * np.linspace(1, 0, len(rest))).astype(np.int16))


class SpeakerVoice:
    """Speaks through a loudspeaker. `say` returns at once; words are made and played in the background.

    Args:
        synthesiser: makes the words.
        device: name, part of a name or number of the output device; None for the usual one.

    Raises:
        DeviceError: PortAudio is missing, or there is no such device, or it cannot be opened.
    """

    def __init__(self, synthesiser: Synthesiser, *, device: str | int | None = None) -> None:
        self._synthesiser = synthesiser
        self._device = device
        self._replies: queue.SimpleQueue[tuple[int, Reply] | None] = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._pending = 0  # replies taken in and not yet in the queue of samples
        self._generation = 0  # counted up by stop(): replies of an earlier one are dropped
        self._failure: BenchvoiceError | None = None
        self._closed = False
        self._rate_hz = SPEECH_RATE_HZ
        self._samples = SampleQueue(SPEECH_RATE_HZ)
        self._delay_s = 0.0  # the device's own, as it states it
        self._asked_at = self._silent_at = 0.0  # monotonic clock, seconds
        self._stream = self._open()
        self._worker = threading.Thread(target=self._work, name="voice", daemon=True)
        self._worker.start()

    # --- the Voice ------------------------------------------------------------------------------------------------
    def say(self, reply: Reply) -> None:
        """Queues a reply and returns at once.

        Raises:
            DeviceError: the device has gone and does not come back, or this voice is closed.
            SpeechError: an earlier reply could not be synthesised.
        """
        failure, self._failure = self._failure, None
        if failure is not None:
            raise failure
        if self._closed:
            raise DeviceError("this voice is closed")
        if not self._alive():
            self._reopen()
        if reply.text or reply.tone is not None:
            with self._lock:
                self._pending += 1
                self._replies.put((self._generation, reply))

    def stop(self) -> None:
        """Falls silent within some milliseconds and the device's own delay; forgets what is queued."""
        with self._lock:
            self._generation += 1
            self._samples.cut()

    @property
    def speaking(self) -> bool:
        """Whether sound is on its way: being made, queued, or still within the device's own delay."""
        if not self._alive():
            return False
        return self._pending > 0 or len(self._samples) > 0 or time.monotonic() < self._silent_at

    def wait(self, timeout_s: float | None = None) -> bool:
        """Blocks until silent, at most `timeout_s` seconds; whether it is silent."""
        until = None if timeout_s is None else time.monotonic() + timeout_s
        while self.speaking:
            if until is not None and time.monotonic() >= until:
                return False
            time.sleep(0.005)
        return True

    def close(self) -> None:
        """Says what is queued, then closes the device.

        Raises:
            SpeechError: a reply could not be synthesised.
        """
        if self._closed:
            return
        self._closed = True
        self.wait()
        self._replies.put(None)
        self._worker.join()
        self._close_stream()
        if self._failure is not None:
            raise self._failure

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is not None:
            self.stop()
        self.close()

    # --- making sound ---------------------------------------------------------------------------------------------
    def _work(self) -> None:
        while (item := self._replies.get()) is not None:
            generation, reply = item
            try:
                samples = reply_samples(reply, self._synthesiser, self._rate_hz) if self._current(generation) else None
                with self._lock:
                    if samples is not None and generation == self._generation:
                        self._samples.put(samples)
            except BenchvoiceError as error:  # told to the next who calls: this thread has nobody to tell
                self._failure = error
            finally:
                with self._lock:
                    self._pending -= 1

    def _current(self, generation: int) -> bool:
        with self._lock:
            return generation == self._generation

    def _feed(self, out: Any, _frames: int, _time: Any, _status: Any) -> None:
        """Called by the device's thread for its next samples. Nothing here may raise or wait."""
        now = time.monotonic()
        self._asked_at = now
        if len(self._samples):  # before they are taken, so that `speaking` has no gap
            self._silent_at = now + self._delay_s + len(out) / self._rate_hz
        self._samples.take(out[:, 0])

    # --- the device -----------------------------------------------------------------------------------------------
    def _open(self) -> Any:
        sounddevice = _sounddevice()
        rate_hz = SPEECH_RATE_HZ
        try:
            info = sounddevice.query_devices(self._device, "output")
            try:
                sounddevice.check_output_settings(self._device, channels=1, dtype="int16", samplerate=rate_hz)
            except sounddevice.PortAudioError:  # some devices know one rate only
                rate_hz = round(info["default_samplerate"])
            self._rate_hz = rate_hz
            self._samples = SampleQueue(rate_hz)
            self._asked_at = time.monotonic()
            stream = sounddevice.OutputStream(
                samplerate=rate_hz,
                device=self._device,
                channels=1,
                dtype="int16",
                latency=_DELAY_S,
                callback=self._feed,
            )
            self._delay_s = stream.latency
            stream.start()
        except (sounddevice.PortAudioError, ValueError) as error:
            named = "the usual sound output" if self._device is None else f"sound output '{self._device}'"
            raise DeviceError(
                f"{named} cannot be opened ({error})",
                cure="Connect a loudspeaker or headset, choose one that 'benchvoice devices' lists, or use --quiet",
            ) from error
        return stream

    def _alive(self) -> bool:
        return bool(self._stream.active) and time.monotonic() - self._asked_at < _STALLED_S

    def _reopen(self) -> None:
        self._close_stream()
        self._stream = self._open()

    def _close_stream(self) -> None:
        # closing a device that has frozen never returns: that is left to a thread nobody waits for long
        closing = threading.Thread(target=self._stream.close, kwargs={"ignore_errors": True}, daemon=True)
        closing.start()
        closing.join(0.5)


def _sounddevice() -> Any:
    try:
        import sounddevice
    except OSError as error:
        raise DeviceError(
            f"sound cannot be played: {error}",
            cure="Install PortAudio, on Debian: apt-get install libportaudio2; or use --quiet",
        ) from error
    return sounddevice

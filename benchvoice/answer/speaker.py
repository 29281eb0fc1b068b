"""Edge: a voice that plays through one output stream of ours, so that it can be cut short and known to be silent."""

from __future__ import annotations

import queue
import threading
import time
from collections import deque
from types import TracebackType
from typing import Any, Self

import numpy as np

from benchvoice.answer.played import Played
from benchvoice.answer.synthesis import Synthesiser
from benchvoice.answer.voice import SPEECH_RATE_HZ, reply_samples
from benchvoice.devices.listing import Device
from benchvoice.devices.stream import KeptStream
from benchvoice.errors import BenchvoiceError, DeviceError
from benchvoice.records import Reply, Samples

__all__ = ["SampleQueue", "SpeakerVoice"]

_DELAY_S = 0.04  # asked of the device: less, and a busy machine leaves gaps
_FADE_S = 0.005  # sound that is cut short fades this long instead of clicking


class SampleQueue:
    """Samples waiting to be played. Safe between the thread that fills it and the device's own.

    Args:
        rate_hz: samples a second.
    """

    def __init__(self, rate_hz: int) -> None:
        self._fade = round(_FADE_S * rate_hz)
        self._parts: deque[Samples] = deque()
        self._lock = threading.Lock()
        self._paused = False
        self._fading: Samples = np.zeros(0, dtype=np.int16)  # the last of what sounded before a pause

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
            if self._paused:
                filled = min(len(out), len(self._fading))
                out[:filled], self._fading = self._fading[:filled], self._fading[filled:]
            while not self._paused and filled < len(out) and self._parts:
                part = self._parts.popleft()
                n = min(len(part), len(out) - filled)
                out[filled : filled + n] = part[:n]
                if n < len(part):
                    self._parts.appendleft(part[n:])
                filled += n
        out[filled:] = 0
        return filled

    def cut(self) -> None:
        """Forgets all but the next few milliseconds, which fade away; a pause is over."""
        with self._lock:
            rest = self._fading if self._paused else self._next_fading()
            self._paused = False
            self._parts.clear()
            if len(rest):
                self._parts.append(rest)

    def pause(self) -> None:
        """Keeps everything back; the next few milliseconds sound, fading away, and again when it goes on."""
        with self._lock:
            if not self._paused:
                self._paused, self._fading = True, self._next_fading()

    def go_on(self) -> None:
        """Ends a pause."""
        with self._lock:
            self._paused = False

    def _next_fading(self) -> Samples:
        rest = np.concatenate(self._parts)[: self._fade] if self._parts else np.zeros(0, dtype=np.int16)
        return (rest * np.linspace(1, 0, len(rest))).astype(np.int16)


class SpeakerVoice:
    """Speaks through a loudspeaker. `say` returns at once; words are made and played in the background.

    Where the device goes, what was queued is forgotten, since a verdict that comes late belongs to nothing any more;
    when the device returns, speaking goes on with what is said then.

    Args:
        synthesiser: makes the words.
        device: name, part of a name or number of the output device; None for the usual one.

    Raises:
        DeviceError: PortAudio is missing, or there is no such device, or it cannot be opened.
    """

    def __init__(self, synthesiser: Synthesiser, *, device: str | int | None = None) -> None:
        self._synthesiser = synthesiser
        self._replies: queue.SimpleQueue[tuple[int, Reply] | None] = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._pending = 0  # replies taken in and not yet in the queue of samples
        self._generation = 0  # counted up by stop(): replies of an earlier one are dropped
        self._failure: BenchvoiceError | None = None
        self._closed = False
        self._rate_hz = SPEECH_RATE_HZ
        self._samples = SampleQueue(SPEECH_RATE_HZ)
        self._played = Played(SPEECH_RATE_HZ)
        self._silent_at = 0.0  # monotonic clock, seconds
        self._kept = KeptStream("output", device, self._begin, ended=self.stop, busy=lambda: self.speaking)
        self._worker = threading.Thread(target=self._work, name="voice", daemon=True)
        self._worker.start()

    # --- the Voice ------------------------------------------------------------------------------------------------
    def say(self, reply: Reply) -> None:
        """Queues a reply and returns at once.

        Raises:
            DeviceError: the device is gone just now, or this voice is closed; the reply is not kept for later.
            SpeechError: an earlier reply could not be synthesised.
        """
        failure, self._failure = self._failure, None
        if failure is not None:
            raise failure
        if self._closed:
            raise DeviceError("this voice is closed")
        if not self._kept.alive:
            raise DeviceError(f"nothing can be said: {self.mute_why}", cure="Connect it again, or use --quiet")
        if reply.text or reply.tone is not None:
            with self._lock:
                self._pending += 1
                self._replies.put((self._generation, reply))

    def stop(self) -> None:
        """Falls silent within some milliseconds and the device's own delay; forgets what is queued."""
        with self._lock:
            self._generation += 1
            self._samples.cut()

    def pause(self) -> None:
        """Falls silent as `stop` does, but keeps what is queued until `go_on`, or until `stop` forgets it."""
        self._samples.pause()

    def go_on(self) -> None:
        """Goes on where it paused."""
        self._samples.go_on()

    @property
    def speaking(self) -> bool:
        """Whether sound is on its way: being made, queued, or still within the device's own delay."""
        if not self._kept.alive:
            return False
        return self._pending > 0 or len(self._samples) > 0 or time.monotonic() < self._silent_at

    @property
    def mute_why(self) -> str:
        """Why nothing that is said can be heard, as a phrase for the user; "" while all is well."""
        return self._kept.why

    @property
    def name(self) -> str:
        """The device's name."""
        return self._kept.name

    @property
    def delay_s(self) -> float:
        """The device's own delay, as it states it, in seconds."""
        return self._kept.delay_s

    def played(self, since_s: float) -> Samples:
        """What has left the device since then, up to now: mono int16 at 16 kHz, silence included.

        Args:
            since_s: monotonic clock, in seconds; the last 20 seconds are remembered, before them it is silence.
        """
        return self._played.between(since_s, time.monotonic())

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
        self._kept.close()
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
        try:
            self._synthesiser.speech("ready")  # the first words take longest: it is loaded with them
        except BenchvoiceError as error:  # told to the next who calls
            self._failure = error
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

    # --- the device -----------------------------------------------------------------------------------------------
    def _begin(self, sounddevice: Any, device: Device, kept: KeptStream) -> Any:
        rate_hz = SPEECH_RATE_HZ
        try:
            sounddevice.check_output_settings(device.opened_as, channels=1, dtype="int16", samplerate=rate_hz)
        except sounddevice.PortAudioError:  # some devices know one rate only
            rate_hz = device.rate_hz
        with self._lock:
            self._rate_hz = rate_hz
            self._samples = samples = SampleQueue(rate_hz)
            self._played = played = Played(rate_hz)

        def feed(out: Any, _frames: int, times: Any, _status: Any) -> None:
            # called by the device's thread for its next samples: it must neither raise nor wait
            kept.beat()
            now_s = time.monotonic()
            ahead_s = times.outputBufferDacTime - times.currentTime
            if len(samples):  # before they are taken, so that `speaking` has no gap
                self._silent_at = now_s + max(ahead_s, kept.delay_s) + len(out) / rate_hz
            samples.take(out[:, 0])
            played.put(out[:, 0], now_s + ahead_s)

        return sounddevice.OutputStream(
            samplerate=rate_hz,
            device=device.opened_as,
            channels=1,
            dtype="int16",
            latency=_DELAY_S,
            callback=feed,
        )

"""Blocks of sound into utterances: where speech begins and ends, what is kept around it, and how loud it was."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from benchvoice.hear.bandwidth import is_narrow
from benchvoice.records import RATE_HZ, AudioBlock, Samples, Utterance

__all__ = ["FRAME_SAMPLES", "SegmentSettings", "Segmenter", "SpeechDetector"]

FRAME_SAMPLES = 320
"""Samples of one frame: 20 ms."""

_FULL_SCALE = 32767
_QUIET_DBFS = -100.0
_HOLE_S = FRAME_SAMPLES / RATE_HZ  # a block that starts further off than this does not follow on


class SpeechDetector(Protocol):
    """Tells speech from other sound, one frame after the other."""

    def probability(self, frame: Samples) -> float:
        """How surely the next FRAME_SAMPLES samples hold speech, 0 to 1."""
        ...

    def reset(self) -> None:
        """Forget what was heard so far."""
        ...


@dataclass(frozen=True)
class SegmentSettings:
    """When speech begins and ends.

    Attributes:
        threshold: probability from which a frame counts as speech (0.3 was measured, see `speech_detector`).
        keep_s: quiet kept before and after speech, in seconds.
        end_wait_s: quiet that ends an utterance, in seconds; longer than the pauses inside a reading. In the human
            recordings the pauses within a counted string lie between 0.4 and 0.6 s, those between strings above 1 s.
        longest_s: an utterance that reaches this length is cut there, in seconds.
        shortest_s: speech shorter than this, all frames together, is not an utterance, in seconds.
    """

    threshold: float = 0.3
    keep_s: float = 0.3
    end_wait_s: float = 0.7
    longest_s: float = 15.0
    shortest_s: float = 0.15


@dataclass(frozen=True)
class _Frame:
    samples: Samples
    voiced: bool
    covered: bool = False  # speech within a muted span


class Segmenter:
    """Cuts a stream into utterances. Feed it every block in order; it needs no clock.

    A muted span counts as quiet whatever is heard in it: use it for the time in which we speak ourselves. Speech that
    is not wholly outside of it may lack words: an utterance with speech muted in it or just before it is marked `cut`.
    """

    def __init__(self, detector: SpeechDetector, settings: SegmentSettings = SegmentSettings()) -> None:
        self._detector = detector
        self.settings = settings
        frame_s = FRAME_SAMPLES / RATE_HZ
        self._keep = round(settings.keep_s / frame_s)
        self._wait = max(1, round(settings.end_wait_s / frame_s))
        self._longest = max(2 * self._keep + 2, round(settings.longest_s / frame_s))
        self._shortest = max(1, round(settings.shortest_s / frame_s))
        self._muted: deque[tuple[float, float]] = deque()
        self._rest: list[Samples] = []
        self._origin_s = 0.0  # time of sample 0 of the present unbroken stretch
        self._taken = 0  # samples of that stretch made into frames or dropped
        self._begin(0.0)

    def _begin(self, start_s: float) -> None:
        self._origin_s = start_s
        self._taken = 0
        self._rest = []
        self._before: deque[_Frame] = deque(maxlen=self._keep)
        self._frames: list[_Frame] = []  # the utterance so far, with the quiet kept before it
        self._first = 0  # index of its first frame in the stretch
        self._count = 0  # frames made so far in the stretch
        self._quiet = 0  # frames since the last voiced one
        self._detector.reset()

    @property
    def speaking(self) -> bool:
        """Whether an utterance is open just now."""
        return bool(self._frames)

    @property
    def quiet_s(self) -> float:
        """Seconds of quiet since the last voiced frame of the open utterance; 0 where none is open."""
        return self._quiet * FRAME_SAMPLES / RATE_HZ if self._frames else 0.0

    @property
    def voiced_s(self) -> float:
        """Seconds of speech in the open utterance, all voiced frames together; 0 where none is open."""
        return sum(frame.voiced for frame in self._frames) * FRAME_SAMPLES / RATE_HZ

    @property
    def voiced_until_s(self) -> float | None:
        """Where the last voiced frame of the open utterance ends, in seconds of the stream; None where none is open."""
        if not self._frames:
            return None
        return self._origin_s + (self._first + len(self._frames) - self._quiet) * FRAME_SAMPLES / RATE_HZ

    def so_far(self) -> Utterance | None:
        """The open utterance as `end` would end it now, without ending it; None where none is open or it is too short.

        As long as nothing more is said, it differs from the utterance that quiet ends only in the quiet kept after it.
        """
        spare = max(0, self._quiet - self._keep)
        found = self._made(self._frames[: len(self._frames) - spare], cut=False) if self._frames else []
        return found[0] if found else None

    def end(self) -> list[Utterance]:
        """End the open utterance now, as if the quiet had lasted; what follows belongs to the next one."""
        return self._close(cut=False) if self._frames else []

    def drop(self) -> None:
        """Forget the open utterance: its sound was lost, or it is dealt with."""
        self._frames = []
        self._quiet = 0

    def mute(self, start_s: float, end_s: float) -> None:
        """Count the sound from `start_s` to `end_s` (seconds of the stream) as quiet. Call before feeding it."""
        if end_s > start_s:
            self._muted.append((start_s, end_s))

    def feed(self, block: AudioBlock) -> list[Utterance]:
        """The utterances that this block ends.

        Where sound was lost before the block (its overflow flag, or a start time that does not follow on), what was
        open is ended there and marked `cut`: words around a hole could be taken for words that were said.
        """
        found: list[Utterance] = []
        waiting = sum(map(len, self._rest))
        expected = self._origin_s + (self._taken + waiting) / RATE_HZ
        if block.overflow or abs(block.start_s - expected) > _HOLE_S:
            found += self.finish()
            self._begin(block.start_s)
        elif not self._frames:  # a microphone's crystal runs away from its clock, by less than a hole in a sentence
            self._origin_s += block.start_s - expected
        self._rest.append(block.samples)
        sound = np.concatenate(self._rest) if len(self._rest) > 1 else block.samples
        whole = len(sound) // FRAME_SAMPLES * FRAME_SAMPLES
        for at in range(0, whole, FRAME_SAMPLES):
            found += self._frame(sound[at : at + FRAME_SAMPLES])
        self._rest = [sound[whole:]]
        return found

    def finish(self) -> list[Utterance]:
        """The utterance still open at the end of the stream, if any; marked `cut` where no quiet ended it."""
        waiting = np.concatenate([*self._rest, np.zeros(0, dtype=np.int16)])
        found = self._frame(waiting) if len(waiting) else []
        if self._frames:
            found += self._close(cut=self._quiet < min(self._keep, self._wait))
        start_s = self._origin_s + self._taken / RATE_HZ
        self._begin(start_s)
        return found

    def _is_muted(self, start_s: float, end_s: float) -> bool:
        while self._muted and self._muted[0][1] <= start_s:
            self._muted.popleft()
        return any(start < end_s and end > start_s for start, end in self._muted)

    def _frame(self, samples: Samples) -> list[Utterance]:
        start_s = self._origin_s + self._taken / RATE_HZ
        self._taken += len(samples)
        self._count += 1
        probability = self._detector.probability(_filled(samples))
        muted = self._is_muted(start_s, start_s + FRAME_SAMPLES / RATE_HZ)
        speech = probability >= self.settings.threshold
        frame = _Frame(np.zeros_like(samples) if muted else samples, speech and not muted, speech and muted)
        if not self._frames:
            if not frame.voiced:
                self._before.append(frame)
                return []
            self._frames = [*self._before, frame]
            self._first = self._count - len(self._frames)
            self._before.clear()
            self._quiet = 0
            return []
        self._frames.append(frame)
        self._quiet = 0 if frame.voiced else self._quiet + 1
        if self._quiet >= max(self._wait, self._keep):
            return self._close(cut=False)
        if len(self._frames) >= self._longest:
            return self._close(cut=True)
        return []

    def _close(self, *, cut: bool) -> list[Utterance]:
        """End the open utterance; what is beyond the kept quiet stays for the next one."""
        spare = max(0, self._quiet - self._keep)
        kept = self._frames[: len(self._frames) - spare]
        found = self._made(kept, cut=cut)
        self._before = deque(self._frames[len(kept) :], maxlen=self._keep)
        self.drop()
        return found

    def _made(self, frames: list[_Frame], *, cut: bool) -> list[Utterance]:
        """The open utterance's first `frames` as an utterance; none where there is too little speech in them."""
        if sum(frame.voiced for frame in frames) < self._shortest:
            return []
        cut = cut or any(frame.covered for frame in frames)
        return [_utterance(frames, self._origin_s + self._first * FRAME_SAMPLES / RATE_HZ, cut=cut)]


def _utterance(frames: list[_Frame], start_s: float, *, cut: bool) -> Utterance:
    samples = np.concatenate([frame.samples for frame in frames])
    voiced = [frame.samples for frame in frames if frame.voiced]
    # frames beside speech hold its edges, so noise is measured on the rest
    near = {i + d for i, frame in enumerate(frames) if frame.voiced for d in (-2, -1, 0, 1, 2)}
    quiet = [frame.samples for i, frame in enumerate(frames) if i not in near and frame.samples.any()]
    return Utterance(
        samples,
        start_s,
        start_s + len(samples) / RATE_HZ,
        _level_dbfs(np.concatenate(voiced)),
        _level_dbfs(np.concatenate(quiet)) if quiet else None,
        clipped=bool(np.count_nonzero(np.abs(samples.astype(np.int32)) >= _FULL_SCALE) >= 3),
        cut=cut,
        narrow=is_narrow(samples),
    )


def _filled(samples: Samples) -> Samples:
    """A frame of full length; the last one of a stream may be shorter."""
    missing = FRAME_SAMPLES - len(samples)
    return np.concatenate([samples, np.zeros(missing, dtype=np.int16)]) if missing else samples


def _level_dbfs(samples: Samples) -> float:
    """Root mean square level in dB relative to full scale, where a full-scale square wave is 0; at least -100."""
    rms = math.sqrt(float(np.mean(np.square(samples.astype(np.float64)))))
    return max(_QUIET_DBFS, 20 * math.log10(rms / 32768)) if rms > 0 else _QUIET_DBFS

"""Recordings and raw standard input as blocks of 16 kHz mono sound. Files are streamed, never loaded whole."""

from __future__ import annotations

import stat
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import numpy.typing as npt

from benchvoice.errors import AudioError
from benchvoice.records import RATE_HZ, AudioBlock, Samples

__all__ = ["BLOCK_SAMPLES", "NARROW_BAND_HZ", "Recording", "raw_blocks", "sound_kind"]

BLOCK_SAMPLES = 1600
"""Samples of one block: 0.1 s."""

NARROW_BAND_HZ = 16_000
"""A recording of a lower rate than this lacks the sounds that tell "six" from "fix": it is called narrow band."""

_READ_S = 0.1  # so little is lost before the place where a damaged file stops decoding
_CURE = "Give a WAV, FLAC or OGG recording"
_KINDS = ((b"RIFF", "WAV"), (b"fLaC", "FLAC"), (b"OggS", "OGG"))


def sound_kind(head: bytes) -> str | None:
    """The kind of sound file that begins with these bytes ("WAV"), four at least; None where it is none we know."""
    return next((kind for magic, kind in _KINDS if head.startswith(magic)), None)


class Recording:
    """A sound file of any rate and number of channels, read as AudioBlocks.

    Opening it reads the header only. `blocks()` may be called again; each call starts from the beginning.

    Attributes:
        path: the file.
        rate_hz: its own sample rate.
        channels: how many channels it has; they are averaged.
        duration_s: its length in seconds by its header.

    Raises:
        AudioError: it is missing, a folder or a stream, cannot be read, is empty, not sound, damaged, or holds no
            samples.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        head = _head(path)
        if not head:
            raise AudioError("the recording is empty (0 bytes)", file=path, cure="Record it again")
        with _open(path, head) as sound:
            self.rate_hz: int = sound.samplerate
            self.channels: int = sound.channels
            self._frames: int = sound.frames
            self.duration_s: float = sound.frames / sound.samplerate
        self._remarks: dict[str, None] = {}
        if self._frames == 0:
            raise AudioError("the recording holds no samples", file=path, cure="Record it again")
        if self.rate_hz < NARROW_BAND_HZ:
            self._note(f"narrow band: recorded at {self.rate_hz} Hz, below {NARROW_BAND_HZ} Hz")
        missing = _missing_bytes(path)
        if missing:
            self._note(f"cut short: {missing} bytes that its header promises are missing")

    @property
    def narrow_band(self) -> bool:
        """Whether it was recorded at a telephone-like rate, below NARROW_BAND_HZ."""
        return self.rate_hz < NARROW_BAND_HZ

    @property
    def remarks(self) -> tuple[str, ...]:
        """What is wrong with it though it can be heard; complete once `blocks()` has run out.

        A file that ends before its header says so, or whose end cannot be decoded, is kept up to there.
        """
        return tuple(self._remarks)

    def _note(self, remark: str) -> None:
        self._remarks[remark] = None

    def blocks(self) -> Iterator[AudioBlock]:
        """The sound, mono, int16 at 16 kHz, BLOCK_SAMPLES at a time (the last block may be shorter).

        Raises:
            AudioError: nothing of it can be decoded.
        """
        done = 0
        waiting = np.zeros(0, dtype=np.int16)
        for part in self._resampled():
            waiting = np.concatenate([waiting, part])
            whole = len(waiting) // BLOCK_SAMPLES * BLOCK_SAMPLES
            for start in range(0, whole, BLOCK_SAMPLES):
                yield AudioBlock(waiting[start : start + BLOCK_SAMPLES].copy(), (done + start) / RATE_HZ)
            done += whole
            waiting = waiting[whole:]
        if len(waiting):
            yield AudioBlock(waiting, done / RATE_HZ)
        elif not done:
            raise AudioError("nothing of the recording can be decoded", file=self.path, cure="Record it again")

    def _resampled(self) -> Iterator[Samples]:
        if self.rate_hz == RATE_HZ:
            for part in self._read():
                yield _to_int16(part)
            return
        import soxr

        stream = soxr.ResampleStream(self.rate_hz, RATE_HZ, 1, dtype="float32", quality="HQ")
        for part in self._read():
            yield _to_int16(stream.resample_chunk(part))
        yield _to_int16(stream.resample_chunk(np.zeros(0, dtype=np.float32), last=True))

    def _read(self) -> Iterator[npt.NDArray[np.float32]]:
        import soundfile

        step = max(1, int(self.rate_hz * _READ_S))
        read = 0
        with _open(self.path, _head(self.path)) as sound:
            while True:
                try:
                    part = sound.read(step, dtype="float32", always_2d=True)
                except soundfile.LibsndfileError as error:
                    self._note(f"damaged: kept {read / self.rate_hz:.1f} s, then {error.error_string.rstrip('.')}")
                    return
                if not len(part):
                    break
                read += len(part)
                yield np.nan_to_num(part.mean(axis=1, dtype=np.float32))
        if read < self._frames:
            self._note(f"cut short: kept {read / self.rate_hz:.1f} s of {self.duration_s:.1f} s")


def raw_blocks(stream: BinaryIO | None = None) -> Iterator[AudioBlock]:
    """Raw sound from standard input (or `stream`): 16 kHz, one channel, 16-bit signed little-endian, no header.

    Blocks as soon as a block's worth has arrived; ends with the stream. An odd last byte is dropped.

    Raises:
        AudioError: standard input is closed, the stream ended before the first sample, or it begins with the header of
            a sound file.
    """
    if stream is None and sys.stdin is None:  # so Python tells that it is closed
        raise AudioError("it is closed", file="standard input", cure=_RAW_CURE)
    source = sys.stdin.buffer if stream is None else stream
    done = 0
    while True:
        data = _read_exactly(source, BLOCK_SAMPLES * 2)
        if done == 0:
            _refuse_header(data)
        samples = np.frombuffer(data[: len(data) // 2 * 2], dtype="<i2").astype(np.int16)
        if len(samples):
            yield AudioBlock(samples, done / RATE_HZ)
            done += len(samples)
        if len(data) < BLOCK_SAMPLES * 2:
            break
    if not done:
        raise AudioError("no sound arrived", file="standard input", cure=_RAW_CURE)


_RAW_CURE = "Send raw 16-bit mono samples at 16000 Hz, such as: sox voice.wav -t raw -r 16000 -c 1 -b 16 -e signed -"


def _refuse_header(data: bytes) -> None:
    kind = sound_kind(data)
    if kind is not None:
        raise AudioError(f"this is a {kind} file, not raw sound", file="standard input", cure=_RAW_CURE)


def _read_exactly(source: BinaryIO, size: int) -> bytes:
    parts: list[bytes] = []
    while size > 0 and (part := source.read(size)):
        parts.append(part)
        size -= len(part)
    return b"".join(parts)


def _to_int16(part: npt.NDArray[np.float32]) -> Samples:
    samples: Samples = np.clip(np.rint(part * np.float32(32768)), -32768, 32767).astype(np.int16)
    return samples


def _head(path: Path) -> bytes:
    """The first bytes of a file, or why it cannot be read: libsndfile would say "System error" for most of it."""
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise AudioError("this is a folder, not a recording", file=path, cure=_CURE)
        if not stat.S_ISREG(mode):
            cure = "Send a stream as raw sound on standard input, named -"
            raise AudioError("this is not a file, and a recording is read more than once", file=path, cure=cure)
        with path.open("rb") as file:
            return file.read(16)
    except FileNotFoundError:
        raise AudioError("there is no such recording", file=path, cure="Check the name") from None
    except PermissionError:
        cure = "Check the permissions of the file and of its folder"
        raise AudioError("there is no permission to read it", file=path, cure=cure) from None
    except OSError as error:
        raise AudioError(f"it cannot be read ({error.strerror})", file=path, cure="Check the name and disk") from None


def _open(path: Path, head: bytes) -> Any:
    try:
        import soundfile
    except (ImportError, OSError) as error:
        raise AudioError(f"soundfile cannot be loaded ({error})", cure="Install it: pip install soundfile") from None
    try:
        return soundfile.SoundFile(str(path))
    except soundfile.LibsndfileError as error:
        reason, kind = error.error_string.rstrip("."), sound_kind(head)
        if kind is None:
            raise AudioError(f"this is not a recording ({reason})", file=path, cure=_CURE) from None
        what = f"this {kind} file's header is cut short or damaged ({reason})"
        raise AudioError(what, file=path, cure="Record it again, or copy it again from where it came") from None


def _missing_bytes(path: Path) -> int:
    """How many bytes a WAV file's header promises beyond the end of the file; 0 for other kinds and for streams.

    libsndfile trims the length to what is there and says nothing, so the header is read here (RIFF: a chunk's name,
    then its length in four bytes, little-endian).
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        if file.read(4) != b"RIFF":
            return 0
        at = 12
        while at + 8 <= size:
            file.seek(at)
            head = file.read(8)
            length = int.from_bytes(head[4:], "little")
            if head[:4] == b"data":
                streamed = length in (0, 0xFFFFFFFF, 0x7FFFFFFF)  # written before the length was known
                return 0 if streamed else max(0, at + 8 + length - size)
            at += 8 + length + length % 2
    return 0

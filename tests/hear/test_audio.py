"""Recordings of every kind as 16 kHz mono blocks, and what is said of those that cannot be read."""

from __future__ import annotations

import io
import os
import shutil
import tempfile
import tracemalloc
import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import AudioError
from benchvoice.hear.audio import BLOCK_SAMPLES, Recording, raw_blocks
from benchvoice.records import RATE_HZ, Samples
from tests.hear.sounds import load


def tone(rate_hz: int, seconds: float = 1.0, frequency_hz: float = 440.0, level: float = 0.5) -> np.ndarray:
    return level * np.sin(2 * np.pi * frequency_hz * np.arange(round(rate_hz * seconds)) / rate_hz)


def strongest_hz(samples: Samples) -> float:
    spectrum = np.abs(np.fft.rfft(samples.astype(np.float64) * np.hanning(len(samples))))
    return float(np.argmax(spectrum) * RATE_HZ / len(samples))


@pytest.mark.parametrize("rate_hz", [8000, 11025, 16000, 22050, 44100, 48000, 96000, 192000])
@pytest.mark.parametrize("channels", [1, 2, 6])
def test_any_rate_and_channels_keep_pitch_length_and_level(tmp_path: Path, rate_hz: int, channels: int) -> None:
    path = tmp_path / "tone.wav"
    soundfile.write(path, np.stack([tone(rate_hz)] * channels, axis=1), rate_hz)
    recording = Recording(path)
    heard = load(path)
    assert (recording.rate_hz, recording.channels, recording.duration_s) == (rate_hz, channels, 1.0)
    assert abs(len(heard) - RATE_HZ) <= 1
    assert abs(strongest_hz(heard) - 440) <= 1.5
    # a sine of amplitude 0.5 has the root mean square 0.5 / sqrt(2)
    assert np.sqrt(np.mean((heard[2000:-2000] / 32768.0) ** 2)) == pytest.approx(0.5 / np.sqrt(2), rel=0.01)
    narrow = (f"narrow band: recorded at {rate_hz} Hz, below 16000 Hz",)
    assert recording.remarks == (narrow if rate_hz < 16000 else ())


@pytest.mark.parametrize(
    ("name", "subtype"),
    [("a.wav", "PCM_16"), ("a.wav", "PCM_24"), ("a.wav", "FLOAT"), ("a.wav", "ULAW"), ("a.flac", "PCM_16"),
     ("a.ogg", "VORBIS")],
)  # fmt: skip
def test_formats(tmp_path: Path, name: str, subtype: str) -> None:
    soundfile.write(tmp_path / name, tone(16000), 16000, subtype=subtype)
    heard = load(tmp_path / name)
    assert abs(len(heard) - RATE_HZ) <= 1
    assert abs(strongest_hz(heard) - 440) <= 1.5


def test_sixteen_bit_samples_come_through_unchanged(tmp_path: Path) -> None:
    samples = np.random.default_rng(1).integers(-32768, 32768, 5000).astype(np.int16)
    soundfile.write(tmp_path / "a.wav", samples, RATE_HZ)
    assert np.array_equal(load(tmp_path / "a.wav"), samples)


def test_blocks_follow_one_another_and_can_be_read_again(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", tone(44100, 2.345), 44100)
    recording = Recording(tmp_path / "a.wav")
    first, second = list(recording.blocks()), list(recording.blocks())
    at = 0
    for block in first:
        assert block.start_s == pytest.approx(at / RATE_HZ)
        at += len(block.samples)
    assert {len(block.samples) for block in first[:-1]} == {BLOCK_SAMPLES}
    assert all(np.array_equal(a.samples, b.samples) for a, b in zip(first, second, strict=True))


def test_a_long_recording_is_never_in_memory_at_once(tmp_path: Path) -> None:
    path = tmp_path / "ten_minutes.wav"
    with wave.open(str(path), "wb") as out:
        out.setparams((1, 2, 8000, 0, "NONE", ""))
        minute = (tone(8000, 60) * 32767).astype("<i2").tobytes()
        for _ in range(10):
            out.writeframes(minute)
    tracemalloc.start()
    try:
        total = sum(len(block.samples) for block in Recording(path).blocks())
        peak_bytes = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert abs(total - 600 * RATE_HZ) <= 2
    assert peak_bytes < 4_000_000  # ten minutes have 19 MB at 16 kHz


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda _: None, r"there is no such recording\. Check the name\."),
        (lambda path: path.mkdir(), r"this is a folder, not a recording"),
        (lambda path: path.write_bytes(b""), r"the recording is empty \(0 bytes\)"),
        (lambda path: path.write_text("rail five reads four point oh\n"), r"this is not a recording \(Format not"),
        (lambda path: path.write_bytes(b"RIFF\x00\x00"), r"this WAV file's header is cut short or damaged \(Format"),
        (lambda path: path.write_bytes(b"fLaC" + bytes(8)), r"this FLAC file's header is cut short or damaged"),
        (lambda path: path.write_bytes(b"OggS" + bytes(40)), r"this OGG file's header is cut short or damaged"),
        (os.mkfifo, r"this is not a file, .*raw sound on standard input"),
        (lambda path: soundfile.write(path, np.zeros(0), 16000), r"the recording holds no samples"),
    ],
    ids=["missing", "folder", "empty", "text", "header cut", "no FLAC", "no OGG", "pipe", "no samples"],
)
def test_what_cannot_be_read_is_said(tmp_path: Path, make: object, message: str) -> None:
    path = tmp_path / "x.wav"
    make(path)  # type: ignore[operator]
    with pytest.raises(AudioError, match=message) as caught:
        Recording(path)
    assert caught.value.file == str(path)
    assert caught.value.cure


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="needs root, to become another user")
@pytest.mark.parametrize("closed", ["file", "folder"])
def test_a_recording_without_permission(closed: str) -> None:
    folder = Path(tempfile.mkdtemp())
    path = folder / "a.wav"
    soundfile.write(path, tone(16000), 16000)
    folder.chmod(0o700 if closed == "folder" else 0o755)
    path.chmod(0o600)
    said, to = os.pipe()
    child = os.fork()
    if child == 0:
        os.setuid(65534)
        try:
            Recording(path)
        except AudioError as error:
            os.write(to, str(error).encode())
        os._exit(0)
    os.waitpid(child, 0)
    os.close(to)
    with os.fdopen(said) as message:
        cure = "Check the permissions of the file and of its folder."
        assert message.read() == f"{path}: there is no permission to read it. {cure}"
    shutil.rmtree(folder)


def test_a_name_too_long_is_said(tmp_path: Path) -> None:
    with pytest.raises(AudioError, match=r"it cannot be read \(File name too long\)"):
        Recording(tmp_path / ("a" * 300))


def test_a_truncated_wav_is_kept_up_to_its_end_and_said(tmp_path: Path) -> None:
    path = tmp_path / "cut.wav"
    soundfile.write(path, tone(16000, 2.0), 16000)
    whole = path.read_bytes()
    path.write_bytes(whole[: 44 + 16000 * 2])
    recording = Recording(path)
    assert sum(len(block.samples) for block in recording.blocks()) == 16000
    assert recording.remarks == ("cut short: 32000 bytes that its header promises are missing",)


def test_a_truncated_flac_is_kept_as_far_as_it_decodes_and_said(tmp_path: Path) -> None:
    path = tmp_path / "cut.flac"
    soundfile.write(path, np.random.default_rng(1).uniform(-0.5, 0.5, 64000), 16000)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    recording = Recording(path)
    kept = sum(len(block.samples) for block in recording.blocks())
    assert 24000 < kept < 40000
    assert any(remark.startswith(("cut short: kept", "damaged: kept")) for remark in recording.remarks)


@given(st.binary(max_size=200), st.sampled_from([b"", b"RIFF", b"fLaC", b"OggS", b"RIFF\xff\xff\xff\xffWAVEfmt "]))
def test_no_bytes_break_it(tmp_path_factory: pytest.TempPathFactory, data: bytes, magic: bytes) -> None:
    path = tmp_path_factory.mktemp("any") / "x.wav"
    path.write_bytes(magic + data)
    try:
        blocks = list(Recording(path).blocks())
    except AudioError:
        return  # said; anything else is a fault
    assert blocks


class Trickle(io.BytesIO):
    """A pipe that gives seven bytes at a time."""

    def read(self, size: int | None = -1, /) -> bytes:
        return super().read(min(7, size if size is not None and size >= 0 else 7))


def test_raw_sound_arrives_whole_whatever_the_pipe_gives() -> None:
    samples = np.arange(4000, dtype=np.int16)
    blocks = list(raw_blocks(Trickle(samples.astype("<i2").tobytes() + b"\x01")))
    assert np.array_equal(np.concatenate([block.samples for block in blocks]), samples)
    assert [block.start_s for block in blocks] == [0.0, 0.1, 0.2]


@pytest.mark.parametrize(
    ("data", "message"),
    [(b"", r"standard input: no sound arrived\. Send raw 16-bit mono samples at 16000 Hz"),
     (b"RIFF\x24\x00\x00\x00WAVE", r"this is a WAV file, not raw sound"), (b"fLaC\x00\x00", r"this is a FLAC file")],
)  # fmt: skip
def test_raw_sound_that_is_none_is_said(data: bytes, message: str) -> None:
    with pytest.raises(AudioError, match=message):
        list(raw_blocks(io.BytesIO(data)))


def test_a_closed_standard_input_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", None)  # which is what Python makes of it
    with pytest.raises(AudioError, match=r"standard input: it is closed\. Send raw 16-bit mono samples"):
        list(raw_blocks())

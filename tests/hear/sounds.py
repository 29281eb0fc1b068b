"""Sound for the hearing tests: files, noise, synthesised and recorded speech."""

from __future__ import annotations

import shutil
import subprocess
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from benchvoice.hear.audio import Recording
from benchvoice.records import RATE_HZ, Samples, Utterance

SPEECH = Path(__file__).parents[2].parent / "shared" / "speech"
TESTDATA = Path("/usr/share/pocketsphinx/test/data")


def recordings(folder: str) -> list[Path]:
    """The people's recordings in that folder of the shared speech; skips where it is absent."""
    if not SPEECH.is_dir():
        pytest.skip("the shared human recordings are not on this machine")
    return sorted((SPEECH / folder).glob("*.wav"))


def load(path: Path) -> Samples:
    """A whole recording, 16 kHz mono."""
    return np.concatenate([block.samples for block in Recording(path).blocks()])


def utterance(samples: Samples, *, level_dbfs: float = -20.0, noise_dbfs: float | None = None) -> Utterance:
    """The sound as one utterance that starts at 0 s."""
    return Utterance(samples, 0.0, len(samples) / RATE_HZ, level_dbfs, noise_dbfs)


@cache
def _flite(text: str, voice: str, folder: Path) -> Samples:
    path = folder / "speech.wav"
    subprocess.run(["flite", "-voice", voice, "-t", text, "-o", str(path)], check=True, timeout=60)
    return load(path)


def speak(text: str, folder: Path, voice: str = "slt") -> Samples:
    """`text` synthesised by flite with 0.3 s of quiet around it; skips where flite is not installed."""
    if shutil.which("flite") is None:
        pytest.skip("flite is not installed")
    return quiet_around(_flite(text, voice, folder))


def quiet_around(samples: Samples, quiet_s: float = 0.3) -> Samples:
    """The sound with faint noise (1 bit) before and after it."""
    rng = np.random.default_rng(1)
    edge = rng.integers(-1, 2, int(quiet_s * RATE_HZ)).astype(np.int16)
    return np.concatenate([edge, samples, edge])


def with_noise(samples: Samples, snr_db: float, *, seed: int = 1, pink: bool = False) -> Samples:
    """The sound in white (or pink) noise, `snr_db` below the mean power of the whole; never clipped."""
    rng = np.random.default_rng(seed)
    noise = rng.standard_normal(len(samples))
    if pink:
        spectrum = np.fft.rfft(noise)
        noise = np.fft.irfft(spectrum / np.sqrt(np.maximum(1, np.arange(len(spectrum)))), len(samples))
    sound = samples.astype(np.float64)
    noise *= np.sqrt(np.mean(sound**2) / np.mean(noise**2) / 10 ** (snr_db / 10))
    mixed = sound + noise
    peak = float(np.abs(mixed).max())
    return np.rint(mixed * min(1.0, 32000 / peak)).astype(np.int16)

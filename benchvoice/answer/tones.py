"""One short tone per statement and state, told apart by rhythm and by pitch, without words.

Pure. No two tones share a rhythm (how many pulses, short or long) or a row of pitches. Fundamentals stay between 400
and 1600 Hz, where age and noise take least of the hearing (common practice, no source); a weak octave helps small
speakers.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from benchvoice.records import Samples, Tone

__all__ = ["LEVEL_DBFS", "TONES", "Pulse", "tone_samples"]

LEVEL_DBFS = -12.0
"""Mean level of a pulse's steady part, in dB relative to full scale (a full-scale square wave is 0)."""

SHORT_S, LONG_S, GAP_S = 0.055, 0.15, 0.035
"""Seconds: a short pulse, a long pulse, and the pause between two."""

_EDGE_S = 0.008  # each pulse swells and fades this long, so that it does not click
_OCTAVE = 0.25  # strength of the octave, relative to the fundamental
_FULL_SCALE = 32767


@dataclass(frozen=True)
class Pulse:
    """One sound of a tone: its length in seconds, and the pitch in hertz at its start and at its end."""

    length_s: float
    start_hz: float
    end_hz: float


def _short(start_hz: float, end_hz: float | None = None) -> Pulse:
    return Pulse(SHORT_S, start_hz, start_hz if end_hz is None else end_hz)


def _long(start_hz: float, end_hz: float | None = None) -> Pulse:
    return Pulse(LONG_S, start_hz, start_hz if end_hz is None else end_hz)


TONES: MappingProxyType[Tone, tuple[Pulse, ...]] = MappingProxyType(
    {
        Tone.PASS: (_short(800, 1200),),
        Tone.CONDITIONAL: (_long(660), _short(880)),
        Tone.CONDITIONAL_FAIL: (_short(880), _long(590)),
        Tone.FAIL: (_short(900), _short(650), _short(450)),
        Tone.RECORDED: (_long(700),),
        Tone.ASK: (_long(600), _long(900, 1300)),
        Tone.DONE: (_short(1000), _short(1000)),
        Tone.REFUSED: (_short(500), _short(500), _long(420)),
        Tone.CAUTION: (_short(1400), _short(900), _short(1400), _short(900)),
    }
)
"""Rising is good, falling is bad, level is neither; the more pulses, the more it matters."""


@cache
def tone_samples(tone: Tone, rate_hz: int) -> Samples:
    """The sound of a tone: mono int16, one value per sample, at `rate_hz` samples a second; read-only.

    Raises:
        ValueError: the rate is below 8000 Hz, too low for the octaves.
    """
    if rate_hz < 8000:
        raise ValueError(f"{rate_hz} Hz is too low a sample rate for tones")
    pause = np.zeros(round(GAP_S * rate_hz), dtype=np.int16)
    parts: list[Samples] = []
    for pulse in TONES[tone]:
        parts += [pause, _pulse_samples(pulse, rate_hz)] if parts else [_pulse_samples(pulse, rate_hz)]
    samples = np.concatenate(parts)
    samples.flags.writeable = False  # shared by every caller
    return samples


def _pulse_samples(pulse: Pulse, rate_hz: int) -> Samples:
    n = round(pulse.length_s * rate_hz)
    # the pitch glides evenly in octaves, as it is heard, and the phase is its running sum
    pitch_hz = pulse.start_hz * (pulse.end_hz / pulse.start_hz) ** (np.arange(n) / n)
    phase = 2 * np.pi * np.cumsum(pitch_hz) / rate_hz
    wave = np.sin(phase) + _OCTAVE * np.sin(2 * phase)
    wave *= 10 ** (LEVEL_DBFS / 20) / np.sqrt((1 + _OCTAVE**2) / 2)  # the mean level of that sum is LEVEL_DBFS
    samples: Samples = np.rint(wave * _envelope(n, rate_hz) * _FULL_SCALE).astype(np.int16)
    return samples


def _envelope(n: int, rate_hz: int) -> npt.NDArray[np.float64]:
    edge = round(_EDGE_S * rate_hz)
    rise = (1 - np.cos(np.pi * np.arange(edge) / edge)) / 2  # from exactly zero
    envelope = np.ones(n)
    envelope[:edge] = rise
    envelope[n - edge :] = rise[::-1]
    return envelope

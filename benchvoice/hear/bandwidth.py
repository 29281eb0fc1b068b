"""Whether sound comes by way of a narrow band, as over a telephone or some wireless headsets, whatever its rate is.

Above 4 kHz lies what tells "six" from "fix", and much of what tells "six" from "eight".
"""

from __future__ import annotations

import numpy as np

from benchvoice.records import RATE_HZ, Samples

__all__ = ["is_narrow"]

_WINDOW = 512  # samples; 32 ms
_SPEECH_HZ = (300, 3400)
_ABOVE_HZ = (4300, 7600)
_NARROW_DB = -47.0
"""Mean power of a frequency above 4 kHz relative to one below, in dB, under which the upper band holds no speech.

Digits recorded at 8 kHz, 250 utterances: at most -50.8. 160 of five synthesised voices: at least -42.9; people reading
aloud, 10 stretches at 16 kHz: at least -24.1.
"""


def is_narrow(samples: Samples) -> bool:
    """Whether speech in `samples` (16 kHz mono) lacks all above 4 kHz; False where there is too little to tell."""
    if len(samples) < _WINDOW:
        return False
    windows = np.lib.stride_tricks.sliding_window_view(samples.astype(np.float64), _WINDOW)[:: _WINDOW // 2]
    power = (np.abs(np.fft.rfft(windows * np.hanning(_WINDOW), axis=1)) ** 2).mean(axis=0)
    frequencies_hz = np.arange(len(power)) * RATE_HZ / _WINDOW
    speech, above = (
        float(power[(frequencies_hz > low) & (frequencies_hz < high)].mean()) for low, high in (_SPEECH_HZ, _ABOVE_HZ)
    )
    return speech > 0 and above < speech * 10 ** (_NARROW_DB / 10)

"""Pure: how much of what was heard is what we said ourselves."""

from __future__ import annotations

import numpy as np

from benchvoice.records import RATE_HZ, Samples

__all__ = ["hears_itself"]

_LONGEST_DELAY_S = 0.5  # from leaving the loudspeaker to being read from the microphone
_QUIET = 10.0  # root mean square, of 32767: below it there is nothing to compare


def hears_itself(captured: Samples, played: Samples) -> float:
    """The likeness of what was captured to what was played, 0 to 1: their correlation at the best delay.

    Close to 1, the sound comes straight from the output and not through air; near 0, it is somebody else's. Give it
    about half a second: over much longer stretches the clocks of two devices run apart, and their sounds with them.

    Args:
        captured: from the microphone, 16 kHz mono.
        played: what left the loudspeaker in the same time and somewhat before, 16 kHz mono, as long or longer;
            its end is the end of `captured`.
    """
    near = captured.astype(np.float64)
    far = played[-(len(near) + round(_LONGEST_DELAY_S * RATE_HZ)) :].astype(np.float64)
    if not len(near) or len(far) < len(near):
        return 0.0
    near -= near.mean()
    if _rms(near) < _QUIET or _rms(far) < _QUIET:
        return 0.0
    size = 1 << (len(near) + len(far) - 1).bit_length()
    products = np.fft.irfft(np.fft.rfft(far, size) * np.conj(np.fft.rfft(near, size)), size)
    delays = len(far) - len(near) + 1  # where `near` begins in `far`
    energy = np.concatenate([[0.0], np.cumsum(far**2)])
    energies = energy[len(near) :] - energy[: len(energy) - len(near)]
    loud = energies > len(near) * _QUIET**2 / 4
    if not loud.any():
        return 0.0
    likeness = np.abs(products[:delays][loud]) / np.sqrt(energies[loud] * float(near @ near))
    return float(min(1.0, likeness.max()))


def _rms(samples: np.ndarray) -> float:
    return float(np.sqrt(np.mean(samples**2)))

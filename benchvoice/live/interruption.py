"""With a headset the technician may speak into our answer: it pauses at the first loud sound, and is cut by speech.

That it is speech is known some hundredths of a second later; where it was not (a click, a dropped screw), we go on.
"""

from __future__ import annotations

import math

from benchvoice.live.gauge import Gauge
from benchvoice.live.mouth import LiveMouth

__all__ = ["Interruption"]

_SPOKEN_S = 0.04  # speech of this length interrupts us: a click does not
# The "f" of "fan" stands 12 dB above the noise of the software sound card for 0.08 s before its vowel does by 40: at
# 20 dB the answer paused 0.11 to 0.12 s after such a word began, and 0.05 to 0.08 s after others. Steady noise hardly
# rises that far for a block; what does (a tool put down) costs the answer a gap of `_PAUSE_S`.
_ABOVE_NOISE_DB = 12.0
_LOUD_DBFS = -50.0  # a sound below this is hardly speech into a headset (our estimate, no source)
_PAUSE_S = 0.15  # the speech detector needs 0.04 to 0.1 s, and a block some more
_AGAIN_S = 1.0  # noise that goes on must not chop up our answer


class Interruption:
    """Pauses our voice, and says when it has to stop.

    Args:
        mouth: our voice.
        gauge: the level at the microphone.
    """

    def __init__(self, mouth: LiveMouth, gauge: Gauge) -> None:
        self._mouth = mouth
        self._gauge = gauge
        self._since_s: float | None = None
        self._not_before_s = -math.inf

    def after_block(self, now_s: float, voiced_s: float) -> bool:
        """Whether we are interrupted, after a block that the gauge has seen; pauses where that may be so.

        Args:
            now_s: monotonic clock, in seconds.
            voiced_s: seconds of speech in the open utterance.
        """
        if not self._mouth.speaking:
            self._since_s = None
            return False
        if voiced_s >= _SPOKEN_S:
            self._since_s = None
            return True
        if self._since_s is None and now_s >= self._not_before_s and self._loud():
            self._since_s = now_s
            self._mouth.pause()
        return False

    def tick(self, now_s: float) -> None:
        """Go on where nobody spoke. Call it often, with or without a block: a microphone may fall silent for good."""
        if self._since_s is not None and now_s - self._since_s >= _PAUSE_S:
            self._since_s, self._not_before_s = None, now_s + _AGAIN_S
            self._mouth.go_on()

    def _loud(self) -> bool:
        level, noise = self._gauge.level_dbfs, self._gauge.noise_dbfs
        return level is not None and noise is not None and level >= max(noise + _ABOVE_NOISE_DB, _LOUD_DBFS)

"""What to say when hearing goes badly for a reason that can be mended: noise, distance, clipping, a narrow band."""

from __future__ import annotations

import math

from benchvoice.hear.sound_check import FAINT_DBFS
from benchvoice.records import Outcome, Utterance

__all__ = ["NOISY_DB", "Advice"]

NOISY_DB = 15.0
"""Speech less than this much above the noise, in dB, is mostly asked.

Measured (README): of 40 readings a row 17 to 28 were taken at 20 dB, 1 to 18 at 10 dB.
"""

_IN_A_ROW = 2
_AGAIN_S = 120.0


class Advice:
    """Counts what went badly, and names a notice when it went badly for the same reason twice in a row.

    Talk of others beside a loud machine goes badly too; so that it is no nuisance, the same is said only once in two
    minutes.
    """

    def __init__(self) -> None:
        self._reason = ""
        self._count = 0
        self._said_s: dict[str, float] = {}

    def after(self, utterance: Utterance, outcome: Outcome, now_s: float) -> str:
        """The notice to give after an utterance; "" for none.

        Args:
            utterance: its sound.
            outcome: what became of it.
            now_s: now, in seconds of any clock that only goes forward.
        """
        reason = "" if outcome is Outcome.ACCEPTED else _reason(utterance)
        self._count = self._count + 1 if reason == self._reason else 1
        self._reason = reason
        if not reason or self._count < _IN_A_ROW or now_s - self._said_s.get(reason, -math.inf) < _AGAIN_S:
            return ""
        self._said_s[reason] = now_s
        return reason


def _reason(utterance: Utterance) -> str:
    """Why it may have been hard to hear, as the name of a notice; "" where its sound is good."""
    if utterance.clipped:
        return "clipped"
    if utterance.level_dbfs < FAINT_DBFS:
        return "faint"
    noise_dbfs = utterance.noise_dbfs
    if noise_dbfs is not None and utterance.level_dbfs - noise_dbfs < NOISY_DB:
        return "too loud here"
    return "narrow band" if utterance.narrow else ""

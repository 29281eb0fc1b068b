"""Prompts as they were measured, written down for tests."""

from __future__ import annotations

import numpy as np

from benchvoice.records import Utterance
from benchvoice.tuning.measuring import Heard, Measured, Take
from benchvoice.tuning.profile import Outcome

__all__ = ["SOUND", "measured", "take"]

SOUND = Utterance(np.zeros(16000, dtype=np.int16), 0.0, 1.0, -20.0)


def take(prompt: str = "input is five volts") -> Take:
    """A prompt without its sound."""
    return Take(prompt, SOUND, 40.0)


def measured(
    prompt: str = "input is five volts",
    *,
    gap: float = 0.1,
    arbiter_gap: float | None = 1.0,
    network: str = "",
    sphinx: str = "",
    panel: str = "",
    outcome: Outcome = "right",
) -> Measured:
    """One prompt; what recognisers and panel heard is the prompt unless it is told."""
    heard = {
        engine: Heard(text or prompt, text in ("", prompt), None)
        for engine, text in (("network", network), ("sphinx", sphinx))
    }
    return Measured(take(prompt), gap, 0.0, arbiter_gap, heard, panel or prompt, outcome, 9.0)

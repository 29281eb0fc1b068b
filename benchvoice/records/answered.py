"""What is answered aloud."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Reply", "Tone"]


class Tone(StrEnum):
    """The short sounds, one per statement and state, told apart without words."""

    PASS = "pass"
    CONDITIONAL = "conditional"  # conditional pass
    CONDITIONAL_FAIL = "conditional fail"
    FAIL = "fail"
    RECORDED = "recorded"
    ASK = "ask"
    DONE = "done"
    REFUSED = "refused"
    CAUTION = "caution"


@dataclass(frozen=True)
class Reply:
    """What is answered: a tone first, then words. Empty text is a tone alone."""

    text: str
    tone: Tone | None = None

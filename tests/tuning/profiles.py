"""Voice profiles for tests."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from benchvoice.hear.person import engine_versions
from benchvoice.tuning.profile import StoredPair, StoredTake, VoiceProfile

__all__ = ["profile"]


def profile(name: str = "anna", **fields: Any) -> VoiceProfile:
    """A profile with something in every field, made with what is installed here."""
    made: dict[str, Any] = {
        "name": name,
        "made": datetime(2026, 11, 26, 4, 0, tzinfo=UTC),
        "version": "0.1.0",
        "engines": engine_versions(),
        "network_gap": 0.26,
        "stranger_gap": 2.7,
        "pronunciations": {"sphinx": {"ninety": ("N AY N D IY",)}},
        "pairs": (StoredPair(one="thirteen", other="thirty", alike="ask"),),
        "takes": (
            StoredTake(
                prompt="heat sink is ninety degrees",
                above_noise_db=41.5,
                gap=0.031,
                heard={"sphinx": "heat sink is nineteen degrees"},
                before="asked",
                after="right",
            ),
        ),
    }
    return VoiceProfile(**{**made, **fields})

"""The part of a record that is the same for sound and transcript, and on every day."""

from __future__ import annotations

from typing import Any

__all__ = ["stable"]

_READING = ("value", "unit", "low", "high", "uncertainty", "probability", "statement", "direction")


def stable(record: dict[str, Any]) -> dict[str, Any]:
    """What `record.json` holds of readings and notes, without times, clips and what had to be asked about sound."""
    points = []
    for point in record["points"]:
        readings = {stage: point[stage] for stage in ("before", "after")}
        points.append(
            {
                "name": point["name"],
                **{stage: {key: read[key] for key in _READING} if read else None for stage, read in readings.items()},
                "change": point["change"],
            }
        )
    return {
        "board": record["board"],
        "points": points,
        "statements": record["counts"]["statements"],
        "notes": [note["text"] for note in record["notes"]],
        "not_read": record["not_read"],
    }

"""The part of a record that is the same for sound and transcript, and on every day."""

from __future__ import annotations

from typing import Any

__all__ = ["stable"]

_WORK = {
    "strip_down": ("name", "count", "place", "back", "status"),
    "rework": ("ref", "act", "text", "value", "unit"),
    "parts_used": ("ref", "what"),
    "checks": ("proof", "step", "status", "outcome"),
    "cautions": ("hazard", "about"),
    "timers": ("name", "seconds", "ended"),
    "intake": ("what", "text", "name", "means"),
}
_READING = ("value", "unit", "low", "high", "uncertainty", "probability", "statement", "direction")


def stable(record: dict[str, Any]) -> dict[str, Any]:
    """What `record.json` holds of the job, without times, clips and what had to be asked about sound."""
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
    work: dict[str, Any] = {
        name: [{key: row[key] for key in keys} for row in record[name]] for name, keys in _WORK.items()
    }
    if record["cautions"]:
        work["acknowledged"] = [row["acknowledged_at"] is not None for row in record["cautions"]]
    if record["strip_down"]:
        work["unit closed"] = record["unit_closed_at"] is not None
    return {
        "board": record["board"],
        "points": points,
        "statements": record["counts"]["statements"],
        "notes": [note["text"] for note in record["notes"]],
        "not_read": record["not_read"],
        **{name: rows for name, rows in work.items() if rows != []},
    }

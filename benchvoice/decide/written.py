"""A verdict as it stands in a reading's event, and back."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from benchvoice.events import Reading
from benchvoice.records import Statement, Verdict

__all__ = ["verdict_of", "written_verdict"]


def written_verdict(verdict: Verdict) -> dict[str, Any]:
    """The fields of a `Reading` that its verdict gives."""
    return {
        "low": _text(verdict.low),
        "high": _text(verdict.high),
        "nominal": _text(verdict.nominal),
        "uncertainty": _text(verdict.uncertainty),
        "probability": _text(verdict.probability),
        "deviation": _text(verdict.deviation),
        "deviation_percent": _text(verdict.deviation_percent),
        "statement": verdict.statement.value,
        "direction": verdict.direction,
        "basis": verdict.basis,
        "expected": verdict.expected,
        "responds": verdict.responds,
        "shape": verdict.shape,
    }


def verdict_of(reading: Reading) -> Verdict:
    """The verdict that a reading was given."""
    return Verdict(
        statement=Statement(reading.statement),
        direction=reading.direction,
        low=_number(reading.low),
        high=_number(reading.high),
        nominal=_number(reading.nominal),
        uncertainty=_number(reading.uncertainty),
        probability=_number(reading.probability),
        deviation=_number(reading.deviation),
        deviation_percent=_number(reading.deviation_percent),
        basis=reading.basis,
        expected=reading.expected,
        responds=reading.responds,
        shape=reading.shape,
    )


def _text(number: Decimal | None) -> str | None:
    return None if number is None else f"{number:f}"


def _number(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)

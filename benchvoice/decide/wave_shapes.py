"""AC of another shape than a sine: what a meter that responds to the average makes of it.

Such a meter rectifies, takes the mean and shows it times the form factor of a sine, pi / (2 root 2) = 1.1107. It is
right for a sine alone: of a square wave, whose form factor is 1, it shows 11 % too much, of a triangle (2 / root 3) 4 %
too little. Form factors follow by integration over a period; that meters do so is handbook knowledge, from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Decimal
from types import MappingProxyType
from typing import Literal

from benchvoice.decide.board import Point
from benchvoice.decide.meter import Meter
from benchvoice.records import SpokenValue

__all__ = ["Responds", "Shape", "shown_percent", "wave_of", "why_unjudged"]

Shape = Literal["square", "triangle", "pulse", "distorted"]
Responds = Literal["true rms", "average"]

_PI = Decimal("3.14159265358979323846")
_OF_SINE = _PI / (2 * Decimal(2).sqrt())
_FORM_FACTORS: Mapping[str, Decimal] = MappingProxyType({"square": Decimal(1), "triangle": 2 / Decimal(3).sqrt()})
"""R.m.s. value over the mean of the rectified wave; a pulse's or a distorted wave's is not known."""


def shown_percent(shape: Shape) -> Decimal | None:
    """How far a meter that responds to the average is off, in per cent of the true value; None where not known."""
    factor = _FORM_FACTORS.get(shape)
    return None if factor is None else (_OF_SINE / factor - 1) * 100


def wave_of(value: SpokenValue, point: Point, meter: Meter | None) -> tuple[Responds | None, Shape | None]:
    """How the meter responds to what was read, as far as its file says so, and the wave where it is no sine; for AC."""
    waveform = value.waveform or point.usual_waveform
    if waveform != "AC":
        return None, None
    function = None if meter is None else meter.function(point.quantity, waveform)
    return None if function is None else function.responds, point.shape


def why_unjudged(responds: Responds | None, shape: Shape) -> str:
    """Why a value is recorded and not judged, for the record."""
    wave = "distorted wave" if shape == "distorted" else f"{shape} wave"
    if responds is None:
        return f"not judged: a {wave}, and the meter is not known to be true rms"
    off = shown_percent(shape)
    if off is None:
        return f"not judged: the meter responds to the average and is right for a sine, not for a {wave}"
    size = abs(off).quantize(Decimal("0.1"), ROUND_HALF_EVEN)
    how = "high" if off > 0 else "low"
    return f"not judged: the meter responds to the average and reads a {wave} {size} % too {how}"

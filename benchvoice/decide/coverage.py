"""What a board asks of a meter and the meter's file does not give: those readings count their spoken digits alone."""

from __future__ import annotations

from benchvoice.decide.board import Board, Point
from benchvoice.decide.meter import Meter
from benchvoice.units import convert

__all__ = ["not_covered"]


def not_covered(board: Board, meter: Meter) -> tuple[str, ...]:
    """A sentence for each point whose values the meter's file covers in part or not at all, in the board's order."""
    remarks = ((point.name, _remark(point, meter)) for point in board.points)
    return tuple(f"{name}: {remark}" for name, remark in remarks if remark)


def _remark(point: Point, meter: Meter) -> str:
    if point.quantity == "digits" or point.kind.words or point.computed is not None:
        return ""  # read off a display, not measured
    if point.shape is not None:
        function = meter.function(point.quantity, "AC")
        if function is not None and function.responds != "true rms":
            return f"{point.shape} waves are recorded and not judged: the meter is not known to be true rms"
    what = f"{point.waveform or ''} {point.quantity}".strip()
    function = meter.function(point.quantity, point.waveform)
    if function is None:
        return f"the meter gives no accuracy for {what}"
    last = function.ranges[-1]
    given = [number for number in (point.nominal, point.low, point.high) if number is not None]
    farthest = max(given, key=abs, default=None)
    if farthest is None or abs(farthest) <= convert(last.up_to, last.unit, point.unit):
        return ""
    ends = f"the meter's largest range for {what} ends at {last.up_to:f} {last.unit}"
    return f"{ends}, and {farthest:f} {point.unit} is to be measured"

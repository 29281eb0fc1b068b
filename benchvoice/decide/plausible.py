"""Whether a value is physically absurd at its point, and which of several meanings is the only possible one.

Nothing is refused for being absurd: it is asked, and "yes" takes it. A small value alone is never absurd, since a dead
rail reads nearly zero.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from benchvoice.decide.board import Point
from benchvoice.decide.meter import Meter
from benchvoice.records import SpokenValue
from benchvoice.units import convert, same_size

__all__ = ["absurdity", "only_possible"]

TOO_MANY_TIMES = 10
"""From this multiple of what is expected a value is asked."""
_USUAL = {"voltage": "DC", "current": "DC", "ripple": "AC"}  # where the board file does not say


def absurdity(value: SpokenValue, point: Point, meter: Meter | None = None) -> str:
    """Why a value is absurd at a point, as a phrase; empty where it is not.

    Absurd is: AC where DC is measured or DC where AC is, ten times what is expected or just passes, the wrong sign,
    below zero for a quantity that cannot be, more than the meter's largest range shows, or a unit that moves a value
    which would otherwise fit ("five millivolts" on a rail of 5 V). What lies between two limits never is, but for its
    waveform.
    """
    if not value.has_number or point.quantity == "digits":
        return ""
    number = _in_point_unit(value, point)
    if _finer(value, point, meter):
        return "more digits than the meter shows"
    if _other_waveform(value, point):
        return f"{value.waveform} at a point of {point.waveform or _USUAL.get(point.quantity)}"
    if point.low is not None and point.high is not None and point.low <= number <= point.high:
        return ""
    return _reason(value, number, point, meter)


def _reason(value: SpokenValue, number: Decimal, point: Point, meter: Meter | None) -> str:
    size, sign = point.expected, point.sign
    if number < 0 and not point.kind.signed:
        return f"{point.quantity} below zero"
    if sign and number and (number > 0) != (sign > 0):
        return "the wrong sign"
    if size is not None and abs(number) >= TOO_MANY_TIMES * min(size, _least(point) or size):
        return "ten times what is expected, or more"
    if _beyond(value, point, meter):
        return "more than the meter shows"
    moved = value.unit_said and value.unit != point.unit
    if moved and size is not None and not same_size(number, size) and same_size(value.number, size):
        return "the unit does not fit"
    return ""


def _least(point: Point) -> Decimal | None:
    """The size of the limit nearer to zero, where both lie on one side of it: ten times that is a slip of the point."""
    if point.low is None or point.high is None or point.low * point.high <= 0:
        return None
    return min(abs(point.low), abs(point.high))


def only_possible(values: Sequence[SpokenValue], point: Point, meter: Meter | None = None) -> SpokenValue | None:
    """The one of several meanings that may be taken without asking: near what is expected, all others absurd."""
    possible = [value for value in values if not absurdity(value, point, meter)]
    if len(possible) != 1 or possible[0].over_range:
        return None
    size = point.expected
    near = size is not None and same_size(_in_point_unit(possible[0], point), size)
    return possible[0] if near else None


def _other_waveform(value: SpokenValue, point: Point) -> bool:
    """Whether AC was said where DC is measured, or DC where AC is.

    A point for which nothing is given may be either; limits are those of DC unless the board file says otherwise.
    """
    if value.waveform is None or (point.waveform is None and point.expected is None):
        return False
    return value.waveform != (point.waveform or _USUAL.get(point.quantity, value.waveform))


def _beyond(value: SpokenValue, point: Point, meter: Meter | None) -> bool:
    waveform = value.waveform or point.waveform
    if meter is None or meter.function(point.quantity, waveform) is None:
        return False
    return meter.range_for(point.quantity, value.number, value.unit, waveform) is None


def _finer(value: SpokenValue, point: Point, meter: Meter | None) -> bool:
    """Whether its digits go below the finest step of the meter, whatever its range."""
    if meter is None or "." not in value.digits:
        return False
    waveform = value.waveform or point.waveform
    function = meter.function(point.quantity, waveform)
    if function is None:
        return False
    step = convert(Decimal(1).scaleb(-len(value.digits.partition(".")[2])), value.unit, function.ranges[0].unit)
    used = meter.range_for(point.quantity, value.number, value.unit, waveform)
    return used is not None and step < convert(used.resolution, used.unit, function.ranges[0].unit)


def _in_point_unit(value: SpokenValue, point: Point) -> Decimal:
    return convert(value.number, value.unit, point.unit) if value.unit else value.number

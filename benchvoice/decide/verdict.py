"""A value judged against its point's limits, with the uncertainty that the meter and the spoken digits leave.

Half-width a = accuracy % × reading + counts × resolution (+ accuracy % × range); a second one is half of the last
spoken digit, where that is coarser than the meter's resolution or no meter is known. Each is taken as rectangular,
u = a/√3 (JCGM 100:2008, 4.3.7; from memory), both are combined by the root of the sum of squares, and U = 2u. The
statement follows ILAC-G8:09/2019, 4.2.3, with a guard band w = U.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext
from typing import Literal

from benchvoice.decide.board import Point
from benchvoice.decide.meter import Meter, MeterRange
from benchvoice.decide.normal import between
from benchvoice.decide.wave_shapes import Shape, wave_of, why_unjudged
from benchvoice.records import Direction, SpokenValue, Statement, Verdict
from benchvoice.units import convert

__all__ = ["Doubt", "doubt_of", "judge", "judge_number", "state"]

_CONTEXT = Context(prec=40)
_FOUR_DECIMALS = Decimal("0.0001")
_TWO_DECIMALS = Decimal("0.01")
_UNCERTAINTY_DIGITS = 4  # more than the two that are shown, so that nothing computed from the journal is off
_RANK = (Statement.PASS, Statement.CONDITIONAL_PASS, Statement.CONDITIONAL_FAIL, Statement.FAIL)


@dataclass(frozen=True)
class Doubt:
    """How far a value may be off.

    Attributes:
        meter: half-width of what the meter leaves open, in the value's unit; None where that is not known.
        rounding: half-width of what the spoken digits leave open, in the value's unit; 0 where the meter shows no more.
        basis: in words, where this comes from.
    """

    meter: Decimal | None
    rounding: Decimal
    basis: str

    @property
    def standard(self) -> Decimal:
        """Combined standard uncertainty u, in the value's unit."""
        with localcontext(_CONTEXT):
            meter = self.meter or Decimal(0)
            return ((meter * meter + self.rounding * self.rounding) / 3).sqrt()


def judge(value: SpokenValue, point: Point, meter: Meter | None = None) -> Verdict:
    """The verdict on a spoken value; every number of it is in the value's unit, for over range in the point's.

    Over range is judged without numbers: above a high limit it fails, above a low limit alone it passes. Where the
    meter's largest range ends before that limit, over range says too little, and it is only recorded. For a signed
    quantity the sign is taken to be that of the limits.

    A bare-digits point (`digits`) has no uncertainty: it is inside its limits or not.

    Raises:
        UnitError: the value's unit is one of another quantity.
    """
    with localcontext(_CONTEXT):
        return _judge(value, point, meter)


def _judge(value: SpokenValue, point: Point, meter: Meter | None) -> Verdict:
    if point.kind.words:
        right = Statement.PASS if value.digits == point.right else Statement.FAIL
        return Verdict(right if point.right else Statement.RECORDED, basis="as said", expected=point.right or "")
    responds, shape = wave_of(value, point, meter)
    if shape is not None and responds != "true rms":
        return _unjudged(value, point, responds, shape)
    verdict = _judge_wave(value, point, meter)
    return replace(verdict, responds=responds, shape=shape)


def _unjudged(value: SpokenValue, point: Point, responds: Literal["average"] | None, shape: Shape) -> Verdict:
    """A value that may not be what the meter shows: its limits are told, and nothing is said by them."""
    unit = point.unit if value.over_range else value.unit
    low, high, nominal = (_in_unit(limit, point.unit, unit) for limit in (point.low, point.high, point.nominal))
    return Verdict(
        Statement.RECORDED,
        low=low,
        high=high,
        nominal=nominal,
        basis=why_unjudged(responds, shape),
        responds=responds,
        shape=shape,
    )


def _judge_wave(value: SpokenValue, point: Point, meter: Meter | None) -> Verdict:
    unit = point.unit if value.over_range else value.unit
    if value.over_range:
        low, high, nominal = (_in_unit(limit, point.unit, unit) for limit in (point.low, point.high, point.nominal))
        statement, direction, basis = _over_range(low, high, unit, point, meter)
        return Verdict(statement, direction, low, high, nominal, basis=basis)
    doubt = doubt_of(value, point, meter)
    return judge_number(value.number, unit, point, doubt.standard, doubt.basis)


def judge_number(y: Decimal, unit: str, point: Point, u: Decimal, basis: str) -> Verdict:
    """The verdict on a number in `unit` whose standard uncertainty is `u`, by the limits of a point."""
    with localcontext(_CONTEXT):
        return _judge_number(y, unit, point, u, basis)


def _judge_number(y: Decimal, unit: str, point: Point, u: Decimal, basis: str) -> Verdict:
    low, high, nominal = (_in_unit(limit, point.unit, unit) for limit in (point.low, point.high, point.nominal))
    expanded = 2 * u
    statement, direction = state(y, expanded, low, high)
    probability = None
    if statement is not Statement.RECORDED:
        inside = statement in (Statement.PASS, Statement.CONDITIONAL_PASS)
        exact = between(y, u, low, high) if u else Decimal(1 if inside else 0)
        probability = exact.quantize(_FOUR_DECIMALS, ROUND_HALF_EVEN)
    deviation, percent = _deviation(y, nominal, point)
    return Verdict(
        statement=statement,
        direction=direction,
        low=low,
        high=high,
        nominal=nominal,
        uncertainty=_rounded(expanded),
        probability=probability,
        deviation=deviation,
        deviation_percent=percent,
        basis=basis,
    )


def state(y: Decimal, w: Decimal, low: Decimal | None, high: Decimal | None) -> tuple[Statement, Direction | None]:
    """The statement on a measured value `y` with guard band `w`, and the limit that is nearer or passed.

    A value on a limit still conforms; a value on the edge of a guard band gets the better statement. With two limits
    the worse of the two statements counts, and where both are alike the nearer limit gives the direction; a value in
    the middle has none.
    (ILAC-G8:09/2019, 4.2.3; w = 0 is simple acceptance, 4.2.1. Limits are ordered by value, also below zero.)
    """
    sides: list[tuple[int, Decimal, Direction]] = []
    if high is not None:
        sides.append((_rank(y - high, w), high - y, "high"))
    if low is not None:
        sides.append((_rank(low - y, w), y - low, "low"))
    if not sides:
        return Statement.RECORDED, None
    rank, room, direction = max(sides, key=lambda side: (side[0], -side[1]))
    middle = [side[:2] for side in sides] == [(rank, room)] * 2
    return _RANK[rank], direction if rank and not middle else None


def _rank(beyond: Decimal, w: Decimal) -> int:
    """How bad it is to lie that far beyond a limit (negative: inside), as a position in `_RANK`."""
    return sum((beyond > -w, beyond > 0, beyond > w))


def doubt_of(value: SpokenValue, point: Point, meter: Meter | None) -> Doubt:
    """How far a value that is not over range may be off, at that point and with that meter."""
    with localcontext(_CONTEXT):
        return _doubt_of(value, point, meter)


def _doubt_of(value: SpokenValue, point: Point, meter: Meter | None) -> Doubt:
    if point.quantity == "digits":
        return Doubt(None, Decimal(0), "exact digits")
    exponent = value.number.as_tuple().exponent
    last_digit = Decimal(1).scaleb(exponent if isinstance(exponent, int) else 0)
    if meter is None:
        return Doubt(None, last_digit / 2, "spoken digits only: no meter given")
    waveform = value.waveform or point.waveform
    if meter.function(point.quantity, waveform) is None:
        what = f"{waveform or ''} {point.quantity}".strip()
        return Doubt(None, last_digit / 2, f"spoken digits only: the meter gives no accuracy for {what}")
    used = meter.range_for(point.quantity, value.number, value.unit, waveform)
    if used is None:
        return Doubt(None, last_digit / 2, "spoken digits only: beyond the meter's ranges")
    resolution = convert(used.resolution, used.unit, value.unit)
    half_width = _half_width(value, used)
    if last_digit > resolution:
        return Doubt(half_width, last_digit / 2, "meter and spoken digits")
    finer = "; more digits were said than it shows in that range" if last_digit < resolution else ""
    return Doubt(half_width, Decimal(0), f"meter{finer}")


def _half_width(value: SpokenValue, used: MeterRange) -> Decimal:
    resolution = convert(used.resolution, used.unit, value.unit)
    up_to = convert(used.up_to, used.unit, value.unit)
    of_reading = abs(value.number) * used.reading_percent / 100
    return of_reading + used.counts * resolution + up_to * used.range_percent / 100


def _over_range(
    low: Decimal | None, high: Decimal | None, unit: str, point: Point, meter: Meter | None
) -> tuple[Statement, Direction | None, str]:
    below_zero = point.kind.signed and high is not None and high <= 0
    near, far = (high, low) if below_zero else (low, high)  # as one goes away from zero
    deciding = far if far is not None else near
    if deciding is None:
        return Statement.RECORDED, None, "over range"
    function = meter.function(point.quantity, point.waveform) if meter is not None else None
    if function is not None:
        last = function.ranges[-1]
        if convert(last.up_to, last.unit, unit) < abs(deciding):
            return Statement.RECORDED, None, "over range: the meter's largest range ends before the limit"
    if far is None:
        return Statement.PASS, None, "over range"
    return Statement.FAIL, "low" if below_zero else "high", "over range"


def _in_unit(limit: Decimal | None, source: str, target: str) -> Decimal | None:
    if limit is None:
        return None
    return _plain(convert(limit, source, target) if source else limit)


def _plain(number: Decimal) -> Decimal:
    """The same number without an exponent, so that it is written as people write it."""
    return Decimal(f"{number:f}")


def _rounded(number: Decimal) -> Decimal:
    """To the digits of an uncertainty that are kept."""
    if not number:
        return Decimal(0)
    shift = number.adjusted() - (_UNCERTAINTY_DIGITS - 1)
    return _plain(number.quantize(Decimal(1).scaleb(shift), ROUND_HALF_EVEN))


def _deviation(y: Decimal, nominal: Decimal | None, point: Point) -> tuple[Decimal | None, Decimal | None]:
    """Value minus nominal, and that in per cent of the nominal's size, so that both have the same sign."""
    if nominal is None or point.quantity == "digits":
        return None, None
    deviation = y - nominal
    percent = (100 * deviation / abs(nominal)).quantize(_TWO_DECIMALS, ROUND_HALF_EVEN) if nominal else None
    return _plain(deviation), percent

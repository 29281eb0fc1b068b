"""Values that follow from others: current from a drop, power, a rise, a level, a divider; each with its uncertainty.

The uncertainty is the law of propagation (JCGM 100:2008, 5.1.2, from memory): each input's standard uncertainty times
the derivative, added in quadrature. What goes in twice, a drop that gives both the current and the power, is added up
by its sign before that, so it is never taken for two independent measurements. Errors of one meter that go together
(5.2 there) are not known and not counted.

The result carries the digits that its inputs carry: of products and ratios as many as the input with fewest, of
differences down to the coarsest input's last (common practice, no source; JCGM 100:2008, 7.2.6, asks only that the
digits agree with the uncertainty). They are for show: what is judged is the number before it is rounded.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext
from typing import Literal

__all__ = ["Constant", "Doubtful", "Form", "Formula", "evaluate", "rounded"]

Form = Literal["current", "power", "rise", "level", "divided"]

_CONTEXT = Context(prec=40)
_MEASURED = -1


@dataclass(frozen=True)
class Constant:
    """A known value in its base unit, and how far it may be off: the half-width of its tolerance, 0 for exact."""

    number: Decimal
    half_width: Decimal = Decimal(0)

    @property
    def standard(self) -> Decimal:
        """Its standard uncertainty, that of a rectangular distribution (JCGM 100:2008, 4.3.7; from memory)."""
        return self.half_width / Decimal(3).sqrt()


@dataclass(frozen=True)
class Formula:
    """How a point's value follows from those of other points.

    Attributes:
        form: "current" is drop / resistance; "power" voltage x current x factor; "rise" one temperature over another;
            "level" `per_decade` x lg of a ratio; "divided" what a divider leaves of a voltage.
        inputs: the points, in the order of the formula.
        constants: the known values: the resistance; the power factor, where it is given; the ratio's reference, where
            it is no point; of a divider the upper and the lower resistor.
        per_decade: of a level, decibels per factor of ten: 20 for voltage and current, 10 for power (the definitions of
            levels, IEC 60027-3; from memory).
        of: of a level, the quantity whose level it is.
        text: the same in words, for the record ("shunt drop across 0.1 ohm").
    """

    form: Form
    inputs: tuple[str, ...]
    constants: tuple[Constant, ...] = ()
    per_decade: int = 0
    of: str = ""
    text: str = ""


@dataclass(frozen=True)
class Doubtful:
    """A number in its base unit with what each source adds to its standard uncertainty, signed.

    Sources are measured points and constants: (point, -1) and (computed point, position of the constant). `place` is
    the power of ten of the last digit that it carries.
    """

    number: Decimal
    place: int
    parts: Mapping[tuple[str, int], Decimal] = field(default_factory=dict)

    @classmethod
    def measured(cls, point: str, number: Decimal, standard: Decimal) -> Doubtful:
        """What was measured at a point, with the digits that were said."""
        exponent = number.as_tuple().exponent
        return cls(number, exponent if isinstance(exponent, int) else 0, {(point, _MEASURED): standard})

    @property
    def digits(self) -> int:
        """How many digits it carries, from the first that is not zero."""
        return max(1, self.number.adjusted() - self.place + 1) if self.number else 1

    @property
    def standard(self) -> Decimal:
        """Combined standard uncertainty."""
        with localcontext(_CONTEXT):
            return sum((part * part for part in self.parts.values()), Decimal(0)).sqrt()


_Worked = tuple[Decimal, Sequence[Decimal], Sequence[Decimal]]
"""A value and its derivatives by each input and by each constant."""


def evaluate(formula: Formula, name: str, inputs: Sequence[Doubtful]) -> Doubtful | str:
    """What a formula gives, or why it gives nothing, as a phrase.

    Args:
        formula: how the value follows.
        name: the computed point.
        inputs: the values of the formula's inputs in their base units.
    """
    with localcontext(_CONTEXT):
        numbers = [each.number for each in inputs]
        worked = _work_out(formula, numbers, [each.number for each in formula.constants])
        if isinstance(worked, str):
            return worked
        number, by_input, by_constant = worked
        parts: dict[tuple[str, int], Decimal] = {}
        for derivative, each in zip(by_input, inputs, strict=True):
            for source, part in each.parts.items():
                parts[source] = parts.get(source, Decimal(0)) + derivative * part
        for at, (derivative, constant) in enumerate(zip(by_constant, formula.constants, strict=True)):
            if constant.half_width:
                parts[name, at] = derivative * constant.standard
        return Doubtful(number, _last_place(formula.form, number, inputs), parts)


def _last_place(form: Form, number: Decimal, inputs: Sequence[Doubtful]) -> int:
    if form == "rise":
        return max(each.place for each in inputs)
    digits = min(each.digits for each in inputs)
    if form == "level":
        return 1 - digits  # a hundredth of a decibel is about a thousandth of the ratio
    return number.adjusted() - digits + 1 if number else max(each.place for each in inputs)


def _work_out(formula: Formula, numbers: Sequence[Decimal], constants: Sequence[Decimal]) -> _Worked | str:
    match formula.form:
        case "current":
            (drop,), (resistance,) = numbers, constants
            return drop / resistance, (1 / resistance,), (-drop / resistance**2,)
        case "power":
            voltage, current = numbers
            factor = constants[0] if constants else Decimal(1)
            power = voltage * current * factor
            return power, (current * factor, voltage * factor), (voltage * current,) * len(constants)
        case "rise":
            warm, ambient = numbers
            return warm - ambient, (Decimal(1), Decimal(-1)), ()
        case "divided":
            (voltage,), (upper, lower) = numbers, constants
            whole = upper + lower
            by_resistors = (-voltage * lower / whole**2, voltage * upper / whole**2)
            return voltage * lower / whole, (lower / whole,), by_resistors
        case "level":
            return _level(formula.per_decade, [*numbers, *constants], len(numbers))


def _level(per_decade: int, ratio: Sequence[Decimal], n_inputs: int) -> _Worked | str:
    """A level is one of sizes: a sign says nothing in decibels."""
    over, under = ratio
    if not over or not under:
        return "nothing has no level"
    slope = per_decade / Decimal(10).ln()
    derivatives = (slope / over, -slope / under)
    return per_decade * abs(over / under).log10(), derivatives[:n_inputs], derivatives[n_inputs:]


def rounded(value: Doubtful) -> Decimal:
    """A number with the digits that it carries, to be shown."""
    with localcontext(_CONTEXT):
        number = value.number.quantize(Decimal(1).scaleb(value.place), ROUND_HALF_EVEN)
        return Decimal(f"{number:f}")

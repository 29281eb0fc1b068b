"""How far two readings of what should be alike lie apart, and whether that is more than may be.

Not a verdict: there are no limits here, only another board, or another channel. A difference that is smaller than what
the readings themselves leave in doubt says nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal, localcontext

from benchvoice.units import UNITS, convert

__all__ = ["Compared", "Likeness", "likeness"]

_CONTEXT = Context(prec=40)
_ONE_DECIMAL = Decimal("0.1")


@dataclass(frozen=True)
class Compared:
    """One of the two: digits as they were said (or words, or "over range"), unit, and U where it is known.

    `waveform` is None where it is not known.
    """

    value: str
    unit: str
    uncertainty: str | None = None
    waveform: str | None = None

    @property
    def has_number(self) -> bool:
        """Whether it is a quantity; a code or words are alike or not."""
        return bool(self.unit) and not self.value[:1].isalpha()


@dataclass(frozen=True)
class Likeness:
    """How two readings compare.

    Attributes:
        percent: the first minus the reference in per cent of the reference's size, one decimal; None where the
            reference is zero or one of them is no number.
        unlike: whether they differ by more than may be, and by more than their uncertainties leave in doubt.
    """

    percent: Decimal | None
    unlike: bool


def likeness(read: Compared, reference: Compared, within: Decimal) -> Likeness | None:
    """How a reading compares with its reference; None where they are of different quantities or waveforms.

    Args:
        read: the reading.
        reference: what it is compared with.
        within: how far they may lie apart, in per cent of the reference.
    """
    if read.waveform and reference.waveform and read.waveform != reference.waveform:
        return None
    if not (read.has_number and reference.has_number):
        return Likeness(None, read.value != reference.value)
    if UNITS[read.unit].base != UNITS[reference.unit].base:
        return None
    with localcontext(_CONTEXT):
        known = convert(Decimal(reference.value), reference.unit, read.unit)
        difference = Decimal(read.value) - known
        own, its = (
            Decimal(read.uncertainty or 0),
            convert(Decimal(reference.uncertainty or 0), reference.unit, read.unit),
        )
        doubt = (own * own + its * its).sqrt()
        unlike = abs(difference) > max(abs(known) * within / 100, doubt)
        percent = (100 * difference / abs(known)).quantize(_ONE_DECIMAL, ROUND_HALF_EVEN) if known else None
    return Likeness(percent, unlike)

"""The normal distribution in decimal arithmetic: no binary float takes part in a statement of conformity."""

from __future__ import annotations

from decimal import Decimal, localcontext

__all__ = ["between", "phi"]

_DIGITS = 40
_FAR = 12  # beyond this many standard deviations the tail is below 1e-32
_SQRT_2PI = Decimal("2.506628274631000502415765284811045253006986740609938")  # √(2π)


def phi(z: Decimal) -> Decimal:
    """The standard normal distribution function Φ(z), right to 25 decimals.

    By the series Φ(z) = 1/2 + φ(z)·(z + z³/3 + z⁵/(3·5) + …), whose terms all have the sign of z (NIST DLMF 7.6.2,
    with erf z√2; from memory).
    """
    if abs(z) > _FAR:
        return Decimal(0 if z < 0 else 1)
    with localcontext() as context:
        context.prec = _DIGITS
        square = z * z
        term = total = z
        odd = 1
        while total and abs(term) > abs(total).scaleb(-_DIGITS):
            odd += 2
            term = term * square / odd
            total += term
        density = (-square / 2).exp() / _SQRT_2PI
        return Decimal("0.5") + density * total


def between(y: Decimal, u: Decimal, low: Decimal | None, high: Decimal | None) -> Decimal:
    """Probability that a quantity lies within its limits, measured as `y` with standard uncertainty `u` above zero.

    A limit that is None does not bind (JCGM 106:2012, 7.3 and 7.4; clause numbers from memory).
    """
    with localcontext() as context:
        context.prec = _DIGITS
        below_high = Decimal(1) if high is None else phi((high - y) / u)
        below_low = Decimal(0) if low is None else phi((low - y) / u)
        return max(Decimal(0), below_high - below_low)

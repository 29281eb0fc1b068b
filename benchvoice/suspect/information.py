"""What a measurement can be expected to tell, in bits. Probabilities only; a measured value never comes here."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from decimal import Context, Decimal

__all__ = ["entropy", "information"]

_CONTEXT = Context(prec=18)
_LN_2 = _CONTEXT.ln(Decimal(2))


def entropy(shares: Iterable[Decimal]) -> Decimal:
    """Of a distribution whose shares add up to one, in bits."""
    total = Decimal(0)
    for share in shares:
        if share > 0:
            total -= share * _CONTEXT.ln(share)
    return max(total / _LN_2, Decimal(0))


def information(outcomes: Iterable[tuple[Decimal, Hashable | None]]) -> Decimal:
    """How many bits a measurement tells of which explanation is true, in the mean.

    An explanation that leaves its outcome open is held to give each of the outcomes that the others predict with the
    same probability (de Kleer & Williams 1987, from memory).

    Args:
        outcomes: for each explanation its share (all add up to one) and what it predicts; None where it leaves it open.
    """
    shares: dict[Hashable, Decimal] = {}
    open_share = Decimal(0)
    for share, outcome in outcomes:
        if outcome is None:
            open_share += share
        else:
            shares[outcome] = shares.get(outcome, Decimal(0)) + share
    if len(shares) < 2:
        return Decimal(0)
    told = entropy(share + open_share / len(shares) for share in shares.values())
    return max(told - open_share * _CONTEXT.ln(Decimal(len(shares))) / _LN_2, Decimal(0))

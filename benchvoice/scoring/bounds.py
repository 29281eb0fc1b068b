"""How far a counted rate can be relied upon: the Wilson score interval."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["Rate", "wilson"]

_Z = 1.959963984540054  # the normal distribution's 97.5 % point, for bounds that hold in 95 % of cases


@dataclass(frozen=True)
class Rate:
    """So many of so many.

    Attributes:
        count: how many.
        of: of how many; none is a rate without a value.
        rate: count / of, 0 to 1, or above where more can go wrong than there is (words put in); None of none.
        low, high: 95 % bounds of the rate; None of none, and where the rate lies above 1.
    """

    count: int
    of: int

    @property
    def rate(self) -> float | None:
        return self.count / self.of if self.of else None

    @property
    def low(self) -> float | None:
        return None if self._bounds is None else self._bounds[0]

    @property
    def high(self) -> float | None:
        return None if self._bounds is None else self._bounds[1]

    @property
    def _bounds(self) -> tuple[float, float] | None:
        return wilson(self.count, self.of) if 0 < self.of >= self.count else None

    def as_json(self) -> dict[str, float | int | None]:
        """Its fields, the fractions to six places."""
        low, high = self._bounds or (None, None)
        fractions = {"rate": self.rate, "low": low, "high": high}
        return {
            "count": self.count,
            "of": self.of,
            **{name: None if value is None else round(value, 6) for name, value in fractions.items()},
        }


def wilson(count: int, of: int, z: float = _Z) -> tuple[float, float]:
    """The score interval of a proportion, without continuity correction: its lower and upper bound, 0 to 1.

    Source: E. B. Wilson, "Probable inference, the law of succession, and statistical inference", Journal of the
    American Statistical Association 22 (1927), 209-212; the formula from memory, its values checked in the tests.

    Args:
        count: how many.
        of: of how many independent trials.
        z: the normal distribution's point for the wanted confidence; 95 % by default.

    Raises:
        ValueError: no trials, or a count that is not among them.
    """
    if of <= 0 or not 0 <= count <= of:
        raise ValueError(f"{count} of {of} is no proportion")
    share = count / of
    middle = share + z * z / (2 * of)
    reach = z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    scale = 1 + z * z / of
    # rounding must not leave a bound beside the share that it bounds
    low, high = (middle - reach) / scale, (middle + reach) / scale
    return (0.0 if count == 0 else min(low, share)), (1.0 if count == of else max(high, share))

"""The Wilson interval against a reference library, and what holds for any counts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.scoring.bounds import Rate, wilson


@pytest.mark.parametrize(
    ("count", "of", "low", "high"),
    [
        # scipy 1.17.1: scipy.stats.binomtest(count, of).proportion_ci(0.95, "wilson"), run once, to six places
        (81, 263, 0.255289, 0.366210),
        (15, 148, 0.062386, 0.160487),
        (0, 20, 0.0, 0.161125),
        (1, 29, 0.006113, 0.171755),
        (29, 29, 0.883030, 1.0),
        (1, 2000, 0.000088, 0.002827),
        (8, 200, 0.020406, 0.076932),
    ],
)
def test_as_a_reference_has_it(count: int, of: int, low: float, high: float) -> None:
    assert wilson(count, of) == pytest.approx((low, high), abs=6e-7)


@given(st.integers(1, 10_000).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
def test_the_rate_lies_between_its_bounds(pair: tuple[int, int]) -> None:
    count, of = pair
    low, high = wilson(count, of)
    assert 0 <= low <= count / of <= high <= 1
    assert low < high
    mirrored = wilson(of - count, of)
    assert (1 - mirrored[1], 1 - mirrored[0]) == pytest.approx((low, high), abs=1e-9)


@pytest.mark.parametrize(("count", "of"), [(0, 0), (2, 1), (-1, 3)])
def test_no_proportion(count: int, of: int) -> None:
    with pytest.raises(ValueError, match=f"{count} of {of} is no proportion"):
        wilson(count, of)


def test_a_rate_of_none_and_one_above_one_have_no_bounds() -> None:
    assert Rate(0, 0).as_json() == {"count": 0, "of": 0, "rate": None, "low": None, "high": None}
    assert Rate(3, 2).as_json() == {"count": 3, "of": 2, "rate": 1.5, "low": None, "high": None}

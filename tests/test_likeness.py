"""Two readings of what should be alike."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.likeness import Compared, likeness

CASES = [
    # read, reference, within %, per cent, unlike; all computed
    (("0.55", "V"), ("0.62", "V"), "10", "-11.3", True),
    (("0.56", "V"), ("0.62", "V"), "10", "-9.7", False),
    (("560", "mV"), ("0.62", "V"), "5", "-9.7", True),
    (("1.1", "V"), ("1", "V"), "10", "10.0", False),  # on the edge is alike
    (("-5.6", "V"), ("-5", "V"), "10", "-12.0", True),  # lower, farther from zero
    (("5", "V"), ("-5", "V"), "10", "200.0", True),
    (("0.01", "V", "0.012"), ("0.02", "V", "0.012"), "10", "-50.0", False),  # less than the readings leave in doubt
    (("0.00", "V", "0.006"), ("0", "V"), "10", None, False),
    (("0.20", "V", "0.006"), ("0", "V"), "10", None, True),
    (("over range", "ohm"), ("over range", "kohm"), "10", None, False),
    (("over range", "ohm"), ("4.7", "kohm"), "10", None, True),
    (("open circuit", ""), ("continuity", ""), "10", None, True),
    (("01803", ""), ("01803", ""), "10", None, False),
    (("01803", ""), ("1803", ""), "10", None, True),  # a code is not a number
]


@pytest.mark.parametrize(("read", "reference", "within", "percent", "unlike"), CASES)
def test_how_they_compare(
    read: tuple[str, ...], reference: tuple[str, ...], within: str, percent: str | None, unlike: bool
) -> None:
    found = likeness(Compared(*read), Compared(*reference), Decimal(within))
    assert found is not None
    assert (found.percent, found.unlike) == (None if percent is None else Decimal(percent), unlike)


def test_different_quantities_are_not_compared() -> None:
    assert likeness(Compared("5", "V"), Compared("5", "A"), Decimal(10)) is None


@given(st.decimals("-1000", "1000", places=3), st.decimals("0.1", "100", places=1))
def test_everything_is_like_itself_in_any_unit(number: Decimal, within: Decimal) -> None:
    moved = Compared(f"{number.scaleb(3):f}", "mV")
    found = likeness(moved, Compared(f"{number:f}", "V"), within)
    assert found is not None
    assert not found.unlike
    assert not found.percent

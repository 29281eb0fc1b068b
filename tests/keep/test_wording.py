"""How numbers are written in the report."""

from __future__ import annotations

import pytest

from benchvoice.keep.wording import rounded_uncertainty


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        ("0.03182", "0.032"),
        ("0.05", "0.05"),
        ("4.609", "4.7"),
        ("12", "12"),
        ("124.1", "130"),
        ("0.1001", "0.11"),
        ("0", "0"),
    ],
)  # GUM, JCGM 100:2008, 7.2.6: at most two significant digits, rounded up (from memory)
def test_an_uncertainty_is_shown_with_two_digits_at_most(value: str, shown: str) -> None:
    assert rounded_uncertainty(value) == shown

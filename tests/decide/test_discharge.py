"""Energy, discharge times and the common limits, against published figures."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.decide.discharge import discharge_s, energy_j, hazardous_above, is_hazardous, peak_w

D = Decimal


def test_the_resistor_makers_example() -> None:
    """195 uF from 1500 V to 320 V through 50 ohm (design sheet of a maker of resistors, which was read)."""
    farads, ohms, start, end = D("195e-6"), D(50), D(1500), D(320)
    assert round(discharge_s(farads, ohms, start, end) * 1000, 4) == D("15.0628")  # ms
    assert farads * ohms * 1000 == D("9.75")  # the time constant, ms
    assert peak_w(start, ohms) == 45_000
    assert energy_j(farads, start) == D("219.375")


def test_a_reservoir_with_its_bleeder() -> None:
    """470 uF, 10 kohm, 400 V to 50 V: 9.8 s and 37.6 J (the same design sheet; arithmetic done here as well)."""
    assert round(discharge_s(D("470e-6"), D(10_000), D(400), D(50)), 1) == D("9.8")
    assert energy_j(D("470e-6"), D(400)) == D("37.6")


def test_a_thousand_microfarads_at_400_volts() -> None:
    """80 J (computed: half of 1000 uF times 400 V squared)."""
    assert energy_j(D("1000e-6"), D(400)) == 80


@pytest.mark.parametrize(
    ("volts", "waveform", "hazardous"),
    [
        # 30 V r.m.s., 42.4 V peak, 60 V DC as meter manuals quote them; IEC 61010-1 and IEC 62368-1 ES1, from memory
        ("60", "DC", False),
        ("60.1", "DC", True),
        ("-60.1", "DC", True),
        ("60.1", None, True),
        ("30", "AC", False),
        ("30.1", "AC", True),
        ("42.4", "peak", False),
        ("42.5", "peak", True),
    ],
)
def test_the_common_limits(volts: str, waveform: str | None, hazardous: bool) -> None:
    assert is_hazardous(D(volts), waveform) is hazardous


def test_where_the_waveform_is_not_known_the_limit_is_that_of_dc() -> None:
    assert hazardous_above(None) == hazardous_above("DC") == 60


def test_what_is_empty_already_takes_no_time() -> None:
    assert discharge_s(D("1e-6"), D(10), D(50), D(60)) == 0


@pytest.mark.parametrize(
    "wrong", [("0", "1", "2", "1"), ("1", "0", "2", "1"), ("1", "1", "2", "0"), ("1", "1", "-2", "1")]
)
def test_what_is_not_above_zero_is_refused(wrong: tuple[str, str, str, str]) -> None:
    with pytest.raises(ValueError, match="must be above zero"):
        discharge_s(*map(D, wrong))


_SIZE = st.decimals("0.001", "1000", places=3)


@given(_SIZE, _SIZE, _SIZE, _SIZE, _SIZE)
def test_one_stretch_takes_as_long_as_its_two_parts(c: Decimal, r: Decimal, a: Decimal, b: Decimal, d: Decimal) -> None:
    start, middle, end = sorted((a, b, d), reverse=True)
    whole = discharge_s(c, r, start, end)
    parts = discharge_s(c, r, start, middle) + discharge_s(c, r, middle, end)
    assert abs(whole - parts) <= D("1e-15") * max(D(1), whole)
    assert whole >= 0

"""Verdicts against values from outside the project; beside each row its source.

Seen: "S" the text was read by us, "2nd" a text that quotes it, "M" cited from memory, "C" computed by hand.
"""

from __future__ import annotations

from decimal import Decimal, localcontext
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.decide.meter import Meter, MeterFunction, MeterRange
from benchvoice.decide.normal import between, phi
from benchvoice.decide.profile import Point, read_board, read_meter
from benchvoice.decide.verdict import doubt_of, judge, state
from benchvoice.records import Direction, SpokenValue, Statement
from tests.decide.builders import METER, value

PASS, CONDITIONAL_PASS = Statement.PASS, Statement.CONDITIONAL_PASS
CONDITIONAL_FAIL, FAIL, RECORDED = Statement.CONDITIONAL_FAIL, Statement.FAIL, Statement.RECORDED


def D(text: str | None) -> Decimal | None:  # noqa: N802, short on purpose in tables
    return None if text is None else Decimal(text)


def meter(reading: str, counts: int, resolution: str, up_to: str = "60", of_range: str = "0") -> Meter:
    one = MeterRange(Decimal(up_to), Decimal(resolution), "V", Decimal(reading), counts, Decimal(of_range))
    return Meter("by hand", (MeterFunction(("voltage",), (one,)),), "")


def point(low: str | None, high: str | None, nominal: str | None = None, quantity: str = "voltage") -> Point:
    unit = {"voltage": "V", "resistance": "ohm", "digits": "", "diode drop": "V"}[quantity]
    return Point("p", ("p",), quantity, unit, D(nominal), D(low), D(high))


# --- the normal distribution --------------------------------------------------------------------------------------
@given(st.decimals(-11, 11, places=6))
def test_phi_agrees_with_the_standard_library(z: Decimal) -> None:
    assert abs(float(phi(z)) - NormalDist().cdf(float(z))) < 1e-12


@given(st.decimals(-11, 11, places=6))
def test_phi_is_symmetric(z: Decimal) -> None:
    assert abs(phi(z) + phi(-z) - 1) < Decimal("1e-25")


@pytest.mark.parametrize(
    ("probability", "z"),
    [(".80", ".842"), (".90", "1.282"), (".95", "1.645"), (".99", "2.326"), (".999", "3.090")],  # C
)
def test_phi_at_the_usual_quantiles(probability: str, z: str) -> None:
    assert abs(phi(Decimal(z)) - Decimal(probability)) < Decimal("0.0002")


def test_phi_far_out() -> None:
    assert (phi(Decimal(-40)), phi(Decimal(40)), phi(Decimal(0))) == (Decimal(0), Decimal(1), Decimal("0.5"))


# --- probability of conformity ------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("y", "u", "low", "high", "expected"),
    [
        ("13.6", "1.8", "12.5", "16.3", "0.6626"),  # JCGM 106:2012, 7.4: published 0.66 (2nd; clause M; C)
        ("-5.47", "0.05", None, "-5.40", "0.9192"),  # JCGM 106:2012, 7.3.3: published 0.92 (M; C)
        ("4.75", "0.0253", "4.75", None, "0.5000"),  # on a limit, by symmetry (C)
    ],
)
def test_probability_of_conformity(y: str, u: str, low: str | None, high: str | None, expected: str) -> None:
    assert round(between(Decimal(y), Decimal(u), D(low), D(high)), 4) == Decimal(expected)


def test_the_guard_band_of_two_u_leaves_the_published_risk() -> None:
    # a value on the edge of a guard band w = U (k = 2) is wrongly accepted with 2.275 % (2nd: below 2.5 %; C)
    assert round(1 - between(Decimal(8), Decimal(1), None, Decimal(10)), 5) == Decimal("0.02275")


# --- half-widths of meters ----------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("said", "by", "expected"),
    [
        ("32.00", meter("2.5", 3, "0.01"), "0.83"),  # lab sheet on meter uncertainty, Phys 1102, KPU (S, C)
        ("0.09", meter("2.5", 3, "0.01"), "0.03225"),  # the same sheet: 0.032 (S, C)
        ("100.0", meter("0.8", 2, "0.1", "600"), "1.0"),  # a meter maker's manual: 1.0 (S, C)
        ("100.0", meter("1", 2, "0.1", "600"), "1.2"),  # a meter maker's manual: 98.8 to 101.2 (S, C)
        ("1.755", meter("0.5", 1, "0.001", "6"), "0.009775"),  # a meter maker's manual: 0.010 (S, C)
        ("5.00000", meter("0.0020", 0, "0.00001", "10", "0.0005"), "0.00015"),  # bench meter manual: 100 + 50 µV (S, C)
        ("0.928571", meter("0.0014", 0, "0.000001", "1", "0.0002"), "0.000014999994"),  # GUM 4.3.7: 15 µV (M, C)
    ],
)
def test_half_width_of_the_meter(said: str, by: Meter, expected: str) -> None:
    doubt = doubt_of(value(said), point(None, None), by)
    assert (doubt.meter, doubt.rounding, doubt.basis) == (Decimal(expected), Decimal(0), "meter")


def test_standard_uncertainty_of_the_voltmeter_in_the_gum() -> None:
    # JCGM 100:2008, 4.3.7: u = 8.66 µV, published 8.7; with 12 µV of type A (5.1.5) 14.8 µV, published 15 (M, C)
    u = doubt_of(value("0.928571"), point(None, None), meter("0.0014", 0, "0.000001", "1", "0.0002")).standard
    assert round(u * 10**6, 2) == Decimal("8.66")
    assert round((u * u + Decimal("0.000012") ** 2).sqrt() * 10**6, 1) == Decimal("14.8")


def test_a_value_in_the_middle_is_neither_high_nor_low() -> None:
    """However doubtful it is: a guard band wider than the tolerance leaves no value that passes outright."""
    low, high, wide = Decimal("4.75"), Decimal("5.25"), Decimal("0.6")
    assert state(Decimal(5), wide, low, high) == (CONDITIONAL_PASS, None)
    assert state(Decimal("5.01"), wide, low, high) == (CONDITIONAL_PASS, "high")
    assert state(Decimal("4.99"), wide, low, high) == (CONDITIONAL_PASS, "low")
    assert state(Decimal(5), wide, low, None) == (CONDITIONAL_PASS, "low")


# --- the four statements ------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("y", "expected", "direction"),
    [  # ILAC-G8:09/2019, 4.2.3 (S): limits 10 and 20, w = 1; the edges by our own rule, the better statement
        ("15", PASS, None),
        ("19", PASS, None),
        ("19.01", CONDITIONAL_PASS, "high"),
        ("20", CONDITIONAL_PASS, "high"),
        ("20.01", CONDITIONAL_FAIL, "high"),
        ("21", CONDITIONAL_FAIL, "high"),
        ("21.01", FAIL, "high"),
        ("11", PASS, None),
        ("10.99", CONDITIONAL_PASS, "low"),
        ("10", CONDITIONAL_PASS, "low"),
        ("9.99", CONDITIONAL_FAIL, "low"),
        ("9", CONDITIONAL_FAIL, "low"),
        ("8.99", FAIL, "low"),
    ],
)
def test_statements(y: str, expected: Statement, direction: Direction | None) -> None:
    low, high, w = Decimal(10), Decimal(20), Decimal(1)
    assert state(Decimal(y), w, low, high) == (expected, direction)
    one_sided = state(Decimal(y), w, None, high) if direction == "high" else state(Decimal(y), w, low, None)
    assert one_sided == (expected, direction)
    # mirrored below zero
    mirrored = {"high": "low", "low": "high", None: None}[direction]
    assert state(-Decimal(y), w, -high, -low) == (expected, mirrored)


@given(st.decimals(0, 30, places=2))
def test_without_a_guard_band_there_are_two_statements(y: Decimal) -> None:
    # simple acceptance, ILAC-G8:09/2019, 4.2.1 (S): inside the limits or not
    statement, _ = state(y, Decimal(0), Decimal(10), Decimal(20))
    assert (statement is PASS) == (Decimal(10) <= y <= Decimal(20))
    assert statement in (PASS, FAIL)


def test_a_window_narrower_than_the_guard_bands() -> None:
    assert state(Decimal("5.1"), Decimal(1), Decimal(5), Decimal("5.5")) == (CONDITIONAL_PASS, "low")
    assert state(Decimal("5.4"), Decimal(1), Decimal(5), Decimal("5.5")) == (CONDITIONAL_PASS, "high")
    assert state(Decimal("5.6"), Decimal(1), Decimal(5), Decimal("5.5")) == (CONDITIONAL_FAIL, "high")


# meter ±(0.5 % + 2 × 10 mV), u = a/√3, w = 2u; vectors of our own (C)
OURS = [
    (("4.75", "5.25"), "5.00", PASS, None, None),
    (("4.75", "5.25"), "4.78", CONDITIONAL_PASS, "low", ".882"),
    (("4.75", "5.25"), "4.75", CONDITIONAL_PASS, "low", ".500"),
    (("4.75", "5.25"), "4.72", CONDITIONAL_FAIL, "low", ".117"),
    (("4.75", "5.25"), "4.69", FAIL, "low", ".008"),
    (("4.75", "5.25"), "5.23", CONDITIONAL_PASS, "high", ".774"),
    (("-13.2", "-10.8"), "-11.50", PASS, None, None),
    (("-13.2", "-10.8"), "-10.85", CONDITIONAL_PASS, "high", ".878"),
    (("-13.2", "-10.8"), "-10.75", CONDITIONAL_FAIL, "high", ".120"),
]


@pytest.mark.parametrize(("limits", "said", "statement", "direction", "probability"), OURS)
def test_vectors_of_our_own(
    limits: tuple[str, str], said: str, statement: Statement, direction: Direction | None, probability: str | None
) -> None:
    verdict = judge(value(said), point(*limits), meter("0.5", 2, "0.01"))
    assert (verdict.statement, verdict.direction) == (statement, direction)
    assert verdict.probability is not None
    if probability is not None:
        assert round(verdict.probability, 3) == Decimal(probability)


def test_uncertainty_of_our_own_vector() -> None:
    verdict = judge(value("4.78"), point("4.75", "5.25"), meter("0.5", 2, "0.01"))
    # a = 0.5 % × 4.78 + 0.02 = 0.0439, u = a/√3 = 0.025346 (C: .02535), U = 2u
    assert verdict.uncertainty == Decimal("0.05069")
    assert Decimal("4.75") + verdict.uncertainty == Decimal("4.80069")  # C: acceptance limit 4.8007


# --- supply windows: the value just inside and just outside each, by a meter good enough not to matter -------------
WINDOWS = [
    ("11.40", "12.60", "ATX12V Power Supply Design Guide 2.0, 3.2.1 table 2 (S)"),
    ("4.75", "5.25", "the same (S); USB 2.0, 7.2.2 (2nd)"),
    ("3.14", "3.47", "the same (S)"),
    ("-13.20", "-10.80", "ATX specification 0.9, table 3 (S)"),
    ("-5.50", "-4.50", "ATX specification 0.9, table 3 (S)"),
    ("4.40", "5.25", "USB 2.0, 7.2.2, low-power device (2nd, clause M)"),
    ("3.0", "3.6", "EIAJ ED-5001A, normal range (S)"),
    ("2.7", "3.6", "EIAJ ED-5001A, wide range (S)"),
    ("4.80", "5.20", "LM78XX data sheet, Fairchild rev 1.3.1 p. 3, at 25 °C (S)"),
    ("4.75", "5.25", "the same, over load and input (S)"),
]


@pytest.mark.parametrize(("low", "high", "source"), WINDOWS)
def test_supply_windows(low: str, high: str, source: str) -> None:
    fine = meter("0.001", 1, "0.0001")
    where = point(low, high)

    def judged(edge: str, by: str) -> tuple[Statement, Direction | None]:
        verdict = judge(value(f"{Decimal(edge) + Decimal(by):.4f}"), where, fine)
        return verdict.statement, verdict.direction

    assert judged(low, "0.005") == (PASS, None), source
    assert judged(low, "-0.005") == (FAIL, "low"), source
    assert judged(low, "0") == (CONDITIONAL_PASS, "low"), source
    assert judged(high, "-0.005") == (PASS, None), source
    assert judged(high, "0.005") == (FAIL, "high"), source
    assert judged(high, "0") == (CONDITIONAL_PASS, "high"), source


def test_a_regulator_that_gives_too_much_has_failed() -> None:
    # a 3.3 V regulator that gives 4.0 V has failed (common practice, no source)
    verdict = judge(value("4.0"), point("3.14", "3.47", "3.3"), read_meter(METER, "meter.yaml"))
    assert (verdict.statement, verdict.direction) == (FAIL, "high")
    assert (verdict.deviation, verdict.deviation_percent) == (Decimal("0.7"), Decimal("21.21"))
    assert verdict.basis == "meter and spoken digits"


# --- spoken digits ------------------------------------------------------------------------------------------------
def test_spoken_digits_coarser_than_the_meter_add_their_half() -> None:
    doubt = doubt_of(value("4.0"), point(None, None), meter("0.5", 2, "0.01"))
    assert (doubt.meter, doubt.rounding) == (Decimal("0.0400"), Decimal("0.05"))
    # √(0.04² + 0.05²)/√3 (C)
    assert round(doubt.standard, 6) == Decimal("0.036968")


@pytest.mark.parametrize(
    ("said", "by", "rounding", "basis"),
    [
        (value("4.00"), meter("0.5", 2, "0.01"), "0", "meter"),
        (value("4.000"), meter("0.5", 2, "0.01"), "0", "meter; more digits were said than it shows in that range"),
        (value("4.0"), None, "0.05", "spoken digits only: no meter given"),
        (value("12"), None, "0.5", "spoken digits only: no meter given"),
        (value("45", "mV"), None, "0.5", "spoken digits only: no meter given"),
        (value("61"), meter("0.5", 2, "0.01"), "0.5", "spoken digits only: beyond the meter's ranges"),
        (
            value("4.0", waveform="AC"),
            read_meter(METER, "meter.yaml"),
            *("0.05", "spoken digits only: the meter gives no accuracy for AC voltage"),
        ),
    ],
)
def test_rounding_and_basis(said: SpokenValue, by: Meter | None, rounding: str, basis: str) -> None:
    doubt = doubt_of(said, point(None, None), by)
    assert (doubt.rounding, doubt.basis) == (Decimal(rounding), basis)


def test_everything_is_in_the_spoken_unit() -> None:
    where = point("3.14", "3.47", "3.3")
    by = read_meter(METER, "meter.yaml")
    volts, millivolts = judge(value("3.298"), where, by), judge(value("3298", "mV"), where, by)
    assert (millivolts.low, millivolts.high, millivolts.nominal) == (Decimal(3140), Decimal(3470), Decimal(3300))
    assert str(millivolts.low) == "3140"
    assert volts.uncertainty is not None
    assert millivolts.uncertainty == volts.uncertainty * 1000
    assert (millivolts.probability, millivolts.statement) == (volts.probability, volts.statement)
    assert (millivolts.deviation, millivolts.deviation_percent) == (Decimal(-2), Decimal("-0.06"))


def test_deviation_has_one_sign_below_zero_too() -> None:
    verdict = judge(value("-11.50"), point("-13.2", "-10.8", "-12"), None)
    assert (verdict.deviation, verdict.deviation_percent) == (Decimal("0.50"), Decimal("4.17"))
    verdict = judge(value("0.01"), point(None, None, "0"), None)
    assert (verdict.deviation, verdict.deviation_percent) == (Decimal("0.01"), None)


def test_without_limits_a_value_is_recorded() -> None:
    verdict = judge(value("7.41"), point(None, None), read_meter(METER, "meter.yaml"))
    assert (verdict.statement, verdict.direction, verdict.probability) == (RECORDED, None, None)
    assert verdict.uncertainty is not None


def test_the_smallest_range_that_covers_is_used() -> None:
    by = read_meter(METER, "meter.yaml")
    for said, resolution in [("5.999", "0.001"), ("6", "0.001"), ("6.01", "0.01"), ("-0.6", "0.1"), ("-0.61", "0.001")]:
        used = by.range_for("voltage", Decimal(said), "V")
        assert used is not None
        assert used.resolution == Decimal(resolution)


# --- over range ---------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("low", "high", "quantity", "by", "expected"),
    [
        (None, "5", "resistance", None, (FAIL, "high")),
        ("200", None, "resistance", None, (PASS, None)),
        ("200", None, "resistance", METER, (PASS, None)),
        ("50000000", None, "resistance", METER, (RECORDED, None)),  # the meter ends at 40 Mohm: it might be 45
        (None, "50000000", "resistance", METER, (RECORDED, None)),
        (None, None, "resistance", None, (RECORDED, None)),
        ("0.4", "0.8", "diode drop", METER, (FAIL, "high")),
        ("4.75", "5.25", "voltage", METER, (FAIL, "high")),
        ("-13.2", "-10.8", "voltage", METER, (FAIL, "low")),  # the sign of the rail is taken for granted
        (None, "-10.8", "voltage", METER, (PASS, None)),
    ],
)
def test_over_range(
    low: str | None, high: str | None, quantity: str, by: str | None, expected: tuple[Statement, Direction | None]
) -> None:
    used = None if by is None else read_meter(by, "meter.yaml")
    verdict = judge(value("over range"), point(low, high, quantity=quantity), used)
    assert (verdict.statement, verdict.direction) == expected
    assert (verdict.uncertainty, verdict.probability, verdict.deviation) == (None, None, None)


def test_bare_digits_are_exact() -> None:
    where = point("10", "20", quantity="digits")
    assert judge(SpokenValue("020", ""), where, None).statement is PASS
    outside = judge(SpokenValue("21", ""), where, None)
    assert (outside.statement, outside.direction, outside.uncertainty) == (FAIL, "high", Decimal(0))
    assert outside.probability == 0


# --- properties ---------------------------------------------------------------------------------------------------
_NUMBERS = st.decimals(-60, 60, places=3)


@given(_NUMBERS, _NUMBERS, _NUMBERS, st.booleans())
def test_verdict_properties(y: Decimal, one: Decimal, other: Decimal, metered: bool) -> None:
    low, high = sorted((one, other))
    where = Point("p", ("p",), "voltage", "V", None, low, high)
    by = meter("0.5", 2, "0.01") if metered else None
    verdict = judge(SpokenValue(str(y), "V"), where, by)
    assert verdict.probability is not None
    assert 0 <= verdict.probability <= 1
    assert verdict.uncertainty is not None
    assert verdict.uncertainty > 0
    conforms = verdict.statement in (PASS, CONDITIONAL_PASS)
    assert conforms == (low <= y <= high)
    if verdict.statement is PASS:
        assert verdict.direction is None
        assert verdict.probability > Decimal("0.95")
    if verdict.statement is FAIL:
        assert verdict.probability < Decimal("0.05")


def test_the_callers_decimal_context_does_not_matter() -> None:
    expected = judge(value("4.78"), point("4.75", "5.25", "5"), meter("0.5", 2, "0.01"))
    with localcontext() as context:
        context.prec = 3
        assert judge(value("4.78"), point("4.75", "5.25", "5"), meter("0.5", 2, "0.01")) == expected


def test_a_profile_and_a_meter_from_text_give_the_same_verdict() -> None:
    text = "board: kiln\npoints: [{name: rail 5, nominal: 5 V, tolerance: 5 %}]\n"
    by = read_meter(
        "name: m\nfunctions:\n  - quantity: voltage\n    ranges:\n"
        "      - {up_to: 60 V, resolution: 10 mV, accuracy: {reading: 0.5 %, counts: 2}}\n",
        "meter.yaml",
    )
    where = read_board(text, "board.yaml").points[0]
    assert judge(value("4.78"), where, by) == judge(value("4.78"), point("4.75", "5.25", "5"), meter("0.5", 2, "0.01"))

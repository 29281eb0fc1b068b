"""Meter files: functions, ranges and accuracy; and how each mistake is refused."""

from __future__ import annotations

from decimal import Decimal

import pytest

from benchvoice.decide.meter import MeterRange, read_meter
from benchvoice.errors import BoardError
from tests.decide.builders import METER


def meter_with(*functions: str) -> str:
    return "name: bench multimeter\nfunctions:\n" + "".join(f"  - {function}\n" for function in functions)


def with_range(text: str) -> str:
    return meter_with(f"{{quantity: voltage, ranges: [{text}]}}")


GOOD_RANGE = "{up_to: 6 V, resolution: 1 mV, accuracy: {reading: 0.5 %, counts: 2}}"


def test_a_meter_is_read() -> None:
    meter = read_meter(METER, "meter.yaml")
    assert (meter.name, meter.diode_display) == ("bench multimeter", "V")
    volts = meter.function("voltage")
    assert volts is not None
    assert volts.ranges[0] == MeterRange(Decimal(600), Decimal("0.1"), "mV", Decimal("0.5"), 2)
    assert volts.ranges[1] == MeterRange(Decimal(6), Decimal("0.001"), "V", Decimal("0.5"), 2)


def test_ranges_are_ordered_and_may_mix_units() -> None:
    text = meter_with(
        f"{{quantity: voltage, ranges: [{GOOD_RANGE}, "
        "{up_to: 600 mV, resolution: 0.1 mV, accuracy: {range: 0.01 %}}]}"
    )
    function = read_meter(text, "meter.yaml").function("voltage")
    assert function is not None
    assert [(entry.up_to, entry.unit) for entry in function.ranges] == [(Decimal(600), "mV"), (Decimal(6), "V")]
    assert function.ranges[0].range_percent == Decimal("0.01")
    assert function.ranges[1].resolution == Decimal("0.001")


@pytest.mark.parametrize(
    ("quantity", "number", "unit", "up_to"),
    [
        ("voltage", "0.45", "V", "600"),
        ("voltage", "450", "mV", "600"),
        ("voltage", "-3.3", "V", "6"),
        ("voltage", "60", "V", "60"),
        ("voltage", "60.1", "V", None),
        ("resistance", "470", "ohm", "600"),
        ("resistance", "4.7", "kohm", "6"),
        ("resistance", "10", "kohm", "40"),
        ("frequency", "50", "Hz", None),
    ],
)
def test_the_smallest_range_that_covers(quantity: str, number: str, unit: str, up_to: str | None) -> None:
    found = read_meter(METER, "meter.yaml").range_for(quantity, Decimal(number), unit)
    assert (None if found is None else found.up_to) == (None if up_to is None else Decimal(up_to))


def test_functions_by_waveform() -> None:
    one = f"ranges: [{GOOD_RANGE}]"
    both = read_meter(
        meter_with(f"{{quantity: voltage, waveform: AC, {one}}}", f"{{quantity: voltage, waveform: DC, {one}}}"), "m"
    )
    assert [getattr(both.function("voltage", kind), "waveform", None) for kind in ("AC", "DC", None)] == [
        "AC",
        "DC",
        "DC",
    ]
    ac_only = read_meter(meter_with(f"{{quantity: ripple, waveform: AC, {one}}}"), "m")
    assert ac_only.function("ripple") is not None
    assert ac_only.function("ripple", "DC") is None
    either = read_meter(meter_with(f"{{quantities: [voltage, ripple], {one}}}"), "m")
    assert either.function("voltage", "AC") is either.function("ripple") is not None


def test_decimals_are_those_of_the_finest_range() -> None:
    meter = read_meter(METER, "meter.yaml")
    shown = [meter.decimals(name) for name in ("voltage", "resistance", "diode drop", "frequency")]
    assert shown == [3, 3, 3, None]
    assert MeterRange(Decimal(6000), Decimal(10), "ohm").decimals == 0


REFUSED = [
    ("name: m\nfunctions: []\n", 2, "functions", "at least one entry"),
    ("functions:\n  - {quantity: voltage, ranges: []}\n", 1, "name", "'name' is missing"),
    (meter_with(f"{{ranges: [{GOOD_RANGE}]}}"), 3, "functions[0]", "quantity or quantities"),
    (
        meter_with(f"{{quantity: voltage, quantities: [ripple], ranges: [{GOOD_RANGE}]}}"),
        *(3, "functions[0]", "quantity or quantities"),
    ),
    (
        meter_with(f"{{quantities: [voltage, current], ranges: [{GOOD_RANGE}]}}"),
        *(3, "functions[0].quantities", "different units"),
    ),
    (
        meter_with(*[f"{{quantity: voltage, ranges: [{GOOD_RANGE}]}}"] * 2),
        *(4, "functions[1]", "voltage is described twice"),
    ),
    (with_range(f"{GOOD_RANGE}, {GOOD_RANGE}"), 3, "functions[0].ranges[1]", "up to the same value"),
    (
        with_range("{up_to: 6 A, resolution: 1 mV, accuracy: {counts: 2}}"),
        3,
        "functions[0].ranges[0].up_to",
        "A does not",
    ),
    (
        with_range("{up_to: 0 V, resolution: 1 mV, accuracy: {counts: 2}}"),
        3,
        "functions[0].ranges[0].up_to",
        "above zero",
    ),
    (
        with_range("{up_to: 6 V, resolution: 6 V, accuracy: {counts: 2}}"),
        *(3, "functions[0].ranges[0].resolution", "between zero and the range"),
    ),
    (
        with_range("{up_to: 6 V, resolution: 0 V, accuracy: {counts: 2}}"),
        *(3, "functions[0].ranges[0].resolution", "between zero and the range"),
    ),
    (with_range("{up_to: 6 V, resolution: 1 mV, accuracy: {}}"), 3, "functions[0].ranges[0].accuracy", "needs reading"),
    (
        with_range("{up_to: 6 V, resolution: 1 mV, accuracy: {reading: 0.5}}"),
        *(3, "functions[0].ranges[0].accuracy.reading", "not a percentage"),
    ),
    (
        with_range("{up_to: 6 V, resolution: 1 mV, accuracy: {reading: -1 %}}"),
        *(3, "functions[0].ranges[0].accuracy.reading", "not a percentage"),
    ),
    (
        with_range("{up_to: 6 V, resolution: 1 mV, accuracy: {counts: 2.5}}"),
        *(3, "functions[0].ranges[0].accuracy.counts", "not a whole number"),
    ),
    (
        with_range("{up_to: 6 V, resolution: 1 mV, accuracy: {digits: 2}}"),
        *(3, "functions[0].ranges[0].accuracy.digits", "unknown key 'digits'"),
    ),
    (with_range("{up_to: 6 V, resolution: 1 mV}"), 3, "functions[0].ranges[0].accuracy", "is missing"),
]


@pytest.mark.parametrize(("text", "line", "field", "what"), REFUSED)
def test_mistakes_are_refused_with_their_place(text: str, line: int, field: str, what: str) -> None:
    with pytest.raises(BoardError, match=r"^meter\.yaml, line") as caught:
        read_meter(text, "meter.yaml")
    assert what in caught.value.what
    assert (caught.value.line, caught.value.field) == (line, field)

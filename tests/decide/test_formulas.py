"""Computed values and their uncertainty against handbook values."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.decide.formulas import Constant, Doubtful, Form, Formula, evaluate, rounded


def measured(name: str, digits: str, standard: str = "0") -> Doubtful:
    return Doubtful.measured(name, Decimal(digits), Decimal(standard))


def formula(form: Form, *constants: str, n_inputs: int = 1, per_decade: int = 0) -> Formula:
    names = tuple("ab"[:n_inputs])
    return Formula(form, names, tuple(Constant(Decimal(each)) for each in constants), per_decade)


def worked(how: Formula, *inputs: str) -> str:
    values = [measured(name, digits) for name, digits in zip(how.inputs, inputs, strict=True)]
    found = evaluate(how, "c", values)
    assert isinstance(found, Doubtful)
    return f"{rounded(found):f}"


HANDBOOK = [
    # how, its inputs in base units, the value, where it is from
    (formula("current", "0.0015"), ("0.0750",), "50.0", "a 50 A shunt drops 75 mV: rated drop, IEC 60051, from memory"),
    (formula("current", "0.0006"), ("0.0600",), "100", "a 100 A shunt drops 60 mV: the same"),
    (formula("current", "0.1"), ("0.12",), "1.2", "Ohm's law; two digits were said"),
    (formula("current", "0.1"), ("-0.120",), "-1.20", "a current that flows the other way"),
    (formula("current", "0.1"), ("0.00",), "0.00", "no drop, no current"),
    (formula("power", n_inputs=2), ("12.0", "2.00"), "24.0", "P = U I, SI Brochure, table 4, from memory"),
    (formula("power", "0.5", n_inputs=2), ("230", "2.00"), "230", "active power with cos phi 0.5 (computed)"),
    (formula("rise", n_inputs=2), ("81", "23"), "58", "in kelvins, SI Brochure 2.3.1, from memory"),
    (formula("rise", n_inputs=2), ("81.4", "23"), "58", "down to the coarsest input's last digit"),
    (formula("rise", n_inputs=2), ("4.0", "23.5"), "-19.5", "colder than its surroundings"),
    (formula("divided", "10000", "10000"), ("5.00",), "2.50", "two equal resistors halve (computed)"),
    (formula("divided", "10000", "3300"), ("24.13",), "5.987", "24.13 x 3.3 / 13.3 = 5.98714 (computed)"),
    (formula("level", n_inputs=2, per_decade=20), ("2.000", "1.000"), "6.021", "20 lg 2 (IEC 60027-3, from memory)"),
    (formula("level", n_inputs=2, per_decade=20), ("10.00", "1.000"), "20.000", "20 lg 10 (the same)"),
    (formula("level", n_inputs=2, per_decade=20), ("0.7071", "1.000"), "-3.010", "20 lg of 1 over root 2 (the same)"),
    (formula("level", n_inputs=2, per_decade=20), ("-2.00", "1.00"), "6.02", "an inverted signal has the same level"),
    (formula("level", n_inputs=2, per_decade=10), ("2.000", "1.000"), "3.010", "10 lg 2 of powers (the same)"),
    (formula("level", "0.001", per_decade=10), ("0.100",), "20.00", "100 mW are 20 dB above 1 mW (the same)"),
    (formula("level", "0.7746", per_decade=20), ("1.228",), "4.002", "4 dB above 1 mW in 600 ohm, from memory"),
]  # fmt: skip


@pytest.mark.parametrize(("how", "inputs", "expected", "source"), HANDBOOK)
def test_handbook_values(how: Formula, inputs: tuple[str, ...], expected: str, source: str) -> None:
    assert worked(how, *inputs) == expected, source


@pytest.mark.parametrize("inputs", [("0.00", "1.0"), ("1.0", "0")])
def test_nothing_has_no_level(inputs: tuple[str, str]) -> None:
    how = formula("level", n_inputs=2, per_decade=20)
    assert evaluate(how, "c", [measured("a", inputs[0]), measured("b", inputs[1])]) == "nothing has no level"


# JCGM 100:2008, 5.1.2 and 5.1.6 (from memory): differences add absolutely, products relatively, both in quadrature
def test_a_difference_adds_absolute_uncertainties_in_quadrature() -> None:
    found = evaluate(formula("rise", n_inputs=2), "c", [measured("a", "60", "0.3"), measured("b", "20", "0.4")])
    assert isinstance(found, Doubtful)
    assert found.standard == Decimal("0.5")


def test_a_product_adds_relative_uncertainties_in_quadrature() -> None:
    found = evaluate(formula("power", n_inputs=2), "c", [measured("a", "10", "0.3"), measured("b", "100", "4")])
    assert isinstance(found, Doubtful)
    assert found.standard == 50  # 3 % and 4 % make 5 % of 1000 W


def test_a_resistor_counts_by_its_tolerance_as_a_rectangle() -> None:
    """1 % is 0.577 % standard (JCGM 100:2008, 4.3.7, from memory), beside 1 % of the drop: 1.1547 % together."""
    how = Formula("current", ("a",), (Constant(Decimal("0.1"), Decimal("0.001")),))
    found = evaluate(how, "c", [measured("a", "0.100", "0.001")])
    assert isinstance(found, Doubtful)
    assert found.number == 1
    assert found.standard.quantize(Decimal("0.000001")) == Decimal("0.011547")


def test_a_drop_that_gives_current_and_power_is_not_two_measurements() -> None:
    """P = U (U / R): its relative uncertainty is twice that of U, not the root of two times (computed)."""
    drop = measured("drop", "2.00", "0.02")
    current = evaluate(Formula("current", ("drop",), (Constant(Decimal(4)),)), "i", [drop])
    assert isinstance(current, Doubtful)
    power = evaluate(Formula("power", ("drop", "i")), "p", [drop, current])
    assert isinstance(power, Doubtful)
    assert (power.number, power.standard) == (Decimal(1), Decimal("0.02"))


def test_it_is_rounded_only_to_be_shown() -> None:
    third = evaluate(formula("current", "3"), "c", [measured("a", "1.00")])
    assert isinstance(third, Doubtful)
    assert third.number != rounded(third) == Decimal("0.333")


_NUMBERS = st.decimals("0.01", "500", places=3)
_FORMS = [
    formula("current", "0.47"),
    formula("power", n_inputs=2),
    formula("power", "0.8", n_inputs=2),
    formula("rise", n_inputs=2),
    formula("divided", "10000", "3300"),
    formula("level", n_inputs=2, per_decade=20),
    formula("level", "0.001", per_decade=10),
]


@given(st.sampled_from(_FORMS), _NUMBERS, _NUMBERS, st.integers(0, 1))
def test_what_an_input_adds_is_how_far_its_doubt_moves_the_value(
    how: Formula, first: Decimal, second: Decimal, moved: int
) -> None:
    """The derivatives, against the value worked out once more with an input that is a little larger."""
    numbers = [first, second][: len(how.inputs)]
    at = moved % len(numbers)
    step = numbers[at] * Decimal("1e-12")
    found = evaluate(how, "c", [Doubtful.measured(how.inputs[n], each, step) for n, each in enumerate(numbers)])
    numbers[at] += step
    other = evaluate(how, "c", [Doubtful.measured(how.inputs[n], each, step) for n, each in enumerate(numbers)])
    assert isinstance(found, Doubtful)
    assert isinstance(other, Doubtful)
    adds, difference = found.parts[how.inputs[at], -1], other.number - found.number
    assert abs(adds - difference) <= abs(adds) * Decimal("1e-6")

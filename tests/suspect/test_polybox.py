"""The polybox (de Kleer & Williams 1987; circuit and values as in the project's check values, section 8)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from benchvoice.suspect.arithmetic import Calculator, Circuit
from benchvoice.suspect.information import information
from benchvoice.suspect.sets import minimal_conflicts, minimal_diagnoses, posteriors

INPUTS = {"A": 3, "B": 2, "C": 2, "D": 3, "E": 3}
CALCULATORS = (
    Calculator("M1", "product", ("A", "C"), "X"),
    Calculator("M2", "product", ("B", "D"), "Y"),
    Calculator("M3", "product", ("C", "E"), "Z"),
    Calculator("A1", "sum", ("X", "Y"), "F"),
    Calculator("A2", "sum", ("Y", "Z"), "G"),
)
DIAGNOSES = {frozenset({"M1"}), frozenset({"A1"}), frozenset({"M2", "M3"}), frozenset({"M2", "A2"})}


def polybox(**seen: int) -> Circuit:
    return Circuit(CALCULATORS, {place: Fraction(value) for place, value in (INPUTS | seen).items()})


POLYBOX = polybox(F=10, G=12)


def test_the_normal_polybox_gives_what_is_expected() -> None:
    assert polybox().predicted(frozenset())["F"] == 12
    assert polybox().predicted(frozenset())["G"] == 12
    assert minimal_diagnoses(polybox(F=12, G=12)) == (frozenset(),)
    assert minimal_conflicts([frozenset()]) == ()


def test_its_minimal_diagnoses() -> None:
    found = minimal_diagnoses(POLYBOX)
    assert set(found) == DIAGNOSES
    assert [len(each) for each in found] == [1, 1, 2, 2]


def test_its_minimal_conflicts() -> None:
    conflicts = set(minimal_conflicts(minimal_diagnoses(POLYBOX)))
    assert conflicts == {frozenset({"M1", "M2", "A1"}), frozenset({"M1", "M3", "A1", "A2"})}
    for conflict in conflicts:
        assert POLYBOX.conflict(conflict) == conflict
        for member in conflict:
            assert POLYBOX.conflict(conflict - {member}) is None


def test_its_probabilities() -> None:
    found = posteriors(minimal_diagnoses(POLYBOX), dict.fromkeys(POLYBOX.components, Decimal("0.01")))
    rounded = {name: str(round(chance, 3)) for name, chance in found.items()}
    assert rounded == {"M1": "0.498", "A1": "0.498", "M2": "0.020", "M3": "0.015", "A2": "0.015"}


def test_where_to_measure_next() -> None:
    """X parts M1 from A1, Y only the pairs from them, Z the two pairs (computed here)."""
    shares = {diagnosis: Decimal(99) if len(diagnosis) == 1 else Decimal(1) for diagnosis in DIAGNOSES}
    told = {
        place: information((weight / 200, POLYBOX.predicted(diagnosis)[place]) for diagnosis, weight in shares.items())
        for place in "XYZ"
    }
    assert POLYBOX.predicted(frozenset({"M1"}))["X"] == 4
    assert POLYBOX.predicted(frozenset({"A1"}))["X"] == 6
    assert max(told, key=lambda place: told[place]) == "X"
    assert told["X"] == pytest.approx(Decimal("0.99993"), abs=Decimal("0.00001"))  # entropy of 99 to 101
    assert told["Y"] == pytest.approx(Decimal("0.08079"), abs=Decimal("0.00001"))  # of 198 to 2
    assert told["Z"] == pytest.approx(Decimal("0.04541"), abs=Decimal("0.00001"))  # of 199 to 1


def test_after_measuring_x_one_half_is_left() -> None:
    assert frozenset({"M1"}) in minimal_diagnoses(polybox(F=10, G=12, X=4))
    assert frozenset({"A1"}) not in minimal_diagnoses(polybox(F=10, G=12, X=4))


def test_observations_that_contradict_each_other_are_refused() -> None:
    class Contradiction:
        components = ("A1",)

        def conflict(self, normal: frozenset[str]) -> frozenset[str] | None:  # noqa: ARG002
            return frozenset()

    with pytest.raises(ValueError, match="contradict each other"):
        minimal_diagnoses(Contradiction())


def test_nothing_follows_backwards_from_a_product_with_nothing() -> None:
    circuit = Circuit((Calculator("M1", "product", ("A", "B"), "X"),), {"A": Fraction(0), "X": Fraction(0)})
    assert circuit.predicted(frozenset())["B"] is None
    assert Circuit(circuit.calculators, {"A": Fraction(0), "X": Fraction(1), "B": Fraction(1)}).conflict(
        frozenset({"M1"})
    ) == frozenset({"M1"})

"""Minimal hitting sets and conflicts, held against trying every set."""

from __future__ import annotations

from decimal import Decimal
from itertools import chain, combinations, pairwise
from math import prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.suspect.sets import (
    Leading,
    _Search,
    leading_hitting_sets,
    minimal_conflicts,
    minimal_diagnoses,
    posteriors,
)

MEMBERS = "abcdefg"
CONFLICTS = st.lists(st.sets(st.sampled_from(MEMBERS), min_size=1).map(frozenset), min_size=1, max_size=6)
WEIGHTS = st.fixed_dictionaries({member: st.integers(1, 98).map(lambda n: Decimal(n) / 99) for member in MEMBERS})


def every_set() -> list[frozenset[str]]:
    return [frozenset(each) for each in chain.from_iterable(combinations(MEMBERS, n) for n in range(len(MEMBERS) + 1))]


def by_trying(conflicts: list[frozenset[str]]) -> set[frozenset[str]]:
    hitting = [each for each in every_set() if all(each & conflict for conflict in conflicts)]
    return {each for each in hitting if not any(other < each for other in hitting)}


def listed(conflicts: list[frozenset[str]]) -> list[list[str]]:
    return [sorted(conflict) for conflict in conflicts]


class Given:
    """A system with these conflicts."""

    components = tuple(MEMBERS)

    def __init__(self, conflicts: list[frozenset[str]]) -> None:
        self.conflicts = conflicts

    def conflict(self, normal: frozenset[str]) -> frozenset[str] | None:
        return next((each for each in self.conflicts if each <= normal), None)


@given(CONFLICTS)
def test_the_minimal_diagnoses_are_the_minimal_hitting_sets(conflicts: list[frozenset[str]]) -> None:
    found = minimal_diagnoses(Given(conflicts))
    assert set(found) == by_trying(conflicts)
    assert len(set(found)) == len(found)


@given(CONFLICTS)
def test_from_the_diagnoses_come_the_minimal_conflicts_again(conflicts: list[frozenset[str]]) -> None:
    minimal = {each for each in conflicts if not any(other < each for other in conflicts)}
    assert set(minimal_conflicts(minimal_diagnoses(Given(conflicts)))) == minimal


@given(CONFLICTS, WEIGHTS)
def test_leading_sets_are_all_of_them_by_weight(conflicts: list[frozenset[str]], weights: dict[str, Decimal]) -> None:
    leading = leading_hitting_sets(listed(conflicts), weights, 1000)
    assert leading.complete
    assert set(leading.sets) == by_trying(conflicts)
    heavy = [prod((weights[member] for member in each), start=Decimal(1)) for each in leading.sets]
    assert all(first >= then * (1 - Decimal("1e-20")) for first, then in pairwise(heavy))


def test_only_as_many_as_are_wanted() -> None:
    weights = dict.fromkeys(MEMBERS, Decimal("0.1")) | {"c": Decimal("0.2")}
    leading = leading_hitting_sets(["abc"], weights, 1)
    assert leading == Leading((frozenset("c"),), complete=False)


def test_many_equal_conflicts_still_end() -> None:
    """Ten to the thirtieth sets: the first are found without looking at the rest."""
    conflicts = [[f"{at} {letter}" for letter in "abcdefghij"] for at in range(30)]
    weights = {member: Decimal("0.01") for conflict in conflicts for member in conflict}
    leading = leading_hitting_sets(conflicts, weights, 50)
    assert len(set(leading.sets)) == 50
    assert not leading.complete


@given(CONFLICTS, WEIGHTS, st.integers(0, 4))
def test_a_search_that_ends_early_still_gives_minimal_sets(
    conflicts: list[frozenset[str]], weights: dict[str, Decimal], most_begun: int
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(_Search, "MOST_BEGUN", most_begun)
        leading = leading_hitting_sets(listed(conflicts), weights, 5)
    assert leading.sets
    assert set(leading.sets) <= by_trying(conflicts)


def test_the_first_of_equal_sets_are_spread() -> None:
    members = [f"{at:03}" for at in range(256)]
    leading = leading_hitting_sets([members], dict.fromkeys(members, Decimal("0.01")), 16)
    assert sorted(int(member) for each in leading.sets for member in each) == list(range(0, 256, 16))


@given(CONFLICTS, WEIGHTS)
def test_posteriors_are_those_of_every_set(conflicts: list[frozenset[str]], priors: dict[str, Decimal]) -> None:
    def chance(each: frozenset[str]) -> Decimal:
        return prod((priors[m] if m in each else 1 - priors[m] for m in MEMBERS), start=Decimal(1))

    hitting = {each: chance(each) for each in every_set() if all(each & conflict for conflict in conflicts)}
    found = posteriors(minimal_diagnoses(Given(conflicts)), priors)
    for member in MEMBERS:
        with_it = sum((share for each, share in hitting.items() if member in each), Decimal(0))
        expected = with_it / sum(hitting.values(), Decimal(0))
        assert abs(found[member] - expected) < Decimal("1e-20")

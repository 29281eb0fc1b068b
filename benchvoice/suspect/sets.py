"""Conflicts and diagnoses as sets: which least sets of components, failed, leave the others free of contradiction.

A conflict is a set of components that cannot all be normal; a diagnosis is a set that has one of every conflict
(de Kleer & Williams 1987, Reiter 1987, both from memory).
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from itertools import count
from typing import Generic, Protocol, TypeVar

__all__ = ["Leading", "Theory", "leading_hitting_sets", "minimal_conflicts", "minimal_diagnoses", "posteriors"]

C = TypeVar("C")


class Theory(Protocol):
    """A system that can be wrong. Its components are named."""

    @property
    def components(self) -> Sequence[str]:
        """All of them, in an order of their own."""
        ...

    def conflict(self, normal: frozenset[str]) -> frozenset[str] | None:
        """Some of `normal` that cannot all be normal as things were observed; None where they can."""
        ...


def minimal_diagnoses(theory: Theory) -> tuple[frozenset[str], ...]:
    """Every minimal diagnosis, the smallest first, each as often as once: Reiter's tree, breadth first.

    The empty set is the one diagnosis of a system without a contradiction. Takes time that grows with the number of
    sets looked at: for some dozen components, not for thousands.

    Raises:
        ValueError: the observations contradict each other, whatever has failed.
    """
    everything = frozenset(theory.components)
    found: list[frozenset[str]] = []
    level = {frozenset[str]()}
    while level:
        deeper: set[frozenset[str]] = set()
        for failed in sorted(level, key=sorted):
            if any(known <= failed for known in found):
                continue
            conflict = theory.conflict(everything - failed)
            if conflict is None:
                found.append(failed)
            elif not conflict:
                raise ValueError("the observations contradict each other")
            else:
                deeper |= {failed | {component} for component in conflict}
        level = deeper
    return tuple(found)


def minimal_conflicts(diagnoses: Iterable[frozenset[str]]) -> tuple[frozenset[str], ...]:
    """Every minimal conflict of the system that has these minimal diagnoses: what hits each of them (Reiter 1987).

    Args:
        diagnoses: all the minimal diagnoses.
    """
    sets = tuple(diagnoses)
    return () if frozenset() in sets else minimal_diagnoses(_Hitting(sets))


@dataclass(frozen=True)
class _Hitting:
    """The system whose conflicts are given as they are."""

    sets: tuple[frozenset[str], ...]

    @property
    def components(self) -> Sequence[str]:
        return sorted(frozenset().union(*self.sets))

    def conflict(self, normal: frozenset[str]) -> frozenset[str] | None:
        return next((each for each in self.sets if each <= normal), None)


def posteriors(diagnoses: Iterable[frozenset[str]], priors: Mapping[str, Decimal]) -> dict[str, Decimal]:
    """How probable it is that each component has failed, over every set that holds a minimal diagnosis.

    A failed component may do anything, so every such set explains the observations equally well.

    Args:
        diagnoses: the minimal diagnoses.
        priors: for each component the probability, between 0 and 1, with which it fails, whatever the others do.
    """

    @cache
    def chance(sets: frozenset[frozenset[str]]) -> Decimal:
        # that one of these sets has failed altogether: with one component of them failed, and with it normal
        if frozenset() in sets:
            return Decimal(1)
        if not sets:
            return Decimal(0)
        component = min(min(sets, key=sorted))
        prior = priors[component]
        return prior * chance(_failed(sets, component)) + (1 - prior) * chance(_normal(sets, component))

    least = frozenset(diagnoses)
    whole = chance(least)
    return {component: prior * chance(_failed(least, component)) / whole for component, prior in priors.items()}


def _failed(sets: frozenset[frozenset[str]], component: str) -> frozenset[frozenset[str]]:
    return frozenset(each - {component} for each in sets)


def _normal(sets: frozenset[frozenset[str]], component: str) -> frozenset[frozenset[str]]:
    return frozenset(each for each in sets if component not in each)


@dataclass(frozen=True)
class Leading(Generic[C]):
    """The weightiest minimal hitting sets. `complete` is whether there are no others."""

    sets: tuple[frozenset[C], ...]
    complete: bool


_MOST_LOOKED_AT = 20_000


def leading_hitting_sets(conflicts: Sequence[frozenset[C]], weights: Mapping[C, Decimal], most: int) -> Leading[C]:
    """The minimal sets that have a member of every conflict, the weightiest first: at most `most` of them.

    Best first: a set not yet whole is held to weigh as much as it can at best become. The search ends after a bounded
    number of sets, so that no board makes a technician wait.

    Args:
        conflicts: what has to be hit, none of them empty.
        weights: of each member, above 0 and below 1; a set weighs the product.
        most: how many sets are wanted.
    """
    heaviest = [max(weights[member] for member in conflict) for conflict in conflicts]

    def at_best(weight: Decimal, missed: Sequence[int]) -> Decimal:
        met: set[C] = set()
        for index in missed:
            if met.isdisjoint(conflicts[index]):  # two that share nothing need a member each
                weight *= heaviest[index]
                met |= conflicts[index]
        return weight

    number = count()
    none_hit = tuple(range(len(conflicts)))
    queue: list[tuple[Decimal, int, int, frozenset[C], Decimal, tuple[int, ...]]] = []
    heapq.heappush(queue, (-at_best(Decimal(1), none_hit), 0, next(number), frozenset(), Decimal(1), none_hit))
    found: list[frozenset[C]] = []
    seen: set[frozenset[C]] = {frozenset()}
    looked_at = 0
    while queue and len(found) < most and looked_at < _MOST_LOOKED_AT:
        looked_at += 1
        _, _, _, chosen, weight, missed = heapq.heappop(queue)
        if not missed:
            if _is_minimal(chosen, conflicts):
                found.append(chosen)
            continue
        for member in conflicts[missed[0]]:
            grown = chosen | {member}
            if grown not in seen:
                seen.add(grown)
                rest = tuple(index for index in missed if member not in conflicts[index])
                heavier = weight * weights[member]
                # of equals the one nearest its end first
                item = (-at_best(heavier, rest), len(rest), next(number), grown, heavier, rest)
                heapq.heappush(queue, item)
    return Leading(tuple(found), complete=not queue)


def _is_minimal(chosen: frozenset[C], conflicts: Sequence[frozenset[C]]) -> bool:
    """Whether each member alone hits some conflict."""
    needed = {next(iter(hit)) for conflict in conflicts if len(hit := conflict & chosen) == 1}
    return needed == chosen

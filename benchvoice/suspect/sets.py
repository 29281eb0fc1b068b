"""Conflicts and diagnoses as sets: which least sets of components, failed, leave the others free of contradiction.

A conflict is a set of components that cannot all be normal; a diagnosis is a set that has one of every conflict
(de Kleer & Williams 1987, Reiter 1987, both from memory).
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Mapping, Sequence
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


def leading_hitting_sets(conflicts: Sequence[Sequence[C]], weights: Mapping[C, Decimal], most: int) -> Leading[C]:
    """The minimal sets that have a member of every conflict, the weightiest first: about `most` of them, at least one.

    Best first: a set not yet whole is held to weigh as much as it can at best become. Where the search would take long
    it ends early, and what was begun is made whole one member after the other, so that no board makes anybody wait.
    Equal sets come in an order that is spread over each conflict, so that the first of them stand for the others.

    Args:
        conflicts: what has to be hit, none of them empty; the same order gives the same sets.
        weights: of each member, above 0 and below 1; a set weighs the product.
        most: how many sets are wanted.
    """
    return _Search(conflicts, weights).run(most)


class _Search(Generic[C]):
    """Sets of members and of conflicts are kept as the bits of whole numbers."""

    MOST_BEGUN = 10_000
    """How many sets are begun."""
    LOOKS_AHEAD = 24
    """How many of the conflicts that are not hit yet are looked at to tell how heavy a set can become: the smallest."""

    def __init__(self, conflicts: Sequence[Sequence[C]], weights: Mapping[C, Decimal]) -> None:
        by_size = sorted({frozenset(conflict): tuple(conflict) for conflict in conflicts}.values(), key=len)
        self._members = list(dict.fromkeys(member for conflict in by_size for member in conflict))
        number = {member: at for at, member in enumerate(self._members)}
        self._weights = [weights[member] for member in self._members]
        self._conflicts = [_spread([number[member] for member in dict.fromkeys(conflict)]) for conflict in by_size]
        self._masks = [sum(1 << member for member in conflict) for conflict in self._conflicts]
        self._heaviest = [max(self._weights[member] for member in conflict) for conflict in self._conflicts]
        self._hits = [0] * len(self._members)
        for at, conflict in enumerate(self._conflicts):
            for member in conflict:
                self._hits[member] |= 1 << at

    def run(self, most: int) -> Leading[C]:
        begun = count()
        none_hit = (1 << len(self._conflicts)) - 1
        queue = [(-self._at_best(Decimal(1), none_hit), 0, next(begun), 0, Decimal(1), none_hit)]
        found: list[int] = []
        seen = {0}
        n_begun = 0
        while queue and len(found) < most and n_begun < self.MOST_BEGUN:
            _, _, _, chosen, weight, missed = heapq.heappop(queue)
            if not missed:
                if self._is_minimal(chosen):
                    found.append(chosen)
                continue
            for member in self._conflicts[_lowest(missed)]:
                grown = chosen | 1 << member
                if grown in seen:
                    continue
                seen.add(grown)
                n_begun = next(begun)
                rest = missed & ~self._hits[member]
                heavier = weight * self._weights[member]
                # of equals the one nearest its end first
                item = (-self._at_best(heavier, rest), rest.bit_count(), n_begun, grown, heavier, rest)
                heapq.heappush(queue, item)
        complete = not queue
        if len(found) < most and not complete:
            found += [self._made_whole(entry[3], entry[5]) for entry in heapq.nsmallest(most - len(found), queue)]
        return Leading(tuple(frozenset(self._named(chosen)) for chosen in dict.fromkeys(found)), complete)

    def _at_best(self, weight: Decimal, missed: int) -> Decimal:
        met = 0
        for _ in range(self.LOOKS_AHEAD):
            if not missed:
                break
            at = _lowest(missed)
            missed &= missed - 1
            if not met & self._masks[at]:  # two that share nothing need a member each
                weight *= self._heaviest[at]
                met |= self._masks[at]
        return weight

    def _made_whole(self, chosen: int, missed: int) -> int:
        """A minimal set that begins so: each time the member that hits most, the heaviest of these."""
        while missed:
            hits = {member: (missed & self._hits[member]).bit_count() for member in self._conflicts[_lowest(missed)]}
            best = max(hits, key=lambda member: (hits[member], self._weights[member]))
            chosen |= 1 << best
            missed &= ~self._hits[best]
        for member in self._numbers(chosen):
            without = chosen & ~(1 << member)
            if all(mask & without for mask in self._masks):
                chosen = without
        return chosen

    def _is_minimal(self, chosen: int) -> bool:
        """Whether each member alone hits some conflict."""
        needed = 0
        for mask in self._masks:
            hit = mask & chosen
            if hit & (hit - 1) == 0:
                needed |= hit
        return needed == chosen

    @staticmethod
    def _numbers(chosen: int) -> Iterator[int]:
        while chosen:
            yield _lowest(chosen)
            chosen &= chosen - 1

    def _named(self, chosen: int) -> Iterator[C]:
        return (self._members[number] for number in self._numbers(chosen))


def _lowest(bits: int) -> int:
    """The number of the lowest bit that is set."""
    return (bits & -bits).bit_length() - 1


def _spread(items: list[int]) -> list[int]:
    """The same in an order of which every beginning is spread over the whole: by their places' bits, turned round."""
    width = max(1, (len(items) - 1).bit_length())
    places = sorted(range(len(items)), key=lambda place: f"{place:0{width}b}"[::-1])
    return [items[place] for place in places]

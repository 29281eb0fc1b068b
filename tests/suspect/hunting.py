"""Supplies with known faults, to be found by measuring: networks, what a meter would show, and a hunt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from random import Random

from benchvoice.suspect.evidence import Evidence
from benchvoice.suspect.supply import Network, Place, Seen
from benchvoice.suspect.weighing import Weighed, weigh
from benchvoice.suspicion import Cause

__all__ = ["Hunt", "board_order", "broken_tree", "chain", "half_split", "hunt", "network", "part", "really_wrong"]

RIGHT, WRONG = Seen("right"), Seen("wrong")


def part(name: str) -> Cause:
    return Cause("part", name)


def network(
    *places: Place, weights: Mapping[Cause, str] | None = None, load_tests: Mapping[str, str] | None = None
) -> Network:
    """A network whose causes have odds of 0.01 but where `weights` gives others."""
    causes = {cause for place in places for cause in (*place.ways, *place.loads)}
    odds = {cause: Decimal((weights or {}).get(cause, "0.01")) for cause in causes}
    return Network(places, odds, load_tests or {})


def chain(length: int) -> Network:
    """Places one behind the other, each fed through a part of its own."""
    return network(*(Place(f"p{at}", f"p{at - 1}" if at else None, (part(f"U{at}"),)) for at in range(length)))


def really_wrong(supplies: Network, failed: frozenset[Cause]) -> list[bool]:
    """Whether each place is wrong once these have failed: it is, or what feeds it is."""
    wrong = [False] * len(supplies.places)
    for at in supplies.order:
        place, feed = supplies.places[at], supplies.feeds[at]
        fed_wrong = feed is not None and wrong[feed]
        wrong[at] = fed_wrong or any(cause in failed for cause in (*place.ways, *place.loads))
    return wrong


@dataclass(frozen=True)
class BrokenTree:
    """A supply tree with its faults, and the points of which the complaint tells that they fail."""

    supplies: Network
    failed: frozenset[Cause]
    unmasked: frozenset[Cause]
    """The faults that no other fault hides."""
    complaint: tuple[int, ...]


def broken_tree(seed: int, fewest: int = 8, most: int = 60) -> BrokenTree:
    """A random tree with one or two faults; of each that is not hidden the complaint names one outermost point."""
    chance = Random(seed)
    n = chance.randint(fewest, most)
    places = [Place("p0", None, (part("U0"),))]
    for at in range(1, n):
        # mostly from what was added lately: boards are deeper than they are wide
        feed = chance.randrange(max(0, at - 6), at) if chance.random() < 0.7 else chance.randrange(at)
        ways = tuple(part(f"{letter}{at}") for letter in ("U", "L")[: chance.choice((1, 1, 1, 2))])
        places.append(Place(f"p{at}", f"p{feed}", ways))
    supplies = network(*places)
    at_fault = chance.sample(range(n), chance.choice((1, 2)))
    failed = frozenset(chance.choice(places[at].ways) for at in at_fault)
    unmasked, complaint = set[Cause](), list[int]()
    wrong = really_wrong(supplies, failed)
    for at in at_fault:
        fed_by = supplies.feeds[at]
        if fed_by is not None and wrong[fed_by]:
            continue
        unmasked |= failed & set(places[at].ways)
        outermost = at
        while supplies.children[outermost]:
            outermost = chance.choice(supplies.children[outermost])
        complaint.append(outermost)
    return BrokenTree(supplies, failed, frozenset(unmasked), tuple(complaint))


@dataclass(frozen=True)
class Hunt:
    """How it went: how many points were measured, and what was known before each measurement and in the end."""

    measured: int
    steps: tuple[tuple[Evidence, Weighed], ...]


Choice = Callable[[Weighed], int]


def half_split(weighed: Weighed) -> int:
    """The place that tells most; of equals the first."""
    return max(sorted(weighed.bits), key=lambda at: weighed.bits[at])


def board_order(weighed: Weighed) -> int:
    """The first that was not read, though one would skip those that cannot tell anything."""
    return min(at for at in weighed.bits if weighed.bits[at])


def hunt(supplies: Network, failed: frozenset[Cause], complaint: tuple[int, ...], choose: Choice = half_split) -> Hunt:
    """Measures until no point tells anything more."""
    wrong = really_wrong(supplies, failed)
    seen = {supplies.places[at].name: WRONG for at in complaint}
    steps: list[tuple[Evidence, Weighed]] = []
    while True:
        evidence = Evidence(supplies, seen)
        weighed = weigh(evidence)
        steps.append((evidence, weighed))
        if not any(weighed.bits.values()):
            return Hunt(len(steps) - 1, tuple(steps))
        at = choose(weighed)
        seen[supplies.places[at].name] = WRONG if wrong[at] else RIGHT

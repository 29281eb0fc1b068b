"""A board's supplies as a forest: what feeds what, and what could make each place wrong."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from benchvoice.suspicion import Cause

__all__ = ["Network", "Place", "Seen"]


@dataclass(frozen=True)
class Place:
    """A point in the supplies. It is right if what feeds it is right and none of its causes has failed.

    Attributes:
        name: the point's name.
        fed_by: the place that feeds it; None for one that is fed from outside the board.
        ways: what it is fed through: each of these, failed, makes it wrong.
        loads: what hangs on it: each of these, failed, pulls it down.
        judged: whether a reading there can be right or wrong; without limits it can be neither.
    """

    name: str
    fed_by: str | None = None
    ways: tuple[Cause, ...] = ()
    loads: tuple[Cause, ...] = ()
    judged: bool = True


@dataclass(frozen=True)
class Seen:
    """What a reading says of a place.

    Attributes:
        state: "right" and "wrong" are certain, "doubtful" is neither.
        right: for a doubtful one the probability that it is right, above 0 and below 1.
        lifted: whether it is wrong by being farther from zero than it may be, which no lack of supply brings about.
    """

    state: Literal["right", "wrong", "doubtful"]
    right: Decimal = Decimal(1) / 2
    lifted: bool = False


@dataclass(frozen=True)
class Network:
    """Places with what feeds them, by index in `places`.

    Attributes:
        places: in the board's order.
        weights: the odds of each cause that it has failed, above 0 and below 1.
        load_tests: point → the place whose loads alone it shows (a resistance from a rail to ground).

    Raises:
        ValueError: a place is fed by none that is known, or by itself in the end; a test is of none that is known.
    """

    places: Sequence[Place]
    weights: Mapping[Cause, Decimal]
    load_tests: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        index = {place.name: at for at, place in enumerate(self.places)}
        feeds = [None if place.fed_by is None else index.get(place.fed_by, -1) for place in self.places]
        children: list[list[int]] = [[] for _ in self.places]
        for at, feed in enumerate(feeds):
            if feed == -1:
                raise ValueError(f"{self.places[at].name} is fed by no known place: {self.places[at].fed_by}")
            if feed is not None:
                children[feed].append(at)
        order = [at for at, feed in enumerate(feeds) if feed is None]
        for at in order:
            order += children[at]
        if len(order) < len(feeds):
            looped = next(at for at in range(len(feeds)) if at not in set(order))
            raise ValueError(f"{self.places[looped].name} would feed itself")
        for test, place in self.load_tests.items():
            if place not in index:
                raise ValueError(f"{test} shows the loads of no known place: {place}")
        object.__setattr__(self, "index", index)
        object.__setattr__(self, "feeds", tuple(feeds))
        object.__setattr__(self, "children", tuple(tuple(each) for each in children))
        object.__setattr__(self, "order", tuple(order))

    index: Mapping[str, int] = field(init=False, repr=False, compare=False)
    feeds: tuple[int | None, ...] = field(init=False, repr=False, compare=False)
    children: tuple[tuple[int, ...], ...] = field(init=False, repr=False, compare=False)
    order: tuple[int, ...] = field(init=False, repr=False, compare=False)
    """Every place, what feeds it first."""

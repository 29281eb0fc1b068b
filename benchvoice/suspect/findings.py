"""From a board's supplies and the readings that count to what is suspected, why, and where to measure next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from benchvoice.suspect.evidence import Evidence
from benchvoice.suspect.supply import Network, Place, Seen
from benchvoice.suspect.weighing import Weighed, weigh
from benchvoice.suspicion import Cause, Reason, ReasonKind, Suspect, SuspectSet, Suspicion

__all__ = ["MOST_SUSPECTS", "SupplyPart", "SupplyPoint", "SupplyReading", "Trial", "away_from_zero", "suspicion_of"]

MOST_SUSPECTS = 12
"""How many suspects are named one by one."""

_SELDOM_CERTAIN = (Decimal("0.001"), Decimal("0.999"))
_EVEN = Decimal(1) / 2
_SHARE = Decimal("0.0001")
_BITS = Decimal("0.000000001")

# Odds that something has failed; only their proportions matter, and how small they are. Common practice, no source.
_PART = Decimal("0.01")
_FAILS = {"often": 4 * _PART, "seldom": _PART / 4}
_TRIED = {"works": Decimal(20), "different": Decimal(3), "no change": Decimal(1) / 20}
_SUPPLY = "supply"
_ODDS = {"feed": _PART / 2, "way": _PART / 2, "load": _PART * 2 / 5}


@dataclass(frozen=True)
class SupplyPoint:
    """A point of the board with what its file says of its supply.

    Attributes:
        name: the point's name.
        fed_by: the point that feeds it.
        through: references of the parts between them, each of which it needs.
        loads: references of parts that hang on it and pull it down where they fail.
        load_of: the point whose loads it shows, as a resistance from a rail to ground does.
        judged: whether it has limits.
        away: in which direction of its limits it lies farther from zero; None where a supply does not tell that.
    """

    name: str
    fed_by: str | None = None
    through: tuple[str, ...] = ()
    loads: tuple[str, ...] = ()
    load_of: str | None = None
    judged: bool = True
    away: Literal["high", "low"] | None = None


@dataclass(frozen=True)
class SupplyPart:
    """A part: its reference, what it is, and whether it fails "often" or "seldom" (empty: neither)."""

    ref: str
    what: str = ""
    fails: str = ""


@dataclass(frozen=True)
class SupplyReading:
    """A reading that counts: its statement and direction, and its probability of conformity, 0 to 1."""

    statement: str
    direction: Literal["high", "low"] | None = None
    probability: Decimal | None = None


@dataclass(frozen=True)
class Trial:
    """Another one was tried in place of a part (its reference) or of the "supply", and what came of it.

    A trial is evidence, not proof: the connection may have been the fault, or two parts may have failed. It changes the
    odds of that cause and excludes nothing.
    """

    what: str
    outcome: Literal["works", "no change", "different"]


def away_from_zero(quantity: str, low: Decimal | None, high: Decimal | None) -> Literal["high", "low"] | None:
    """In which direction of its limits a voltage lies farther from zero; None for what a missing supply can raise."""
    if quantity != "voltage":
        return None
    if high is not None and high <= 0:
        return "low"
    return "high" if low is not None and low >= 0 else None


def suspicion_of(
    points: Sequence[SupplyPoint],
    parts: Iterable[SupplyPart],
    readings: Mapping[str, SupplyReading],
    trials: Iterable[Trial] = (),
) -> Suspicion:
    """What is suspected.

    Args:
        points: the board's points in its order; what feeds them is among them, in no loop.
        parts: the board's parts.
        readings: the reading of each point that counts, by the point's name.
        trials: what was tried with another in its place; of each thing the latest.

    Raises:
        ValueError: a point is fed by none that is there, or by itself in the end.
    """
    by_ref = {part.ref: part for part in parts}
    tried = {trial.what.casefold(): trial for trial in trials}
    network = _network(points, by_ref, tried)
    seen = {point.name: _seen(point, readings[point.name]) for point in points if point.name in readings}
    known = {name: found for name, found in seen.items() if found is not None}
    evidence = Evidence(network, known)
    weighed = weigh(evidence)
    doubted = any(name in network.index and readings[name].statement == "conditional fail" for name in known)
    reasons = (*evidence.reasons(), *_apart(network, known), *_of_trials(weighed, tried))
    next_point, bits = _next(points, evidence, weighed, known)
    found = Suspicion(
        certain=evidence.certain,
        reasons=reasons,
        next_point=next_point,
        next_bits=bits,
        supplied=any(place.fed_by for place in network.places) or bool(network.load_tests),
    )
    if not (evidence.certain or doubted) or not weighed.shares:
        return found
    suspects = sorted(weighed.shares.items(), key=lambda item: -item[1].quantize(_SHARE))
    return Suspicion(
        **vars(found)
        | {
            "suspects": tuple(
                Suspect(cause, by_ref[cause.at].what if cause.kind == "part" and cause.at in by_ref else "", _share(of))
                for cause, of in suspects[:MOST_SUSPECTS]
            ),
            "n_suspects": len(suspects),
            "sets": tuple(SuspectSet(causes, _share(of)) for causes, of in weighed.sets),
            "n_sets": weighed.n_sets,
            "complete": weighed.complete,
        }
    )


def _share(of: Decimal) -> Decimal:
    return of.quantize(_SHARE)


def _network(points: Sequence[SupplyPoint], by_ref: Mapping[str, SupplyPart], tried: Mapping[str, Trial]) -> Network:
    feeding = {name for point in points for name in (point.fed_by, point.load_of) if name is not None}
    places = tuple(_place(point) for point in points if point.fed_by or point.loads or point.name in feeding)
    causes = {cause for place in places for cause in (*place.ways, *place.loads)}

    def odds(cause: Cause) -> Decimal:
        trial = _trial(cause, tried)
        factor = Decimal(1) if trial is None else _TRIED[trial.outcome]
        if cause.kind != "part":
            return factor * _ODDS[cause.kind]
        return factor * _FAILS.get(by_ref[cause.at].fails if cause.at in by_ref else "", _PART)

    tests = {point.name: point.load_of for point in points if point.load_of is not None}
    return Network(places, {cause: odds(cause) for cause in causes}, tests)


def _trial(cause: Cause, tried: Mapping[str, Trial]) -> Trial | None:
    """The trial that speaks for or against a cause. Another supply speaks of all that feeds the board from outside."""
    if cause.kind == "part":
        return tried.get(cause.at.casefold())
    return tried.get(_SUPPLY) if cause.kind == "feed" else None


def _of_trials(weighed: Weighed, tried: Mapping[str, Trial]) -> Iterable[Reason]:
    """What the trials say of what is suspected."""
    kinds: Mapping[str, ReasonKind] = {"works": "tried, works", "different": "tried, different", "no change": "tried"}
    spoke = dict.fromkeys(trial for cause in weighed.shares if (trial := _trial(cause, tried)) is not None)
    return (Reason(kinds[trial.outcome], trial.what) for trial in spoke)


def _place(point: SupplyPoint) -> Place:
    ways = tuple(Cause("part", ref) for ref in point.through)
    unnamed = Cause("feed" if point.fed_by is None else "way", point.name)
    # whatever else a rail feeds can pull it down, named or not
    loads = (*(Cause("part", ref) for ref in point.loads), Cause("load", point.name))
    return Place(point.name, point.fed_by, ways or (unnamed,), loads, point.judged)


def _seen(point: SupplyPoint, reading: SupplyReading) -> Seen | None:
    match reading.statement:
        case "pass":
            return Seen("right")
        case "fail":
            return Seen("wrong", lifted=point.away is not None and reading.direction == point.away)
        case "conditional pass" | "conditional fail":
            right = _EVEN if reading.probability is None else reading.probability
            return Seen("doubtful", min(max(right, _SELDOM_CERTAIN[0]), _SELDOM_CERTAIN[1]))
    return None


def _apart(network: Network, known: Mapping[str, Seen]) -> Iterable[Reason]:
    """The failing points of which the board file does not say what they depend on."""
    placed = {*network.index, *network.load_tests}
    return (Reason("apart", name) for name, found in known.items() if found.state == "wrong" and name not in placed)


def _next(
    points: Sequence[SupplyPoint], evidence: Evidence, weighed: Weighed, known: Mapping[str, Seen]
) -> tuple[str | None, Decimal | None]:
    """The point that tells most, the first in the board's order of equals; with its bits."""
    index = evidence.network.index
    best, most = None, Decimal(0)
    for point in points:
        bits = weighed.bits.get(index[point.name], Decimal(0)) if point.name in index else Decimal(0)
        if point.load_of is not None and point.judged and point.name not in known:
            bits = weighed.load_bits.get(index[point.load_of], Decimal(0))
        if bits.quantize(_BITS) > most:
            best, most = point.name, bits.quantize(_BITS)
    return best, None if best is None else most.quantize(_SHARE)

"""Before beside after: what a point lacks before it is proven, and which parts were used."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from benchvoice.decide.stripdown import WorkEvent
from benchvoice.events import OpenedSupply, Refitted, Removed, Replaced, Reworked
from benchvoice.keep.record_models import PartUsed, PointRecord, Stage
from benchvoice.keep.record_work import coded

__all__ = ["BEFORE_ONLY", "compared", "is_repaired", "part_changes", "parts_used"]


BEFORE_ONLY = ("not measured before the repair", "the reading before the repair was struck")
"""What a point may lack and be proven all the same."""
_CHANGES = ("mended", "method")
"""What of rework changes the unit; the rest tells, cleans or finds."""


def part_changes(work: Iterable[WorkEvent]) -> dict[int, str]:
    """What changed a part of the unit: `seq` → what was done, in order ("U4 was fitted").

    A reading that was made before one of these shows nothing of the unit as it is after it.
    """
    parts: dict[int, str] = {}
    found: dict[int, str] = {}
    for event in work:
        match event:
            case Removed() if event.thing.kind == "part":
                parts[event.seq] = event.thing.name
                found[event.seq] = f"{event.thing.name} was removed"
            case Refitted() if event.removed in parts:
                found[event.seq] = f"{parts[event.removed]} was put back"
            case Replaced():
                found[event.seq] = f"{event.ref} was fitted"
            case Reworked() if event.act in _CHANGES:
                found[event.seq] = f"the rework on {event.ref}" if event.ref else "the rework"
    return found


def is_repaired(work: Iterable[WorkEvent], stages: Collection[Stage]) -> bool:
    """Whether there is anything to prove: a part was worked on, or something was read after the repair."""
    events = tuple(work)
    cleaned = any(isinstance(event, Reworked) and event.act == "cleaned" for event in events)
    return cleaned or bool(part_changes(events)) or "after" in stages


def compared(
    points: Iterable[PointRecord],
    work: Sequence[WorkEvent],
    *,
    supplies: Iterable[OpenedSupply] = (),
    repaired: bool,
    again: Collection[str] = (),
    struck: Collection[tuple[str, Stage]] = (),
) -> tuple[PointRecord, ...]:
    """The points, each with what it lacks.

    Args:
        points: with the readings that count.
        work: the work on the unit that counts.
        supplies: what the board file said of its supplies.
        repaired: whether there is anything to prove.
        again: the points to measure again.
        struck: point and stage of readings that were struck.
    """
    supplied = {
        name for supply in supplies for name in (supply.point, supply.fed_by) if supply.load_of is None and name
    }
    changed, change = next(iter(reversed(part_changes(work).items())), (0, ""))
    fed = {name: event for event in work if isinstance(event, Replaced | Refitted) for name in event.again}
    refs = {event.seq: event.thing.name for event in work if isinstance(event, Removed)}
    found = []
    for point in points:
        lacks: list[str] = []
        if repaired:
            lacks += _unread(point, struck)
        if point.name in again:
            cause = fed.get(point.name)
            ref = cause.ref if isinstance(cause, Replaced) else refs.get(cause.removed, "") if cause else ""
            lacks.append(f"to measure again, since {ref} feeds it" if ref else "to measure again")
        elif point.after is not None and min((point.after.seq, *point.after.follows_from)) < changed:
            lacks.append(f"read before {change}")
        is_supply = point.name in supplied and point.quantity == "voltage"
        found.append(point.model_copy(update={"lacks": tuple(lacks), "supply": is_supply}))
    return tuple(found)


def _unread(point: PointRecord, struck: Collection[tuple[str, Stage]]) -> list[str]:
    if point.computed:  # what it lacks are its inputs, which are points of their own
        return ["not computed after the repair"] if point.before is not None and point.after is None else []
    if point.before is None and point.after is None:
        return ["not measured"]
    stages: tuple[Stage, ...] = ("before", "after")
    return [
        f"the reading {stage} the repair was struck"
        if (point.name, stage) in struck
        else f"not measured {stage} the repair"
        for stage in stages
        if getattr(point, stage) is None
    ]


def parts_used(work: Iterable[WorkEvent]) -> tuple[PartUsed, ...]:
    """The parts that were fitted and count, in order, each with the value and part number that were told of it."""
    found: list[PartUsed] = []
    for event in work:
        match event:
            case Replaced():
                told = {"seq": event.seq, "at": event.at, "ref": event.ref, "what": event.what}
                found.append(PartUsed.model_validate(told | coded(event)))
            case Reworked(act="value" | "part number") if found:
                last = max((n for n, part in enumerate(found) if part.ref == event.ref), default=None)
                if last is not None:
                    more = {"part_number": event.text} if event.act == "part number" else coded(event)
                    found[last] = found[last].model_copy(update=more)
    return tuple(found)

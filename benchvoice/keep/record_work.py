"""Strip-down and rework as the record has them: what came out and what became of it, what was done to parts."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Literal

from benchvoice.decide.rework import counting
from benchvoice.decide.stripdown import Item, StripDown, WorkChange, WorkLog, due
from benchvoice.decide.substitution import counting_trials
from benchvoice.events import (
    Careful,
    Intake,
    LeftOut,
    Refitted,
    Removed,
    Replaced,
    Reworked,
    Substituted,
    ThingSaid,
    Undone,
    UnitClosed,
    WorkSaid,
)
from benchvoice.keep.record_intake import intake_text
from benchvoice.keep.record_models import PointRecord, ReworkRecord, Stage, SubstitutionRecord, TakenOut
from benchvoice.keep.wording import unit_text
from benchvoice.part_values import value_code

__all__ = [
    "coded",
    "measure_again",
    "offered_work",
    "rework",
    "strip_down_rows",
    "substitutions",
    "thing_text",
    "unit_closed_at",
    "work_text",
]


def thing_text(thing: ThingSaid, count: int | None = None) -> str:
    """A thing as it is written: "4 × screw, M3 by 8, long, top edge"; `count` where it is not all of it."""
    number = thing.count if count is None else count
    name = f"{number} × {thing.name}" if thing.kind == "fastener" else thing.name
    return ", ".join(filter(None, (name, thing.size, thing.length, thing.place, thing.what)))


def work_text(event: WorkChange, known: dict[int, Removed]) -> str:
    """What an event says, in a line of the timeline.

    Args:
        event: the event.
        known: what was taken out, by `seq`.
    """
    match event:
        case Removed():
            told = f"Out: {thing_text(event.thing)}"
        case Refitted():
            removed = known.get(event.removed)
            told = f"Back: {thing_text(removed.thing, event.count) if removed else f'line {event.removed}'}"
        case Replaced():
            told = f"Fitted: {', '.join(filter(None, (event.ref, event.what, _value(event))))}"
        case Reworked():
            told = f"{event.act.capitalize()}: {', '.join(filter(None, (event.text, _value(event), event.ref)))}"
        case Careful():
            told = f"Careful: {event.text}"
        case Substituted():
            told = f"With another {', '.join(filter(None, (event.ref, event.what)))}: {event.outcome}"
        case LeftOut():
            told = (
                f"Left out, {event.why}: {'; '.join(thing_text(known[s].thing) for s in event.removed if s in known)}"
            )
        case UnitClosed():
            told = "Unit closed"
        case Intake():
            told = intake_text(event)
        case Undone():
            told = f"Struck: line {', '.join(map(str, event.undoes))}"
    return told


def offered_work(work: WorkSaid) -> str:
    """What a question offers, in writing."""
    thing = "" if work.thing is None else thing_text(work.thing)
    value = "" if work.value is None else f"{work.value} {unit_text(work.unit or '')}"
    act = "with another" if work.act == "substituted" else work.name or work.act
    named = f" ({work.means})" if work.means else ""
    return ", ".join(filter(None, (f"{act} {thing}".strip(), work.text + named, value)))


def _value(event: Replaced | Reworked) -> str:
    return "" if event.value is None else f"{event.value} {unit_text(event.unit or '')}".rstrip()


# --- the lists of the summary -------------------------------------------------------------------------------------
def strip_down_rows(log: WorkLog) -> tuple[TakenOut, ...]:
    """What was taken out and counts, in that order."""
    stripped = log.stripped
    replaced = {event.removed for event in log.events if isinstance(event, Replaced)}
    removed = [event for event in log.events if isinstance(event, Removed)]
    return tuple(_row(order, event, stripped, event.seq in replaced) for order, event in enumerate(removed, 1))


def _row(order: int, event: Removed, stripped: StripDown, replaced: bool) -> TakenOut:
    item = stripped.item(event.seq)
    if item is None:
        raise ValueError(f"what event {event.seq} took out is not in the fold")
    told: dict[str, Any] = event.thing.model_dump()
    back = 0 if replaced else item.thing.count - item.out
    return TakenOut(
        seq=event.seq, at=event.at, order=order, back=back, careful=item.careful, why=item.why if item.out else "",
        status=_status(item, replaced), **told,
    )  # fmt: skip


def _status(item: Item, replaced: bool) -> Literal["back", "replaced", "left out", "still out"]:
    if not item.out:
        return "replaced" if replaced else "back"
    return "left out" if item.why else "still out"


def unit_closed_at(log: WorkLog) -> datetime | None:
    """When the unit was called closed; None where it was not, or was opened again."""
    closed = [event.at for event in log.events if isinstance(event, UnitClosed)]
    return closed[-1] if closed and log.stripped.closed else None


def rework(log: WorkLog) -> tuple[ReworkRecord, ...]:
    """What was done to parts and counts, in that order."""
    rows: list[ReworkRecord] = []
    parts = {event.seq: event for event in log.events if isinstance(event, Removed) and event.thing.kind == "part"}
    for event in counting(log.events):
        told: dict[str, Any] = {"seq": event.seq, "at": event.at}
        match event:
            case Removed() if event.seq in parts:
                rows.append(ReworkRecord(**told, ref=event.thing.name, what=event.thing.what, act="removed"))
            case Refitted() if event.removed in parts:
                thing = parts[event.removed].thing
                rows.append(ReworkRecord(**told, ref=thing.name, what=thing.what, act="refitted"))
            case Replaced():
                rows.append(ReworkRecord(**told, ref=event.ref, what=event.what, act="fitted", **coded(event)))
            case Reworked():
                rows.append(ReworkRecord(**told, ref=event.ref, act=event.act, text=event.text, **coded(event)))
    return tuple(rows)


def substitutions(log: WorkLog, stages: Sequence[Stage]) -> tuple[SubstitutionRecord, ...]:
    """What was tried with another in its place, in order; of each thing the latest trial of a stage speaks for it."""
    counts = {event.seq for stage in stages for event in counting_trials(log.events, stage)}
    return tuple(
        SubstitutionRecord(
            seq=event.seq, at=event.at, stage=event.stage, what=event.what, ref=event.ref, outcome=event.outcome,
            speaks=_SPEAKS[event.outcome] if event.seq in counts else "outdated",
        )
        for event in log.events
        if isinstance(event, Substituted)
    )  # fmt: skip


_SPEAKS: dict[str, Literal["for it", "perhaps for it", "against it"]] = {
    "works": "for it",
    "different": "perhaps for it",
    "no change": "against it",
}


def coded(event: Replaced | Reworked) -> dict[str, Any]:
    """A part's value with its unit and its code (IEC 60062), as the record's rows have them."""
    code = "" if event.value is None else value_code(event.value, event.unit or "")
    return {"value": event.value, "unit": event.unit, "code": code}


def measure_again(log: WorkLog, points: Sequence[PointRecord]) -> tuple[str, ...]:
    """The points that a replaced part feeds and that were not read after that repair, in the order of `points`."""
    since = due(log.events)
    return tuple(
        point.name
        for point in points
        if point.name in since and (point.after is None or point.after.seq < since[point.name])
    )

"""What the readings of each stage make suspect, as the record tells it: a suggestion with its reasons."""

from __future__ import annotations

from collections.abc import Iterable

from benchvoice.decide.stripdown import WorkEvent
from benchvoice.decide.substitution import trials_of
from benchvoice.events import Opened, OpenedPoint, OpenedSupply
from benchvoice.keep.record_models import (
    PointRecord,
    ReadingRecord,
    Stage,
    SuspectRecord,
    SuspectSetRecord,
    SuspectsRecord,
)
from benchvoice.keep.record_points import number
from benchvoice.suspect.findings import SupplyPart, SupplyPoint, SupplyReading, away_from_zero, suspicion_of
from benchvoice.suspicion import Cause, Reason, Suspicion

__all__ = ["suspects_of"]

_OUTSIDE = ("fail", "conditional fail")

_CAUSES = {
    "feed": "what feeds {at} from outside the board",
    "way": "what lies between {at} and its feed",
    "load": "something that {at} feeds and that pulls it down",
}
_REASONS = {
    "feed right": "{point} fails and {feed}, which feeds it, passes.",
    "feed open": "{point} fails; whether {feed}, which feeds it, is right is not known.",
    "fed from outside": "{point} fails, and nothing on the board feeds it.",
    "lifted": "{point} fails too high; {feed}, which feeds it and fails, is not too high and cannot have done that.",
    "consequence": "{point} fails only as a consequence: {feed}, which feeds it, fails.",
    "doubtful": "{point} is conditional: it convicts and clears nothing, but weighs by how probably it conforms.",
    "load": "{point} fails: something on {feed} pulls it down.",
    "contrary": "{point} passes though {feed}, which feeds it, fails. Both readings are taken as they are; read them "
    "again.",
    "contrary load": "{point} fails though {feed} is not pulled down. The rail counts; read both again.",
    "apart": "{point} fails; the board file does not say what it depends on.",
    "tried, works": "With another {point} the fault was gone: it is likelier the cause, though its connection may be.",
    "tried, different": "With another {point} the fault was another: it is likelier to be part of the cause.",
    "tried": "With another {point} nothing changed: it is less likely the cause.",
}


def suspects_of(
    opened: Opened | None, points: Iterable[PointRecord], stages: Iterable[Stage], work: Iterable[WorkEvent] = ()
) -> list[SuspectsRecord]:
    """What is suspected in each stage in which a point of the supplies fails or may fail.

    Args:
        opened: the last opening, which says what feeds what; journals of old do not say it, and have no suspects.
        points: the points with the readings that count.
        stages: those in which something was read.
        work: the work on the unit that counts, with what was tried with another in its place.
    """
    if opened is None or not opened.supplies:
        return []
    supplied = {supply.point: supply for supply in opened.supplies}
    board = tuple(_point(point, supplied.get(point.name)) for point in opened.points)
    parts = tuple(SupplyPart(part.ref, part.what, part.fails or "") for part in opened.parts)
    found: list[SuspectsRecord] = []
    read, events = tuple(points), tuple(work)
    for stage in stages:
        readings = {point.name: _reading(each) for point in read if (each := getattr(point, stage)) is not None}
        if not any(reading.statement in _OUTSIDE for reading in readings.values()):
            continue
        try:
            suspicion = suspicion_of(board, parts, readings, trials_of(events, stage))
        except ValueError:  # supplies that no board file can have: the journal was written by other hands
            return []
        if suspicion.sets:
            found.append(_record(stage, suspicion))
    return found


def _point(point: OpenedPoint, supply: OpenedSupply | None) -> SupplyPoint:
    low, high = number(point.low), number(point.high)
    supply = supply or OpenedSupply(point=point.name)
    return SupplyPoint(
        name=point.name,
        fed_by=supply.fed_by,
        through=supply.through,
        loads=supply.loads,
        load_of=supply.load_of,
        judged=low is not None or high is not None,
        away=away_from_zero(point.quantity, low, high),
    )


def _reading(reading: ReadingRecord) -> SupplyReading:
    return SupplyReading(reading.statement, reading.direction, number(reading.probability))


def _record(stage: Stage, found: Suspicion) -> SuspectsRecord:
    what = {each.cause: each.what for each in found.suspects}
    return SuspectsRecord(
        stage=stage,
        certain=found.certain,
        suspects=tuple(
            SuspectRecord(name=_name(each.cause), what=each.what, share=f"{each.share:f}") for each in found.suspects
        ),
        n_suspects=found.n_suspects,
        sets=tuple(
            SuspectSetRecord(
                suspects=tuple(_name(cause, what.get(cause, "")) for cause in each.causes), share=f"{each.share:f}"
            )
            for each in found.sets
        ),
        n_sets=found.n_sets,
        complete=found.complete,
        reasons=tuple(_told(reason) for reason in found.reasons),
        next_point=found.next_point,
        next_bits=None if found.next_bits is None else f"{found.next_bits:f}",
    )


def _name(cause: Cause, what: str = "") -> str:
    told = cause.at if cause.kind == "part" else _CAUSES[cause.kind].format(at=cause.at)
    return f"{told}, {what}" if what else told


def _told(reason: Reason) -> str:
    return _REASONS[reason.kind].format(point=reason.point, feed=reason.feed)

"""One visit of the unit in the record: what counts of its readings and work, and what it has proven."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from benchvoice.decide.stripdown import WorkLog
from benchvoice.events import Opened
from benchvoice.keep.record_cautions import CautionRows
from benchvoice.keep.record_checks import CheckFold
from benchvoice.keep.record_compare import compared, is_repaired, parts_used
from benchvoice.keep.record_handover import Stage, TimesRecord
from benchvoice.keep.record_intake import intake_rows
from benchvoice.keep.record_models import Session, VisitRecord
from benchvoice.keep.record_points import CurrentReadings
from benchvoice.keep.record_timers import TimerRows
from benchvoice.keep.record_unlike import unlike_of
from benchvoice.keep.record_work import measure_again, rework, strip_down_rows, substitutions, unit_closed_at

__all__ = ["PastVisit", "VisitRows", "visit_record", "what_counts"]


class PastVisit(NamedTuple):
    """What the first pass finds of a visit that is over."""

    opened: Opened | None
    stage: Stage
    complaint: str | None
    checks: CheckFold
    times: TimesRecord


class VisitRows(NamedTuple):
    """What the second pass gathers of a visit."""

    current: CurrentReadings
    work: WorkLog
    cautions: CautionRows
    timers: TimerRows


def what_counts(
    opened: Opened | None, stage: Stage, checks: CheckFold, current: CurrentReadings, work: WorkLog
) -> dict[str, Any]:
    """The fields of a summary that are of one visit.

    Args:
        opened: its last opening, with the board as it was then.
        stage: the stage that it ended in.
        checks: its checks.
        current: its readings that count.
        work: its work on the unit that counts.
    """
    read = current.points(opened.points if opened else ())
    again = measure_again(work, read)
    repaired = is_repaired(work.events, current.stages)
    supplies = opened.supplies if opened else ()
    points = compared(read, work.events, supplies=supplies, repaired=repaired, again=again, struck=current.struck)
    return {
        "points": points,
        "unlike": unlike_of(opened, points),
        "intake": intake_rows(work.events),
        "strip_down": strip_down_rows(work),
        "unit_closed_at": unit_closed_at(work),
        "rework": rework(work),
        "substitutions": substitutions(work, ("before", "after")),
        "measure_again": again,
        "parts_used": parts_used(work.events),
        "checks": checks.records(points, work.events, repaired=stage == "after" or "after" in current.stages),
    }


def visit_record(past: PastVisit, sessions: Sequence[Session], rows: VisitRows) -> VisitRecord:
    """A visit that is over.

    Args:
        past: what the first pass found.
        sessions: those of this visit, at least one.
        rows: what counted at its end.
    """
    found = what_counts(past.opened, past.stage, past.checks, rows.current, rows.work)
    return VisitRecord(
        visit=sessions[0].visit,
        opened_at=sessions[0].opened_at,
        closed_at=sessions[-1].closed_at,
        closed_why=sessions[-1].closed_why,
        complaint=past.complaint,
        points=tuple(point for point in found["points"] if point.before is not None or point.after is not None),
        out=tuple(row for row in found["strip_down"] if row.status in ("still out", "left out")),
        times=past.times,
        cautions=rows.cautions.rows,
        timers=rows.timers.rows,
        **{
            name: found[name] for name in ("intake", "rework", "substitutions", "parts_used", "checks", "measure_again")
        },
    )

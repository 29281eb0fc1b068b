"""Function tests and the final safety check list in the record: what came of each step that counts as proof.

A step that was not come to is not done, whatever else was. A value that was struck proves nothing, one that was read
again is what it was read as last.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from benchvoice.decide.stripdown import WorkEvent
from benchvoice.events import ChecklistStep, ListedCheck, Reading, Removed
from benchvoice.keep.record_compare import part_changes
from benchvoice.keep.record_models import CheckRecord, CheckStatus, PointRecord, ReadingRecord, Stage
from benchvoice.keep.wording import plain_amount, verdict_text

__all__ = ["CheckFold", "last_work"]

_OUTCOMES = ("done", "answered", "measured", "skipped")


@dataclass(frozen=True)
class _Outcome:
    """What came of a check: its event, in which stage, and the reading that gave it."""

    event: ChecklistStep
    stage: Stage
    reading: Reading | None


class CheckFold:
    """The checks of one visit, from its events taken one by one. Holds no more than the list has steps, and acts."""

    def __init__(self) -> None:
        self._begin(())

    def _begin(self, checks: tuple[ListedCheck, ...]) -> None:
        self._listed: dict[int, ListedCheck] = {check.number: check for check in checks}
        self._outcomes: dict[int, list[_Outcome]] = {number: [] for number in self._listed}
        self._passed_over: dict[tuple[int, Stage], int] = {}
        self._counting: list[tuple[int | None, tuple[int, ...], Stage]] = []
        self._reading: Reading | None = None

    def read(self, event: Reading) -> None:
        """A reading, which a step may turn out to rest on."""
        self._reading = event

    def take(self, event: ChecklistStep, stage: Stage) -> None:
        """The next of the checklist's events, in the stage in which it was."""
        if event.action == "started":
            self._begin(event.checks)  # of another list nothing counts
        if not self._listed:
            return
        if event.action == "back":
            self._undo()
            return
        over = tuple(number for number, why in zip(event.over, event.passed, strict=False) if why.endswith(_NOT_HERE))
        over += (event.number,) if event.action == "passed" else ()
        over = tuple(number for number in over if number in self._listed)
        for number in over:
            self._passed_over[number, stage] = self._passed_over.get((number, stage), 0) + 1
        if event.action == "started":
            return
        mine = event.number if event.number in self._listed and event.action in _OUTCOMES else None
        if mine is not None:
            rests = self._reading if self._reading is not None and self._reading.seq == event.reading else None
            self._outcomes[mine].append(_Outcome(event, stage, rests))
        self._counting.append((mine, over, stage))

    def _undo(self) -> None:
        if not self._counting:
            return
        mine, over, stage = self._counting.pop()
        if mine is not None:
            self._outcomes[mine].pop()
        for number in over:
            self._passed_over[number, stage] -= 1

    def records(
        self, points: Iterable[PointRecord], work: Iterable[WorkEvent], *, repaired: bool
    ) -> tuple[CheckRecord, ...]:
        """The checks in the list's order.

        Args:
            points: the points with the readings that count.
            work: the work on the unit that counts.
            repaired: whether the stage after the repair was come to.
        """
        by_name = {point.name: point for point in points}
        since = last_work(work)
        return tuple(self._record(check, by_name, since, repaired) for check in self._listed.values())

    def _record(self, check: ListedCheck, points: Mapping[str, PointRecord], since: int, repaired: bool) -> CheckRecord:
        told: dict[str, Any] = check.model_dump(exclude={"number"})
        outcomes = self._outcomes[check.number]
        if not outcomes:
            now: Stage = "after" if repaired else "before"
            if self._passed_over.get((check.number, now)):
                return CheckRecord(**told, status="does not apply")
            early = repaired and self._passed_over.get((check.number, "before"))
            return CheckRecord(**told, status="not done", reason="it was come to before the repair" if early else "")
        found = outcomes[-1]
        told |= {"seq": found.event.seq, "at": found.event.at, "stage": found.stage, "reason": found.event.reason}
        told |= _came_of(found, check, points)
        if told["status"] in ("passed", "failed", "noted"):
            told["outdated"] = _outdated(told["seq"], found.stage, since, repaired)
        return CheckRecord(**told)


_NOT_HERE = ": does not apply"
_CUT_SHORT = "cut short"


def _came_of(found: _Outcome, check: ListedCheck, points: Mapping[str, PointRecord]) -> dict[str, Any]:
    event = found.event
    if event.action == "skipped":
        return {"status": "skipped"}
    if event.action == "measured":
        return _measured(found, points)
    if event.outcome == _CUT_SHORT:
        return {"status": "not done", "reason": "the wait was cut short"}
    status: CheckStatus = "noted"
    if check.expected:
        status = "passed" if event.outcome == check.expected else "failed"
    elif event.outcome in ("pass", "fail"):
        status = "passed" if event.outcome == "pass" else "failed"
    return {"status": status, "outcome": event.outcome or "done"}


def _measured(found: _Outcome, points: Mapping[str, PointRecord]) -> dict[str, Any]:
    """By the reading that counts at that point now, where it is this one or a later one."""
    read = found.reading
    point = None if read is None else points.get(read.point)
    now = None if point is None else getattr(point, found.stage if read is None else read.stage)
    if read is None or not isinstance(now, ReadingRecord) or now.seq < read.seq:
        return {"status": "not done", "reason": "the reading was struck"}
    status: CheckStatus = "noted"
    if now.statement != "recorded":
        status = "passed" if now.statement in ("pass", "conditional pass") else "failed"
    told = f"{plain_amount(now.value, now.unit, now.waveform)}, {verdict_text(now)}"
    return {"status": status, "outcome": told, "reading": now.seq, "seq": now.seq, "at": now.at}


def _outdated(seq: int, stage: Stage, since: int, repaired: bool) -> str:
    if stage == "before" and repaired:
        return "done before the repair"
    return "done before the last work on the unit" if seq < since else ""


def last_work(work: Iterable[WorkEvent]) -> int:
    """`seq` of the last event that opened the unit or changed a part; what was proven before it is proven no more."""
    events = tuple(work)
    opened = (event.seq for event in events if isinstance(event, Removed))
    return max((0, *part_changes(events), *opened))

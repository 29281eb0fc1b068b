"""The steps of a checklist in the record: what came of each, and which were undone."""

from __future__ import annotations

from benchvoice.events import ChecklistStep
from benchvoice.keep.record_checks import CheckFold
from benchvoice.keep.record_models import ChecklistRecord, Stage, StepRecord

__all__ = ["StepStandings", "outcome_text", "step_record", "step_text"]


def outcome_text(event: ChecklistStep) -> str:
    """What came of a step, in words."""
    match event.action:
        case "skipped":
            return "skipped"
        case "passed":
            return "does not apply"
        case "jumped":
            return f"left for {event.outcome}"
        case "done":
            return event.outcome or "done"
        case _:
            return event.outcome


def step_text(event: ChecklistStep) -> str:
    """An event in words, for the timeline."""
    if event.action == "started":
        return f"Checklist: {event.outcome}"
    if event.action == "back":
        return f"Step back to: {event.step}"
    reason = f" ({event.reason})" if event.reason else ""
    return f"Step, {event.step or 'the end'}: {outcome_text(event)}{reason}"


def step_record(event: ChecklistStep, stage: Stage, undone_by: int | None, visit: int = 1) -> StepRecord:
    """The row of a step that was gone through."""
    return StepRecord(
        seq=event.seq,
        at=event.at,
        stage=stage,
        step=event.step,
        part=event.part,
        outcome=outcome_text(event),
        reason=event.reason,
        reading=event.reading,
        passed=event.passed,
        status="counts" if undone_by is None else "undone",
        undone_by=undone_by,
        visit=visit,
    )


class StepStandings:
    """Which steps were undone, which only later events tell: gathered on a pass of its own.

    Attributes:
        undone: step → the "back" that undid it, as numbers of events.
        checklist: the list that this visit has gone through last, and where it stands; None for none.
        checks: what came of its steps that count as proof.
    """

    def __init__(self) -> None:
        self.undone: dict[int, int] = {}
        self.checklist: ChecklistRecord | None = None
        self.checks = CheckFold()
        self._counting: list[int] = []

    def begin_visit(self) -> None:
        """The unit came back: no step of an earlier visit can be undone, or proves anything, any more."""
        self.checklist, self.checks = None, CheckFold()
        self._counting.clear()

    def add(self, event: ChecklistStep, stage: Stage) -> None:
        """The next of the checklist's events, in the stage in which it was."""
        self.checks.take(event, stage)
        if event.action == "started":
            self._counting.clear()
            self.checklist = ChecklistRecord(name=event.outcome, sha256=event.sha256, at_hand=event.to)
            return
        if event.action != "back":
            self._counting.append(event.seq)
        elif self._counting:
            self.undone[self._counting.pop()] = event.seq
        if self.checklist is not None:
            self.checklist = self.checklist.model_copy(update={"at_hand": event.to})

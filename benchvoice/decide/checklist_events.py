"""A checklist's acts as the journal keeps them, and back: what the events say is all that the progress rests on."""

from __future__ import annotations

from datetime import datetime

from benchvoice.decide.checklist import Act, Progress, after, begin, power_forgotten, why_not
from benchvoice.decide.checklist_steps import Checklist, Stage
from benchvoice.events import ChecklistStep, ListedCheck, Opened

__all__ = ["applied", "event_of", "reopened", "started"]


def started(checklist: Checklist, stage: Stage, *, seq: int, at: datetime) -> ChecklistStep:
    """The event that begins a checklist."""
    progress = begin(checklist, stage)
    return ChecklistStep(
        seq=seq,
        at=at,
        action="started",
        outcome=checklist.name,
        sha256=checklist.sha256,
        to=_label(progress),
        passed=_passed(progress),
        over=_over(progress),
        checks=_checks(checklist),
    )


def event_of(progress: Progress, act: Act, stage: Stage, *, seq: int, at: datetime, heard: int | None) -> ChecklistStep:
    """The event of an act that can be done now. Raises ValueError where it cannot."""
    checklist = progress.checklist
    moved = after(progress, act, stage)
    number = progress.past[-1].number if act.action == "back" else progress.place.at
    return ChecklistStep(
        seq=seq,
        at=at,
        heard=heard,
        action=act.action,
        number=number,
        step=checklist.steps[number].label if number < checklist.end else "",
        part=checklist.section(number) if number < checklist.end else "",
        outcome=act.outcome,
        reason=act.reason,
        reading=act.reading,
        to=_label(moved),
        passed=() if act.action == "back" else _passed(moved),
        over=() if act.action == "back" else _over(moved),
    )


def applied(
    checklist: Checklist | None, progress: Progress | None, event: ChecklistStep, stage: Stage
) -> Progress | None:
    """The progress after one more event.

    None where there is no checklist, or where the events are those of another one: its file was changed since.
    """
    if checklist is None:
        return None
    if event.action == "started":
        return begin(checklist, stage) if event.sha256 == checklist.sha256 else None
    act = Act(event.action, event.outcome, event.reason, event.reading)
    if progress is None or why_not(progress, act):
        return progress
    return after(progress, act, stage)


def reopened(progress: Progress | None, event: Opened) -> Progress | None:
    """The progress once a job was taken up again: the supply may have been switched in between."""
    return power_forgotten(progress) if progress is not None and event.resumed else progress


def _label(progress: Progress) -> str:
    return "" if progress.step is None else progress.step.label


def _passed(progress: Progress) -> tuple[str, ...]:
    steps = progress.checklist.steps
    return tuple(f"{steps[passed.number].label}: {passed.why}" for passed in progress.place.passed)


def _over(progress: Progress) -> tuple[int, ...]:
    return tuple(passed.number for passed in progress.place.passed)


def _checks(checklist: Checklist) -> tuple[ListedCheck, ...]:
    return tuple(
        ListedCheck(
            number=step.number,
            step=step.label,
            part=checklist.section(step.number),
            proof=proof,
            expected=step.expected,
        )
        for step, proof in checklist.checks
    )

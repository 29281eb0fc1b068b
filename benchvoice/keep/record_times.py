"""How long a visit took, and with what, as far as the journal tells: a fold of when something was said, and of what.

The time up to an utterance belongs to what that utterance is about. What is about nothing in particular (a note, a
question, talk) goes with what follows it; before anything was read or done it is the intake, at the end it goes with
what came before. Quiet for longer than `PAUSE_AFTER` is a pause. Between two sessions nobody worked.
"""

from __future__ import annotations

from datetime import timedelta

from benchvoice.events import (
    Careful,
    ChecklistStep,
    Closed,
    Command,
    Event,
    Heard,
    Intake,
    LeftOut,
    Opened,
    Reading,
    Refitted,
    Removed,
    Replaced,
    Reworked,
    Substituted,
    UnitClosed,
)
from benchvoice.keep.record_models import ACTIVITIES, Activity, Stage, TimeSpent, TimesRecord

__all__ = ["PAUSE_AFTER", "TimeFold"]

PAUSE_AFTER = timedelta(minutes=10)
"""How long it may be quiet before it counts as a pause; common practice, no source."""

_NONE = timedelta()


class TimeFold:
    """The times of one visit after another, from events taken one by one."""

    def __init__(self) -> None:
        self._visit = 1
        self._begin()

    def _begin(self) -> None:
        self._spent: dict[Activity, timedelta] = dict.fromkeys(ACTIVITIES, _NONE)
        self._paused, self._n_pauses, self._n_sessions = _NONE, 0, 0
        self._waiting = _NONE  # what was said last is about nothing in particular, so far
        self._activity: Activity | None = None
        self._stage: Stage = "before"
        self._last: Opened | Heard | None = None

    def take(self, event: Event) -> TimesRecord | None:
        """The next event; the times of the visit that it ends, where it begins another."""
        ended = None
        match event:
            case Opened():
                self._settle()
                if event.visit != self._visit:
                    ended = self.record()
                    self._begin()
                    self._visit = event.visit
                self._n_sessions += 1
                self._stage, self._last = event.stage, event
            case Heard():
                if self._activity is None:
                    self._settle()
                self._pass(event)
                self._last = event
            case Closed():
                self._pass(event)
                self._settle()
                self._last = None
            case Command(name="before" | "after"):
                self._stage = "before" if event.name == "before" else "after"
            case _ if (activity := _activity(event, self._stage)) is not None:
                self._activity = activity
                self._settle()
        return ended

    def record(self) -> TimesRecord:
        """The times so far of the visit that is under way."""
        spent = dict(self._spent)
        spent[self._activity or "intake"] += self._waiting
        rows = tuple(
            TimeSpent(activity=name, seconds=seconds) for name in ACTIVITIES if (seconds := _whole(spent[name]))
        )
        return TimesRecord(
            activities=rows,
            worked_s=sum(row.seconds for row in rows),
            pauses=self._n_pauses,
            paused_s=_whole(self._paused),
            pause_after_s=_whole(PAUSE_AFTER),
            sessions=self._n_sessions,
        )

    def _settle(self) -> None:
        self._spent[self._activity or "intake"] += self._waiting
        self._waiting = _NONE

    def _pass(self, event: Heard | Closed) -> None:
        gap = _NONE if self._last is None else _between(self._last, event)
        if gap > PAUSE_AFTER:
            self._paused += gap
            self._n_pauses += 1
        else:
            self._waiting += gap


def _between(last: Opened | Heard, event: Heard | Closed) -> timedelta:
    """By the recording's own time where both were heard in it, else by the clock; never less than nothing."""
    clock = max(_NONE, event.at - last.at)
    if not isinstance(last, Heard) or not isinstance(event, Heard) or last.source != event.source:
        return clock
    if last.start_s is None or event.start_s is None or event.start_s < last.start_s:
        return clock  # no times, or the stream began anew
    return timedelta(seconds=event.start_s - last.start_s)


def _activity(event: Event, stage: Stage) -> Activity | None:
    """What an event is about; None for nothing in particular."""
    match event:
        case Reading() | Substituted():
            return "proof" if event.stage == "after" else "finding the fault"
        case ChecklistStep() if event.action not in ("started", "back"):
            return "proof" if stage == "after" else "finding the fault"
        case Removed() | Refitted() | Replaced() | Reworked() | Careful() | LeftOut() | UnitClosed():
            return "work on the unit"
        case Intake():
            return "intake"
        case _:
            return None


def _whole(time: timedelta) -> int:
    return round(time.total_seconds())

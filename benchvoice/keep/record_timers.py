"""Timers as the record has them: what was set, and whether it ran out or was stopped; and as lines of the timeline."""

from __future__ import annotations

from benchvoice.events import TimerOver, TimerStarted, TimerStopped
from benchvoice.keep.record_models import TimerRecord
from benchvoice.time_units import SECONDS_IN

__all__ = ["TimerRows", "seconds_text"]

TimerEvent = TimerStarted | TimerStopped | TimerOver


def seconds_text(seconds: int) -> str:
    """A time as it is written: "1 h 30 min", "90 s" as "1 min 30 s"."""
    told = []
    for unit, size in SECONDS_IN.items():
        count, seconds = divmod(seconds, size)
        if count:
            told.append(f"{count} {unit}")
    return " ".join(told) or "0 s"


class TimerRows:
    """The timers of a job in the order in which they were set."""

    def __init__(self) -> None:
        self._rows: dict[int, TimerRecord] = {}

    def take(self, event: TimerEvent) -> str:
        """The next event about a timer; what it says, in a line of the timeline."""
        match event:
            case TimerStarted():
                row = TimerRecord(seq=event.seq, at=event.at, name=event.name, seconds=event.seconds, due=event.due)
                self._rows[event.seq] = row
                told = f"Timer set: {event.name}, {seconds_text(event.seconds)}"
            case TimerStopped():
                self._end(event.timer, "stopped", event)
                told = f"Timer stopped: {self._name(event.timer)} ({event.why})"
            case TimerOver():
                self._end(event.timer, "over", event)
                late = f", told {seconds_text(event.late_s)} later" if event.late_s else ""
                told = f"Timer over: {event.name}{late}"
        return told

    def _name(self, seq: int) -> str:
        row = self._rows.get(seq)
        return f"line {seq}" if row is None else f"{row.name}, {seconds_text(row.seconds)}"

    def _end(self, seq: int, ended: str, event: TimerEvent) -> None:
        row = self._rows.get(seq)
        if row is not None:
            self._rows[seq] = row.model_copy(update={"ended": ended, "ended_at": event.at})

    @property
    def rows(self) -> tuple[TimerRecord, ...]:
        """All of them so far."""
        return tuple(self._rows.values())

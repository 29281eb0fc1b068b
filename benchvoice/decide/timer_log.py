"""The timers that run: a fold of events, and how much of each is left at a moment.

Time is that of the recording or stream where both moments are of one, since a recording is heard faster than it was
spoken; else that of the clock, so that a timer goes on while the program does not.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from benchvoice.events import Event, Opened, TimerOver, TimerStarted, TimerStopped

__all__ = ["Now", "Timer", "TimerLog"]

_SECOND = timedelta(seconds=1)


@dataclass(frozen=True)
class Now:
    """A moment: by the clock, in UTC; and in seconds of a source, None where that has no times.

    `by_clock` holds where the source is live: it stands still while its device is gone, which no timer does.
    """

    at: datetime
    source: str = ""
    source_s: float | None = None
    by_clock: bool = False


@dataclass(frozen=True)
class Timer:
    """A timer that runs.

    Attributes:
        seq: the number of the event that started it.
        name: its name; "timer" for the one without.
        seconds: how long it was set for.
        due: when it is over by the clock, in UTC.
        source, source_s: what was listened to, and where in it the timer was set, in seconds.
    """

    seq: int
    name: str
    seconds: int
    due: datetime
    source: str = ""
    source_s: float | None = None

    def left(self, now: Now) -> timedelta:
        """How much is left; below nought where it is over."""
        by_clock = self.due - now.at
        if self.source != now.source or self.source_s is None or now.source_s is None:
            return by_clock
        by_sound = timedelta(seconds=self.seconds) - timedelta(seconds=now.source_s - self.source_s)
        return min(by_clock, by_sound) if now.by_clock else by_sound

    def left_s(self, now: Now) -> int:
        """The same in whole seconds, rounded up."""
        return -(-self.left(now) // _SECOND)


@dataclass(frozen=True)
class TimerLog:
    """The timers that run, in the order in which they were started; no two of one name."""

    running: tuple[Timer, ...] = ()

    def named(self, name: str) -> Timer | None:
        """The timer of that name; None where none runs."""
        return next((timer for timer in self.running if timer.name == name), None)

    def over(self, now: Now) -> tuple[Timer, ...]:
        """Those that are over by now, in the order in which they ran out."""
        done = [(timer.left(now), timer.seq, timer) for timer in self.running if timer.left(now) <= timedelta()]
        return tuple(timer for *_, timer in sorted(done, key=lambda each: each[:2]))

    def after(self, event: Event, source: str = "", source_s: float | None = None) -> TimerLog:
        """The log after one more event; the same where the event is of another kind.

        Args:
            event: the event.
            source, source_s: what is listened to, and where in it the utterance ended that led to the event.
        """
        match event:
            case Opened():  # another recording may have the same name
                return TimerLog(tuple(replace(each, source="", source_s=None) for each in self.running))
            case TimerStarted():
                timer = Timer(event.seq, event.name, event.seconds, event.due, source, source_s)
                others = tuple(each for each in self.running if each.name != event.name)
                return TimerLog((*others, timer))
            case TimerStopped() | TimerOver():
                return replace(self, running=tuple(each for each in self.running if each.seq != event.timer))
        return self

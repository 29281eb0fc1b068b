"""When something was said: by the clock, and in the sound; how long it may still be answered or gone on from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

__all__ = ["GOES_ON", "OPEN_FOR", "Moment"]

OPEN_FOR = timedelta(seconds=120)
"""How long a question, or the announcement of a note, waits: a "yes" of another talk must not answer an old one."""

GOES_ON = timedelta(milliseconds=1500)
"""How soon after a reading what is said may be its rest ("four seventy", a pause, "kilohms")."""


@dataclass(frozen=True)
class Moment:
    """When an utterance was: by the clock, and where in its recording or stream it began and ended, in seconds."""

    at: datetime
    source: str = ""
    start_s: float | None = None
    end_s: float | None = None

    def outlived_by(self, later: Moment, wait: timedelta = OPEN_FOR) -> bool:
        """Whether more than `wait` lies between them.

        Told by the sound where both are of one source, since a recording is heard faster than it was spoken; and by
        the clock all the same, since one recording may be heard again a day later.
        """
        waited = later.at - self.at
        return max(waited, self._silence_before(later) or waited) > wait

    def _silence_before(self, later: Moment) -> timedelta | None:
        """What lies between their sounds, where both are of one source."""
        since_s = self.until_s
        if self.source != later.source or since_s is None or later.start_s is None:
            return None
        return timedelta(seconds=later.start_s - since_s)

    def by_clock(self) -> Moment:
        """The same without its place in a sound: another recording may have the same name."""
        return Moment(self.at)

    @property
    def until_s(self) -> float | None:
        """Where its sound ended; where it began, where no more is known (a transcript may have one time a line)."""
        return self.start_s if self.end_s is None else self.end_s

    def runs_into(self, later: Moment) -> bool:
        """Whether the later one began so soon that it may be the rest of this."""
        silence = self._silence_before(later)
        return silence is not None and timedelta() <= silence <= GOES_ON

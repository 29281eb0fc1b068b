"""Visits of one unit: a job that was closed by voice and is opened again is the next visit.

A session that only ended (a signal, the end of a recording, a power cut) is taken up again in the same visit. Which
visit it is stands in the journal's openings, so that its meaning never changes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from benchvoice.decide.session_state import SessionState
from benchvoice.events import Closed, Event, Opened, Replaced

__all__ = ["BY_VOICE", "EarlierVisit", "Visits"]

BY_VOICE = "by voice"
"""Why a job is closed that is done; it alone makes the next opening a visit of its own."""


@dataclass(frozen=True)
class EarlierVisit:
    """A visit in short, for whoever has the unit before them again.

    Attributes:
        visit: which one, from 1.
        closed_at: when it was closed, UTC; None where it was cut off.
        readings: how many counted at its end, of both stages.
        replaced: the parts that were fitted: reference and what it is ("" where that is not known), each once.
        out: what did not go back into the unit, with how many, the latest first.
    """

    visit: int
    closed_at: datetime | None
    readings: int
    replaced: tuple[tuple[str, str], ...] = ()
    out: tuple[tuple[str, int], ...] = ()


class Visits:
    """Tells from a job's events so far, taken one by one, whether the next opening begins another visit.

    Attributes:
        closed: the closing that ended the last session; None where it was cut off.
    """

    def __init__(self) -> None:
        self.closed: Closed | None = None

    def see(self, event: Event) -> None:
        """The next event."""
        if isinstance(event, Opened):
            self.closed = None
        elif isinstance(event, Closed):
            self.closed = event

    def next(self, state: SessionState, *, came_back: bool = False) -> int:
        """Which visit the next opening is of.

        Args:
            state: the session as those events leave it.
            came_back: whether it is known to be another one, however the last session ended.
        """
        done = self.closed is not None and self.closed.why == BY_VOICE
        return state.visit + (done or came_back)

    def earlier(self, state: SessionState) -> EarlierVisit:
        """The visit that the events so far end with."""
        fitted = ((each.ref, each.what) for each in state.work.events if isinstance(each, Replaced))
        return EarlierVisit(
            visit=state.visit,
            closed_at=None if self.closed is None else self.closed.at,
            readings=len({(reading.point, reading.stage) for reading in state.readings}),
            replaced=tuple(dict.fromkeys(fitted)),
            out=tuple((item.thing.name, item.out) for item in state.work.stripped.still_out),
        )

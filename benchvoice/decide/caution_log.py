"""The cautions of a session: which were given, which wait to be acknowledged. A fold of events, and of nothing else."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from benchvoice.events import Acknowledged, Caution, Event, Opened
from benchvoice.records import CautionTold

__all__ = ["CautionLog", "told_by"]

_COME_BACK = ("mains", "high voltage", "capacitor", "moving parts", "laser", "powered measurement")
"""The hazards that power brings back."""


@dataclass(frozen=True)
class CautionLog:
    """What was said of hazards.

    Attributes:
        given: the cautions that hold in this session, the latest of each kind and thing, in the order given.
        waiting: `seq` of those that were not acknowledged.
        spent: (hazard, about) of those that need not be said again until the unit is powered again.
    """

    given: tuple[Caution, ...] = ()
    waiting: tuple[int, ...] = ()
    spent: frozenset[tuple[str, str]] = frozenset()

    def after(self, event: Event) -> CautionLog:
        """The log after one more event; the same where the event is of another kind."""
        match event:
            case Opened():
                return CautionLog(waiting=self.waiting)  # each is said once in every session
            case Caution():
                key = (event.hazard, event.about)
                others = tuple(each for each in self.given if (each.hazard, each.about) != key)
                return CautionLog((*others, event), (*self.waiting, event.seq), self.spent | {key})
            case Acknowledged():
                return replace(self, waiting=tuple(seq for seq in self.waiting if seq not in event.cautions))
        return self

    def powered_again(self) -> CautionLog:
        """The log once the unit was switched on: what power brings back is said again."""
        return replace(self, spent=frozenset(key for key in self.spent if key[0] not in _COME_BACK))


def told_by(event: Caution) -> CautionTold:
    """A caution as it is said, from what the journal holds."""
    numbers = (event.volts, event.joules, event.safe_volts, event.seconds)
    volts, joules, safe_volts, seconds = (None if text is None else Decimal(text) for text in numbers)
    return CautionTold(event.hazard, event.about, volts, joules, safe_volts, seconds)

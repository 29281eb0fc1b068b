"""Whether a unit is being taken in, and its serial number: a fold of events.

What was told besides (complaints, accessories …) is among the events of work on the unit, so that "strike that" undoes
it as it does those.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from benchvoice.events import Command, Event, Intake, Opened, Reading
from benchvoice.records import WorkIntent

__all__ = ["AGAIN", "NOTHING", "IntakeLog", "accessories", "accessories_of", "is_nothing", "same_serial", "told_before"]

AGAIN = "intake"
"""The command after which what a unit came in with can be told once more."""

NOTHING = "nothing"
"""What an accessory is called that says that there is none."""


@dataclass(frozen=True)
class IntakeLog:
    """What is known of the intake.

    Attributes:
        open: whether it goes on: from the opening of a visit until its first reading, and after `AGAIN`.
        visit: which visit it is.
        given: the serial number that the job's papers or an earlier visit gave; "" for none. `given_seq` is the `seq`
            of the event, and `given_visit` the visit.
    """

    open: bool = False
    visit: int = 0
    given: str = ""
    given_seq: int = 0
    given_visit: int = 0

    def after(self, event: Event, said: Iterable[Event] = ()) -> IntakeLog:
        """The log after one more event; `said` are the events of the intake that counted before it."""
        match event:
            case Opened():
                log = self
                if event.visit != self.visit:  # what was said is carried into the next visit as what was known
                    log = replace(self._known(said), open=True, visit=event.visit)
                if event.serial is None:
                    return log
                return replace(log, given=event.serial, given_seq=event.seq, given_visit=event.visit)
            case Reading():
                return replace(self, open=False)
            case Command(name=name) if name == AGAIN:
                return replace(self, open=True)
        return self

    def serial(self, said: Iterable[Event]) -> tuple[str, int]:
        """The serial number that counts, and the visit that it was given in; "" and 0 where none was.

        Args:
            said: the events of this visit's intake that count.
        """
        known = self._known(said)
        return known.given, known.given_visit

    def _known(self, said: Iterable[Event]) -> IntakeLog:
        serials = [event for event in said if isinstance(event, Intake) and event.what == "serial"]
        if not serials or serials[-1].seq < self.given_seq:
            return self
        return replace(self, given=serials[-1].text, given_seq=serials[-1].seq, given_visit=self.visit)


def accessories(said: Iterable[Event]) -> tuple[Intake, ...]:
    """What was told of accessories and counts, in that order: of `NOTHING` and something the one told last."""
    told: list[Intake] = []
    for event in said:
        if isinstance(event, Intake) and event.what == "accessory":
            kept = [] if is_nothing(event.text) else [each for each in told if not is_nothing(each.text)]
            told = [*kept, event]
    return tuple(told)


def accessories_of(said: Iterable[Event]) -> tuple[str, ...]:
    """What came with the unit and goes back with it, in the order in which it was told."""
    things = (event.text for event in accessories(said) if not is_nothing(event.text))
    return tuple({text.casefold(): text for text in things}.values())


def is_nothing(accessory: str) -> bool:
    """Whether it says that there is none; what is typed may have capitals."""
    return accessory.casefold() == NOTHING


def told_before(log: IntakeLog, said: tuple[Event, ...], work: WorkIntent) -> str:
    """What was told before and cannot hold beside `work`: another serial number, or accessories; "" for nothing."""
    if work.act == "serial":
        known, _ = log.serial(said)
        return "" if same_serial(known, work.text) else known
    if work.act != "came with":
        return ""
    if is_nothing(work.text):
        return ", ".join(accessories_of(said))
    return NOTHING if any(is_nothing(event.text) for event in accessories(said)) else ""


def same_serial(one: str, other: str) -> bool:
    """Whether two serial numbers have the same letters and digits; case and signs between them do not part them."""
    return _plain(one) == _plain(other)


def _plain(serial: str) -> str:
    return "".join(sign for sign in serial.casefold() if sign.isalnum())

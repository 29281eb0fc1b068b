"""The intake as the record has it: what was told of the unit as it came in, and what its lamps did.

Serial number and complaint stand on the job's papers too: what was given when it was opened and what was said are put
together here.
"""

from __future__ import annotations

from collections.abc import Iterable

from benchvoice.decide.intake_log import accessories, is_nothing
from benchvoice.events import Event, Intake, Opened, Undone
from benchvoice.keep.record_models import IntakeRecord

__all__ = ["Papers", "accessories_text", "indicator_text", "intake_rows", "intake_text"]

_CALLED = {"complaint": "Complaint", "accessory": "Came with", "arrived": "Arrived", "serial": "Serial number"}
_NONE = "nothing"


class Papers:
    """Serial number and complaint of one visit after another, from events taken one by one.

    Of serial numbers the one that was given or said last counts. Complaints are put together; one whose words are not
    verified is left to its sound.
    """

    def __init__(self) -> None:
        self._given: dict[str, tuple[int, str]] = {}  # on the command line, by field
        self._said: list[Intake] = []

    def take(self, event: Event) -> None:
        """The next event; only openings, what was told at the intake, and what was struck change anything."""
        match event:
            case Opened():
                for field in ("serial", "complaint"):
                    text = getattr(event, field)
                    if text is not None:
                        self._given[field] = (event.seq, text)
            case Intake():
                self._said.append(event)
            case Undone():
                self._said = [said for said in self._said if said.seq not in event.undoes]

    @property
    def serial(self) -> str | None:
        """The serial number that counts; None where there is none."""
        said = [(event.seq, event.text) for event in self._said if event.what == "serial"]
        given = [self._given["serial"]] if "serial" in self._given else []
        return max((*given, *said))[1] if given or said else None

    @property
    def complaint(self) -> str | None:
        """The complaint of this visit; None where there is none."""
        said = [event.text for event in self._said if event.what == "complaint" and event.verified and event.text]
        given = [self._given["complaint"][1]] if "complaint" in self._given else []
        return "; ".join(dict.fromkeys((*given, *said))) or None

    def next_visit(self) -> None:
        """Begins the next visit: the serial number stays, a complaint is of one visit alone."""
        serial = self.serial
        self._given = {} if serial is None else {"serial": (0, serial)}
        self._said = []


def intake_rows(events: Iterable[object]) -> tuple[IntakeRecord, ...]:
    """What was told at the intake and counts, in that order; of "nothing" and an accessory the one told last."""
    told = [event for event in events if isinstance(event, Intake)]
    counting = accessories(told)
    return tuple(
        IntakeRecord(**{name: getattr(event, name) for name in IntakeRecord.model_fields})
        for event in told
        if event.what != "accessory" or event in counting
    )


def intake_text(event: Intake | IntakeRecord) -> str:
    """One thing that was told, in a line."""
    if event.what == "indicator":
        return indicator_text(event)
    return f"{_CALLED[event.what]}: {event.text or 'in the words of the sound'}"


def indicator_text(event: Intake | IntakeRecord) -> str:
    """What a lamp or a beeper did: "front lamp: 2 short, 1 long (output overload)"."""
    means = event.means or ("not in the table" if event.unlisted else "")
    return f"{event.name}: {event.text}" + (f" ({means})" if means else "")


def accessories_text(rows: Iterable[IntakeRecord]) -> str:
    """What came with the unit: "power cable and manual", "nothing"; "" where nobody told."""
    told = [row.text for row in rows if row.what == "accessory"]
    named = [text for text in dict.fromkeys(told) if not is_nothing(text)]
    if not named:
        return _NONE if told else ""
    return " and ".join(filter(None, (", ".join(named[:-1]), named[-1])))

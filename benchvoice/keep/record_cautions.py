"""Cautions as the record has them: each that was given, with its acknowledgement, and as a line of the timeline."""

from __future__ import annotations

from decimal import Context, Decimal

from benchvoice.events import Acknowledged, Caution
from benchvoice.keep.record_models import CautionRecord
from benchvoice.keep.wording import amount

__all__ = ["CautionRows", "caution_text"]

_THREE_DIGITS = Context(prec=3)


def caution_text(event: Caution | Acknowledged) -> str:
    """What an event says, in a line of the timeline."""
    if isinstance(event, Acknowledged):
        return f"Acknowledged: caution of line {', '.join(map(str, event.cautions))}"
    what = ", ".join(filter(None, (event.hazard, event.about, _details(event))))
    return f"Caution: {what}" + (f" ({event.why})" if event.why else "")


def _details(event: Caution) -> str:
    """Voltage and energy, and how long the bleeder takes, rounded as for reading."""
    told = [amount(event.volts, "V"), _rounded(event.joules, "J")]
    if event.seconds is not None:
        told.append(f"{_rounded(event.seconds, 's')} to {amount(event.safe_volts, 'V')} by its bleeder, if whole")
    return ", ".join(filter(None, told))


def _rounded(number: str | None, unit: str) -> str:
    """Three significant digits: what a board file says of a capacitor is not known better."""
    if number is None:
        return ""
    return amount(f"{_THREE_DIGITS.plus(Decimal(number)).normalize():f}", unit)


class CautionRows:
    """The cautions of a job in order, each with when it was acknowledged."""

    def __init__(self) -> None:
        self._rows: dict[int, CautionRecord] = {}

    def take(self, event: Caution | Acknowledged) -> None:
        """The next event about a caution."""
        if isinstance(event, Caution):
            self._rows[event.seq] = CautionRecord(
                seq=event.seq,
                at=event.at,
                hazard=event.hazard,
                about=event.about,
                why=event.why,
                details=_details(event),
            )
            return
        for seq in event.cautions:
            row = self._rows.get(seq)
            if row is not None:
                self._rows[seq] = row.model_copy(update={"acknowledged_at": event.at})

    @property
    def rows(self) -> tuple[CautionRecord, ...]:
        """All of them so far."""
        return tuple(self._rows.values())

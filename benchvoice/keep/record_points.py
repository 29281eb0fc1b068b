"""Which readings count: the latest of each point and stage that was not withdrawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal, InvalidOperation

from benchvoice.errors import UnitError
from benchvoice.events import Heard, OpenedPoint, Reading, Withdrawn
from benchvoice.keep.record_models import PointRecord, ReadingRecord, Stage
from benchvoice.units import convert

__all__ = ["ReadingBook", "change", "number"]


def number(value: str | None) -> Decimal | None:
    """The number that a value's digits make; None for over range and for what is not a number."""
    if value is None or value == "over range":
        return None
    try:
        read = Decimal(value)
    except InvalidOperation:
        return None
    return read if read.is_finite() else None


def change(before: ReadingRecord, after: ReadingRecord) -> str | None:
    """After minus before in the unit of `after`, with its sign; None where one of them is not a measured number."""
    first, second = number(before.value), number(after.value)
    if first is None or second is None or "digits" in (before.quantity, after.quantity):
        return None
    try:
        first = convert(first, before.unit, after.unit)
    except UnitError:
        return None  # the quantity itself differs: the board file was changed between the two
    return f"{second - first:+f}"


class ReadingBook:
    """All readings as they come, with what ended them."""

    def __init__(self) -> None:
        self._readings: dict[int, ReadingRecord] = {}
        self._ended: dict[int, tuple[str, int]] = {}

    @property
    def stages(self) -> set[Stage]:
        """The stages in which something was read, withdrawn or not."""
        return {reading.stage for reading in self._readings.values()}

    def add(self, reading: Reading, heard: Heard | None) -> None:
        if reading.corrects in self._readings:
            self._ended[reading.corrects] = ("corrected", reading.seq)
        self._readings[reading.seq] = _reading_record(reading, heard)

    def withdraw(self, event: Withdrawn) -> ReadingRecord | None:
        """The reading that the event withdraws; None where there is no such reading."""
        found = self._readings.get(event.reading)
        if found is None:
            return None
        self._ended.setdefault(event.reading, ("withdrawn", event.seq))
        return found

    def readings(self) -> tuple[ReadingRecord, ...]:
        """Every reading in order, with its status."""
        followed_by: dict[int, int] = {}
        latest: dict[tuple[str, Stage], int] = {}
        for seq, reading in self._readings.items():
            if seq not in self._ended:
                place = (reading.point, reading.stage)
                if place in latest:
                    followed_by[latest[place]] = seq
                latest[place] = seq
        ended = {seq: ("superseded", later) for seq, later in followed_by.items()} | self._ended
        return tuple(
            reading.model_copy(update={"status": ended[seq][0], "ended_by": ended[seq][1]}) if seq in ended else reading
            for seq, reading in self._readings.items()
        )

    def points(self, readings: Iterable[ReadingRecord], board: Sequence[OpenedPoint]) -> tuple[PointRecord, ...]:
        """The board's points in its order, then points that were read but are no longer on it."""
        pairs: dict[str, dict[Stage, ReadingRecord]] = {point.name: {} for point in board}
        for reading in readings:
            if reading.status == "current":
                pairs.setdefault(reading.point, {})[reading.stage] = reading
        described = {point.name: point.model_dump() for point in board}
        return tuple(_point_record(name, described.get(name), pair) for name, pair in pairs.items())


def _reading_record(reading: Reading, heard: Heard | None) -> ReadingRecord:
    told = vars(reading) | {"heard_text": heard.text if heard else ""}
    del told["kind"]
    told |= {"source": heard.source, "start_s": heard.start_s, "clip": heard.clip} if heard else _NOT_HEARD
    # both are validated already; one shared set of names instead of one each halves what a long record holds
    return ReadingRecord.model_construct(_fields_set=_READING_FIELDS, **told)


_NOT_HEARD: dict[str, None] = {"source": None, "start_s": None, "clip": None}
_READING_FIELDS = set(ReadingRecord.model_fields)


def _point_record(name: str, described: dict[str, str | None] | None, pair: dict[Stage, ReadingRecord]) -> PointRecord:
    before, after = pair.get("before"), pair.get("after")
    either = after or before
    if described is None and either is not None:
        described = {"name": name} | {
            field: getattr(either, field) for field in ("quantity", "unit", "nominal", "low", "high")
        }
    return PointRecord.model_validate(
        {**(described or {}), "before": before, "after": after}
        | {"change": change(before, after) if before and after else None}
    )

"""Which readings count: the latest of each point and stage that was not withdrawn."""

from __future__ import annotations

from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Literal, NamedTuple

from benchvoice.errors import UnitError
from benchvoice.events import Heard, OpenedPoint, Reading, Withdrawn
from benchvoice.keep.record_models import PointRecord, ReadingRecord, Stage
from benchvoice.units import convert

__all__ = ["CurrentReadings", "Standing", "Standings", "change", "number", "reading_record"]


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


class Standing(NamedTuple):
    """What became of a reading, and the number of the event that did it."""

    status: Literal["current", "superseded", "withdrawn", "corrected", "earlier visit"] = "current"
    ended_by: int | None = None
    visit: int = 1


class Standings:
    """What becomes of each reading, which only later events tell: gathered on a pass of its own.

    Holds 25 bytes a reading, and what a computed one follows from. Readings come in the order of their numbers.
    """

    _STATUSES: tuple[Literal["current", "superseded", "withdrawn", "corrected", "earlier visit"], ...] = (
        "current",
        "superseded",
        "withdrawn",
        "corrected",
        "earlier visit",
    )

    def __init__(self) -> None:
        self._seqs = array("Q")
        self._places = array("Q")
        self._status = bytearray()
        self._ended_by = array("Q")
        self._place_numbers: dict[tuple[str, Stage, int], int] = {}
        self._following: dict[int, list[int]] = {}  # computed readings, by index, that follow from one of that number
        self._with_input: set[int] = set()  # those that ended with an input and were not withdrawn by themselves yet
        self._visits: list[tuple[int, int]] = []  # the first reading of a later visit, by index, and its opening
        self._visit_numbers: list[int] = [1]

    def begin_visit(self, opening: int, visit: int) -> None:
        """The unit came back: what was read until now is of an earlier visit. `opening` is the event's number."""
        self._visits.append((len(self._seqs), opening))
        self._visit_numbers.append(visit)

    def add(self, reading: Reading) -> None:
        """A reading, which may correct an earlier one."""
        if reading.corrects is not None and (corrected := self._index(reading.corrects)) is not None:
            self._end(corrected, "corrected", reading.seq)
        for given in reading.follows_from:
            self._following.setdefault(given, []).append(len(self._seqs))
        self._seqs.append(reading.seq)
        place = (reading.point, reading.stage, len(self._visits))
        self._places.append(self._place_numbers.setdefault(place, len(self._place_numbers)))
        self._status.append(0)
        self._ended_by.append(0)

    def withdraw(self, event: Withdrawn) -> None:
        """A reading that was struck; what was struck or corrected before stays as it is.

        What follows from it ends with it, since the journal may end before that is withdrawn by itself.
        """
        index = self._index(event.reading)
        if index is not None and (not self._status[index] or index in self._with_input):
            self._end(index, "withdrawn", event.seq)
            self._with_input.discard(index)
        for each in self._following.pop(event.reading, ()):
            if not self._status[each]:
                self._end(each, "withdrawn", event.seq)
                self._with_input.add(each)

    def finish(self) -> None:
        """All readings are known: of those that stand, each point's and stage's latest supersedes the others.

        What then still stands of an earlier visit has ended when the unit came back.
        """
        latest: dict[int, int] = {}
        for index, (place, status) in enumerate(zip(self._places, self._status, strict=True)):
            if not status:
                if place in latest:
                    self._end(latest[place], "superseded", self._seqs[index])
                latest[place] = index
        for index in latest.values():
            begun = self._n_begun(index)
            if begun < len(self._visits):
                self._end(index, "earlier visit", self._visits[begun][1])

    def _n_begun(self, index: int) -> int:
        """How many visits had begun, after the first, when a reading was made."""
        return bisect_right(self._visits, index, key=lambda visit: visit[0])

    def of(self, seq: int) -> Standing | None:
        """What became of the reading of that number; None where there is none."""
        index = self._index(seq)
        if index is None:
            return None
        visit = self._visit_numbers[self._n_begun(index)]
        return Standing(self._STATUSES[self._status[index]], self._ended_by[index] or None, visit)

    def _end(self, index: int, status: str, by: int) -> None:
        self._status[index] = self._STATUSES.index(status)
        self._ended_by[index] = by

    def _index(self, seq: int) -> int | None:
        index = bisect_left(self._seqs, seq)
        return index if index < len(self._seqs) and self._seqs[index] == seq else None


class CurrentReadings:
    """The readings of one visit that count, or counted at its end, by point and stage."""

    def __init__(self) -> None:
        self.struck: set[tuple[str, Stage]] = set()
        """Point and stage of the readings that were struck."""
        self._pairs: dict[str, dict[Stage, ReadingRecord]] = {}
        self.stages: set[Stage] = set()
        """The stages in which something was read, withdrawn or not."""

    def take(self, reading: ReadingRecord) -> None:
        """The next reading, with its status."""
        self.stages.add(reading.stage)
        if reading.status == "withdrawn":
            self.struck.add((reading.point, reading.stage))
        elif reading.status in ("current", "earlier visit"):
            self._pairs.setdefault(reading.point, {})[reading.stage] = reading

    def readings(self) -> list[ReadingRecord]:
        """All of them."""
        return [reading for pair in self._pairs.values() for reading in pair.values()]

    def points(self, board: Sequence[OpenedPoint]) -> tuple[PointRecord, ...]:
        """The board's points in its order, then points that were read but are no longer on it."""
        described = {point.name: point.model_dump() for point in board}
        names = dict.fromkeys([*described, *self._pairs])
        return tuple(_point_record(name, described.get(name), self._pairs.get(name, {})) for name in names)


def reading_record(reading: Reading, heard: Heard | None, standing: Standing) -> ReadingRecord:
    """A reading as the record has it, with what was heard and what became of it."""
    told = vars(reading) | {"heard_text": heard.text if heard else ""} | standing._asdict()
    del told["kind"]
    told |= {"source": heard.source, "start_s": heard.start_s, "clip": heard.clip} if heard else _NOT_HEARD
    return ReadingRecord.model_construct(**told)  # both are validated already


_NOT_HEARD: dict[str, None] = {"source": None, "start_s": None, "clip": None}


def _point_record(name: str, described: dict[str, str | None] | None, pair: dict[Stage, ReadingRecord]) -> PointRecord:
    before, after = pair.get("before"), pair.get("after")
    either = after or before
    if described is None and either is not None:
        described = {"name": name} | {
            field: getattr(either, field) for field in ("quantity", "unit", "nominal", "low", "high", "expected")
        }
    return PointRecord.model_validate(
        {**(described or {}), "before": before, "after": after}
        | {"change": change(before, after) if before and after else None}
    )

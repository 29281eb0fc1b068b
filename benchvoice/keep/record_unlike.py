"""What is unlike in the record: a known-good board's values, and channels of one board that should be alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import combinations

from benchvoice.events import Opened
from benchvoice.keep.record_handover import Stage
from benchvoice.keep.record_models import PointRecord, ReadingRecord, UnlikeRecord
from benchvoice.likeness import Compared, likeness

__all__ = ["KNOWN_GOOD", "unlike_of"]

KNOWN_GOOD = "the known-good board"
_STAGES: tuple[Stage, ...] = ("before", "after")


def unlike_of(opened: Opened | None, points: Sequence[PointRecord]) -> tuple[UnlikeRecord, ...]:
    """What is unlike among the readings that count, by stage; channels are compared anew, by what counts now.

    Args:
        opened: the last opening, which holds the channels that should be alike.
        points: with the readings that count.
    """
    return tuple(found for stage in _STAGES for found in _of_stage(opened, points, stage))


def _of_stage(opened: Opened | None, points: Sequence[PointRecord], stage: Stage) -> Iterator[UnlikeRecord]:
    read = {point.name: getattr(point, stage) for point in points}
    readings: dict[str, ReadingRecord] = {name: reading for name, reading in read.items() if reading is not None}
    for reading in readings.values():
        good = reading.known_good
        if good is not None and good.unlike:
            known = Compared(good.value, good.unit)
            yield _unlike(reading, KNOWN_GOOD, known, good.percent, good.within)
    for group in () if opened is None else opened.alike:
        for first, second in combinations([name for name in group.points if name in readings], 2):
            reading, other = readings[second], readings[first]
            found = likeness(_compared(reading), _compared(other), Decimal(group.within))
            if found is not None and found.unlike:
                percent = None if found.percent is None else f"{found.percent:f}"
                yield _unlike(reading, first, _compared(other), percent, group.within)


def _unlike(reading: ReadingRecord, to: str, other: Compared, percent: str | None, within: str) -> UnlikeRecord:
    return UnlikeRecord(
        stage=reading.stage,
        point=reading.point,
        value=reading.value,
        unit=reading.unit,
        to=to,
        to_value=other.value,
        to_unit=other.unit,
        percent=percent,
        within=within,
    )


def _compared(reading: ReadingRecord) -> Compared:
    return Compared(reading.value, reading.unit, reading.uncertainty, reading.waveform)

"""Readings beside those of a known-good board, and of one channel beside another: what is to be kept and said of it."""

from __future__ import annotations

from decimal import Decimal

from benchvoice.decide.board import Point
from benchvoice.decide.session_state import SessionState
from benchvoice.events import GoodComparison, Reading
from benchvoice.likeness import Compared, likeness
from benchvoice.records import LikenessTold, SpokenValue, Statement, Verdict

__all__ = ["against_known_good", "likeness_told"]


def against_known_good(
    state: SessionState, point: Point, value: SpokenValue, verdict: Verdict
) -> GoodComparison | None:
    """How a value compares with the known-good board's; None where it is judged by limits, or nothing is known.

    What the job of a known-good board holds goes before what the board file says.
    """
    known = None if verdict.statement is not Statement.RECORDED else _known_good(state, point)
    if known is None:
        return None
    within = state.board.known_good_within
    uncertainty = None if verdict.uncertainty is None else f"{verdict.uncertainty:f}"
    waveform = value.waveform or point.usual_waveform
    found = likeness(Compared(value.digits, value.unit or point.unit, uncertainty, waveform), known, within)
    if found is None:
        return None
    percent = None if found.percent is None else f"{found.percent:f}"
    return GoodComparison(
        value=known.value, unit=known.unit, percent=percent, within=f"{within:f}", unlike=found.unlike
    )


def _known_good(state: SessionState, point: Point) -> Compared | None:
    readings = () if state.known_good is None else state.known_good.readings
    for each in readings:
        if each.point == point.name:
            return Compared(each.value, each.unit, each.uncertainty, each.waveform or point.usual_waveform)
    return None if point.known_good is None else Compared(f"{point.known_good:f}", point.unit)


def likeness_told(state: SessionState, reading: Reading) -> tuple[LikenessTold, ...]:
    """What is to be said of a reading that was just kept: the known-good board's value, then the channels it is unlike.

    Args:
        state: the state with that reading.
        reading: the reading, measured or computed.
    """
    told: list[LikenessTold] = []
    good = reading.known_good
    if good is not None:
        percent = None if good.percent is None else Decimal(good.percent)
        told.append(LikenessTold(None, SpokenValue(good.value, good.unit, unit_said=True), percent, good.unlike))
    for group in state.board.alike:
        for name in group.points if reading.point in group.points else ():
            other = None if name == reading.point else state.latest(name, reading.stage)
            if other is None:
                continue
            # in per cent of the one that is named first, whichever was read first, as the record has it
            pair = sorted((reading, other), key=lambda each: group.points.index(each.point))
            found = likeness(_compared(pair[1]), _compared(pair[0]), group.within)
            if found is not None and found.unlike:
                value = SpokenValue(other.value, other.unit, unit_said=True)
                told.append(LikenessTold(name, value, found.percent, unlike=True))
    return tuple(told)


def _compared(reading: Reading) -> Compared:
    return Compared(reading.value, reading.unit, reading.uncertainty, reading.waveform)

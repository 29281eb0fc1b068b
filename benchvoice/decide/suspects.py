"""What the present stage's readings make suspect on this board."""

from __future__ import annotations

from decimal import Decimal

from benchvoice.decide.board import Board, Point
from benchvoice.decide.session_state import SessionState
from benchvoice.decide.substitution import trials_of
from benchvoice.events import OpenedSupply, Reading
from benchvoice.suspect.findings import SupplyPart, SupplyPoint, SupplyReading, away_from_zero, suspicion_of
from benchvoice.suspicion import Suspicion

__all__ = ["opened_supplies", "suspected"]


def suspected(state: SessionState) -> Suspicion:
    """What is suspected now, from the latest reading of each point in the present stage.

    What was read before a part that feeds it was replaced says nothing any more.
    """
    board, stale = state.board, state.again()
    latest: dict[str, Reading] = {}
    for reading in state.readings:
        if reading.stage == state.stage and reading.point not in stale:
            latest.setdefault(reading.point, reading)
    readings = {name: _reading(reading) for name, reading in latest.items()}
    parts = (SupplyPart(part.ref, part.what, part.fails or "") for part in board.parts)
    trials = trials_of(state.work.events, state.stage, so_far=True)
    return suspicion_of(tuple(_point(point) for point in board.points), parts, readings, trials)


def _reading(reading: Reading) -> SupplyReading:
    chance = None if reading.probability is None else Decimal(reading.probability)
    return SupplyReading(reading.statement, reading.direction, chance)


def _point(point: Point) -> SupplyPoint:
    return SupplyPoint(
        name=point.name,
        fed_by=None if point.fed_by is None else point.fed_by.point,
        through=() if point.fed_by is None else point.fed_by.parts,
        loads=point.loads,
        load_of=point.load_of,
        judged=point.judged,
        away=away_from_zero(point.quantity, point.low, point.high),
    )


def opened_supplies(board: Board) -> tuple[OpenedSupply, ...]:
    """What the journal keeps of the board's supplies, so that its record needs no board file."""
    return tuple(
        OpenedSupply(
            point=point.name,
            fed_by=None if point.fed_by is None else point.fed_by.point,
            through=() if point.fed_by is None else point.fed_by.parts,
            loads=point.loads,
            load_of=point.load_of,
        )
        for point in board.points
        if point.fed_by is not None or point.loads or point.load_of is not None
    )

"""Which reading a correction or a "strike that" means, and whether it must be asked about first."""

from __future__ import annotations

from benchvoice.decide.session_state import SessionState
from benchvoice.events import Reading
from benchvoice.records import Candidate, CommandIntent, SpokenValue

__all__ = ["long_past", "read_as", "to_correct", "undone_by"]


def to_correct(state: SessionState, point: str | None) -> Reading | None:
    """The reading that a correction replaces: the latest of the point it names, else the last one of all.

    None where there is none, or where it is not certain which is meant.
    """
    top = state.readings.top
    if top is None:
        return None
    if point is None:
        # "on input" turns to another point, unless what was read since can be read at any time
        return top if state.current in (None, top.point) or state.is_alone(top.point) else None
    named = top if top.point == point else state.latest(point)
    if named is not None:
        return named
    # the name itself may have been the slip; then it is the last reading that moves, never one of another stage, and
    # never to a point that was read before
    read = any(reading.point == point for reading in state.readings)
    return None if read or top.stage != state.stage else top


def undone_by(state: SessionState, command: CommandIntent | None) -> Reading | None:
    """The reading that a command would withdraw; None where it withdraws none."""
    if command is not None and command.name == "correction":
        return to_correct(state, command.point)
    if command is not None and command.name == "strike":
        return state.readings.top
    return None


def long_past(state: SessionState, reading: Reading) -> str:
    """Why a reading is asked about before it is undone, as a phrase; empty where it belongs to the work at hand."""
    if reading.seq < state.opened:
        return "it was read in an earlier session"
    if reading.seq < state.staged:
        return "it was read before the stage changed"
    return ""


def read_as(reading: Reading) -> Candidate:
    """Point and value of a reading; whether its unit was spoken is not kept, so it is said where it matters."""
    return Candidate(reading.point, SpokenValue(reading.value, reading.unit, waveform=reading.waveform))

"""Values that follow from readings: worked out when the last of their inputs was taken, and again when one is struck.

Pure. A computed value is a reading of its own in the journal, which names those that it follows from; only what counts
and was read in the same stage and visit goes into it. Nobody can say one, so nothing here asks.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any, Literal

from benchvoice.decide.board import Point
from benchvoice.decide.compare import against_known_good, likeness_told
from benchvoice.decide.formulas import Doubtful, evaluate, rounded
from benchvoice.decide.plausible import absurdity
from benchvoice.decide.reading_stack import ReadingStack
from benchvoice.decide.session_fold import apply
from benchvoice.decide.session_state import SessionState, Stage
from benchvoice.decide.undoing import undone_by
from benchvoice.decide.verdict import judge, judge_number
from benchvoice.decide.written import verdict_of, written_verdict
from benchvoice.events import Event, Reading, Withdrawn
from benchvoice.records import Candidate, ComputedTold, SpokenValue, Verdict
from benchvoice.units import UNITS, convert

__all__ = ["Place", "absurdly_made", "completed", "computed_after", "following", "why_not_read"]

Place = tuple[str, Stage]
"""A point and a stage."""

_HANDY = (Decimal(1), Decimal(1000))
_OTHER_BOARD = "the board file is another"
_MORE_DIGITS = 3
"""How many digits more are shown at most where rounding would move a value across a limit."""


@dataclass(frozen=True)
class _Worked:
    """What was worked out at a point: a number in `unit`, or why there is none; and the readings that went into it.

    `shown` is the number with the digits that it carries. `number`, with its standard uncertainty, is what is judged:
    rounded before that, what lies beyond a limit could come to lie on it.
    """

    follows_from: tuple[int, ...]
    shown: Decimal = Decimal(0)
    number: Decimal = Decimal(0)
    unit: str = ""
    standard: Decimal = Decimal(0)
    waveform: Literal["AC", "DC"] | None = None
    basis: str = ""
    why: str = ""


def why_not_read(point: Point) -> str:
    """Why no value is taken at a point, as a phrase; empty where it is measured."""
    return "" if point.computed is None else f"{point.name} is computed, from {' and '.join(point.computed.inputs)}"


def following(computed: ReadingStack, reading: int) -> tuple[Reading, ...]:
    """The computed values that count and follow from that reading, the oldest first."""
    return tuple(reversed([each for each in computed if reading in each.follows_from]))


def computed_after(
    state: SessionState, places: Collection[Place], lost: Collection[Place] = (), *, at: datetime, heard: int
) -> tuple[tuple[Event, ...], tuple[ComputedTold, ...]]:
    """What follows from readings that were taken or withdrawn.

    Args:
        state: the state since then.
        places: where they were.
        lost: where computed values were withdrawn with them.
        at, heard: of the events: now, in UTC, and the utterance that led to it.

    Returns:
        The events to keep, numbered from the state's next one, and what is to be said of them.
    """
    events: list[Event] = []
    told: list[ComputedTold] = []
    for point, stage in _due(state, places):
        worked, latest = _worked(state, point, stage), state.latest(point.name, stage)
        gone = (point.name, stage) in lost
        standing = tuple(each for each in state.computed if (each.point, each.stage) == (point.name, stage))
        made: list[Event] = []
        if worked is None:  # an input is missing; what stands was computed from others
            made += _withdrawn(state, standing, _OTHER_BOARD, at=at, heard=heard)
            elsewhere = "" if stage == state.stage else stage
            told += [ComputedTold(point.name, stage=elsewhere)] if gone and latest is None else []
        elif worked.why:
            made += _withdrawn(state, standing, worked.why, at=at, heard=heard)
            told.append(ComputedTold(point.name, why=worked.why))
        elif latest is None or not _is_kept(worked, latest):
            same = () if latest is None or latest.follows_from != worked.follows_from else (latest,)
            made += _withdrawn(state, same, _OTHER_BOARD, at=at, heard=heard)
            seq = state.next_seq + len(made)
            made.append(_reading(state, worked, point, stage, seq=seq, at=at, heard=heard))
        elif gone:  # an earlier one counts again
            told.append(_told(state, latest))
        for event in made:
            state = apply(state, event)
        told += [_told(state, event) for event in made if isinstance(event, Reading)]
        events += made
    return tuple(events), tuple(told)


def _withdrawn(
    state: SessionState, readings: Sequence[Reading], why: str, *, at: datetime, heard: int
) -> list[Withdrawn]:
    return [
        Withdrawn(seq=seq, at=at, heard=heard, reading=each.seq, why=why)
        for seq, each in enumerate(reversed(readings), state.next_seq)
    ]


def _is_kept(worked: _Worked, latest: Reading) -> bool:
    """Whether the latest value is what is worked out now: of the same readings, by the same formula."""
    kept = (latest.follows_from, latest.value, latest.unit, latest.waveform, latest.basis)
    return kept == (worked.follows_from, f"{worked.shown:f}", worked.unit, worked.waveform, worked.basis)


def completed(state: SessionState, at: datetime) -> tuple[Event, ...]:
    """What follows from the readings that count and was not kept: the power failed, or the board file is another.

    What the board file computes otherwise now, or no longer, is withdrawn.
    """
    heard = max((reading.heard for reading in state.readings), default=0)
    now = {point.name for point in state.board.computed}
    past = tuple(each for each in state.computed if each.point not in now)
    withdrawn = _withdrawn(state, past, _OTHER_BOARD, at=at, heard=heard)
    for event in withdrawn:
        state = apply(state, event)
    places = {(reading.point, reading.stage) for reading in state.readings}
    places |= {(name, each.stage) for each in state.computed for name in state.board.measured_for(each.point)}
    return (*withdrawn, *computed_after(state, places, at=at, heard=heard)[0])


def absurdly_made(state: SessionState, candidate: Candidate, at: datetime) -> ComputedTold | None:
    """The computed value that a reading would make and that would be asked about if it had been measured, with why.

    None where there is none. Only what has limits is judged; a level is not: a dead output lies far below zero.
    """
    value = candidate.value
    known = None if candidate.point is None else state.board.by_name.get(candidate.point)
    if value is None or known is None or candidate.work is not None:
        return None
    wrong = undone_by(state, candidate.command)
    stage = state.stage if wrong is None else wrong.stage
    if wrong is not None:
        state = apply(state, Withdrawn(seq=state.next_seq, at=at, heard=wrong.heard, reading=wrong.seq))
    told: dict[str, Any] = {
        "point": known.name,
        "quantity": known.quantity,
        "value": value.digits,
        "unit": value.unit or known.unit,
    }
    told |= {"seq": state.next_seq, "at": at, "heard": state.heard_seq, "stage": stage, "waveform": value.waveform}
    would_be = Reading.model_validate(told | written_verdict(judge(value, known, state.meter)))
    state = apply(state, would_be)
    for point, _ in _due(state, {(known.name, stage)}):
        worked = _worked(state, point, stage)
        if worked is None or worked.why or point.expected is None or point.quantity == "level":
            continue
        made = SpokenValue(f"{worked.shown:f}", worked.unit)
        why = absurdity(made, point)
        if why:
            said = replace(made, unit_said=True, waveform=worked.waveform)
            return ComputedTold(point.name, said, why=f"{point.name} would be {said}: {why}")
    return None


def _due(state: SessionState, places: Collection[Place]) -> Iterator[tuple[Point, Stage]]:
    stages: tuple[Stage, ...] = ("before", "after")
    for point in state.board.computed:
        measured = state.board.measured_for(point.name)
        for stage in stages:
            if any((name, stage) in places for name in measured):
                yield point, stage


def _told(state: SessionState, reading: Reading) -> ComputedTold:
    value = SpokenValue(reading.value, reading.unit, unit_said=True, waveform=reading.waveform)
    return ComputedTold(reading.point, value, verdict_of(reading), likeness=likeness_told(state, reading))


def _reading(
    state: SessionState, worked: _Worked, point: Point, stage: Stage, *, seq: int, at: datetime, heard: int
) -> Reading:
    verdict = _verdict(worked, point)
    value = SpokenValue(f"{worked.shown:f}", worked.unit, waveform=worked.waveform)
    return Reading(
        seq=seq,
        at=at,
        heard=heard,
        point=point.name,
        quantity=point.quantity,
        value=value.digits,
        unit=worked.unit,
        waveform=worked.waveform,
        stage=stage,
        follows_from=worked.follows_from,
        known_good=against_known_good(state, point, value, verdict),
        **written_verdict(verdict),
    )


def _verdict(worked: _Worked, point: Point) -> Verdict:
    """The verdict on the number, beside the deviation of what is shown."""
    judged, shown = (
        judge_number(number, worked.unit, point, worked.standard, worked.basis)
        for number in (worked.number, worked.shown)
    )
    return replace(judged, deviation=shown.deviation, deviation_percent=shown.deviation_percent)


# --- working it out -------------------------------------------------------------------------------------------------
def _worked(state: SessionState, point: Point, stage: Stage) -> _Worked | None:
    """What a point's value is now; None where an input has not been read in that stage."""
    formula = point.computed
    readings = [state.latest(name, stage) for name in state.board.measured_for(point.name)]
    if formula is None or not all(readings):
        return None
    inputs = {reading.point: reading for reading in readings if reading is not None}
    seqs = tuple(sorted(reading.seq for reading in inputs.values()))
    value = _evaluate(state, point, inputs)
    if isinstance(value, str):
        return _Worked(seqs, why=value)
    in_base = rounded(value)
    unit = _unit_for(point, in_base)
    basis = "; ".join(dict.fromkeys(reading.basis for reading in inputs.values() if reading.basis))
    waveforms = {_waveform(state, reading) for reading in inputs.values()}
    alternating = formula.form in ("current", "divided") and waveforms == {"AC"}
    return _Worked(
        follows_from=seqs,
        shown=_shown(value, point, unit),
        number=convert(value.number, point.kind.base, unit),
        unit=unit,
        standard=convert(value.standard, point.kind.base, unit),
        waveform="AC" if alternating else None,
        basis=f"computed, {formula.text}; {basis}",
    )


def _shown(value: Doubtful, point: Point, unit: str) -> Decimal:
    """The number with the digits that it carries, in `unit`; with more where they would put it beyond a limit, or not.

    "One point five amps: fail" says nothing to who knows that at most one point five are allowed.
    """
    shown = rounded(value)
    for more in range(1, _MORE_DIGITS + 1):
        if _beyond(shown, point) == _beyond(value.number, point):
            break
        shown = rounded(replace(value, place=value.place - more))
    return convert(shown, point.kind.base, unit)


def _beyond(in_base: Decimal, point: Point) -> tuple[bool, bool]:
    """Whether a number in the point's base unit is below its low and above its high limit."""
    low, high = (
        each if each is None else convert(each, point.unit, point.kind.base) for each in (point.low, point.high)
    )
    return low is not None and in_base < low, high is not None and in_base > high


def _evaluate(state: SessionState, point: Point, inputs: dict[str, Reading]) -> Doubtful | str:
    formula = point.computed
    if formula is None:
        return _measured(state, inputs[point.name])
    values: list[Doubtful] = []
    for name in formula.inputs:
        value = _evaluate(state, state.board.point(name), inputs)
        if isinstance(value, str):
            return value
        values.append(value)
    behind = (inputs[name] for given in formula.inputs for name in state.board.measured_for(given))
    waveforms = {_waveform(state, read) for read in behind}
    if formula.form == "power" and not formula.constants and "AC" in waveforms:
        return "volts times amps of AC are not watts"
    if formula.form == "level" and waveforms >= {"AC", "DC"}:
        return "AC in ratio to DC is no level"
    return evaluate(formula, point.name, values)


def _measured(state: SessionState, reading: Reading) -> Doubtful | str:
    """A reading in its base unit, with its standard uncertainty."""
    base = state.board.point(reading.point).kind.base
    if reading.value == "over range":
        return f"{reading.point} is over range"
    if reading.uncertainty is None:
        return f"{reading.point} may not be what the meter shows"
    if UNITS[reading.unit].base != base:
        return f"{reading.point} was read in {reading.unit}"  # the board file was changed since
    number, expanded = (convert(Decimal(each), reading.unit, base) for each in (reading.value, reading.uncertainty))
    return Doubtful.measured(reading.point, number, expanded / 2)


def _waveform(state: SessionState, reading: Reading) -> str | None:
    return reading.waveform or state.board.point(reading.point).usual_waveform


def _unit_for(point: Point, number: Decimal) -> str:
    """The point's unit; where nothing is given in any, the handiest. `number` is in the base unit."""
    given = any(each is not None for each in (point.nominal, point.low, point.high, point.known_good))
    handy = (
        unit
        for unit in (() if given else point.kind.units)
        if _HANDY[0] <= abs(convert(number, point.kind.base, unit)) < _HANDY[1]
    )
    return next(handy, point.unit)

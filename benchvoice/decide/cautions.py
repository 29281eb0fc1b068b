"""Cautions: which one is due after what was just done, what acknowledges it, and what must not be done under power.

A caution is given once in a session, at the moment at which it helps, and again once the unit was switched on again.
It says that something is commonly held hazardous, never that anything is safe.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from benchvoice.decide.board import Point
from benchvoice.decide.caution_log import told_by
from benchvoice.decide.checklist import Act
from benchvoice.decide.discharge import is_hazardous
from benchvoice.decide.guide import told_of
from benchvoice.decide.hazards import Capacitor, Hazard
from benchvoice.decide.session_fold import apply
from benchvoice.decide.session_state import SessionState
from benchvoice.decide.timers import stop_discharge
from benchvoice.decide.turn import Step, Turn
from benchvoice.decide.undoing import value_read
from benchvoice.events import Acknowledged, Caution, Command, Event, HazardName, Reading, Removed, Reworked
from benchvoice.records import WITHOUT_POWER, CautionTold, CommandIntent, Decision, Outcome, SpokenValue
from benchvoice.units import convert

__all__ = ["OF_SAFETY", "carry_out_safety", "cautions_at_hand", "stopped", "switch", "under_power", "with_cautions"]

OF_SAFETY = ("powered", "unpowered", "understood", "cautions")
"""The commands that are carried out here."""

_HOT = ("hot air", "soldering iron", "hot plate", "solder braid")
"""Methods of rework that bring heat and fumes."""

_WITHOUT_SUPPLY = ("capacitor", "battery")
"""Hazards that are there without a supply too."""

_LIVE = ("mains", "high voltage")
"""Hazards near which nobody should be grounded while the supply is on (common practice, no source)."""

_OPENS = ("cover", "part")
"""What bares the board when it comes out."""

_SOMETHING_ELSE = "something else was said"


# --- what is said to the bench --------------------------------------------------------------------------------------
def carry_out_safety(turn: Turn, command: CommandIntent, why: str = "", *, answering: bool = False) -> Step:
    """Carries out a command of `OF_SAFETY`."""
    waiting = turn.state.cautions.waiting
    if command.name == "understood" and not waiting:
        return turn.ignore("no caution waits")
    turn.accept(why)
    if not answering and command.name in ("powered", "unpowered"):
        turn.lapse(_SOMETHING_ELSE)  # the others leave an open question as it is
    if command.name == "understood":
        turn.keep(Acknowledged(**turn.next(), heard=turn.heard_seq, cautions=waiting))
        waits = turn.state.progress is not None and bool(turn.state.progress.answers)
        return turn.step(Decision(Outcome.ACCEPTED, "acknowledged", step=told_of(turn.state) if waits else None))
    if command.name == "cautions":
        turn.command(command.name)
        return turn.step(Decision(Outcome.ACCEPTED, "cautions", cautions=_all_of(turn.state)))
    return _switch(turn, command.name, why)


def _switch(turn: Turn, power: str, why: str) -> Step:
    """Takes it that the unit was switched on or off; a checklist that asks for it is answered by that."""
    before = told_of(turn.state)
    stopped_too = switch(turn, power)
    step = told_of(turn.state)
    told = step if step != before else None
    return turn.step(Decision(Outcome.ACCEPTED, "power", why=why, names=(power, *stopped_too), step=told))


def switch(turn: Turn, power: str) -> tuple[str, ...]:
    """Marks the unit "powered" or "unpowered" once the utterance was accepted; the timers that this stops."""
    if turn.state.progress is not None and turn.state.progress.place.asks_power:
        turn.act(Act("power", power))
    turn.command(power)
    return stop_discharge(turn) if power == "powered" else ()


def _all_of(state: SessionState) -> tuple[CautionTold, ...]:
    """The cautions of this session that hold now; before one was given, those that the board file asks for."""
    holds = (
        event for event in state.cautions.given if event.hazard != "powered measurement" or state.power == "powered"
    )
    given = tuple(told_by(event) for event in holds)
    return given or tuple(_told(_of_board(hazard)) for hazard in state.board.hazards)


# --- what is stopped ------------------------------------------------------------------------------------------------
def under_power(state: SessionState, point: str) -> bool:
    """Whether a point that must be measured without power would be measured with it, as far as was told last."""
    return state.marked == "powered" and state.board.point(point).unpowered


def stopped(turn: Turn, point: str) -> Step:
    """Refuses a reading that must not be made under power; a question about it is over."""
    refused = turn.refuse("the unit is marked powered")
    return turn.step(replace(refused.decision, about="stopped", point=point))


# --- what is due ----------------------------------------------------------------------------------------------------
@dataclass(frozen=True)
class _Due:
    """A caution that is due, and what led to it."""

    hazard: HazardName
    about: str = ""
    why: str = ""
    volts: Decimal | None = None
    capacitor: Capacitor | None = None
    always: bool = False

    @property
    def key(self) -> tuple[str, str]:
        return self.hazard, self.about


def with_cautions(before: SessionState, done: Step) -> Step:
    """What one utterance led to, with the cautions that are due now: kept behind its other events, and to be said.

    Args:
        before: the state before the utterance.
        done: what it led to.
    """
    warns = done.decision.about == "stopped" or done.decision.why == WITHOUT_POWER
    if done.state.closed or (done.decision.outcome is not Outcome.ACCEPTED and not warns):
        return done
    state, events, told = done.state, list(done.events), list(done.decision.cautions)
    for due in _due(before, done):
        if due.key in state.cautions.spent and not due.always:
            continue
        event = _event(due, seq=state.next_seq, at=events[0].at, heard=events[0].seq)
        state = apply(state, event)
        events.append(event)
        told.append(told_by(event))
    return Step(state, replace(done.decision, cautions=tuple(told)), tuple(events))


def cautions_at_hand(state: SessionState, at: datetime) -> tuple[SessionState, tuple[Caution, ...]]:
    """The state with the cautions for what a checklist measures first, before anything was said; and those cautions."""
    events: list[Caution] = []
    point = state.progress.point if state.progress is not None else None
    for due in _at_point(state, point) if point in state.board.by_name and point is not None else ():
        if due.key not in state.cautions.spent:
            events.append(_event(due, seq=state.next_seq, at=at))
            state = apply(state, events[-1])
    return state, tuple(events)


def _due(before: SessionState, done: Step) -> Iterator[_Due]:
    after, decision = done.state, done.decision
    if decision.about == "stopped" and decision.point is not None:
        yield _Due("powered measurement", decision.point, "a value was said", always=True)
        return
    if decision.why == WITHOUT_POWER:  # once, not each time that it is asked
        yield from () if decision.tries else _live_after_all(after, decision)
        return
    board = after.board
    if after.power == "powered" and before.power != "powered":
        for hazard in board.hazards:
            if hazard.kind in ("mains", "moving parts", "laser"):
                yield _of_board(hazard, "the unit was powered")
    if after.power == "unpowered" and before.power != "unpowered":
        for hazard in board.hazards:
            if hazard.kind in _WITHOUT_SUPPLY:
                yield _of_board(hazard, "the supply was disconnected")
        if any(item.thing.kind in _OPENS for item in after.work.stripped.still_out):
            yield _Due("static", why="the supply was disconnected")
    for point in _points_at_hand(before, done):
        yield from _at_point(after, point)
    for event in done.events:
        yield from _of_event(after, event)


def _live_after_all(state: SessionState, decision: Decision) -> Iterator[_Due]:
    """Of a hazardous voltage that was said while the unit is marked without power: at once, not after the answer."""
    value = decision.value
    if value is None or decision.point is None or not _is_high(state.board.point(decision.point), value):
        return
    yield _Due("live without supply", decision.point, f"{decision.point} was measured", _volts(value), always=True)


def _points_at_hand(before: SessionState, done: Step) -> tuple[str, ...]:
    """The points to which the probe will now go."""
    found = [event.point for event in done.events if isinstance(event, Command) and event.name == "go to"]
    progress, earlier = done.state.progress, before.progress
    if progress is not None and (earlier is None or progress.point != earlier.point):
        found.append(progress.point)
    if done.decision.about in ("measure next", "suspects"):
        found.append(done.decision.point)
    return tuple(dict.fromkeys(point for point in found if point in done.state.board.by_name and point is not None))


def _at_point(state: SessionState, name: str) -> Iterator[_Due]:
    for hazard in state.board.hazards:
        if name in hazard.at:
            yield _of_board(hazard, f"{name} is measured")
    declared = any(name in hazard.at for hazard in state.board.hazards)
    if state.board.point(name).hazardous and not declared:
        yield _Due("high voltage", name, f"{name} is measured")
    if under_power(state, name):
        yield _Due("powered measurement", name, f"{name} is measured")


def _of_event(state: SessionState, event: Event) -> Iterator[_Due]:
    hazards = state.board.hazards
    match event:
        case Reading(follows_from=()) if _is_high(state.board.point(event.point), value := value_read(event)):
            declared = next((hazard for hazard in hazards if event.point in hazard.at), None)
            why = f"{event.point} was measured"
            if state.power == "unpowered":
                yield _Due("live without supply", event.point, why, _volts(value), always=True)
            yield _of_board(declared, why) if declared else _Due("high voltage", event.point, why, _volts(value))
        case Removed(thing=thing) if thing.kind in _OPENS:
            live = state.power != "unpowered"
            if not (live and _may_be_live(state)):
                yield _Due("static", why="the unit was opened")
            for hazard in hazards:
                mine = hazard.capacitor is not None and hazard.capacitor.ref.casefold() == thing.name.casefold()
                if mine or (thing.kind == "cover" and (live or hazard.kind in _WITHOUT_SUPPLY)):
                    yield _of_board(hazard, f"{thing.name} was taken out")
        case Reworked(act="method", text=method) if method in _HOT:
            yield _Due("hot work", why=method)


def _may_be_live(state: SessionState) -> bool:
    """Whether somebody who grounds himself may touch a live part: the caution for static then waits for the supply."""
    declared = any(hazard.kind in _LIVE or _holds_much(hazard) for hazard in state.board.hazards)
    points = state.board.by_name
    read = any(_is_high(points[each.point], value_read(each)) for each in state.readings if each.point in points)
    return state.marked == "powered" or declared or read or any(point.hazardous for point in state.board.points)


def _holds_much(hazard: Hazard) -> bool:
    """Whether it is a capacitor whose working voltage is commonly held hazardous."""
    return hazard.capacitor is not None and hazard.capacitor.safe_volts is not None


def _is_high(point: Point, value: SpokenValue) -> bool:
    volts = _volts(value)
    if volts is None:
        return point.hazardous  # over range there is no less
    return is_hazardous(volts, value.waveform or point.usual_waveform)


def _volts(value: SpokenValue) -> Decimal | None:
    """A value in volts; None where it is no voltage, or over range."""
    if not value.has_number or not value.unit.endswith("V"):
        return None
    return convert(value.number, value.unit, "V")


def _of_board(hazard: Hazard, why: str = "") -> _Due:
    if hazard.capacitor is not None:
        return _Due("capacitor", hazard.capacitor.ref, why, hazard.capacitor.volts, hazard.capacitor)
    return _Due(hazard.kind, hazard.what or ", ".join(hazard.at), why)


def _event(due: _Due, **numbered: Any) -> Caution:
    part = due.capacitor
    return Caution(
        **numbered,
        hazard=due.hazard,
        about=due.about,
        why=due.why,
        volts=_text(due.volts),
        joules=None if part is None else _text(part.joules),
        safe_volts=None if part is None else _text(part.safe_volts),
        seconds=None if part is None else _text(part.seconds),
    )


def _told(due: _Due) -> CautionTold:
    part = due.capacitor
    if part is None:
        return CautionTold(due.hazard, due.about, due.volts)
    return CautionTold(due.hazard, due.about, due.volts, part.joules, part.safe_volts, part.seconds)


def _text(number: Decimal | None) -> str | None:
    return None if number is None else f"{number:f}"

"""What the screen shows, as data: the point in hand with what counts there, the open question, the state of the ears.

Pure. It follows the session's state, so a reading that was struck, or belongs to another stage, is never on view, and
what was asked or refused never stands beside an older verdict as if that were its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from benchvoice.decide.session_state import OpenQuestion, SessionState, Stage
from benchvoice.decide.timer_log import Now
from benchvoice.events import Asked, Event, Heard, Reading
from benchvoice.keep.record_points import number
from benchvoice.keep.wording import amount, limits_text, rounded_uncertainty, unit_text
from benchvoice.loop import Turn
from benchvoice.records import Candidate, Direction, Outcome, Reply, Statement

__all__ = ["SIGNS", "EarState", "Strip", "View", "after_notice", "after_turn", "first_view", "timers_line"]

SIGNS = MappingProxyType(
    {
        Statement.PASS: "ok",
        Statement.CONDITIONAL_PASS: "ok?",
        Statement.CONDITIONAL_FAIL: "??",
        Statement.FAIL: "!!",
        Statement.RECORDED: "--",
    }
)
"""The sign of each statement, so that colour is never the only one."""


class EarState(StrEnum):
    """What the microphone's side is doing; the value is how it is written."""

    LISTENING = "listening"
    THINKING = "thinking"
    SPEAKING = "speaking"
    DEAF = "deaf"  # the microphone is lost or silent
    TOO_LOUD = "too loud"  # speech does not stand out from the room
    CLIPPED = "clipped"  # the last sound was louder than the device takes
    NOT_LISTENING = "not listening"  # told to stop


@dataclass(frozen=True)
class Strip:
    """What the tolerance strip draws, all in one unit.

    Attributes:
        low, high: the limits; at least one is given.
        nominal: the nominal value, or None.
        value: the reading; None where nothing was read, or the meter showed over range.
        uncertainty: its expanded uncertainty U, or None.
        over_range: whether the meter showed over range.
    """

    low: Decimal | None
    high: Decimal | None
    nominal: Decimal | None = None
    value: Decimal | None = None
    uncertainty: Decimal | None = None
    over_range: bool = False


@dataclass(frozen=True)
class View:
    """All that the screen shows. Texts are as they came: whoever draws them makes odd characters visible.

    Attributes:
        board, job: names.
        stage: before or after the repair.
        ear: the state of the microphone's side; `why` is a few words on it ("the microphone was unplugged").
        level_dbfs, noise_dbfs: level of the sound just now and of the room's noise, dB relative to full scale.
        point: the point that the last turn was about; "" for none yet.
        now_on: the point to which a value alone belongs; "" for none.
        reading: `seq` of the reading that counts there in this stage; 0 where it has none.
        value_text, unit: that reading, its digits as spoken; "" where it has none.
        statement, direction: how it was judged; None where it has no reading.
        limits_text: its limits in words; "" where it has none.
        uncertainty_text: "U = 0.08 V", or "".
        strip: what the tolerance strip draws; None without limits.
        question: the open question; "" for none. `offers` are the meanings it offers, as written (none for commands),
            `asked_about` the point that they share.
        refused: why the last words were not taken; "" where they were.
        step: the current line of the checklist.
        timers: those that run, with what is left of each; "" for none.
        said, heard: the last reply, the last words.
        left: how many points have no reading in this stage.
        journal: where the journal lies.
        turns: utterances so far, so that the same words twice are two.
        notices: the same of what was said on our own account.
    """

    board: str = ""
    job: str = ""
    stage: Stage = "before"
    ear: EarState = EarState.LISTENING
    why: str = ""
    level_dbfs: float | None = None
    noise_dbfs: float | None = None
    point: str = ""
    now_on: str = ""
    reading: int = 0
    value_text: str = ""
    unit: str = ""
    statement: Statement | None = None
    direction: Direction | None = None
    limits_text: str = ""
    uncertainty_text: str = ""
    strip: Strip | None = None
    question: str = ""
    offers: tuple[str, ...] = ()
    asked_about: str = ""
    refused: str = ""
    step: str = ""
    timers: str = ""
    said: str = ""
    heard: str = ""
    left: int = 0
    journal: str = ""
    turns: int = 0
    notices: int = 0


def first_view(state: SessionState, *, job: str, journal: str) -> View:
    """The view of a session that was just opened or taken up again: its last reading that counts, if there is one."""
    last = state.readings.top
    point = "" if last is None or last.stage != state.stage else last.point
    return _at(View(board=state.board.name, job=job, journal=journal), state, point)


def after_turn(view: View, turn: Turn, state: SessionState) -> View:
    """The view after one utterance.

    Args:
        view: the view before it.
        turn: what became of the utterance.
        state: the session's state after it.

    The ears' state is left as it is, but for "not listening", which the session itself decides.
    """
    decision, reply = turn.decision, turn.reply.text
    taken = decision.outcome is Outcome.ACCEPTED
    refused = "" if decision.outcome is not Outcome.IGNORED else view.refused
    told = replace(
        view,
        turns=view.turns + 1,
        heard=_heard(turn),
        said=reply or view.said,
        refused=reply if decision.about in ("refused", "not closed", "stopped") else refused,
        ear=_ear(view.ear, state),
        **_question(view.question, turn.events, state.question),
    )
    return _at(told, state, decision.point if taken and decision.point is not None else view.point)


def after_notice(view: View, reply: Reply, state: SessionState) -> View:
    """The view after something that was said on our own account, a question's lapse say."""
    return replace(view, said=reply.text, notices=view.notices + 1, **_question(view.question, (), state.question))


def _ear(ear: EarState, state: SessionState) -> EarState:
    if not state.listening:
        return EarState.NOT_LISTENING
    return EarState.LISTENING if ear is EarState.NOT_LISTENING else ear


def _heard(turn: Turn) -> str:
    """The words as they are kept: talk that is overheard is neither kept nor shown."""
    kept = next(event for event in turn.events if isinstance(event, Heard))
    if turn.decision.outcome is Outcome.IGNORED and not turn.reply.text:
        return f"(ignored: {kept.why or 'not a sentence of the bench'})"
    return kept.text


# --- the point in hand --------------------------------------------------------------------------------------------
def _at(view: View, state: SessionState, point: str) -> View:
    """The view with what counts at `point` in the state's stage."""
    reading = state.latest(point)
    standing = _unread(state, point) if reading is None else _reading(reading)
    return replace(
        view,
        stage=state.stage,
        point=point,
        now_on=state.context.current or "",
        left=len(state.left()),
        step=step_label(state),
        **standing,
    )


def step_label(state: SessionState) -> str:
    """The step of the checklist at hand, in a few words; empty for none."""
    progress = state.progress
    if progress is None:
        return ""
    step = progress.step
    if step is None:
        return "the list is done"
    return f"{step.number + 1} of {progress.checklist.end}: {step.label}" + (
        f" (is it {step.power}?)" if progress.place.asks_power else ""
    )


def timers_line(state: SessionState, now: Now) -> str:
    """The timers that run with what is left of each, as minutes and seconds: "soak test timer 4:10"; "" for none."""
    left = ((timer.name, max(0, timer.left_s(now))) for timer in state.timers.running)
    return ", ".join(f"{name} {left_s // 60}:{left_s % 60:02d}" for name, left_s in left)


def _reading(reading: Reading) -> dict[str, Any]:
    u = "" if reading.uncertainty is None else amount(rounded_uncertainty(reading.uncertainty), reading.unit)
    unit = unit_text(reading.unit)
    over_range = reading.value == "over range"
    strip = Strip(
        number(reading.low),
        number(reading.high),
        number(reading.nominal),
        number(reading.value),
        number(reading.uncertainty),
        over_range,
    )
    no_limits = strip.low is None and strip.high is None
    return {
        "reading": reading.seq,
        "value_text": amount(reading.value, ""),
        "unit": "" if over_range else f"{unit} {reading.waveform or ''}".strip(),
        "statement": Statement(reading.statement),
        "direction": reading.direction,
        "limits_text": reading.expected if no_limits else limits_text(reading.low, reading.high, reading.unit),
        "uncertainty_text": u and f"U = {u}",
        "strip": None if no_limits else strip,
    }


def _unread(state: SessionState, name: str) -> dict[str, Any]:
    """A point without a reading, or none at all: its limits tell what to expect."""
    nothing = {"reading": 0, "value_text": "", "unit": "", "statement": None, "direction": None, "uncertainty_text": ""}
    point = state.board.by_name.get(name)
    if point is None or (point.low is None and point.high is None):
        return {**nothing, "limits_text": "", "strip": None}
    low, high = (None if limit is None else f"{limit:f}" for limit in (point.low, point.high))
    return {
        **nothing,
        "limits_text": limits_text(low, high, point.unit),
        "strip": Strip(point.low, point.high, point.nominal),
    }


# --- the open question --------------------------------------------------------------------------------------------
def _question(shown: str, events: Sequence[Event], question: OpenQuestion | None) -> dict[str, Any]:
    if question is None:
        return {"question": "", "offers": (), "asked_about": ""}
    asked = next((event.question for event in events if isinstance(event, Asked)), shown)
    points = {candidate.point for candidate in question.candidates}
    shared = points.pop() if len(points) == 1 else None
    return {"question": asked, "offers": _offers(question.candidates), "asked_about": shared or ""}


def _offers(candidates: Sequence[Candidate]) -> tuple[str, ...]:
    """What tells the candidates apart, as written: values, or points where the values are alike."""
    values = [candidate.value for candidate in candidates if candidate.value is not None]
    written = dict.fromkeys(amount(value.digits, value.unit) for value in values)
    if len(written) < len(candidates):
        points = dict.fromkeys(candidate.point or "" for candidate in candidates if candidate.command is None)
        return tuple(points) if len(points) == len(candidates) else ()
    units = {unit_text(value.unit) for value in values if not value.over_range}
    if len(units) == 1 and len(written) > 1:
        digits = [amount(value.digits, "") for value in values]
        return (*digits[:-1], list(written)[-1])
    return tuple(written)

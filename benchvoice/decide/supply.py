"""A value that can be judged only with power, said while the unit is marked without it.

Whether it is a rail that came back or what is left in a capacitor, the value does not tell; so it is asked. "Yes" marks
the unit powered and takes the reading; "no" keeps a note. Judged as it stands it would be a fault that is none.
"""

from __future__ import annotations

from dataclasses import replace

from benchvoice.decide.cautions import switch
from benchvoice.decide.commands import taken_reading
from benchvoice.decide.guide import told_of
from benchvoice.decide.session_state import SessionState
from benchvoice.decide.turn import Step, Turn
from benchvoice.records import (
    WITHOUT_POWER,
    AnswerIntent,
    Candidate,
    CommandIntent,
    Decision,
    Intent,
    Outcome,
    SpokenValue,
)

__all__ = ["answer_supply", "ask_supply", "lacks_power"]


def lacks_power(state: SessionState, point: str) -> bool:
    """Whether a value at that point can be judged only with power, and the unit is marked without.

    A checklist's step that has the point measured without power means what it says.
    """
    known = () if state.known_good is None else (reading.point for reading in state.known_good.readings)
    judged = point in state.board.judged_with_power or (state.board.point(point).powered and point in known)
    if state.power != "unpowered" or not judged:
        return False
    step = None if state.progress is None else state.progress.step
    return step is None or step.point != point or step.power != "unpowered"


def ask_supply(turn: Turn, candidate: Candidate, *, answering: bool) -> Step:
    """Asks whether the unit is powered after all. `answering`: the value came in answer to the open question."""
    return turn.ask((candidate,), WITHOUT_POWER, tries=turn.tries(answering=answering))


def answer_supply(turn: Turn, intent: Intent) -> Step | None:
    """What a clear answer leads to where that was asked; None where something else was, or is answered.

    "Unit powered up" is as good as "yes", and "supply disconnected" as "no".
    """
    question = turn.question
    if question is None or question.why != WITHOUT_POWER or len(question.candidates) != 1:
        return None
    point, value = question.candidates[0].point, question.candidates[0].value
    if point is None or value is None or not lacks_power(turn.state, point):
        return None
    match intent:
        case AnswerIntent("yes") | CommandIntent("powered"):
            return _powered_after_all(turn, point, value)
        case AnswerIntent("no") | CommandIntent("unpowered"):
            return _without(turn, point, value)
        case _:
            return None


def _powered_after_all(turn: Turn, point: str, value: SpokenValue) -> Step:
    before = told_of(turn.state)
    turn.accept("confirmed")
    stopped = switch(turn, "powered")
    done = taken_reading(turn, point, value, "confirmed")
    after = told_of(turn.state)
    step = done.decision.step or (after if after != before else None)
    return replace(done, decision=replace(done.decision, switched=("powered", *stopped), step=step))


def _without(turn: Turn, point: str, value: SpokenValue) -> Step:
    turn.accept("the unit is not powered")
    turn.command("no")
    turn.lapse("declined")
    amount = f"{value} {value.waveform}" if value.waveform else str(value)
    turn.note(f"{point} {amount}, measured without power", verified=True)
    return turn.step(Decision(Outcome.ACCEPTED, "noted without power", point=point, value=value))

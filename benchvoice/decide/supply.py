"""A value that can be judged only with power, said while the unit is marked without it.

Whether it is a rail that came back or what is left in a capacitor, the value does not tell; so it is asked. "Yes" marks
the unit powered and takes the reading; "no" keeps a note. Judged as it stands it would be a fault that is none.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from benchvoice.decide.cautions import switch
from benchvoice.decide.commands import keep_reading
from benchvoice.decide.guide import told_of
from benchvoice.decide.session_state import SessionState
from benchvoice.decide.turn import Step, Turn
from benchvoice.records import WITHOUT_POWER, AnswerIntent, Candidate, Decision, Outcome, SpokenValue

__all__ = ["answer_supply", "ask_supply", "tells_nothing"]


def tells_nothing(state: SessionState, point: str) -> bool:
    """Whether a value at that point cannot be judged as the unit is marked just now.

    A checklist's step that has the point measured without power means what it says.
    """
    if state.power != "unpowered" or not state.board.point(point).powered:
        return False
    step = None if state.progress is None else state.progress.step
    return step is None or step.point != point or step.power != "unpowered"


def ask_supply(turn: Turn, candidate: Candidate, *, answering: bool) -> Step:
    """Asks whether the unit is powered after all. `answering`: the value came in answer to the open question."""
    question = turn.question
    tries = question.tries + 1 if answering and question is not None else 0
    return turn.ask((candidate,), WITHOUT_POWER, tries=tries)


def answer_supply(turn: Turn, intent: AnswerIntent) -> Step | None:
    """What "yes" or "no" leads to where that was asked; None where something else was, or is answered."""
    question = turn.question
    if question is None or question.why != WITHOUT_POWER or len(question.candidates) != 1:
        return None
    point, value = question.candidates[0].point, question.candidates[0].value
    if point is None or value is None or intent.answer not in ("yes", "no"):
        return None
    if intent.answer == "no":
        turn.accept("the unit is not powered")
        turn.command("no")
        turn.lapse("declined")
        turn.note(f"{point} {_written(value)}, measured without power", verified=True)
        return turn.step(Decision(Outcome.ACCEPTED, "noted without power", point=point, value=value))
    before = told_of(turn.state)
    done = keep_reading(turn, point, value, "confirmed", answering=True, first=partial(switch, power="powered"))
    after = told_of(turn.state)
    if done.decision.step is None and after != before:
        return replace(done, decision=replace(done.decision, step=after))
    return done


def _written(value: SpokenValue) -> str:
    return f"{value} {value.waveform}" if value.waveform else str(value)

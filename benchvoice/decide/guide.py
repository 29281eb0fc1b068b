"""The checklist in the session: what is said to it, and what it says next.

A reading answers the step that measures its point, yes, no and the choices answer the step that asks; what undoes,
skips or leaves a step is asked first where ears heard it (`undoing.taken_from_talk`).
"""

from __future__ import annotations

from datetime import timedelta

from benchvoice.decide.checklist import Act, Progress, left, why_not, why_not_to
from benchvoice.decide.checklist_steps import BOTH_WAYS, CheckStep
from benchvoice.decide.session_state import SessionState
from benchvoice.decide.turn import Step, Turn
from benchvoice.records import (
    NOTHING_ASKED,
    AnswerIntent,
    Candidate,
    CommandIntent,
    Decision,
    Outcome,
    Statement,
    StepTold,
    Trust,
    Verdict,
)
from benchvoice.spelling import name_in_words

__all__ = ["GUIDED", "answer_step", "carry_out_step", "measured", "not_to", "parts_left", "restaged", "rests_on",
           "told_of", "waits_for_answer"]  # fmt: skip

GUIDED = ("next", "back", "skip", "where", "jump", "choice", "reason")
"""The commands that are the checklist's."""

_NO_CHECKLIST = "there is no checklist"
_SOMETHING_ELSE = "something else was said"
_CUT_SHORT = "cut short"
_NOT_OVER = "the wait is not over"
_PUT_RIGHT = "put it right and say yes, or skip the step"
_NO_REASON = "a reason is needed"


def told_of(state: SessionState) -> StepTold | None:
    """The step at hand as it is said; None without a checklist."""
    progress = state.progress
    if progress is None:
        return None
    checklist, place, step = progress.checklist, progress.place, progress.step
    if step is None:
        return StepTold("end")
    return StepTold(
        kind="power" if place.asks_power else step.kind,
        text="" if step.kind == "measure" else step.text,
        point=step.point,
        choices=tuple(_in_words(choice) for choice in step.choices),
        wait_s=step.wait_s,
        power=step.power or "",
        part=_in_words(checklist.section(step.number)),
        number=step.number + 1,
        of=checklist.end,
    )


def _in_words(name: str) -> str:
    """A name of the checklist as it is said; those that cannot be said were refused with the file."""
    return name_in_words(name) or ""


def parts_left(state: SessionState) -> tuple[str, ...]:
    """For each step still to come, the named part in which it lies."""
    progress = state.progress
    if progress is None:
        return ()
    return tuple(_in_words(progress.checklist.section(step.number)) for step in left(progress, state.stage))


# --- readings and stages --------------------------------------------------------------------------------------------
def measured(turn: Turn, point: str, verdict: Verdict) -> StepTold | None:
    """Answers the step at hand with the reading that was just kept, where it measures that point; the step after it.

    Where the supply must be told first the reading counts, but not for the step, which asks once more. Nor does one
    that cannot be judged by the point's limits (over range on a meter that ends before them): no branch may rest on it.
    """
    progress, top = turn.state.progress, turn.state.readings.top
    step = None if progress is None else progress.step
    if progress is None or step is None or step.point != point or top is None or top.stage != turn.state.stage:
        return None
    unjudged = verdict.statement is Statement.RECORDED and turn.state.board.point(point).judged
    if not (progress.place.asks_power or unjudged):
        outcome = verdict.statement.value + (f", {verdict.direction}" if verdict.direction else "")
        turn.act(Act("measured", outcome, reading=top.seq))
    return told_of(turn.state)


def restaged(turn: Turn) -> StepTold | None:
    """Passes the step at hand where it does not apply in the stage that was just begun; the step after it."""
    progress = turn.state.progress
    step = None if progress is None else progress.step
    if step is None or step.only not in ("before", "after") or step.only == turn.state.stage:
        return None
    turn.act(Act("passed", reason=f"{turn.state.stage} the repair"))
    return told_of(turn.state)


def rests_on(state: SessionState, reading: int) -> str:
    """The step that was gone on from with a reading, where others came after it; empty for none."""
    progress = state.progress
    if progress is None:
        return ""
    found = (done.number for done in progress.past[:-1] if done.act.reading == reading)
    return next((progress.checklist.steps[number].label for number in found), "")


# --- answers --------------------------------------------------------------------------------------------------------
def waits_for_answer(state: SessionState) -> bool:
    """Whether the step at hand is answered by words."""
    return state.progress is not None and bool(state.progress.answers)


def answer_step(turn: Turn, intent: AnswerIntent) -> Step | None:
    """Takes yes, no, the first or the second as the answer to the step at hand; None where it waits for none."""
    progress = turn.state.progress
    step = None if progress is None else progress.step
    if progress is None or step is None or not progress.answers:
        return None
    if _told_long_ago(turn) or not turn.state.step_asked:  # yes and no answer what was asked last; choices have words
        since = "it may be meant for the caution" if turn.state.cautions.waiting else "something else was said since"
        why = "the step was said long ago" if turn.state.step_asked else since
        return _say_again(turn, why, "step again")
    outcome = _outcome_of(progress, step, intent.answer)
    if outcome is None:
        return turn.refuse("say one of the answers" if step.choices else "say yes or no")
    if progress.place.asks_power:
        return _do(turn, Act("power", outcome), "step", (intent.answer,))
    if outcome == "fail" and _must_pass(progress, step):
        return _say_again(turn, _PUT_RIGHT, "step again")
    said = _in_words(outcome) if step.choices else intent.answer
    return _do(turn, Act("answered", outcome), "step", (said,))


def _must_pass(progress: Progress, step: CheckStep) -> bool:
    """Whether nothing says where it goes on after a fail: the next step would be come to as if it had passed.

    A check that is proof is kept with its fail: that is what the record is asked for.
    """
    of_proof = (proof.number for proof, _ in progress.checklist.checks)
    return step.kind == "inspect" and not {"fail", "else"} & set(step.branches) and step.number not in of_proof


def _outcome_of(progress: Progress, step: CheckStep, answer: str) -> str | None:
    """What yes, no, the first or the second means to the step at hand; None where it means nothing."""
    if progress.place.asks_power and step.power is not None:
        return {"yes": step.power, "no": "unpowered" if step.power == "powered" else "powered"}.get(answer)
    if step.choices:
        return dict(zip(("first", "second"), step.choices, strict=False)).get(answer)
    return dict(zip(("yes", "no"), BOTH_WAYS[step.kind], strict=True)).get(answer)


def _told_long_ago(turn: Turn) -> bool:
    """Whether the answer may be that of another talk: the step was said too long ago."""
    told = turn.state.step_told
    return told is not None and not _typed(turn) and told.outlived_by(turn.moment)


def _typed(turn: Turn) -> bool:
    return turn.hearing.transcript.trust is Trust.TYPED


# --- commands -------------------------------------------------------------------------------------------------------
def carry_out_step(turn: Turn, command: CommandIntent, why: str = "", *, answering: bool = False) -> Step:
    """Carries out a command of the checklist, or says why it cannot be."""
    if turn.state.progress is None:
        return turn.ignore(_NO_CHECKLIST) if command.name == "reason" else turn.refuse(_NO_CHECKLIST)
    match command.name:
        case "next":
            done = _next(turn, command, why, answering=answering)
        case "back":
            done = _do(turn, Act("back"), "step back", why=why, answering=answering, name="back")
        case "skip":
            done = _skip(turn, command, why, answering=answering)
        case "reason":
            done = _reason(turn, command)
        case "jump" if barred := not_to(turn, command):
            done = turn.refuse(barred)
        case "jump":
            act = Act("jumped", command.detail)
            done = _do(turn, act, "step jumped", (command.detail,), why=why, answering=answering, name="jump")
        case "choice":
            done = _choice(turn, command, why, answering=answering)
        case _:
            done = _say_again(turn, why)
    return done


def not_to(turn: Turn, command: CommandIntent) -> str:
    """Why nobody can jump to that part of the checklist now, as a phrase; empty where one can."""
    progress = turn.state.progress
    return "" if progress is None else why_not_to(progress, command.detail, turn.state.stage)


def _do(
    turn: Turn,
    act: Act,
    about: str,
    names: tuple[str, ...] = (),
    *,
    why: str = "",
    answering: bool = False,
    name: str = "",
) -> Step:
    """Does an act and says the step that comes to hand. `name`: the command that led to it."""
    progress = turn.state.progress
    refused = _NO_CHECKLIST if progress is None else why_not(progress, act)
    if refused:
        return turn.refuse(refused)
    turn.accept(why)
    if not answering:
        turn.lapse(_SOMETHING_ELSE)
    if name:
        turn.command(name)
    turn.act(act)
    return turn.step(Decision(Outcome.ACCEPTED, about, why=why, names=names, step=told_of(turn.state)))


def _next(turn: Turn, command: CommandIntent, why: str, *, answering: bool) -> Step:
    progress = turn.state.progress
    act = Act("done", _CUT_SHORT if _too_soon(turn) else "")
    if act.outcome and not answering and progress is not None and not why_not(progress, act):
        return turn.ask((Candidate(None, None, command),), _NOT_OVER, heard_why=_NOT_OVER, told_why=True)
    return _do(turn, act, "step", why=why, answering=answering, name="next")


def _too_soon(turn: Turn) -> bool:
    """Whether the step at hand is a wait that is not over; a transcript without times cannot tell."""
    told, progress = turn.state.step_told, turn.state.progress
    step = None if progress is None else progress.step
    if step is None or step.kind != "wait" or told is None or (_typed(turn) and turn.hearing.start_s is None):
        return False
    return not told.outlived_by(turn.moment, timedelta(seconds=step.wait_s) - timedelta(microseconds=1))


def _skip(turn: Turn, command: CommandIntent, why: str, *, answering: bool) -> Step:
    if command.detail:
        act = Act("skipped", reason=command.detail)
        return _do(turn, act, "step skipped", (command.detail,), why=why, answering=answering, name="skip")
    progress = turn.state.progress
    refused = _NO_CHECKLIST if progress is None else why_not(progress, Act("skipped", reason="any"))
    if refused:
        return turn.refuse(refused)
    tries = turn.question.tries + 1 if turn.question is not None and answering else 0
    return turn.ask((Candidate(None, None, command),), _NO_REASON, tries=tries)


def _reason(turn: Turn, command: CommandIntent) -> Step:
    """The reason for a skip that was asked about; at any other time it is talk."""
    asked = () if turn.question is None else turn.question.candidates
    if not any(offered.command is not None and offered.command.name == "skip" for offered in asked):
        return turn.ignore(NOTHING_ASKED)
    return _skip(turn, CommandIntent("skip", detail=command.detail), "the reason was given", answering=True)


def _choice(turn: Turn, command: CommandIntent, why: str, *, answering: bool) -> Step:
    progress = turn.state.progress
    step = None if progress is None else progress.step
    if _told_long_ago(turn) and not answering:
        return _say_again(turn, "the step was said long ago", "step again")
    offered = () if step is None else step.choices
    chosen = next((choice for choice in offered if _in_words(choice) == command.detail), None)
    if chosen is None:
        return turn.refuse("that does not answer this step")
    act, name = Act("answered", chosen), "choice" if answering else ""
    return _do(turn, act, "step", (command.detail,), why=why, answering=answering, name=name)


def _say_again(turn: Turn, why: str, about: str = "where") -> Step:
    turn.accept(why)
    turn.lapse(_SOMETHING_ELSE)
    turn.command("where")
    return turn.step(Decision(Outcome.ACCEPTED, about, why=why, step=told_of(turn.state)))

"""The intake by voice: complaint, what came with the unit, its state and serial number, what its lamps do.

A serial number is always asked back, and kept only after "yes". A pattern that was heard is always asked back too; one
that was typed is kept at once where the board's table lists it and nothing like it.
"""

from __future__ import annotations

from dataclasses import replace

from benchvoice.decide.indicators import judge
from benchvoice.decide.intake_log import AGAIN, accessories_of, told_before
from benchvoice.decide.session_state import SessionState
from benchvoice.decide.spelled import ASKED_BACK, MORE, ask_back, longer
from benchvoice.decide.turn import Step, Turn
from benchvoice.events import Intake
from benchvoice.patterns import read_pattern
from benchvoice.records import (
    INTAKE_ACTS,
    NOT_LISTED,
    AnswerIntent,
    Candidate,
    Decision,
    Outcome,
    Trust,
    WorkDone,
    WorkIntent,
)

__all__ = ["announced_complaint", "answer_intake", "do_intake", "intake_candidate", "of_intake"]

_WHAT = {"complaint": "complaint", "came with": "accessory", "arrived": "arrived", "serial": "serial",
         "indicator": "indicator"}  # fmt: skip


def of_intake(work: WorkIntent | None) -> bool:
    """Whether it is about the intake."""
    return work is not None and work.act in INTAKE_ACTS


def intake_candidate(state: SessionState, intent: WorkIntent) -> Candidate | None:
    """What a question would offer; None where nothing can be offered: characters that continue no serial number."""
    if intent.act == MORE:
        whole = longer(state, intent)
        return None if whole is None else Candidate(None, None, work=whole)
    if intent.act == "indicator":
        return Candidate(None, None, work=replace(intent, means=_meaning(state, intent)))
    return Candidate(None, None, work=intent)


def _meaning(state: SessionState, intent: WorkIntent) -> str:
    """What the board file says that a pattern means, in just that form; "" where it does not list it."""
    indicator, seen = state.board.intake.indicator(intent.name), read_pattern(intent.text)
    if indicator is None or seen is None:
        return ""
    found = judge(indicator.patterns, seen)
    return found.entry.means if found.entry is not None and found.how in ("sure", "ask back") else ""


def do_intake(turn: Turn, intent: WorkIntent, why: str = "", *, answering: bool = False) -> Step:
    """Keeps what was told, asks it back, or says why it cannot be kept.

    Args:
        turn: the utterance.
        intent: what was told, one of `INTAKE_ACTS`, once it is certain what was said.
        why: what led to it, for the journal.
        answering: it settles the open question, which would lapse otherwise.
    """
    match intent.act:
        case "serial":
            done = ask_back(turn, intent, why, lambda told: _keep(turn, told, why, answering=True), answering=answering)
        case "indicator":
            done = _indicator(turn, intent, why, answering=answering)
        case "intake":
            turn.begin(why, answering=answering)
            turn.command(AGAIN)
            done = turn.step(Decision(Outcome.ACCEPTED, "intake", work=WorkDone(intent)))
        case "complaint follows":
            done = _complaint_follows(turn, intent, why, answering=answering)
        case "came with":
            done = _came_with(turn, intent, why, answering=answering)
        case _:
            done = _keep(turn, intent, why, answering=answering)
    return done


def answer_intake(turn: Turn, intent: AnswerIntent) -> Step | None:
    """The answer where a pattern that is not listed was asked; None for any other question.

    "No" keeps it as it was seen, without a meaning.
    """
    question = turn.question
    if question is None or question.why != NOT_LISTED or len(question.candidates) < 2:
        return None
    listed = intent.answer in ("yes", "first")
    work = question.candidates[0 if listed else 1].work
    why = "it is the nearest that is listed" if listed else "it is not listed"
    return None if work is None else _keep(turn, work, why, answering=True)


def announced_complaint(turn: Turn, text: str, *, verified: bool) -> Step:
    """Keeps a complaint in the technician's own words; its sound is the evidence."""
    return _keep(turn, WorkIntent("complaint", text=text), "the complaint that was announced", verified=verified,
                 clip=turn.hearing.clip)  # fmt: skip


# --- each of them -------------------------------------------------------------------------------------------------
def _keep(
    turn: Turn, intent: WorkIntent, why: str, *, answering: bool = False, verified: bool = True, clip: str | None = None
) -> Step:
    before, unlisted = told_before(turn.state.intake, turn.state.work.events, intent), _unlisted(turn.state, intent)
    turn.begin(why, answering=answering)
    turn.keep(
        Intake(
            **turn.next(),
            heard=turn.heard_seq,
            what=_WHAT[intent.act],  # type: ignore[arg-type]  # the acts that are left, which the event checks
            text=intent.text,
            name=intent.name,
            means=intent.means,
            unlisted=unlisted,
            clip=clip,
            verified=verified,
        )
    )
    return turn.step(Decision(Outcome.ACCEPTED, intent.act, work=WorkDone(intent, before=before, unlisted=unlisted)))


def _unlisted(state: SessionState, intent: WorkIntent) -> bool:
    """Whether it is a pattern that the board's table of that lamp does not list; a board without one lists nothing."""
    indicator = state.board.intake.indicator(intent.name) if intent.act == "indicator" else None
    return indicator is not None and bool(indicator.patterns) and not intent.means


def _came_with(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    """An accessory, or that there is none; what contradicts what was told before is asked, and takes its place."""
    said, question = turn.state.work.events, turn.question
    if intent.text.casefold() in map(str.casefold, accessories_of(said)):
        return turn.refuse(f"{intent.text} is listed already")
    asked = answering and question is not None and len(question.candidates) == 1
    if asked or not told_before(turn.state.intake, said, intent):
        return _keep(turn, intent, why, answering=answering)
    tries = turn.tries(answering=answering)
    return turn.ask((Candidate(None, None, work=intent),), ASKED_BACK, tries=tries, heard_why=why)


def _indicator(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    """What a lamp or a beeper did, against the board's table."""
    indicator, seen = turn.state.board.intake.indicator(intent.name), read_pattern(intent.text)
    if seen is None:
        return turn.refuse("no pattern was understood")
    found = judge(() if indicator is None else indicator.patterns, seen)
    told = replace(intent, means="" if found.how == "nearest" or found.entry is None else found.entry.means)
    settled = turn.question is not None and turn.question.why == NOT_LISTED
    typed = turn.hearing.transcript.trust is Trust.TYPED  # what is heard may be another that is not in the table
    if (found.how == "sure" and typed) or (answering and (settled or found.how != "nearest")):
        return _keep(turn, told, why, answering=answering)
    if found.how == "nearest" and found.entry is not None:
        listed = replace(intent, text=str(found.entry.shows), means=found.entry.means)
        offered = tuple(Candidate(None, None, work=work) for work in (listed, told))
        return turn.ask(offered, NOT_LISTED, heard_why=why)
    return turn.ask((Candidate(None, None, work=told),), ASKED_BACK, heard_why=why)


def _complaint_follows(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    if turn.hearing.transcript.trust is not Trust.TYPED and turn.hearing.clip is None:
        return turn.refuse("a complaint in your words is kept as sound, and no sound is kept")
    turn.begin(why, answering=answering)
    turn.command(intent.act)
    return turn.step(Decision(Outcome.ACCEPTED, intent.act, work=WorkDone(intent)))

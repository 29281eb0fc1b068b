"""What is spelled letter by letter: serial and part numbers. What was heard of one is asked back whole, however often.

Ears swallow a letter of a long row and no rule can tell: only the technician knows. It is kept after "yes" alone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from benchvoice.decide.session_state import SessionState
from benchvoice.decide.turn import Step, Turn
from benchvoice.records import SPELLED_ACTS, Candidate, WorkAct, WorkIntent

__all__ = ["ASKED_BACK", "MORE", "MOST_CHARACTERS", "ask_back", "begun", "is_spelled", "longer"]

ASKED_BACK = "asked back"
"""Why something is asked though it was heard for certain."""

MORE: WorkAct = "more characters"
"""What continues the number that was asked back."""

MOST_CHARACTERS = 20
"""How many characters such a number can have; the words' file listens for no more at once."""


def is_spelled(intent: object) -> bool:
    """Whether it tells such a number or continues one."""
    return isinstance(intent, WorkIntent) and intent.act in (*SPELLED_ACTS, MORE)


def begun(state: SessionState) -> WorkIntent | None:
    """The number that was asked back and waits for "yes"; None where none does."""
    return None if state.question is None else state.question.spelled


def longer(state: SessionState, intent: WorkIntent) -> WorkIntent | None:
    """The whole number that `intent` continues; None where none was begun."""
    so_far = begun(state)
    return None if so_far is None else replace(so_far, text=so_far.text + intent.text)


def ask_back(
    turn: Turn, intent: WorkIntent, why: str, keep: Callable[[WorkIntent], Step], *, answering: bool = False
) -> Step:
    """Asks it back, whole, whenever a part of it was said; only a "yes" to that keeps it.

    Args:
        turn: the utterance.
        intent: the number, or what continues the one that was asked back.
        why: what led to it, for the journal.
        keep: keeps it once it was confirmed.
        answering: it settles the open question.
    """
    question, so_far = turn.question, begun(turn.state)
    whole: WorkIntent | None = intent
    tries = 0
    if intent.act == MORE:
        whole, tries = longer(turn.state, intent), 0 if question is None else question.tries + 1
    if whole is None:
        return turn.refuse("no serial or part number was begun")
    if answering and so_far is not None and (so_far.act, so_far.text) == (intent.act, intent.text):
        return keep(intent)
    if len(whole.text) > MOST_CHARACTERS:
        too_long = f"a {whole.act if whole.act in SPELLED_ACTS else 'serial'} has at most {MOST_CHARACTERS} characters"
        if question is None or so_far is None:
            return turn.refuse(too_long)
        return turn.ask(question.candidates, question.why, tries=question.tries + 1, heard_why=too_long)
    return turn.ask((Candidate(None, None, work=whole),), ASKED_BACK, tries=tries, heard_why=why)

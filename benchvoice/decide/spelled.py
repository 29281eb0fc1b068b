"""What is spelled letter by letter: serial and part numbers. It is asked back whole, however often.

Ears swallow a letter of a long row and no rule can tell: only the technician knows. It is kept after "yes" alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import TypeGuard

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


_CALLED: Mapping[WorkAct, str] = MappingProxyType({"serial": "serial number", "part number": "part number"})


def is_spelled(intent: object) -> TypeGuard[WorkIntent]:
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
        intent: the whole number (`longer`).
        why: what led to it, for the journal.
        keep: keeps it once it was confirmed.
        answering: it settles the open question.
    """
    question, so_far = turn.question, begun(turn.state)
    read_back = so_far.text if so_far is not None and so_far.act == intent.act else None
    if answering and read_back == intent.text:
        return keep(intent)
    if len(intent.text) > MOST_CHARACTERS:
        too_long = f"a {_CALLED[intent.act]} has at most {MOST_CHARACTERS} characters"
        if question is None or so_far is None:
            return turn.refuse(too_long)
        return turn.ask(question.candidates, question.why, tries=question.tries + 1, heard_why=too_long, told_why=True)
    goes_on = question is not None and read_back is not None and intent.text.startswith(read_back)
    tries = question.tries + 1 if question is not None and goes_on else 0
    return turn.ask((Candidate(None, None, work=intent),), ASKED_BACK, tries=tries, heard_why=why)

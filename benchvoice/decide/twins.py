"""What sounds nearly like what was heard: where taking the one for the other would matter, it is asked.

"Nineteen" and "ninety" are so much alike that all ears can mistake them together. Of two values of which only one lies
within the limits that one was nearly always said, since most readings pass; so a reading that passes is taken where its
twin would fail. All others are asked.
"""

from __future__ import annotations

from collections.abc import Sequence

from benchvoice.decide.turn import Turn
from benchvoice.decide.verdict import judge
from benchvoice.records import Candidate, Statement

__all__ = ["twin_of"]

_WITHIN = (Statement.PASS, Statement.CONDITIONAL_PASS)


def twin_of(turn: Turn, chosen: Candidate, alike: Sequence[Candidate]) -> Candidate | None:
    """The other meaning that has to be offered beside the one heard; None where there is none.

    Args:
        turn: the utterance.
        chosen: what was heard, beyond doubt but for its twins.
        alike: what may have been said instead, and is not absurd.
    """
    for twin in alike:
        if (twin.command is None) != (chosen.command is None) or (twin.value is None) != (chosen.value is None):
            continue
        other = (twin.point, twin.value) != (chosen.point, chosen.value)
        if other and not _only_one_within(turn, chosen, twin):
            return twin
    return None


def _only_one_within(turn: Turn, chosen: Candidate, twin: Candidate) -> bool:
    """Whether what was heard lies within the limits of its point, and the twin at the same point does not."""
    return chosen.point == twin.point and _within(turn, chosen) and not _within(turn, twin)


def _within(turn: Turn, candidate: Candidate) -> bool:
    if candidate.value is None or candidate.point is None:
        return False
    point = turn.state.board.point(candidate.point)
    return judge(candidate.value, point, turn.state.meter).statement in _WITHIN

"""What sounds nearly like what was heard: where taking the one for the other would matter, it is asked.

"Nineteen" and "ninety" are so much alike that all ears can mistake them together. Of two values of which only one lies
within the limits that one was nearly always said, since most readings pass; so a reading that passes is taken where its
twin would fail. All others are asked, but for a twin that a second hearing makes unlikely, that lies farther from the
nominal value than what was heard, and that does not pass where it fails: of two failures the smaller is the more usual.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from benchvoice.decide.turn import Turn
from benchvoice.decide.verdict import judge
from benchvoice.records import Candidate, Statement, Trust

__all__ = ["farther_off", "judged_otherwise", "run_together", "twin_of", "with_fewest_digits"]

_RUNS_TOGETHER = "oh"
"""A word of nothing but a vowel: behind another of its kind no ear hears that it was said twice."""

_WITHIN = (Statement.PASS, Statement.CONDITIONAL_PASS)


def twin_of(turn: Turn, chosen: Candidate, alike: Sequence[Candidate]) -> Candidate | None:
    """The other meaning that has to be offered beside the one heard; None where there is none.

    Args:
        turn: the utterance.
        chosen: what was heard, beyond doubt but for its twins.
        alike: what may have been said instead, and is not absurd.
    """
    for twin in alike:
        if _as_good(turn, chosen, twin):
            continue
        if (twin.command is None) != (chosen.command is None) or (twin.value is None) != (chosen.value is None):
            continue
        other = twin != chosen
        if other and not _only_one_within(turn, chosen, twin):
            return twin
    return None


def with_fewest_digits(turn: Turn, chosen: Candidate, alike: Sequence[Candidate]) -> Candidate:
    """Of what is the same number as the one heard, and judged the same, that with the fewest noughts behind it.

    Whether "two volts oh" was "two volts oh oh" need not be asked then; what claims less is taken.
    """
    same = [twin for twin in alike if _as_good(turn, chosen, twin)]
    return min((chosen, *same), key=lambda candidate: len(candidate.value.digits) if candidate.value else 0)


def judged_otherwise(turn: Turn, one: Candidate, other: Candidate) -> bool:
    """Whether two meanings are the same number, but what its noughts leave open makes another statement of it."""
    return _same_number(one, other) and not _as_good(turn, one, other)


def _as_good(turn: Turn, one: Candidate, other: Candidate) -> bool:
    """Whether two meanings are the same number, and are judged the same."""
    if not _same_number(one, other) or one.value is None or other.value is None or one.point is None:
        return False
    point, meter = turn.state.board.point(one.point), turn.state.meter
    verdicts = [judge(value, point, meter) for value in (one.value, other.value)]
    return len({(verdict.statement, verdict.direction) for verdict in verdicts}) == 1


def _same_number(one: Candidate, other: Candidate) -> bool:
    """Whether two meanings differ in nothing but the noughts at the end of their value."""
    if one.value is None or other.value is None or one == other:
        return False
    return _without_noughts(one) == _without_noughts(other)


def _without_noughts(candidate: Candidate) -> Candidate:
    value = candidate.value and candidate.value.without_noughts
    command = candidate.command and replace(candidate.command, value=value)
    return replace(candidate, value=value and replace(value, unit_said=True), command=command)


def run_together(turn: Turn, chosen: Candidate) -> Candidate | None:
    """The same value with one more nought, where it may have been said: "two volts oh" may be "two volts oh oh".

    Behind a point ("two point oh") a single nought is what is usually said, and is taken.
    """
    value, words = chosen.said_value, turn.hearing.transcript.text.split()
    if value is None or value.over_range or "." not in value.digits or turn.hearing.transcript.trust is Trust.TYPED:
        return None
    behind_unit = value.unit_said and words[-1:] == [_RUNS_TOGETHER] and words[-2:] != [_RUNS_TOGETHER] * 2
    if not behind_unit:
        return None
    longer = replace(value, digits=f"{value.digits}0")
    if chosen.work is not None:
        return replace(chosen, work=replace(chosen.work, value=longer))
    return replace(chosen, value=longer, command=chosen.command and replace(chosen.command, value=longer))


def farther_off(turn: Turn, heard: Sequence[Candidate], twins: Sequence[Candidate]) -> bool:
    """Whether the twins are values of the point of the one heard, farther from nominal, and none alone lies within."""
    if len(heard) != 1:
        return False
    chosen, own = heard[0], _deviation_percent(turn, heard[0])
    for twin in twins:
        other = _deviation_percent(turn, twin)
        if twin.point != chosen.point or own is None or other is None or other <= own:
            return False
        if _only_one_within(turn, twin, chosen):
            return False
    return bool(twins)


def _deviation_percent(turn: Turn, candidate: Candidate) -> Decimal | None:
    """How far a reading lies from its point's nominal value, without sign; None where that cannot be told."""
    if candidate.value is None or candidate.point is None or candidate.command is not None:
        return None
    percent = judge(candidate.value, turn.state.board.point(candidate.point), turn.state.meter).deviation_percent
    return None if percent is None else abs(percent)


def _only_one_within(turn: Turn, chosen: Candidate, twin: Candidate) -> bool:
    """Whether what was heard lies within the limits of its point, and the twin at the same point does not.

    Of two words that says nothing: a fuse is measured because it may be open, and "no" is soon swallowed.
    """
    if chosen.point is not None and turn.state.board.point(chosen.point).kind.words:
        return False
    return chosen.point == twin.point and _within(turn, chosen) and not _within(turn, twin)


def _within(turn: Turn, candidate: Candidate) -> bool:
    if candidate.value is None or candidate.point is None:
        return False
    point = turn.state.board.point(candidate.point)
    return judge(candidate.value, point, turn.state.meter).statement in _WITHIN

"""From what an utterance can mean to what is done: taken where it is certain and possible, asked otherwise."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from benchvoice.decide.cautions import stopped, under_power
from benchvoice.decide.commands import carry_out, go_to, keep_reading
from benchvoice.decide.computed import absurdly_made, why_not_read
from benchvoice.decide.guide import not_to
from benchvoice.decide.intake import do_intake, of_intake
from benchvoice.decide.plausible import absurdity, only_possible
from benchvoice.decide.supply import ask_supply, lacks_power
from benchvoice.decide.timers import TIMER_ACTS, do_timer, runs_already
from benchvoice.decide.turn import Step, Turn
from benchvoice.decide.twins import run_together, twin_of, with_fewest_digits
from benchvoice.decide.undoing import (
    last_work,
    long_past,
    moved_far,
    not_said_last,
    to_correct,
    undone_by,
    work_long_past,
)
from benchvoice.decide.work import do_work, not_yet, work_candidate
from benchvoice.part_values import unusual
from benchvoice.records import (
    NOT_AFTER,
    POINT_UNSAID,
    Candidate,
    CommandIntent,
    GoToIntent,
    Intent,
    ReadingIntent,
    SpokenValue,
    Trust,
    WorkIntent,
)
from benchvoice.spelling import spell_number

__all__ = [
    "MOST_CANDIDATES",
    "absurdity_of",
    "barred_by_power",
    "candidate_of",
    "candidates_of",
    "nearly_heard",
    "never_read",
    "possible",
    "resolve",
    "take",
]

MOST_CANDIDATES = 2
"""How many meanings a question offers: more cannot be told apart by ear, and one answers "the first" or "second"."""


def candidate_of(turn: Turn, intent: Intent) -> Candidate | None:
    """What a question would offer for a meaning; None where it has no point, or the unit does not fit that point."""
    match intent:
        case ReadingIntent():
            value = _fitting(turn, intent.point or turn.current, intent.value)
            return None if value is None else Candidate(intent.point or turn.current, value)
        case GoToIntent():
            return Candidate(intent.point, None)
        case CommandIntent(name="correction"):
            wrong = to_correct(turn.state, intent.point)
            point = intent.point or (None if wrong is None else wrong.point)
            value = None if wrong is None else _fitting(turn, point, intent.value)
            if value is not None and wrong is not None and wrong.point == point:
                value = replace(value, waveform=value.waveform or wrong.waveform)
            return None if value is None else Candidate(point, value, CommandIntent("correction", point, value))
        case CommandIntent():
            return Candidate(intent.point, None, replace(intent, near=False))
        case WorkIntent():
            return work_candidate(turn, intent)
        case _:
            return None


def _fitting(turn: Turn, point_name: str | None, value: SpokenValue | None) -> SpokenValue | None:
    """The value where it can be one of that point, else None.

    Over range is shown without a unit; it gets the point's own, so that limits can be told beside it.
    """
    point = None if point_name is None else turn.state.board.by_name.get(point_name)
    if point is None or value is None:
        return None
    if value.over_range:
        return replace(value, unit=point.unit)
    if not value.has_number or point.kind.words:
        return value if value.digits in point.kind.words else None
    return value if value.unit in (point.kind.units or ("",)) else None


def never_read(turn: Turn, intents: Sequence[Intent]) -> str:
    """Why the likeliest meaning cannot be taken whatever the value is, as a phrase: its point is computed."""
    match next(iter(intents), None):
        case ReadingIntent(point=str(point)) | GoToIntent(point=point) | CommandIntent("correction", point=str(point)):
            return why_not_read(turn.state.board.point(point))
        case _:
            return ""


def candidates_of(turn: Turn, intents: Iterable[Intent]) -> tuple[Candidate, ...]:
    """What a question would offer for several meanings, each once."""
    found = (candidate_of(turn, intent) for intent in intents)
    return tuple(dict.fromkeys(candidate for candidate in found if candidate is not None))


def resolve(
    turn: Turn, intents: Sequence[Intent], alike: Sequence[Intent] = (), *, answering: bool = False, doubt: str = ""
) -> Step:
    """Takes the one meaning that is certain and possible, or asks.

    Of several values at one point, one is taken where it is near what is expected and all others are absurd.
    `alike`: what may have been said instead, since it sounds nearly the same; where that matters, it is asked too.
    `answering`: it is another answer to the open question, which is otherwise over. `doubt`: why it is asked however
    certain it is.
    """
    candidates, question = candidates_of(turn, intents), turn.question
    tries = turn.tries(answering=answering)
    if not candidates:
        why = _why_none(turn, intents)
        again = question if answering else None
        return turn.refuse(why) if again is None else turn.ask(again.candidates, again.why, tries=tries, heard_why=why)
    unsure = _unsure(turn, intents) or doubt
    barred = None if unsure else barred_by_power(turn, candidates)  # nearly heard, it may be another point
    if barred is not None or unsure:
        return barred or turn.ask(candidates[:MOST_CANDIDATES], unsure, tries=tries)
    chosen = candidates[0] if len(candidates) == 1 else _only_possible(turn, candidates)
    if chosen is not None:
        reason = _not_yet(turn, chosen) or (_stuttered(turn, chosen) if len(candidates) > 1 else "")
        others = [other for other in (*candidates_of(turn, alike), run_together(turn, chosen)) if other]
        heard, chosen = chosen, with_fewest_digits(turn, chosen, others)
        twin = twin_of(turn, chosen, [other for other in others if not absurdity_of(turn, other)])
        if twin is not None and (not reason or absurdity_of(turn, chosen)):
            both = (twin, chosen) if reason else (chosen, twin)
            return turn.ask(both, f"sounds like {_called(both[1])}", tries=tries)
        if reason:
            return turn.ask((chosen,), reason, tries=tries)
        why = f"taken as {_in_words(chosen.value)}" if len(candidates) > 1 or chosen != heard else ""
        return take(turn, chosen, why, answering=answering)
    possible_first = sorted(candidates, key=lambda candidate: bool(absurdity_of(turn, candidate)))
    return turn.ask(tuple(possible_first[:MOST_CANDIDATES]), "more than one meaning", tries=tries)


def _is_reading(candidate: Candidate) -> bool:
    return candidate.value is not None and candidate.command is None


def barred_by_power(turn: Turn, candidates: Sequence[Candidate]) -> Step | None:
    """The refusal where, whichever value was said, its point must not be measured with the unit powered.

    Which one it was need not be asked then; a correction is, since what it corrects may have been read without power.
    """
    points = {candidate.point if _is_reading(candidate) else None for candidate in candidates}
    point = points.pop() if len(points) == 1 else None
    return stopped(turn, point) if point is not None and under_power(turn.state, point) else None


def nearly_heard(intents: Sequence[Intent]) -> bool:
    """Whether one of the meanings names a point that matched only nearly."""
    return any(isinstance(intent, (ReadingIntent, GoToIntent, CommandIntent)) and intent.near for intent in intents)


def _unsure(turn: Turn, intents: Sequence[Intent]) -> str:
    """Why even a single meaning is asked about; empty where it is not."""
    if nearly_heard(intents):
        return "the name was only nearly heard"
    if any(isinstance(intent, CommandIntent) and intent.joined for intent in intents):
        return "it may be the rest of the reading before"
    return "it may be meant for the point in hand" if _strayed(turn, intents) else ""


def _stuttered(turn: Turn, candidate: Candidate) -> str:
    """Why what was left unsaid is asked after all: "five five" may be 5.5, or a five that was said twice."""
    if candidate.value is None or not candidate.value.has_number or turn.hearing.transcript.trust is Trust.TYPED:
        return ""
    digits = candidate.value.digits.replace(".", "")
    return "a digit was said twice" if any(one == two for one, two in pairwise(digits)) else ""


def _strayed(turn: Turn, intents: Sequence[Intent]) -> bool:
    """Whether a value alone went to a point whose values may be said alone, with nothing but a misfit to tell why.

    At a point in hand "oh four" is no voltage, but it may be the rest of one. A unit of its own tells them apart.
    """
    readings = [intent for intent in intents if isinstance(intent, ReadingIntent)]
    return turn.current is not None and any(intent.alone and not intent.value.unit_said for intent in readings)


def _not_yet(turn: Turn, candidate: Candidate) -> str:
    """Why a meaning that is certain is asked all the same, as a phrase; empty where it is not."""
    absurd = absurdity_of(turn, candidate)
    if absurd:
        return f"absurd: {absurd}"
    if candidate.work is not None:
        return runs_already(turn, candidate.work) or not_yet(turn, candidate.work)
    command = candidate.command
    if command is None and candidate.value is not None and _outdates(turn, candidate.point):
        return NOT_AFTER
    if command is not None and _needs_no_question(turn, command):
        return ""
    undone = undone_by(turn.state, command)
    if command is not None and command.name == "strike" and undone is None:
        return work_long_past(turn.state) or turn.overheard(command) or not_said_last(turn.state)
    far = "" if undone is None else long_past(turn.state, undone) or moved_far(turn.state, command, undone)
    asked = far or turn.overheard(command)
    return asked or (not_said_last(turn.state) if command is not None and command.name == "strike" else "")


def _needs_no_question(turn: Turn, command: CommandIntent) -> bool:
    """Whether a command drops what was asked about, so that no reading goes, or is refused anyhow."""
    strikes = command.name == "strike" and turn.question is not None
    return strikes or (command.name == "jump" and bool(not_to(turn, command)))


def _outdates(turn: Turn, point: str | None) -> bool:
    """Whether a value would take the place of what was read before a part that feeds its point was replaced."""
    before = turn.state.stage == "before" and point in turn.state.again()
    return before and turn.state.latest(str(point), "before") is not None


def _why_none(turn: Turn, intents: Sequence[Intent]) -> str:
    if last_work(turn.state) and any(isinstance(intent, CommandIntent) and intent.point is None for intent in intents):
        return "work on the unit came last: say the point too, or strike that"
    top, withdrawn, dropped = turn.state.readings.top, turn.state.withdrawn, turn.state.dropped
    if top is not None and max(withdrawn, dropped) > top.seq:
        last = "the last reading was struck" if withdrawn > dropped else "what was asked last was not taken"
        return f"{last}: say the point and the value"
    if any(isinstance(intent, CommandIntent) for intent in intents) and not any(
        isinstance(intent, CommandIntent) and to_correct(turn.state, intent.point) for intent in intents
    ):
        return "there is no reading to correct"
    if turn.current is None and any(isinstance(intent, ReadingIntent) and intent.point is None for intent in intents):
        return POINT_UNSAID
    return "the value does not fit the point"


def take(turn: Turn, candidate: Candidate, why: str = "", *, answering: bool = False) -> Step:
    """Does what a candidate says. `answering`: it settles the open question, which would lapse otherwise."""
    if candidate.work is not None:
        do = do_timer if candidate.work.act in TIMER_ACTS else do_intake if of_intake(candidate.work) else do_work
        return do(turn, candidate.work, why, answering=answering)
    if candidate.command is not None:
        return carry_out(turn, candidate.command, why, answering=answering)
    if candidate.point is None:
        return turn.refuse(POINT_UNSAID)
    if candidate.value is None:
        return go_to(turn, candidate.point, why, answering=answering)
    if lacks_power(turn.state, candidate.point):
        return ask_supply(turn, candidate, answering=answering)
    return keep_reading(turn, candidate.point, candidate.value, why, answering=answering)


def possible(turn: Turn, candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Those that are not absurd at their point; all of them where none is left. At most `MOST_CANDIDATES`."""
    likely = tuple(candidate for candidate in candidates if not absurdity_of(turn, candidate))
    return (likely or tuple(candidates))[:MOST_CANDIDATES]


def absurdity_of(turn: Turn, candidate: Candidate) -> str:
    """Why a candidate's value is absurd at its point, or for its part; a phrase, empty where it is not or has none."""
    work = candidate.work
    if work is not None:
        return "" if work.part_value is None else unusual(work.part_value.digits, work.part_value.unit)
    if candidate.value is None or candidate.point is None:
        return ""
    absurd = absurdity(candidate.value, turn.state.board.point(candidate.point), turn.state.meter)
    made = None if absurd else absurdly_made(turn.state, candidate, turn.hearing.at)
    return absurd if made is None else made.why


def _only_possible(turn: Turn, candidates: Sequence[Candidate]) -> Candidate | None:
    point = candidates[0].point
    values = [candidate.value for candidate in candidates if candidate.value is not None]
    alike = {(candidate.point, candidate.command is None) for candidate in candidates}
    if point is None or len(alike) > 1 or len(values) != len(candidates):
        return None
    chosen = only_possible(values, turn.state.board.point(point), turn.state.meter)
    return next((candidate for candidate in candidates if chosen is not None and candidate.value == chosen), None)


def _called(candidate: Candidate) -> str:
    if candidate.work is not None and candidate.work.act == "timer":
        return f"{_in_words(candidate.said_value)} seconds"
    command = candidate.command
    name = "" if command is None else command.detail or command.name
    return _in_words(candidate.said_value) or candidate.point or name or "something else"


def _in_words(value: SpokenValue | None) -> str:
    return "" if value is None else spell_number(value.digits) if value.has_number else value.digits

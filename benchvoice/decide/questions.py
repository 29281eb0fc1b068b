"""What is said while a question waits: yes, no, the first, the second, or the value again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from benchvoice.decide.guide import answer_step, waits_for_answer
from benchvoice.decide.intake import answer_intake, of_intake
from benchvoice.decide.meanings import (
    MOST_CANDIDATES,
    absurdity_of,
    barred_by_power,
    candidate_of,
    candidates_of,
    nearly_heard,
    never_read,
    possible,
    take,
)
from benchvoice.decide.spelled import is_spelled
from benchvoice.decide.turn import Step, Turn
from benchvoice.decide.work import harmless, may_be_part_value
from benchvoice.records import (
    NOTHING_ASKED,
    WITHOUT_POWER,
    AnswerIntent,
    Candidate,
    CommandIntent,
    Decision,
    GoToIntent,
    Intent,
    NoteIntent,
    Outcome,
    ReadingIntent,
    Trust,
    WorkIntent,
)
from benchvoice.units import quantity_kind

__all__ = [
    "answer",
    "ask_again",
    "beside_question",
    "doubtful",
    "is_answer",
    "left_open",
    "matching",
    "not_understood",
    "of_question",
    "settle",
    "stray",
    "value_again",
]

_NOT_CLEAR = "not heard clearly"
_SAY_AGAIN = "say that again"


def answer(turn: Turn, intent: AnswerIntent) -> Step:
    """An answer that was heard beyond doubt. What does not settle the question has it asked again."""
    question = turn.question
    if question is None:
        return answer_step(turn, intent) or turn.ignore(NOTHING_ASKED)
    of_pattern = answer_intake(turn, intent)
    if of_pattern is not None:
        return of_pattern
    if intent.answer == "no":
        turn.accept("the question was declined")
        turn.command("no")
        turn.lapse("declined")
        return turn.step(Decision(Outcome.ACCEPTED, "refused"))
    number = len(question.candidates)
    if intent.answer == "yes" and number == 1:
        return take(turn, question.candidates[0], "confirmed", answering=True)
    if intent.answer in ("first", "second") and number > 1:
        return settle(turn, question.candidates[intent.answer == "second"], f"the {intent.answer}")
    return ask_again(turn, f"{intent.answer} does not answer this")


def settle(turn: Turn, candidate: Candidate, why: str) -> Step:
    """Takes the one of the question's candidates that was chosen; what is absurd only once it was asked by itself."""
    question = turn.question
    absurd = absurdity_of(turn, candidate)
    if question is not None and len(question.candidates) > 1 and absurd:
        return turn.ask((candidate,), f"absurd: {absurd}", tries=question.tries + 1, heard_why=why)
    return take(turn, candidate, why, answering=True)


def stray(turn: Turn, intents: Sequence[Intent]) -> str:
    """Why a value alone, said while a question about a value waits, is asked even where it is certain.

    Of two values that are offered "two" may mean the second; and what begins before the question can have been heard
    is the rest of what led to it ("five point one", a pause, "two"). A phrase; empty where it is an answer.
    """
    question = turn.question
    if question is None or not any(_alone(intent) for intent in intents):
        return ""
    if len(question.candidates) > 1:
        return "it was not offered"
    return "it may be the rest of what was said before" if question.moment.runs_into(turn.moment) else ""


def beside_question(turn: Turn, intents: Sequence[Intent]) -> str:
    """Why a correction of the last reading, without its point, is asked while a question is open; a phrase.

    Who is asked about one value and says "correction" hardly means another. Empty where it is none.
    """
    bare = any(isinstance(intent, CommandIntent) and intent.name == "correction" and not (intent.point or intent.joined)
               for intent in intents)  # fmt: skip
    return "something else was asked" if turn.question is not None and bare else ""


def ask_again(turn: Turn, heard_why: str, *, told_why: bool = False) -> Step:
    """The open question once more; with `told_why` it is said why."""
    question = turn.question
    if question is None:
        return turn.ignore(heard_why)
    tries = question.tries + 1
    return turn.ask(question.candidates, question.why, tries=tries, heard_why=heard_why, told_why=told_why)


def is_answer(turn: Turn, intents: Sequence[Intent]) -> bool:
    """Whether the meanings are values alone, or corrections, while a question about a value waits."""
    question = turn.question
    if question is None or not intents:
        return False
    if question.of_part is not None:
        return all(may_be_part_value(turn.state, question.of_part, intent) for intent in intents)
    if any(candidate.value is None for candidate in question.candidates):
        return False
    return all(_alone(intent) or _corrects_question(turn, intent) for intent in intents)


def _alone(intent: Intent) -> bool:
    return isinstance(intent, ReadingIntent) and intent.point is None


def _corrects_question(turn: Turn, intent: Intent) -> bool:
    """Whether "correction …" means the value that was just asked about, not the last reading."""
    question = turn.question
    if question is None or question.point is None or not isinstance(intent, CommandIntent):
        return False
    if intent.name != "correction" or intent.value is None or intent.point not in (None, question.point):
        return False
    kind = quantity_kind(turn.state.board.point(question.point).quantity)
    return intent.value.over_range or intent.value.unit in (kind.units or ("",))


def of_question(turn: Turn, intents: tuple[Intent, ...]) -> tuple[Intent, ...]:
    """The meanings without those of points that were not named, where one of the others may answer the question."""
    about_value = turn.question is not None and turn.question.point is not None  # of a part's: `value_again`
    if not about_value or not any(_alone(intent) for intent in intents):
        return intents
    return tuple(intent for intent in intents if not (isinstance(intent, ReadingIntent) and intent.alone))


def value_again(turn: Turn, intents: Sequence[Intent]) -> tuple[Intent, ...]:
    """The meanings of an answer, as what the question was about: a reading, a correction of one, or a part's value.

    None are left where the value is none of that part, or was said without its unit.
    """
    question = turn.question
    if question is None or not is_answer(turn, intents):
        return tuple(intents)
    if question.of_part is not None:
        return tuple(
            meant for intent in intents for meant in _of_part(turn, question.of_part, question.candidates, intent)
        )
    commands = (candidate.command for candidate in question.candidates)
    corrected = {command.point for command in commands if command is not None and command.name == "correction"}
    again: list[Intent] = []
    for intent in intents:
        value = intent.value if isinstance(intent, (ReadingIntent, CommandIntent)) else None
        if value is not None and len(corrected) == 1:
            again.append(CommandIntent("correction", next(iter(corrected)), value))
        elif value is not None:
            again.append(ReadingIntent(None, value))
    return tuple(again)


def _of_part(
    turn: Turn, work: WorkIntent, offered: Sequence[Candidate], intent: Intent
) -> tuple[ReadingIntent | WorkIntent, ...]:
    """What a value alone means while a part's value is asked about; a reading too where it is none of those offered."""
    value = intent.value if isinstance(intent, (ReadingIntent, CommandIntent)) else None
    if value is None or not value.unit_said:
        return ()
    meant = replace(work, value=value)
    again = meant in [candidate.work for candidate in offered]
    if again or not isinstance(intent, ReadingIntent) or candidate_of(turn, intent) is None:
        return (meant,)
    return meant, intent


def matching(turn: Turn, intents: Sequence[Intent]) -> tuple[Candidate, ...]:
    """The open question's candidates that were said once more, each once.

    What can mean something else too confirms nothing: "three three" is no second "thirty three".
    """
    question = turn.question
    if question is None:
        return ()
    if not all(any(_same(turn, intent, candidate) for candidate in question.candidates) for intent in intents):
        return ()
    found = (candidate for intent in intents for candidate in question.candidates if _same(turn, intent, candidate))
    return tuple(dict.fromkeys(found))


def _same(turn: Turn, intent: Intent, candidate: Candidate) -> bool:
    if isinstance(intent, (ReadingIntent, GoToIntent, CommandIntent)) and intent.near:
        return False  # a name that is misheard twice is not confirmed by that
    if is_spelled(intent):
        return False  # it is asked back however often it is said
    if isinstance(intent, (GoToIntent, NoteIntent, AnswerIntent, WorkIntent)):
        return candidate_of(turn, intent) == candidate
    if intent.value is None or candidate.value is None:
        return candidate_of(turn, intent) == candidate
    if (candidate.command is None) != isinstance(intent, ReadingIntent):
        return False
    value, offered = intent.value, candidate.value
    same_unit = value.unit == offered.unit
    same_waveform = value.waveform == offered.waveform
    return intent.point in (None, candidate.point) and value.digits == offered.digits and same_unit and same_waveform


def left_open(turn: Turn, intents: Sequence[Intent]) -> str:
    """What is missing where an offered value's digits were said once more without what the question was about.

    "Three hundred and thirty amps?" is not answered by "three hundred and thirty", nor "five volts AC?" by "five
    volts". A phrase; empty where nothing is missing.
    """
    question = turn.question
    said = [intent.value for intent in intents if isinstance(intent, ReadingIntent) and intent.value is not None]
    if question is None:
        return ""
    if not intents:  # a part's value without its unit: `value_again`
        return "the unit was not said"
    for offered in (candidate.value for candidate in question.candidates if candidate.value is not None):
        again = [value for value in said if value.digits == offered.digits]
        if again and offered.waveform and all(value.waveform is None for value in again):
            return "AC or DC was not said"
        if again and not any(value.unit_said for value in said) and offered.unit not in [value.unit for value in again]:
            return "the unit was not said"
    return ""


def doubtful(turn: Turn) -> Step:
    """Meant for us, but not heard for certain: asked with its one or two likeliest meanings, never acted upon."""
    intents = tuple({intent.meaning: intent for parse in turn.hearing.parses for intent in parse.intents}.values())
    why = turn.hearing.transcript.why or _NOT_CLEAR
    first = next(iter(intents), None)
    spelling = turn.question is None or turn.question.spelled is not None
    if is_spelled(first) and spelling:
        whole = candidate_of(turn, first)
        # asked back in any case
        return turn.refuse("no serial or part number was begun") if whole is None else take(turn, whole, why)
    if turn.question is not None:
        return _doubtful_answer(turn, of_question(turn, intents), why)
    if intents and isinstance(intents[0], AnswerIntent) and waits_for_answer(turn.state):
        return turn.refuse(_NOT_CLEAR, heard_why=why)  # the checklist's step waits on
    if intents and isinstance(intents[0], NoteIntent):
        return turn.ask((), why)
    return _likeliest(turn, intents, why)


def _likeliest(turn: Turn, intents: tuple[Intent, ...], why: str) -> Step:
    """Asks which of the likeliest meanings was said, where no question is open; says so where none can be."""
    never = never_read(turn, intents)
    if never:
        return turn.refuse(never)
    candidates = candidates_of(turn, (intent for intent in intents if not _harmless(intent)))
    if not candidates:
        return not_understood(turn, why)
    barred = None if nearly_heard(intents) else barred_by_power(turn, candidates)
    return barred or turn.ask(possible(turn, candidates), why)


def not_understood(turn: Turn, why: str) -> Step:
    """Nothing to act upon: said aloud where a sentence of the bench was begun, or may have been, to be said again."""
    first = next(iter(turn.hearing.parses), None)
    if turn.hearing.transcript.trust is Trust.FAILED:
        return turn.refuse(_SAY_AGAIN, heard_why=why)
    if first is None or not first.tried:
        return turn.ignore(why)
    if turn.question is None:
        return turn.refuse(first.why)
    if not first.leaves_point:
        return ask_again(turn, first.why, told_why=True)  # else a "yes" to it would seem to take what was said now
    return turn.refuse(first.why)  # another point was begun


def _doubtful_answer(turn: Turn, intents: tuple[Intent, ...], why: str) -> Step:
    question = turn.question
    if question is None or not intents or not isinstance(intents[0], ReadingIntent):
        return ask_again(turn, why)
    if question.of_part is not None and is_answer(turn, intents):
        values = value_again(turn, intents)
        if not values:
            return ask_again(turn, why)
    elif intents[0].point not in (None, question.point):
        return turn.ask(candidates_of(turn, _readings(intents))[:MOST_CANDIDATES], why)
    else:
        values = value_again(turn, [intent for intent in intents if _alone(intent)]) or _readings(intents)
    unsaid = left_open(turn, values)
    if unsaid:
        return ask_again(turn, unsaid, told_why=True)
    offered = tuple(
        candidate for candidate in question.candidates if any(_same(turn, value, candidate) for value in values)
    )
    # what was likely both times is asked alone
    again = offered if len(offered) == 1 else candidates_of(turn, values)[:MOST_CANDIDATES]
    if not again:
        return ask_again(turn, why)
    # whether the unit is powered is asked of a value that is certain: this one is asked by itself first
    asked = why if question.why == WITHOUT_POWER else question.why
    return turn.ask(again, asked, tries=question.tries + 1, heard_why=why)


def _readings(intents: tuple[Intent, ...]) -> tuple[Intent, ...]:
    return tuple(intent for intent in intents if isinstance(intent, ReadingIntent))


def _harmless(intent: Intent) -> bool:
    """Nothing is lost when these are not heard; to ask about them would only be in the way."""
    if isinstance(intent, WorkIntent):
        return harmless(intent) or (of_intake(intent) and intent.act in ("intake", "complaint follows"))
    return isinstance(intent, CommandIntent) and intent.name in (
        "repeat",
        "start listening",
        "where",
        "reason",
        "cautions",
    )

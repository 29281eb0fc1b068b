"""What holds whatever is said, in any order: random conversations through the session."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, get_args

from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.decide.plausible import absurdity
from benchvoice.decide.profile import read_board, read_meter
from benchvoice.decide.session import open_session, resume, said, step
from benchvoice.decide.stripdown import as_thing
from benchvoice.decide.turn import Step
from benchvoice.events import EVENTS, Asked, Event, Heard, Intake, Reading, Removed
from benchvoice.records import (
    AnswerIntent,
    CommandIntent,
    CommandName,
    GoToIntent,
    Hearing,
    NoteIntent,
    Outcome,
    Parse,
    ReadingIntent,
    SpokenValue,
    Thing,
    Trust,
    WorkIntent,
)
from tests.decide.builders import BOARD, METER, START, hearing

BOARD_READ = read_board(BOARD, "board.yaml")
METER_READ = read_meter(METER, "meter.yaml")
POINTS = {point.name: point for point in BOARD_READ.points}


def _values(unit: str) -> st.SearchStrategy[SpokenValue]:
    digits = st.sampled_from(["3.3", "33", "5.02", "50", "-12.1", "0", "0.02", "4.0", "over range"])
    units = [unit] if unit == "ohm" else [unit, f"m{unit.removeprefix('m')}"]
    return st.builds(SpokenValue, digits, st.sampled_from(units), st.booleans())


def _readings(name: str) -> st.SearchStrategy[ReadingIntent]:
    return st.builds(ReadingIntent, st.just(name), _values(POINTS[name].unit), st.integers(0, 9).map(lambda n: n == 0))


_ALONE = st.builds(ReadingIntent, st.none(), _values("V") | _values("ohm"))  # whether it fits or not
_COMMANDS = st.builds(
    CommandIntent, st.sampled_from([name for name in get_args(CommandName) if name not in ("close", "correction")])
)
_CORRECTIONS = st.builds(CommandIntent, st.just("correction"), st.none() | st.sampled_from(list(POINTS)), _values("V"))
_THINGS = st.one_of(
    st.builds(Thing, st.just("fastener"), st.just("screw"), st.integers(1, 4), place=st.sampled_from(["", "left"])),
    st.sampled_from([Thing("cover", "lid"), Thing("cable", "lamp cable"), Thing("part", "U4")]),
)
_WORK = st.one_of(
    st.builds(WorkIntent, st.sampled_from(["out", "back", "back"]), _THINGS),
    st.builds(WorkIntent, st.sampled_from(["back next", "still out", "unit closed"])),
    st.builds(WorkIntent, st.sampled_from(["careful", "left out", "method", "part number"]), text=st.just("glass")),
    st.builds(WorkIntent, st.just("fitted"), st.just(Thing("part", "U4"))),
    st.builds(WorkIntent, st.just("value"), value=st.just(SpokenValue("4.7", "kohm", unit_said=True))),
)
_TIMERS = st.one_of(
    st.builds(
        WorkIntent,
        st.just("timer"),
        text=st.sampled_from(["", "soak test timer"]),
        value=st.sampled_from(["90", "900"]).map(lambda digits: SpokenValue(digits, "s", unit_said=True)),
    ),
    st.builds(WorkIntent, st.sampled_from(["timer stop", "timers"]), text=st.sampled_from(["", "soak test timer"])),
)
_INTAKE = st.one_of(
    st.builds(
        WorkIntent, st.sampled_from(["complaint", "came with", "arrived"]), text=st.sampled_from(["dead", "nothing"])
    ),
    st.builds(
        WorkIntent, st.sampled_from(["serial", "serial", "more characters"]), text=st.sampled_from(["AB12", "9"])
    ),
    st.builds(
        WorkIntent,
        st.just("indicator"),
        text=st.sampled_from(["2 short, 1 long", "1 short", "5 short, red", "dark"]),
        name=st.sampled_from(["front lamp", "beeper"]),
    ),
    st.builds(WorkIntent, st.sampled_from(["intake", "complaint follows"])),
)
_INTENTS = st.one_of(
    _WORK,
    _TIMERS,
    _INTAKE,
    _WORK,
    st.sampled_from(list(POINTS)).flatmap(_readings),
    _ALONE,
    st.builds(GoToIntent, st.sampled_from(list(POINTS)), st.booleans()),
    _COMMANDS,
    _CORRECTIONS,
    st.builds(NoteIntent, st.sampled_from(["", "capacitor bulging"]), st.booleans()),
    st.builds(AnswerIntent, st.sampled_from(["yes", "no", "first", "second"])),
)
_TRUSTS = st.sampled_from(
    [Trust.AGREED, Trust.AGREED, Trust.AGREED, Trust.TYPED, Trust.DOUBTFUL, Trust.DOUBTFUL, Trust.UNRELATED]
)
_PARSES = st.one_of(_INTENTS.map(lambda intent: (intent,)), st.lists(_INTENTS, max_size=3).map(tuple))
_UTTERANCES = st.tuples(st.lists(_PARSES, max_size=3), _TRUSTS, st.sampled_from([2, 2, 2, 200]), st.booleans())


def conversation(utterances: Iterable[Any]) -> tuple[list[Event], list[tuple[Hearing, Any, Step]]]:
    state, opened = open_session(BOARD_READ, METER_READ, at=START, job="j", engine="panel", version="0")
    journal: list[Event] = list(opened)
    steps = []
    seconds = 0
    for parses, trust, pause, speak in utterances:
        seconds += pause
        heard = hearing(*parses, trust=trust, after_s=seconds)
        done = step(state, heard, word_question=lambda decision: f"{len(decision.candidates)} candidates?")
        steps.append((heard, state, done))
        state = done.state
        journal += done.events
        if speak:
            state, event = said(state, heard.at, "something", None)
            journal.append(event)
    return journal, steps


_TALK = st.lists(_UTTERANCES, max_size=25)


@given(_TALK)
@settings(max_examples=100, deadline=None)
def test_a_serial_number_is_kept_only_by_a_yes_to_it(utterances: list[Any]) -> None:
    for heard, before, done in conversation(utterances)[1]:
        for event in done.events:
            if isinstance(event, Intake) and event.what == "serial":
                assert heard.transcript.trust in (Trust.AGREED, Trust.TYPED)
                assert heard.parses[0].intents[0] == AnswerIntent("yes")
                assert before.question is not None
                assert [candidate.work and candidate.work.text for candidate in before.question.candidates] == [
                    event.text
                ]


@given(_TALK)
@settings(max_examples=100, deadline=None)
def test_the_journal_alone_gives_the_state(utterances: list[Any]) -> None:
    journal, steps = conversation(utterances)
    assert [event.seq for event in journal] == list(range(1, len(journal) + 1))
    on_disk = [EVENTS.validate_json(EVENTS.dump_json(event)) for event in journal]
    resumed = resume(BOARD_READ, METER_READ, on_disk)
    if steps:
        last = max(event.seq for event in steps[-1][2].events)
        assert resume(BOARD_READ, METER_READ, on_disk[:last]) == steps[-1][2].state
    assert resumed.next_seq == len(journal) + 1


@given(_TALK)
@settings(max_examples=100, deadline=None)
def test_every_utterance_ends_in_exactly_one_outcome(utterances: list[Any]) -> None:
    for _, _, done in conversation(utterances)[1]:
        first, *rest = done.events
        assert isinstance(first, Heard)
        assert first.outcome == done.decision.outcome
        assert not any(isinstance(event, Heard) for event in rest)
        followers = [event.kind for event in rest if event.kind not in ("lapsed", "caution")]
        match done.decision.outcome:
            case Outcome.ACCEPTED:
                # several lots may go back with one sentence
                assert list(dict.fromkeys(followers)) in (
                    ["removed"],
                    ["refitted"],
                    ["replaced"],
                    ["reworked"],
                    ["careful"],
                    ["left out"],
                    ["unit closed"],
                    ["intake"],
                    ["command", "undone"],
                    ["reading"],
                    ["note"],
                    ["command"],
                    ["command", "withdrawn"],
                    ["command", "withdrawn", "reading"],
                    ["command", "closed"],
                    ["acknowledged"],
                    ["timer started"],
                    ["timer stopped"],
                    ["timer stopped", "timer started"],
                )
            case Outcome.ASKED:
                assert followers == ["asked"]
            case Outcome.IGNORED:
                assert followers == []


@given(_TALK)
@settings(max_examples=100, deadline=None)
def test_a_reading_is_accepted_only_when_it_was_clear_or_confirmed(utterances: list[Any]) -> None:
    for heard, before, done in conversation(utterances)[1]:
        readings = [event for event in done.events if isinstance(event, Reading)]
        if not readings:
            continue
        (kept,) = readings
        assert heard.transcript.trust in (Trust.AGREED, Trust.TYPED)
        said_values = {
            (intent.value.digits, intent.value.unit)
            for intent in heard.parses[0].intents
            if isinstance(intent, (ReadingIntent, CommandIntent)) and intent.value is not None
        }
        offered = {
            (candidate.value.digits, candidate.value.unit)
            for candidate in (before.question.candidates if before.question else ())
            if candidate.value is not None
        }
        from_question = isinstance(heard.parses[0].intents[0], AnswerIntent)
        no_unit = {("over range", kept.unit) for digits, _ in said_values if digits == "over range"}
        assert (kept.value, kept.unit) in said_values | offered | no_unit
        if from_question:
            assert before.question is not None
        absurd = absurdity(SpokenValue(kept.value, kept.unit), POINTS[kept.point], METER_READ)
        assert not absurd or (kept.value, kept.unit) in offered


@given(_TALK)
@settings(max_examples=100, deadline=None)
def test_nothing_withdrawn_counts(utterances: list[Any]) -> None:
    journal, _ = conversation(utterances)
    struck = {event.reading for event in journal if event.kind == "withdrawn"}
    counted = {event.seq for event in journal if isinstance(event, Reading)} - struck
    state = resume(BOARD_READ, METER_READ, journal)
    assert {read.seq for read in state.readings} == counted
    assert struck <= {event.seq for event in journal if isinstance(event, Reading)}


@given(_TALK)
@settings(max_examples=100, deadline=None)
def test_every_question_ends_or_is_the_open_one(utterances: list[Any]) -> None:
    journal, steps = conversation(utterances)
    for _, before, done in steps:
        asked = next((event for event in done.events if isinstance(event, Asked)), None)
        if asked is not None:
            assert done.state.question is not None
            assert done.state.question.asked == asked.seq
            assert done.state.question.candidates == done.decision.candidates
            assert asked.tries == 0 or before.question is not None
    lapsed = [event.asked for event in journal if event.kind == "lapsed"]
    assert len(lapsed) == len(set(lapsed))


@given(st.lists(st.tuples(st.sampled_from(["yes", "first", "second"]), _TRUSTS), max_size=8))
def test_answers_alone_never_make_a_reading(answers: list[Any]) -> None:
    talk = [([(AnswerIntent(which),)], trust, 2, False) for which, trust in answers]
    journal, _ = conversation(talk)
    assert not any(isinstance(event, Reading) for event in journal)


def test_a_transcript_with_several_parses_keeps_their_order() -> None:
    heard = hearing(ReadingIntent("rail 5", SpokenValue("5.0", "V")), ReadingIntent("rail 5", SpokenValue("9.0", "V")))
    assert [type(parse) for parse in heard.parses] == [Parse, Parse]
    assert [entry.text for entry in heard.transcript.alternatives] == [parse.text for parse in heard.parses]


@given(_TALK)
@settings(max_examples=100, deadline=None)
def test_nothing_is_closed_while_something_is_out_without_a_reason(utterances: list[Any]) -> None:
    for _, before, done in conversation(utterances)[1]:
        if any(event.kind in ("closed", "unit closed") for event in done.events):
            assert not before.work.stripped.to_go_back


@given(_TALK)
@settings(max_examples=100, deadline=None)
def test_work_is_kept_only_when_it_was_clear_or_confirmed(utterances: list[Any]) -> None:
    """What comes out, and how many, is exactly what was heard beyond doubt, or what was offered and chosen."""
    for heard, before, done in conversation(utterances)[1]:
        offered = [] if before.question is None else [each.work for each in before.question.candidates]
        for event in done.events:
            if not isinstance(event, Removed):
                continue
            assert heard.transcript.trust in (Trust.AGREED, Trust.TYPED)
            intents = [*heard.parses[0].intents, *offered]
            meant = [intent.thing for intent in intents if isinstance(intent, WorkIntent) and intent.act == "out"]
            kept = as_thing(event.thing)
            assert any(
                thing is not None and (thing.name, thing.count, thing.place) == (kept.name, kept.count, kept.place)
                for thing in meant
            )

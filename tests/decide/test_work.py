"""Work on the unit in the session: its questions, what answers them, and what never becomes a reading."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from benchvoice.decide.profile import read_board, read_meter
from benchvoice.decide.rework import counting
from benchvoice.decide.session import open_session, reopen, resume, step
from benchvoice.decide.turn import Step
from benchvoice.events import EVENTS, Event, Reading, Refitted, Replaced, Reworked
from benchvoice.records import NOT_AFTER, Intent, Outcome, Parse, Thing, Trust, WorkAct, WorkIntent
from tests.decide.builders import BOARD, METER, START, answer, command, go_to, hearing, reading, value

READ = read_board(BOARD, "board.yaml")
BENCH_METER = read_meter(METER, "meter.yaml")
YES, NO = answer("yes"), answer("no")
R7, U4 = Thing("part", "R7"), Thing("part", "U4")


def fitted(part: Thing = R7) -> WorkIntent:
    return WorkIntent("fitted", part)


def told(digits: str, unit: str = "kohm", act: WorkAct = "value") -> WorkIntent:
    return WorkIntent(act, value=value(digits, unit, said=True))


def screws(act: WorkAct, count: int, **fields: Any) -> WorkIntent:
    return WorkIntent(act, Thing("fastener", "screw", count, **fields))


class Bench:
    """A session with its journal, which alone brings it back; each utterance begins four seconds after the last."""

    def __init__(self) -> None:
        self.state, opened = open_session(READ, BENCH_METER, at=START, job="job-7", engine="panel", version="0.1.0")
        self.journal: list[Event] = list(opened)
        self.seconds = 0

    def hear(
        self, *meanings: Intent | tuple[Intent, ...], twins: tuple[Intent, ...] = (), pause_s: int = 4, **more: Any
    ) -> Step:
        self.seconds += pause_s
        heard = hearing(*meanings, after_s=self.seconds, **more)
        heard = replace(heard, twins=tuple(Parse(f"twin {at}", (twin,)) for at, twin in enumerate(twins)))
        done = step(self.state, heard, word_question=lambda decision: f"{len(decision.candidates)} candidates?")
        self.state = done.state
        self.journal += done.events
        written = [EVENTS.validate_json(EVENTS.dump_json(event)) for event in self.journal]
        assert resume(READ, BENCH_METER, written) == self.state
        return done

    def kept(self, kind: type[Event]) -> list[Any]:
        """The events of that kind, in order."""
        return [event for event in self.journal if isinstance(event, kind)]

    def values(self) -> list[tuple[str, str | None]]:
        """What was told of parts and counts: reference designator and value."""
        log = counting(self.state.work.events)
        return [(event.ref, event.value) for event in log if isinstance(event, Reworked) and event.act == "value"]


def asked_for_a_value() -> Bench:
    """R7 was fitted at a point in hand whose unit may be a part's too; its value sounded like another."""
    bench = Bench()
    bench.hear(go_to("rail 3.3 to ground"))
    bench.hear(fitted())
    done = bench.hear(told("13"), twins=(told("30"),))
    assert (done.decision.outcome, done.decision.why) == (Outcome.ASKED, "sounds like thirty")
    return bench


ANSWERS: list[tuple[Intent, list[tuple[str, str | None]]]] = [
    (answer("first"), [("R7", "13")]),
    (answer("second"), [("R7", "30")]),
    (reading(None, "30", "kohm", said=True), [("R7", "30")]),
    (command("correction", of=value("30", "kohm", said=True)), [("R7", "30")]),
    (told("13"), [("R7", "13")]),
    (reading(None, "30", "ohm"), []),  # its unit was not said
    (reading(None, "47", "kohm", said=True), []),  # it was not offered
    (YES, []),
    (NO, []),
]


@pytest.mark.parametrize(("said", "kept"), ANSWERS)
def test_a_value_that_answers_a_question_about_a_part_is_no_reading(
    said: Intent, kept: list[tuple[str, str | None]]
) -> None:
    bench = asked_for_a_value()
    bench.hear(said)
    assert bench.kept(Reading) == []
    assert bench.values() == kept
    assert (bench.state.question is None) == (bool(kept) or said == NO)


def test_a_doubtful_value_is_asked_as_the_parts() -> None:
    bench = asked_for_a_value()
    done = bench.hear(reading(None, "30", "kohm", said=True), trust=Trust.DOUBTFUL)
    assert [candidate.work for candidate in done.decision.candidates] == [replace(told("30"), thing=R7)]
    bench.hear(YES)
    assert bench.values() == [("R7", "30")]


def test_a_reading_of_another_quantity_is_a_reading_and_drops_the_question() -> None:
    bench = Bench()
    bench.hear(go_to("rail 5"))
    bench.hear(fitted())
    bench.hear(told("13"), twins=(told("30"),))
    bench.hear(reading(None, "5.02", said=True))
    assert [event.point for event in bench.kept(Reading)] == ["rail 5"]
    assert bench.state.question is None
    bench.hear(answer("first"))
    assert bench.values() == []


def test_a_correction_after_work_changes_no_older_reading() -> None:
    bench = Bench()
    bench.hear(reading("rail 5", "5.02"))
    bench.hear(fitted())
    done = bench.hear(command("correction", of=value("4.7", "V")))
    assert done.decision.about == "refused"
    assert done.decision.why == "work on the unit came last: say the point too, or strike that"
    assert [event.value for event in bench.kept(Reading)] == ["5.02"]
    bench.hear(command("correction", "rail 5", value("5.07", "V")))
    assert [(event.value, event.corrects is None) for event in bench.kept(Reading)] == [("5.02", True), ("5.07", False)]


def test_a_part_has_one_value_the_later_one() -> None:
    bench = Bench()
    bench.hear(fitted())
    bench.hear(told("47"))
    done = bench.hear(told("4.7"))
    assert done.decision.work is not None
    assert str(done.decision.work.instead) == "47 kohm"
    assert bench.values() == [("R7", "4.7")]
    bench.hear(command("strike"))
    assert bench.values() == [("R7", "47")]
    bench.hear(told("4.7"))
    bench.hear(fitted(Thing("part", "R8")))
    bench.hear(told("10"))
    assert bench.values() == [("R7", "4.7"), ("R8", "10")]


NOT_DONE: list[tuple[tuple[Intent, ...], Trust]] = [
    ((fitted(U4), fitted(Thing("part", "U9"))), Trust.DOUBTFUL),
    ((fitted(U4),), Trust.DOUBTFUL),
]


@pytest.mark.parametrize(("meanings", "trust"), NOT_DONE)
def test_what_is_told_of_a_part_never_goes_to_the_one_before(meanings: tuple[Intent, ...], trust: Trust) -> None:
    bench = Bench()
    bench.hear(fitted())
    assert bench.state.context.fitted == "resistance"
    bench.hear(*meanings, trust=trust)
    assert (bench.state.context.fitted, bench.state.context.reworked) == ("", False)
    bench.hear(NO)
    done = bench.hear(told("3.3", "V"))
    assert done.decision.why == "say first which part was fitted"
    assert bench.values() == []
    bench.hear(fitted(U4))
    bench.hear(told("3.3", "V"))
    assert bench.values() == [("U4", "3.3")]


def test_a_part_that_was_begun_and_not_understood_is_left_too() -> None:
    bench = Bench()
    bench.hear(fitted())
    unknown = Parse("fitted u nine", (), "there is no part called u nine", tried=True, leaves_part=True)
    heard = hearing(text="fitted u nine", after_s=30)
    done = step(bench.state, replace(heard, parses=(unknown,)), word_question=lambda _decision: "")
    assert done.decision.about == "refused"
    assert done.state.context.fitted == ""


def test_talk_leaves_no_part() -> None:
    bench = Bench()
    bench.hear(fitted())
    bench.hear(fitted(U4), trust=Trust.UNRELATED)
    assert bench.state.context.fitted == "resistance"


REFUSED: list[Intent] = [
    command("close"),
    command("next"),
    WorkIntent("unit closed"),
]


@pytest.mark.parametrize("refused", REFUSED, ids=lambda intent: str(intent.meaning))
def test_a_refusal_ends_the_question_before_it(refused: Intent) -> None:
    bench = Bench()
    bench.hear(screws("out", 2))
    bench.hear(reading("fan current", "330", "A", said=True))
    assert bench.state.question is not None
    assert bench.hear(refused).decision.outcome is Outcome.IGNORED
    assert bench.state.question is None
    bench.hear(YES)
    assert bench.kept(Reading) == []


def test_a_value_that_cannot_answer_asks_again() -> None:
    bench = Bench()
    bench.hear(reading("fan current", "330", "A", said=True))
    done = bench.hear(reading(None, "5", "kohm", said=True))
    assert (done.decision.outcome, done.decision.tries) == (Outcome.ASKED, 1)
    assert bench.state.question is not None


def test_an_earlier_lot_that_was_confirmed_goes_back() -> None:
    bench = Bench()
    bench.hear(screws("out", 4))
    bench.hear(screws("out", 2, length="long"))
    asked = bench.hear(screws("back", 4), trust=Trust.TYPED)
    assert asked.decision.why == "say where they go"
    assert bench.hear(YES).decision.outcome is Outcome.ACCEPTED
    assert [(event.removed, event.count) for event in bench.kept(Refitted)] == [(3, 4)]
    assert bench.state.work.stripped.pieces == 2


def test_words_that_sound_alike_are_asked_for_work_and_commands_too() -> None:
    bench = Bench()
    done = bench.hear(fitted(Thing("part", "R15")), twins=(fitted(Thing("part", "R50")),))
    assert len(done.decision.candidates) == 2
    assert bench.kept(Replaced) == []


def test_a_struck_part_leaves_none_in_hand() -> None:
    bench = Bench()
    bench.hear(fitted())
    bench.hear(fitted(Thing("part", "R8")))
    bench.hear(command("strike"))
    assert [event.ref for event in bench.kept(Replaced) if event in bench.state.work.events] == ["R7"]
    assert bench.hear(told("10")).decision.why == "say first which part was fitted"


def test_after_a_restart_it_is_asked_whether_the_same_part_is_meant() -> None:
    bench = Bench()
    bench.hear(fitted())
    bench.state, events = reopen(bench.state, at=START, job="job-7", engine="panel", version="0.1.0")
    bench.journal += events
    done = bench.hear(told("10"))
    assert done.decision.why == "the part was fitted in an earlier session"
    assert [candidate.work for candidate in done.decision.candidates] == [replace(told("10"), thing=R7)]
    bench.hear(YES)
    assert bench.values() == [("R7", "10")]
    assert bench.hear(told("12")).decision.outcome is Outcome.ACCEPTED


def test_what_may_be_a_reading_too_is_asked_while_a_parts_value_is() -> None:
    bench = Bench()
    bench.hear(go_to("rail 3.3"))
    bench.hear(fitted(U4))
    bench.hear(told("3.3", "V"), trust=Trust.DOUBTFUL)
    done = bench.hear(reading(None, "3.2", said=True))
    assert done.decision.outcome is Outcome.ASKED
    assert [(each.point, each.work is None) for each in done.decision.candidates] == [(None, False), ("rail 3.3", True)]
    bench.hear(answer("second"))
    assert [event.value for event in bench.kept(Reading)] == ["3.2"]
    assert bench.values() == []


def test_only_what_would_go_back_now_is_left_out() -> None:
    bench = Bench()
    bench.hear(WorkIntent("out", Thing("cover", "lid")))
    bench.hear(screws("out", 2))
    done = bench.hear(WorkIntent("left out", text="lost"))
    assert done.decision.work is not None
    assert [thing.name for thing in done.decision.work.things] == ["screw"]
    assert done.decision.work.next == Thing("cover", "lid")
    assert bench.hear(WorkIntent("unit closed")).decision.about == "not closed"


def test_a_value_that_parts_hardly_have_is_asked_and_settles_what_sounds_alike() -> None:
    bench = Bench()
    bench.hear(fitted())
    done = bench.hear(told("50"), twins=(told("15"),))
    assert [str(each.said_value) for each in done.decision.candidates] == ["15 kohm", "50 kohm"]
    bench.hear(answer("first"))
    assert bench.values() == [("R7", "15")]
    bench.hear(fitted())
    assert bench.hear(told("15"), twins=(told("50"),)).decision.outcome is Outcome.ACCEPTED
    done = bench.hear(told("19"), trust=Trust.TYPED)
    assert done.decision.why == "absurd: it is no preferred number"
    bench.hear(YES)
    assert bench.values()[-1] == ("R7", "19")


def test_a_value_after_the_part_was_replaced_takes_no_place_of_one_before_unasked() -> None:
    """Nobody has said "after the repair": the fault that was found would be overwritten by its cure."""
    bench = Bench()
    bench.hear(reading("rail 3.3", "4.0"))
    bench.hear(fitted(U4))
    done = bench.hear(reading("rail 3.3", "3.31"))
    assert (done.decision.outcome, done.decision.why) == (Outcome.ASKED, NOT_AFTER)
    bench.hear(NO)
    bench.hear(command("after"))
    bench.hear(YES)
    assert bench.hear(reading("rail 3.3", "3.31")).decision.outcome is Outcome.ACCEPTED
    assert [(event.value, event.stage) for event in bench.kept(Reading)] == [("4.0", "before"), ("3.31", "after")]

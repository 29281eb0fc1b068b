"""A value that can be judged only with power, said while the unit is marked without it: asked, never judged."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchvoice.decide.board import Board
from benchvoice.decide.checklist_file import read_checklist
from benchvoice.decide.profile import read_board
from benchvoice.decide.session import close, reopen
from benchvoice.decide.supply import lacks_power
from benchvoice.decide.turn import Step
from benchvoice.events import KnownGood, KnownGoodReading, Note, Reading
from benchvoice.keep.record import fold
from benchvoice.records import WITHOUT_POWER, Outcome, ReadingIntent, SpokenValue, Trust, WorkIntent
from tests.decide.builders import START, answer, command, reading, value
from tests.decide.test_cautions import READ, Bench, given_in

ON, OFF = command("powered"), command("unpowered")
YES, NO = answer("yes"), answer("no")
HUNDRED = reading("bulk rail", "100", said=True)


def without_power(board: Board = READ) -> Bench:
    bench = Bench(board=board)
    bench.hear(OFF)
    return bench


def asked(done: Step) -> bool:
    return (done.decision.outcome, done.decision.why) == (Outcome.ASKED, WITHOUT_POWER)


# What a meter shows of a unit without power: nothing, or what is left in its capacitors (common practice, no source).
@pytest.mark.parametrize(
    ("point", "is_asked"),
    [
        ("{name: p, nominal: 5 V, tolerance: 5 %}", True),
        ("{name: p, quantity: ripple, limits: {high: 50 mV}}", True),  # 0 V would pass
        ("{name: p, nominal: 20 mA, tolerance: 5 %}", True),
        ("{name: p, nominal: 50 Hz, tolerance: 1 %}", True),
        ("{name: p, quantity: temperature, limits: {high: 60 degC}}", False),  # it is warm for a while
        ("{name: p, quantity: temperature, limits: {high: 60 degC}, state: powered}", True),
        ("{name: p, quantity: voltage}", False),  # there is nothing to judge it by
        ("{name: p, quantity: voltage, state: powered}", True),
        ("{name: p, nominal: 3 V, tolerance: 5 %, state: either}", False),  # a cell
        ("{name: p, nominal: 0 V, tolerance: 1 V, state: unpowered}", False),
        ("{name: p, nominal: 200 ohm, tolerance: 5 %}", False),
        ("{name: p, nominal: 200 ohm, tolerance: 5 %, state: powered}", False),  # it never is, whatever the file says
        ("{name: p, quantity: voltage, known good: 5 V}", True),
        ("{name: p, quantity: digits, limits: {low: 0, high: 99}}", False),
    ],
)
def test_what_is_asked(point: str, is_asked: bool) -> None:
    board = read_board(f"board: A\npoints:\n  - {point}\nhazards: [{{is: mains}}]\n", "a.yaml")
    bench = Bench(board=board)
    assert not lacks_power(bench.state, "p")  # nobody said how it stands
    bench.hear(ON)
    assert not lacks_power(bench.state, "p")
    bench.hear(OFF)
    assert lacks_power(bench.state, "p") is is_asked


def test_yes_marks_it_powered_and_takes_the_reading() -> None:
    bench = without_power()
    assert asked(bench.hear(reading("rail 5", "5.02")))
    assert bench.state.readings.top is None
    done = bench.hear(YES)
    assert [event.kind for event in done.events][:3] == ["heard", "command", "reading"]
    assert (done.decision.about, done.decision.value) == ("reading", value("5.02"))
    assert ("mains", "line input") in given_in(done)
    assert bench.state.power == "powered"
    assert not asked(bench.hear(HUNDRED))  # one question for all that follow


def test_no_keeps_a_note_that_is_no_fault() -> None:
    bench = without_power()
    bench.hear(HUNDRED)
    done = bench.hear(NO)
    assert (done.decision.about, done.decision.point, done.decision.value) == (
        "noted without power",
        "bulk rail",
        HUNDRED.value,
    )
    assert [event.text for event in done.events if isinstance(event, Note)] == [
        "bulk rail 100 V, measured without power"
    ]
    assert bench.state.power == "unpowered"
    _, closed = close(bench.state, START, "by voice")
    record = fold((*bench.journal, *closed))
    assert not any(isinstance(event, Reading) for event in bench.journal)
    assert [note.text for note in record.notes] == ["bulk rail 100 V, measured without power"]


def test_what_was_read_with_power_stays_when_its_residue_is_noted() -> None:
    bench = Bench()
    bench.hear(reading("rail 5", "4.1"))
    bench.hear(OFF)
    bench.hear(reading("rail 5", "0.02"))
    bench.hear(NO)
    latest = bench.state.latest("rail 5")
    assert latest is not None
    assert latest.value == "4.1"


def test_the_value_again_is_no_yes() -> None:
    bench = without_power()
    bench.hear(HUNDRED)
    assert asked(bench.hear(HUNDRED))
    assert asked(bench.hear(reading(None, "101", said=True)))
    bench.hear(YES)
    assert bench.state.readings.top is not None
    assert bench.state.readings.top.value == "101"


def test_a_value_that_was_asked_for_another_reason_is_asked_this_too() -> None:
    bench = without_power()
    done = bench.hear(reading("rail 5", "5.02"), trust=Trust.DOUBTFUL)
    assert not asked(done)
    assert done.decision.outcome is Outcome.ASKED
    assert asked(bench.hear(YES))
    assert bench.state.readings.top is None
    bench.hear(YES)
    assert bench.state.readings.top is not None


def test_a_hazardous_voltage_brings_its_caution_with_the_question() -> None:
    bench = without_power()
    assert given_in(bench.hear(HUNDRED)) == [("live without supply", "bulk rail")]
    assert given_in(bench.hear(reading("bulk rail", "12"))) == []


def test_unit_powered_up_is_as_good_as_yes_and_supply_disconnected_as_no() -> None:
    bench = without_power()
    bench.hear(HUNDRED)
    done = bench.hear(OFF)
    assert done.decision.about == "noted without power"
    bench.hear(HUNDRED)
    done = bench.hear(ON)
    assert (done.decision.about, done.decision.switched) == ("reading", ("powered",))
    assert bench.state.question is None


def test_over_range_at_a_hazardous_point_brings_its_caution_too() -> None:
    bench = without_power()
    assert given_in(bench.hear(reading("bulk rail", "over range"))) == [("live without supply", "bulk rail")]
    assert given_in(bench.hear(reading(None, "over range"))) == []  # asked again, not warned again
    assert given_in(bench.hear(reading("rail 5", "over range"))) == []


@pytest.mark.parametrize("doubtful", [reading(None, "50"), reading("rail 5", "500")])
def test_a_doubtful_value_is_confirmed_before_power_is_asked_about(doubtful: ReadingIntent) -> None:
    bench = without_power()
    bench.hear(reading("rail 5", "5.02"))
    done = bench.hear(doubtful, trust=Trust.DOUBTFUL)
    assert done.decision.outcome is Outcome.ASKED
    assert done.decision.why != WITHOUT_POWER
    bench.hear(NO)
    assert not any(isinstance(event, Note | Reading) for event in bench.journal)


def test_a_discharge_timer_that_this_stops_is_told() -> None:
    bench = without_power()
    bench.hear(WorkIntent("timer", text="discharge timer", value=SpokenValue("10", "s", unit_said=True)))
    bench.hear(reading("rail 5", "5.02"))
    done = bench.hear(YES)
    assert done.decision.switched == ("powered", "discharge timer")
    assert not bench.state.timers.running


def test_what_a_judged_value_follows_from_needs_power_too() -> None:
    board = read_board(
        "board: A\npoints:\n"
        "  - {name: drop, quantity: voltage}\n"
        "  - name: current\n    limits: {low: 0.8 A, high: 1.2 A}\n"
        "    computed: {drop: drop, across: 0.1 ohm, tolerance: 1 %}\n"
        "hazards: [{is: mains}]\n",
        "a.yaml",
    )
    bench = without_power(board)
    assert asked(bench.hear(reading("drop", "0.0001")))


def test_a_reading_that_a_known_good_board_has_needs_power_too() -> None:
    board = read_board("board: A\npoints: [{name: p, quantity: voltage}]\nhazards: [{is: mains}]\n", "a.yaml")
    bench = without_power(board)
    assert not lacks_power(bench.state, "p")
    good = KnownGood(job="a", board="A", readings=(KnownGoodReading(point="p", value="5.0", unit="V"),))
    assert lacks_power(replace(bench.state, known_good=good), "p")


def test_a_restart_with_the_question_open_lets_it_lapse() -> None:
    bench = without_power()
    bench.hear(HUNDRED)
    state, events = reopen(bench.state, at=START, job="job-9", engine="panel", version="0")
    assert [event.kind for event in events] == ["lapsed", "opened"]
    assert (state.question, state.power) == (None, None)


def test_a_correction_of_what_was_read_with_power_is_not_asked() -> None:
    bench = Bench()
    bench.hear(reading("rail 5", "5.2"))
    bench.hear(OFF)
    done = bench.hear(command("correction", "rail 5", value("5.02")))
    assert done.decision.about == "correction"


def test_a_step_that_has_the_point_measured_without_power_means_it() -> None:
    checklist = read_checklist("checklist: a\nsteps: [{measure: bulk rail, needs: unpowered}]\n", "l.yaml", READ)
    bench = Bench(checklist)
    bench.hear(OFF)
    assert not asked(bench.hear(reading("bulk rail", "12")))

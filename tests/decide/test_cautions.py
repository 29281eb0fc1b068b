"""Cautions in the session: each at its moment and once, acknowledged by voice; nothing measured against the power."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.decide.board import Board
from benchvoice.decide.checklist_file import read_checklist
from benchvoice.decide.checklist_steps import Checklist
from benchvoice.decide.profile import read_board
from benchvoice.decide.session import SessionState, cautions_at_hand, open_session, reopen, resume, step
from benchvoice.decide.turn import Step
from benchvoice.events import EVENTS, Acknowledged, Caution, Event, Lapsed, Reading
from benchvoice.records import CommandIntent, Outcome, ReadingIntent, Thing, Trust, WorkIntent
from tests.decide.builders import START, answer, command, go_to, hearing, reading, value

BOARD = """\
board: PS-9 bench supply
points:
  - {name: line input, nominal: 230 V, tolerance: 10 %, waveform: AC}
  - {name: bulk rail, nominal: 325 V, tolerance: 15 %}
  - {name: rail 5, nominal: 5 V, tolerance: 5 %}
  - {name: probe, quantity: voltage}
  - {name: bridge, quantity: diode drop, nominal: 0.5 V, tolerance: 40 %}
  - {name: rail 5 to ground, nominal: 200 ohm, tolerance: 50 %}
parts:
  - {ref: C1, is: bulk capacitor}
  - {ref: U2, is: regulator}
hazards:
  - {is: mains, at: line input}
  - {is: capacitor, ref: C1, capacitance: 470 uF, voltage: 400 V, bleeder: 10 kohm, safe: 50 V}
  - {is: moving parts, what: fan}
  - {is: battery, what: lithium pack}
"""
READ = read_board(BOARD, "ps9.yaml")
CHECKLIST = """\
checklist: Cold and warm
steps:
  - {measure: rail 5 to ground, needs: unpowered}
  - {measure: rail 5, needs: powered}
  - {measure: bulk rail}
"""
LISTED = read_checklist(CHECKLIST, "list.yaml", READ)

ON, OFF = command("powered"), command("unpowered")
UNDERSTOOD, WHICH = command("understood"), command("cautions")
LID = WorkIntent("out", Thing("cover", "lid"))


class Bench:
    """A session on the bench supply, with its journal; each utterance begins four seconds after the last."""

    def __init__(self, checklist: Checklist | None = None, board: Board = READ) -> None:
        self.checklist = checklist
        self.board = board
        self.state, opened = open_session(
            board, None, at=START, job="job-9", engine="panel", version="0", checklist=checklist
        )
        self.journal: list[Event] = list(opened)
        self.seconds = 0

    def hear(self, *meanings: Any, trust: Trust = Trust.AGREED) -> Step:
        self.seconds += 4
        heard = hearing(*meanings, trust=trust, after_s=self.seconds)
        done = step(self.state, heard, word_question=lambda _: "?")
        self.state = done.state
        self.journal += done.events
        on_disk = [EVENTS.validate_json(EVENTS.dump_json(event)) for event in self.journal]
        assert resume(self.board, None, on_disk, self.checklist) == self.state
        return done


def given_in(done: Step) -> list[tuple[str, str]]:
    """The cautions that an utterance led to; they are kept and told alike."""
    kept: list[tuple[str, str]] = [(event.hazard, event.about) for event in done.events if isinstance(event, Caution)]
    assert [(told.hazard, told.about) for told in done.decision.cautions] == kept
    return kept


MAINS, FAN, PACK = ("mains", "line input"), ("moving parts", "fan"), ("battery", "lithium pack")
BULK, STATIC, HOT = ("capacitor", "C1"), ("static", ""), ("hot work", "")


# --- when -----------------------------------------------------------------------------------------------------------
MOMENTS = [
    (ON, [MAINS, FAN]),
    (OFF, [BULK, PACK]),
    (go_to("line input"), [MAINS]),
    (go_to("bulk rail"), [("high voltage", "bulk rail")]),
    (go_to("rail 5"), []),
    (reading("line input", "231"), [MAINS]),
    (reading("rail 5", "5.02"), []),
    (reading("probe", "60"), []),
    (reading("probe", "60.1"), [("high voltage", "probe")]),
    (reading("probe", "-61"), [("high voltage", "probe")]),
    (reading("probe", "0.06", "kV"), []),
    (reading("probe", "0.0601", "kV"), [("high voltage", "probe")]),
    (ReadingIntent("probe", value("31", waveform="AC")), [("high voltage", "probe")]),
    (ReadingIntent("probe", value("30", waveform="AC")), []),
    (reading("bulk rail", "over range"), [("high voltage", "bulk rail")]),
    (reading("rail 5 to ground", "220", "ohm"), []),
    (LID, [MAINS, BULK, FAN, PACK]),
    (WorkIntent("out", Thing("part", "C1")), [BULK]),
    (WorkIntent("out", Thing("part", "U2")), []),
    (WorkIntent("out", Thing("fastener", "screw", 4)), []),
    (WorkIntent("method", text="hot air"), [HOT]),
    (WorkIntent("method", text="tweezers"), []),
]  # fmt: skip


@pytest.mark.parametrize(("said", "cautions"), MOMENTS)
def test_each_comes_at_its_moment_and_once(said: Any, cautions: list[tuple[str, str]]) -> None:
    bench = Bench()
    assert given_in(bench.hear(said)) == cautions
    again = said
    if isinstance(said, WorkIntent) and said.thing is not None:
        again = replace(said, thing=replace(said.thing, name="shield", kind="cover"))
    assert not set(given_in(bench.hear(again))) & set(cautions)


PLAIN = """\
board: P-1
points:
  - {name: rail 5, nominal: 5 V}
parts:
  - {ref: U2, is: regulator}
"""
PROBED = PLAIN.replace("points:\n", "points:\n  - {name: probe, quantity: voltage}\n")
CHARGED = PLAIN + "hazards:\n  - {is: capacitor, ref: C5, capacitance: 100 uF, voltage: 400 V}\n"
HIGH = PLAIN.replace("nominal: 5 V", "nominal: 325 V")
U2 = WorkIntent("out", Thing("part", "U2"))
LID_BACK = WorkIntent("back", Thing("cover", "lid"))
GROUNDING = [
    # nobody is told to ground himself beside a live part (common practice, no source)
    (BOARD, [LID], []),
    (BOARD, [LID, OFF], [1]),
    (BOARD, [LID, ON, OFF, ON, OFF], [2]),
    (BOARD, [OFF, LID, ON, OFF], [1]),
    (BOARD, [LID, LID_BACK, OFF], []),
    (HIGH, [U2], []),
    (HIGH, [U2, OFF], [1]),
    (PROBED, [reading("probe", "325"), LID], []),
    (CHARGED, [LID], []),
    (CHARGED, [LID, OFF], [1]),
    (CHARGED.replace("400 V", "16 V"), [LID], [0]),
    (PLAIN, [U2], [0]),
    (PLAIN, [LID, OFF], [0]),
    (PLAIN, [ON, LID], []),
    (PLAIN, [ON, LID, OFF], [2]),
]


@pytest.mark.parametrize(("board", "said", "after"), GROUNDING)
def test_static_waits_until_the_supply_is_disconnected(board: str, said: list[Any], after: list[int]) -> None:
    bench = Bench(board=read_board(board, "board.yaml"))
    cautions = [given_in(bench.hear(each)) for each in said]
    assert [at for at, given in enumerate(cautions) if STATIC in given] == after


@pytest.mark.parametrize(
    ("said", "point"),
    [(reading("line input", "230"), "line input"), (reading("bulk rail", "310"), "bulk rail"),
     (reading("bulk rail", "5"), None), (reading("rail 5", "5.02"), None)],
)  # fmt: skip
def test_what_is_live_though_the_supply_was_disconnected_is_told_every_time(said: Any, point: str | None) -> None:
    bench = Bench()
    for power, warned in ((ON, False), (OFF, True), (OFF, True)):
        bench.hear(power)
        told = [about for hazard, about in given_in(bench.hear(said)) if hazard == "live without supply"]
        assert told == ([point] if warned and point else [])


def test_power_ends_what_waits_for_a_discharge() -> None:
    bench = Bench()
    bench.hear(OFF)
    bench.hear(WorkIntent("timer", text="discharge timer", value=value("30", "s", said=True)))
    bench.hear(WorkIntent("timer", text="soak test timer", value=value("30", "s", said=True)))
    done = bench.hear(ON)
    assert done.decision.names == ("powered", "discharge timer")
    assert [timer.name for timer in bench.state.timers.running] == ["soak test timer"]
    stopped = next(event for event in done.events if event.kind == "timer stopped")
    assert stopped.why == "the unit was powered"


def test_static_waits_for_a_new_process_too() -> None:
    """After a restart it is not certain that what was powered still is; nor that it is not."""
    board = read_board(PLAIN, "board.yaml")
    bench = Bench(board=board)
    bench.hear(ON)
    state, _ = reopen(bench.state, at=START, job="job-9", engine="panel", version="0")
    opened = step(state, hearing(LID, after_s=60), word_question=lambda _: "?")
    assert STATIC not in given_in(opened)
    assert STATIC in given_in(step(opened.state, hearing(OFF, after_s=64), word_question=lambda _: "?"))


def test_a_capacitors_caution_holds_its_numbers() -> None:
    """470 uF, 10 kohm, 400 V to 50 V: 37.6 J, 9.8 s (a resistor maker's design sheet, and computed)."""
    done = Bench().hear(OFF)
    event = next(event for event in done.events if isinstance(event, Caution))
    assert (event.volts, event.joules, event.safe_volts) == ("400", "37.600000", "50")
    assert round(Decimal(event.seconds or 0), 1) == Decimal("9.8")
    assert (event.why, event.heard) == ("the supply was disconnected", done.events[0].seq)
    told = done.decision.cautions[0]
    assert (told.volts, told.joules, told.seconds) == (Decimal(400), Decimal("37.600000"), Decimal(event.seconds or 0))


def test_what_is_asked_about_cautions_of_nothing_yet() -> None:
    bench = Bench()
    assert given_in(bench.hear(reading("probe", "61"), trust=Trust.DOUBTFUL)) == []
    assert given_in(bench.hear(answer("yes"))) == [("high voltage", "probe")]


def test_power_brings_them_back() -> None:
    bench = Bench()
    bench.hear(LID)
    assert given_in(bench.hear(ON)) == [MAINS, FAN]  # with the lid off they are nearer than before
    assert given_in(bench.hear(ON)) == []  # it was powered already
    assert given_in(bench.hear(OFF)) == [BULK, STATIC]  # charged anew; the battery is as before
    assert given_in(bench.hear(ON)) == [MAINS, FAN]
    assert given_in(bench.hear(go_to("bulk rail"))) == [("high voltage", "bulk rail")]


def test_a_new_session_says_them_again() -> None:
    bench = Bench()
    bench.hear(ON)
    state, _ = reopen(bench.state, at=START, job="job-9", engine="panel", version="0")
    assert (state.power, state.marked) == (None, "powered")
    assert not state.context.unacknowledged  # nobody acknowledges what was said yesterday
    done = step(state, hearing(ON, after_s=60), word_question=lambda _: "?")
    assert given_in(done) == [MAINS, FAN]


def test_what_was_powered_is_taken_to_be_so_until_it_is_told_to_be_off() -> None:
    """Neither a restart nor a step back switches it off; what must not be measured under power stays stopped."""
    bench = Bench()
    bench.hear(ON)
    state, _ = reopen(bench.state, at=START, job="job-9", engine="panel", version="0")
    heard = hearing(reading("rail 5 to ground", "220", "ohm"), after_s=60)
    assert step(state, heard, word_question=lambda _: "?").decision.about == "stopped"
    off = step(state, hearing(OFF, after_s=60), word_question=lambda _: "?").state
    heard = hearing(reading("rail 5 to ground", "220", "ohm"), after_s=64)
    assert step(off, heard, word_question=lambda _: "?").decision.about == "reading"


# --- acknowledged, and asked for again ------------------------------------------------------------------------------
def test_what_waits_is_acknowledged_together() -> None:
    bench = Bench()
    assert not bench.state.context.unacknowledged
    bench.hear(ON)
    assert bench.state.context.unacknowledged
    done = bench.hear(UNDERSTOOD)
    acknowledged = done.events[1]
    assert isinstance(acknowledged, Acknowledged)
    assert acknowledged.cautions == tuple(event.seq for event in bench.journal if isinstance(event, Caution))
    assert not bench.state.context.unacknowledged
    assert bench.hear(UNDERSTOOD).decision.why == "no caution waits"


def test_they_are_said_again_when_asked_for() -> None:
    bench = Bench()
    asked = bench.hear(WHICH)
    declared = [(told.hazard, told.about) for told in asked.decision.cautions]
    assert declared == [MAINS, BULK, FAN, PACK]  # none was given yet: those of the board file
    assert [event.kind for event in asked.events] == ["heard", "command"]
    bench.hear(ON)
    assert [told.hazard for told in bench.hear(WHICH).decision.cautions] == ["mains", "moving parts"]


def test_acknowledging_or_asking_leaves_an_open_question_as_it_is() -> None:
    bench = Bench()
    bench.hear(ON)
    bench.hear(reading("rail 5", "5.02"), trust=Trust.DOUBTFUL)
    bench.hear(UNDERSTOOD)
    bench.hear(WHICH)
    bench.hear(answer("yes"))
    assert [read.value for read in bench.state.readings] == ["5.02"]


def test_a_checklist_that_begins_at_a_hazardous_point_brings_its_caution_first() -> None:
    listed = read_checklist("checklist: Hot\nsteps: [{measure: line input}, {measure: rail 5}]\n", "l.yaml", READ)
    bench = Bench(listed)
    state, events = cautions_at_hand(bench.state, START)
    assert [(event.hazard, event.about, event.heard) for event in events] == [(*MAINS, None)]
    assert resume(READ, None, [*bench.journal, *events], listed) == state
    assert cautions_at_hand(state, START) == (state, ())
    assert cautions_at_hand(Bench().state, START)[1] == ()


# --- power ----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("point", ["rail 5 to ground", "bridge"])
def test_what_must_not_be_measured_under_power_is_stopped(point: str) -> None:
    bench = Bench()
    unit = "V" if point == "bridge" else "ohm"
    said = reading(point, "0.52" if point == "bridge" else "220", unit)
    bench.hear(ON)
    done = bench.hear(said)
    assert (done.decision.about, done.decision.outcome) == ("stopped", Outcome.IGNORED)
    assert done.decision.why == "the unit is marked powered"
    assert not any(isinstance(event, Reading) for event in bench.journal)
    assert given_in(done) == [("powered measurement", point)]
    assert given_in(bench.hear(said)) == [("powered measurement", point)]  # every time
    bench.hear(OFF)
    assert [event.kind for event in bench.hear(said).events] == ["heard", "reading"]


def test_what_its_value_was_need_not_be_asked() -> None:
    bench = Bench()
    bench.hear(ON)
    doubtful = bench.hear(reading("rail 5 to ground", "220", "ohm"), trust=Trust.DOUBTFUL)
    either = bench.hear(reading("rail 5 to ground", "220", "ohm"), reading("rail 5 to ground", "2.20", "ohm"))
    for done in (doubtful, either):
        assert done.decision.about == "stopped"
        assert given_in(done) == [("powered measurement", "rail 5 to ground")]
        assert bench.state.question is None


def test_a_name_that_was_only_nearly_heard_is_asked_all_the_same() -> None:
    for trust in (Trust.DOUBTFUL, Trust.AGREED):
        bench = Bench()
        bench.hear(ON)
        near = replace(reading("rail 5 to ground", "220", "ohm"), near=True)
        assert bench.hear(near, trust=trust).decision.outcome is Outcome.ASKED


def test_a_doubtful_correction_is_asked_all_the_same() -> None:
    """What it corrects was read without power."""
    bench = Bench()
    bench.hear(reading("rail 5 to ground", "220", "ohm"))
    bench.hear(ON)
    done = bench.hear(CommandIntent("correction", None, value("210", "ohm")), trust=Trust.DOUBTFUL)
    assert done.decision.outcome is Outcome.ASKED


def test_it_ends_a_question_about_another_point() -> None:
    bench = Bench()
    bench.hear(ON)
    bench.hear(reading("rail 5", "5.02"), trust=Trust.DOUBTFUL)
    done = bench.hear(reading("rail 5 to ground", "220", "ohm"))
    assert done.decision.about == "stopped"
    assert any(isinstance(event, Lapsed) for event in done.events)
    assert bench.state.question is None


def test_a_correction_is_stopped_too() -> None:
    bench = Bench()
    bench.hear(reading("rail 5 to ground", "220", "ohm"))
    bench.hear(ON)
    done = bench.hear(CommandIntent("correction", None, value("210", "ohm")))
    assert done.decision.about == "stopped"
    top = bench.state.readings.top
    assert top is not None
    assert top.value == "220"


def test_who_turns_to_such_a_point_under_power_is_told_before_he_measures() -> None:
    bench = Bench()
    assert given_in(bench.hear(go_to("bridge"))) == []
    bench.hear(ON)
    assert given_in(bench.hear(go_to("bridge"))) == [("powered measurement", "bridge")]


def test_nothing_is_stopped_where_nobody_said_how_the_unit_stands() -> None:
    assert Bench().hear(reading("bridge", "0.52")).decision.about == "reading"


# --- with a checklist -----------------------------------------------------------------------------------------------
def both(state: SessionState) -> tuple[str | None, str | None]:
    """How the unit stands for the session and for its list."""
    assert state.progress is not None
    return state.power, state.progress.place.power


def test_an_answer_to_the_checklist_is_the_sessions_power_too() -> None:
    bench = Bench(LISTED)
    done = bench.hear(answer("yes"))  # "is the unit without power?"
    assert both(bench.state) == ("unpowered", "unpowered")
    assert given_in(done) == [BULK, PACK]
    bench.hear(reading(None, "220", "ohm"))
    done = bench.hear(answer("yes"))  # "is the unit powered?"
    assert both(bench.state) == ("powered", "powered")
    assert given_in(done) == [MAINS, FAN]
    done = bench.hear(reading(None, "5.02"))  # the list goes on to the bulk rail
    assert given_in(done) == [("high voltage", "bulk rail")]


def test_what_is_said_of_the_power_answers_the_checklist() -> None:
    bench = Bench(LISTED)
    done = bench.hear(OFF)
    assert both(bench.state) == ("unpowered", "unpowered")
    assert done.decision.step is not None
    assert done.decision.step.kind == "measure"
    assert bench.state.current == "rail 5 to ground"


def test_a_step_that_is_no_longer_due_asks_for_the_supply() -> None:
    bench = Bench(LISTED)
    bench.hear(OFF)
    done = bench.hear(ON)
    assert both(bench.state) == ("powered", "powered")
    assert done.decision.step is not None
    assert (done.decision.step.kind, done.decision.step.power) == ("power", "unpowered")
    assert bench.state.current is None
    assert bench.hear(reading("rail 5 to ground", "220", "ohm")).decision.about == "stopped"
    bench.hear(OFF)
    assert bench.state.current == "rail 5 to ground"


def test_back_over_the_answer_forgets_it() -> None:
    bench = Bench(LISTED)
    bench.hear(answer("yes"))
    bench.hear(command("back"), trust=Trust.TYPED)
    assert both(bench.state) == (None, None)


# --- whatever is said -----------------------------------------------------------------------------------------------
_SAID = st.sampled_from(
    [
        ON, OFF, ON, OFF, UNDERSTOOD, WHICH, LID, command("next"), command("back"), command("strike"),
        answer("yes"), answer("no"), go_to("bridge"), go_to("line input"), reading(None, "220", "ohm"),
        reading("rail 5 to ground", "220", "ohm"), reading("bridge", "0.52"), reading("rail 5", "5.02"),
        reading("probe", "70"), CommandIntent("correction", None, value("210", "ohm")),
        WorkIntent("method", text="hot air"), WorkIntent("back", Thing("cover", "lid")),
    ]
)  # fmt: skip
_TRUSTS = st.sampled_from([Trust.AGREED, Trust.AGREED, Trust.TYPED, Trust.DOUBTFUL])


@given(st.lists(st.tuples(_SAID, _TRUSTS), max_size=25), st.sampled_from([None, LISTED]))
@settings(max_examples=150, deadline=None)
def test_whatever_is_said_nothing_is_kept_against_the_power(talk: list[Any], checklist: Checklist | None) -> None:
    bench = Bench(checklist)
    for said, trust in talk:
        before = bench.state
        done = bench.hear(said, trust=trust)
        for event in done.events:
            if isinstance(event, Reading) and READ.point(event.point).unpowered:
                assert before.power != "powered"
        if bench.state.progress is not None:
            assert bench.state.power == bench.state.progress.place.power
        waits = {event.seq for event in bench.journal if isinstance(event, Caution)}
        waits -= {seq for event in bench.journal if isinstance(event, Acknowledged) for seq in event.cautions}
        assert set(bench.state.cautions.waiting) == waits
        spoken = [(each.hazard, each.about) for each in done.events if isinstance(each, Caution)]
        assert len(spoken) == len(set(spoken))

"""Values that follow from readings: kept with the last of their inputs, and gone or anew when one is struck."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, cast

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from benchvoice.answer.phrases import Phrasebook
from benchvoice.commands.settings import load_phrasebook
from benchvoice.decide.checklist_file import read_checklist
from benchvoice.decide.coverage import not_covered
from benchvoice.decide.profile import Board, read_board, read_meter
from benchvoice.decide.session import open_session, reopen, resume, step, take_back
from benchvoice.decide.turn import Step
from benchvoice.errors import BoardError
from benchvoice.events import EVENTS, Event, Reading, Withdrawn
from benchvoice.keep.record import fold
from benchvoice.keep.record_customer import customer_page
from benchvoice.keep.report import render_html
from benchvoice.records import CommandName, Intent, Outcome, ReadingIntent, Thing, Trust, WorkIntent
from tests.decide.builders import METER, START, answer, command, go_to, hearing, reading, value

BOARD = """\
board: MD-3 motor driver
points:
  - {name: motor voltage, nominal: 12 V, tolerance: 10 %}
  - {name: shunt drop, quantity: voltage, limits: {high: 200 mV}}
  - name: motor current
    limits: {low: 0.8 A, high: 1.2 A}
    computed: {drop: shunt drop, across: 0.1 ohm, tolerance: 1 %}
  - {name: motor power, computed: {voltage: motor voltage, current: motor current}}
  - {name: driver body, quantity: temperature}
  - {name: ambient, quantity: temperature}
  - {name: driver rise, limits: {high: 40 K}, computed: {temperature: driver body, over: ambient}}
  - {name: gain, computed: {voltage: motor voltage, ratio to: shunt drop}}
"""
READ = read_board(BOARD, "board.yaml")
MEASURED = [point.name for point in READ.points if point.computed is None]


class Bench:
    """A session with its journal; each utterance begins four seconds after the end of the one before."""

    def __init__(self, board: Board = READ, meter: str | None = None) -> None:
        self.board = board
        self.meter = None if meter is None else read_meter(meter, "meter.yaml")
        self.state, opened = open_session(board, self.meter, at=START, job="j", engine="panel", version="0")
        self.journal: list[Event] = list(opened)
        self.seconds = 0

    def hear(self, *meanings: Intent, trust: Trust = Trust.AGREED) -> Step:
        self.seconds += 5
        heard = hearing(*meanings, trust=trust, after_s=self.seconds)
        done = step(self.state, heard, word_question=lambda _: "?")
        self.state = done.state
        self.journal += done.events
        assert resume(self.board, self.meter, self.journal) == self.state
        return done

    def keep(self, made: tuple[Any, tuple[Event, ...]]) -> tuple[Event, ...]:
        self.state, events = made
        self.journal += events
        return events

    def computed(self) -> list[tuple[str, str]]:
        """Point and value of the computed values that count, oldest first."""
        return [(each.point, each.value) for each in reversed(tuple(self.state.computed))]


@pytest.fixture
def bench() -> Bench:
    return Bench()


@pytest.fixture(scope="module")
def phrases() -> Phrasebook:
    return load_phrasebook(READ)


def kinds(done: Step) -> list[str]:
    return [f"{event.kind} {getattr(event, 'point', '')}".strip() for event in done.events]


def told(done: Step) -> list[str]:
    return [f"{each.point}: {each.value or each.why or 'gone'}" for each in done.decision.computed]


def test_it_is_kept_right_after_the_reading_that_completes_it(bench: Bench) -> None:
    done = bench.hear(reading("shunt drop", "123", "mV"))
    assert kinds(done) == ["heard", "reading shunt drop", "reading motor current"]
    drop, current = done.events[1:]
    assert isinstance(drop, Reading)
    assert isinstance(current, Reading)
    assert (current.value, current.unit, current.quantity) == ("1.23", "A", "current")
    assert (current.statement, current.direction) == ("fail", "high")
    assert (current.follows_from, current.heard, current.stage) == ((drop.seq,), drop.heard, "before")
    assert "shunt drop across 0.1 ohm (1 %)" in current.basis
    # 0.5 mV of rounding over 0.1 ohm, and 1 % of 1.23 A, both as rectangles: 2 x root of (0.005^2 + 0.0123^2) / 3
    assert current.uncertainty == "0.01533"
    assert told(done) == ["motor current: 1.23 A"]


def test_what_follows_from_something_computed_follows_with_it(bench: Bench) -> None:
    bench.hear(reading("motor voltage", "12.1"))
    done = bench.hear(reading("shunt drop", "100", "mV"))
    assert kinds(done)[1:] == [
        "reading shunt drop",
        "reading motor current",
        "reading motor power",
        "reading gain",
    ]
    power = done.events[3]
    assert isinstance(power, Reading)
    assert (power.value, power.unit) == ("12.1", "W")
    assert power.follows_from == (3, 5)


def test_the_meter_counts_through_its_readings() -> None:
    bench = Bench(meter=METER)
    done = bench.hear(reading("shunt drop", "100.0", "mV"))
    current = done.events[2]
    assert isinstance(current, Reading)
    # 0.5 % of 100 mV and 2 counts of 0.1 mV are 0.7 mV, over 0.1 ohm 7 mA; 1 % of 1 A is 10 mA (computed)
    assert current.uncertainty == "0.01409"
    assert current.basis == "computed, shunt drop across 0.1 ohm (1 %); meter"


SUPPLY = """\
board: MD-3 motor driver
points:
  - {name: shunt drop, quantity: voltage}
  - {name: supply current, limits: {LIMITS}, computed: {drop: shunt drop, across: 0.22 ohm, tolerance: 1 %}}
"""


@pytest.mark.parametrize(
    ("limits", "drop", "shown", "statement"),
    [  # computed by hand: 0.34 / 0.22 = 1.5454..., U = 2 x root of ((0.005 / 0.22)^2 + 0.015454^2) / 3 = 0.0317
        ("high: 1.5 A", "0.34", "1.55", "fail"),
        ("high: 1.5 A", "0.340", "1.55", "fail"),
        ("high: 1.6 A", "0.34", "1.5", "pass"),
        ("high: 1.545 A", "0.34", "1.55", "conditional fail"),
        ("low: 1.546 A", "0.34", "1.5", "conditional fail"),
        ("low: 1.51 A", "0.34", "1.55", "pass"),  # 1.5 would be below it
        ("low: -1.5 A", "-0.34", "-1.55", "fail"),
    ],
)
def test_it_is_judged_before_it_is_rounded(limits: str, drop: str, shown: str, statement: str) -> None:
    bench = Bench(read_board(SUPPLY.replace("LIMITS", limits), "b.yaml"))
    current = bench.hear(reading("shunt drop", drop)).events[2]
    assert isinstance(current, Reading)
    assert (current.value, current.statement) == (shown, statement)


def test_its_deviation_is_that_of_what_is_shown() -> None:
    board = SUPPLY.replace("limits: {LIMITS}", "nominal: 1.5 A, tolerance: 10 %")
    current = Bench(read_board(board, "b.yaml")).hear(reading("shunt drop", "0.34")).events[2]
    assert isinstance(current, Reading)
    assert (current.value, current.deviation, current.deviation_percent) == ("1.5", "0.0", "0.00")


def test_only_readings_of_one_stage_go_together(bench: Bench) -> None:
    bench.hear(reading("driver body", "62", "degC"))
    bench.hear(command("after"))
    bench.hear(command("after"), trust=Trust.TYPED)
    assert bench.state.stage == "after"
    assert bench.hear(reading("ambient", "21", "degC")).decision.computed == ()
    assert told(bench.hear(reading("driver body", "58", "degC"))) == ["driver rise: 37 K"]


def test_a_newer_reading_makes_a_newer_value(bench: Bench) -> None:
    bench.hear(reading("shunt drop", "100", "mV"))
    done = bench.hear(reading("shunt drop", "90", "mV"))
    assert kinds(done)[1:] == ["reading shunt drop", "reading motor current"]
    record = fold(bench.journal)
    assert [(r.value, r.status) for r in record.readings if r.point == "motor current"] == [
        ("1.00", "superseded"),
        ("0.90", "current"),
    ]


def test_a_struck_input_takes_it_along(bench: Bench) -> None:
    bench.hear(reading("shunt drop", "100", "mV"))
    done = bench.hear(command("strike"))
    assert [event.kind for event in done.events] == ["heard", "command", "withdrawn", "withdrawn"]
    assert told(done) == ["motor current: gone"]
    assert bench.computed() == []
    assert [r.status for r in fold(bench.journal).readings] == ["withdrawn", "withdrawn"]


def test_what_counted_before_the_struck_one_counts_again(bench: Bench) -> None:
    bench.hear(reading("shunt drop", "100", "mV"))
    bench.hear(reading("shunt drop", "90", "mV"))
    done = bench.hear(command("strike"))
    assert told(done) == ["motor current: 1.00 A"]
    current = next(point for point in fold(bench.journal).points if point.name == "motor current")
    assert current.before is not None
    assert current.before.value == "1.00"


def test_a_pair_that_was_never_computed_together_is_computed_when_a_strike_makes_it(bench: Bench) -> None:
    bench.hear(reading("ambient", "20", "degC"))
    bench.hear(reading("driver body", "60", "degC"))
    bench.hear(reading("ambient", "22", "degC"))
    bench.hear(reading("driver body", "64", "degC"))
    done = bench.hear(command("correction", "ambient", value("21", "degC")))
    assert told(done) == ["driver rise: 43 K"]
    done = bench.hear(command("strike"))
    assert told(done) == ["driver rise: 44 K"]  # of 64 and 20, which nobody had read together
    rise = next(point for point in fold(bench.journal).points if point.name == "driver rise")
    assert rise.before is not None
    assert rise.before.value == "44"


def test_a_correction_withdraws_and_computes_anew(bench: Bench) -> None:
    bench.hear(reading("shunt drop", "123", "mV"))
    done = bench.hear(command("correction", None, value("100", "mV")))
    assert [event.kind for event in done.events] == [
        "heard",
        "command",
        "withdrawn",
        "withdrawn",
        "reading",
        "reading",
    ]
    assert told(done) == ["motor current: 1.00 A"]
    assert bench.computed() == [("motor current", "1.00")]


def test_a_correction_that_moves_the_reading_away_takes_it_along(bench: Bench) -> None:
    bench.hear(reading("driver body", "60", "degC"))
    done = bench.hear(command("correction", "ambient", value("21", "degC")))
    assert done.decision.about == "correction"
    assert done.decision.computed == ()
    done = bench.hear(reading("driver body", "60", "degC"))
    assert told(done) == ["driver rise: 39 K"]


@pytest.mark.parametrize(
    ("point", "digits", "unit", "expected"),
    [
        ("shunt drop", "over range", "mV", ["motor current: shunt drop is over range"]),
        ("shunt drop", "0", "mV", ["gain: nothing has no level"]),
    ],
)
def test_what_cannot_be_computed_is_told_and_does_not_leave_an_older_value(
    bench: Bench, point: str, digits: str, unit: str, expected: list[str]
) -> None:
    bench.hear(reading("motor voltage", "12.1"))
    bench.hear(reading("shunt drop", "100", "mV"))
    done = bench.hear(reading(point, digits, unit))
    assert set(expected) <= set(told(done))
    for each in expected:
        assert bench.state.latest(each.partition(":")[0]) is None
    bench.hear(command("strike"))
    assert ("motor current", "1.00") in bench.computed()
    assert {"motor current", "motor power", "gain"} == {name for name, _ in bench.computed()}


def test_amps_times_volts_of_ac_are_no_watts() -> None:
    board = read_board(
        "board: HB-1 heater\npoints:\n  - {name: supply, quantity: voltage}\n  - {name: draw, quantity: current}\n"
        "  - {name: heat, computed: {voltage: supply, current: draw}}\n",
        "b.yaml",
    )
    heater = Bench(board)
    heater.hear(reading("draw", "2.00", "A"))
    done = heater.hear(ReadingIntent("supply", value("24.0", waveform="AC")))
    assert told(done) == ["heat: volts times amps of AC are not watts"]


@pytest.mark.parametrize(
    "meant",
    [
        reading("motor current", "1.1", "A"),
        go_to("motor current"),
        command("correction", "motor current", value("1.1", "A")),
    ],
)
@pytest.mark.parametrize("trust", [Trust.AGREED, Trust.TYPED, Trust.DOUBTFUL])
def test_it_cannot_be_read_by_voice(bench: Bench, meant: Intent, trust: Trust) -> None:
    bench.hear(reading("shunt drop", "100", "mV"))
    done = bench.hear(meant, trust=trust)
    assert (done.decision.outcome, done.decision.about) == (Outcome.IGNORED, "refused")
    assert done.decision.why == "motor current is computed, from shunt drop"
    assert bench.computed() == [("motor current", "1.00")]


def test_a_question_that_offers_one_is_answered_by_the_reason(bench: Bench) -> None:
    bench.hear(reading("shunt drop", "100", "mV"), reading("motor current", "1.0", "A"), trust=Trust.DOUBTFUL)
    done = bench.hear(answer("second"))
    assert done.decision.why == "motor current is computed, from shunt drop"


def test_it_is_not_left_by_itself_and_can_be_read_back(bench: Bench) -> None:
    assert bench.state.left() == tuple(MEASURED)
    bench.hear(reading("shunt drop", "100", "mV"))
    assert "motor current" not in bench.state.left()
    done = bench.hear(command("read back", "motor current"))
    assert str(done.decision.value) == "1.00 A"
    assert "motor current" not in [name for gap in fold(bench.journal).not_read for name in gap.points]


def test_speech_that_goes_on_takes_it_back_too(bench: Bench) -> None:
    bench.hear(reading("shunt drop", "100", "mV"))
    done = bench.hear(reading("shunt drop", "4", "mV"))
    undone = bench.keep(take_back(bench.state, START + timedelta(seconds=60), done.events, "speech went on"))
    assert [event.kind for event in undone] == ["withdrawn", "withdrawn"]
    assert bench.computed() == [("motor current", "1.00")]
    assert resume(bench.board, None, bench.journal) == bench.state


def test_taking_back_an_over_range_brings_back_what_it_had_ended(bench: Bench) -> None:
    bench.hear(reading("shunt drop", "100", "mV"))
    done = bench.hear(reading("shunt drop", "over range", "mV"))
    assert bench.computed() == []
    undone = bench.keep(take_back(bench.state, START + timedelta(seconds=60), done.events, "speech went on"))
    assert [event.kind for event in undone] == ["withdrawn", "reading"]
    assert bench.computed() == [("motor current", "1.00")]


def test_a_journal_that_was_cut_before_it_is_completed_on_opening(bench: Bench) -> None:
    bench.hear(reading("driver body", "62", "degC"))
    bench.hear(reading("ambient", "21", "degC"))
    whole = len(bench.journal)
    for lines in range(1, whole + 1):
        state = resume(READ, None, bench.journal[:lines])
        state, events = reopen(state, at=START, job="j", engine="panel", version="0")
        made = [
            event for event in (*bench.journal[:lines], *events) if isinstance(event, Reading) and event.follows_from
        ]
        assert len(made) == (lines >= whole - 1)
        assert [event.seq for event in events] == list(range(lines + 1, lines + 1 + len(events)))
        again, more = reopen(state, at=START, job="j", engine="panel", version="0")
        assert [event.kind for event in more] == ["opened"]
        assert again.computed == state.computed


def test_of_an_earlier_visit_nothing_goes_in(bench: Bench) -> None:
    bench.hear(reading("driver body", "62", "degC"))
    bench.keep(reopen(bench.state, at=START, job="j", engine="panel", version="0", visit=2))
    assert bench.hear(reading("ambient", "21", "degC")).decision.computed == ()


def test_what_rests_on_a_reading_from_before_the_last_work_proves_nothing(bench: Bench) -> None:
    bench.hear(command("after"), trust=Trust.TYPED)
    bench.hear(reading("driver body", "60", "degC"))
    bench.hear(WorkIntent("fitted", Thing("part", "U9")), trust=Trust.TYPED)
    bench.hear(reading("ambient", "21", "degC"))
    points = {point.name: point for point in fold(bench.journal).points}
    assert points["driver rise"].after is not None
    assert points["driver rise"].lacks == ("read before U9 was fitted",)
    assert points["ambient"].lacks == ("not measured before the repair",)


def test_what_was_computed_before_the_repair_alone_is_open(bench: Bench) -> None:
    bench.hear(reading("driver body", "62", "degC"))
    bench.hear(reading("ambient", "21", "degC"))
    bench.hear(command("after"), trust=Trust.TYPED)
    bench.hear(reading("ambient", "21", "degC"))
    points = {point.name: point for point in fold(bench.journal).points}
    assert points["driver rise"].lacks == ("not computed after the repair",)
    assert points["motor current"].lacks == ()  # its inputs are named


def test_the_record_marks_it(bench: Bench) -> None:
    bench.hear(reading("shunt drop", "100", "mV"))
    record = fold(bench.journal)
    assert "computed: <bdi>shunt drop across 0.1 ohm (1 %)</bdi> (line 3)" in render_html(record)
    assert [row.what for row in record.timeline][-1] == "motor current: 1.00 A, pass, computed from line 3"
    assert record.counts.readings == 2
    assert record.counts.accepted == 1


def test_the_customer_is_not_told_that_it_was_measured(bench: Bench) -> None:
    bench.hear(reading("motor voltage", "12.0"))
    bench.hear(reading("shunt drop", "100", "mV"))
    lines = [line for section in customer_page(fold(bench.journal)).sections for line in section.lines]
    assert "Both values measured were within limits." in lines
    assert "The value computed was within limits." in lines
    missing = next(line for line in lines if line.startswith("Not measured"))
    assert ("driver body" in missing, "driver rise" in missing) == (True, False)
    bench.hear(command("after"), trust=Trust.TYPED)
    bench.hear(reading("motor voltage", "12.0"))
    bench.hear(reading("shunt drop", "150", "mV"))
    lines = [line for section in customer_page(fold(bench.journal)).sections for line in section.lines]
    assert "Computed after the repair, but there are no limits to judge it by: motor power, gain." in lines


# --- answers ------------------------------------------------------------------------------------------------------
def test_it_is_said_after_the_reading(bench: Bench, phrases: Phrasebook) -> None:
    bench.hear(reading("motor voltage", "12.1"))
    reply = phrases.reply(bench.hear(reading("shunt drop", "150", "mV")).decision)
    assert reply.text == (
        "Pass. One hundred and fifty millivolts, one five zero. Shunt drop. At most two hundred millivolts. "
        "Makes motor current one point five zero amps: fail, high. "
        "Makes motor power eighteen point two watts, one eight point two. "
        "Makes gain thirty eight point one three decibels."
    )
    assert reply.tone == "fail"  # the tone comes first: it must not pass what fails behind it
    struck = phrases.reply(bench.hear(command("strike")).decision, terse=True)
    assert "Motor current no longer counts." in struck.text
    bench.hear(reading("shunt drop", "0", "mV"))
    reply = phrases.reply(bench.hear(reading("shunt drop", "0", "mV")).decision)
    assert "Gain is not computed: nothing has no level." in reply.text


def test_a_strike_in_another_stage_says_in_which_it_no_longer_counts(bench: Bench, phrases: Phrasebook) -> None:
    bench.hear(command("after"), trust=Trust.TYPED)
    bench.hear(reading("driver body", "50", "degC"))
    bench.hear(reading("ambient", "21", "degC"))
    bench.hear(command("before"), trust=Trust.TYPED)
    bench.hear(reading("driver body", "60", "degC"))
    bench.hear(reading("ambient", "24", "degC"))
    bench.hear(command("after"), trust=Trust.TYPED)
    struck = phrases.reply(bench.hear(command("strike"), trust=Trust.TYPED).decision).text
    if struck.endswith("?"):  # the stage was changed since
        struck = phrases.reply(bench.hear(answer("yes")).decision).text
    assert struck.endswith("Driver rise no longer counts before the repair.")
    assert bench.state.latest("driver rise") is not None
    bench.hear(command("before"), trust=Trust.TYPED)
    bench.hear(reading("ambient", "24", "degC"))
    struck = phrases.reply(bench.hear(command("strike"), trust=Trust.TYPED).decision).text
    assert struck.endswith("Driver rise no longer counts.")


# --- another board file -------------------------------------------------------------------------------------------
_POWER = "  - {name: motor power, computed: {voltage: motor voltage, current: motor current}}\n"
_CURRENT = "    computed: {drop: shunt drop, across: 0.1 ohm, tolerance: 1 %}\n"


@pytest.mark.parametrize(
    ("old", "new", "withdrawn", "counts"),
    [
        ("0.1 ohm", "0.1 ohm", 0, {"motor current": "1.50", "motor power": "18.2", "gain": "38.13"}),
        ("0.1 ohm", "0.2 ohm", 2, {"motor current": "0.750", "motor power": "9.08", "gain": "38.13"}),
        ("tolerance: 1 %}", "tolerance: 5 %}", 1, {"motor current": "1.50", "motor power": "18.2", "gain": "38.13"}),
        ("drop: shunt drop", "drop: other drop", 2, {"gain": "38.13"}),
        (_POWER, "", 1, {"motor current": "1.50", "gain": "38.13"}),
        (_CURRENT, "", 2, {"gain": "38.13"}),
        ("name: motor power, c", "name: motor watts, c", 1, {"motor current": "1.50", "motor watts": "18.2"}),
    ],
)
def test_a_board_file_that_was_corrected_computes_anew(
    bench: Bench, old: str, new: str, withdrawn: int, counts: dict[str, str]
) -> None:
    bench.hear(reading("motor voltage", "12.1"))
    bench.hear(reading("shunt drop", "150", "mV"))
    text = BOARD.replace(old, new) + "  - {name: other drop, quantity: voltage}\n"
    state = resume(read_board(text, "b.yaml"), None, bench.journal)
    state, events = reopen(state, at=START, job="j", engine="panel", version="0")
    ended = [event for event in events if isinstance(event, Withdrawn)]
    assert [event.why for event in ended] == ["the board file is another"] * withdrawn
    record = fold([*bench.journal, *events])
    shown = {each.point: each.value for each in record.readings if each.status == "current" and each.follows_from}
    assert counts.items() <= shown.items()
    assert set(shown) <= {*counts, "gain"}
    assert shown == {each.point: each.value for each in state.computed}
    assert [event.seq for event in events] == list(range(events[0].seq, state.next_seq))
    assert [event.kind for event in reopen(state, at=START, job="j", engine="panel", version="0")[1]] == ["opened"]


# --- what would be absurd ------------------------------------------------------------------------------------------
ABSURD = """\
board: MD-3 motor driver
points:
  - {name: shunt drop, quantity: voltage}
  - {name: supply current, limits: {high: 1.5 A}, computed: {drop: shunt drop, across: 0.1 ohm}}
  - {name: body, quantity: temperature}
  - {name: ambient, quantity: temperature}
  - {name: rise, limits: {high: 40 K}, computed: {temperature: body, over: ambient}}
  - {name: gain, nominal: 20 dB, tolerance: 10 %, computed: {voltage: shunt drop, ratio to: 10 mV}}
"""


def test_what_would_be_absurd_is_asked_before_the_reading_is_kept() -> None:
    bench = Bench(read_board(ABSURD, "b.yaml"))
    done = bench.hear(reading("shunt drop", "-0.25"))
    assert kinds(done) == ["heard", "asked"]
    assert done.decision.why == "absurd: supply current would be -2.5 A: the wrong sign"
    words = load_phrasebook(bench.board)
    asked = (
        "Minus zero point two five volts on shunt drop? It makes supply current minus two point five amps. "
        "Say yes, or the value again."
    )
    assert words.reply(done.decision).text == asked
    again = bench.hear(answer("second"))
    assert words.reply(again.decision).text == asked
    done = bench.hear(answer("yes"))
    assert kinds(done) == ["heard", "reading shunt drop", "reading supply current", "reading gain"]


@pytest.mark.parametrize(
    ("point", "digits", "unit", "why"),
    [
        ("shunt drop", "0.1", "V", ""),
        ("shunt drop", "0", "V", ""),  # a dead board
        ("shunt drop", "over range", "V", ""),
        ("shunt drop", "0.0001", "V", ""),  # a gain of -40 dB: a dead output
        ("shunt drop", "2.5", "V", "supply current would be 25 A: ten times what is expected, or more"),
        ("body", "15", "degC", "rise would be -6 K: the wrong sign"),
        ("body", "21", "degC", ""),
        ("body", "430", "degC", "rise would be 409 K: ten times what is expected, or more"),
    ],
)
def test_what_a_measured_point_would_be_asked_about(point: str, digits: str, unit: str, why: str) -> None:
    bench = Bench(read_board(ABSURD, "b.yaml"))
    bench.hear(reading("ambient", "21", "degC"))
    decision = bench.hear(reading(point, digits, unit)).decision
    assert decision.why == (f"absurd: {why}" if why else "")
    assert decision.outcome is (Outcome.ASKED if why else Outcome.ACCEPTED)


def test_a_correction_is_asked_for_what_it_would_make_without_the_wrong_one() -> None:
    bench = Bench(read_board(ABSURD, "b.yaml"))
    bench.hear(reading("shunt drop", "0.1"))
    done = bench.hear(command("correction", "shunt drop", value("-0.1")))
    assert done.decision.why == "absurd: supply current would be -1 A: the wrong sign"
    assert bench.computed() == [("supply current", "1"), ("gain", "20")]
    bench.hear(reading(None, "0.12"))
    assert ("supply current", "1.2") in bench.computed()
    assert ("supply current", "1") not in bench.computed()


# --- files --------------------------------------------------------------------------------------------------------
def test_a_checklist_does_not_measure_it() -> None:
    text = "checklist: Motor\nsteps:\n  - {measure: motor voltage}\n  - {measure: motor power}\n"
    with pytest.raises(
        BoardError,
        match=r"^list\.yaml, line 4, steps\[1\]\.measure: 'motor power' is computed, not measured\. "
        r"Measure motor voltage and shunt drop: it follows from the last of them\.$",
    ):
        read_checklist(text, "list.yaml", READ)


def test_no_meter_has_to_cover_it() -> None:
    remarks = not_covered(READ, read_meter(METER, "meter.yaml"))
    assert [remark.split(":")[0] for remark in remarks] == ["driver body", "ambient"]


# --- whatever is said ---------------------------------------------------------------------------------------------
_SAID = st.one_of(
    st.tuples(st.sampled_from(MEASURED), st.sampled_from(["0", "0.11", "11.0", "21", "over range"])),
    st.sampled_from(["strike", "strike", "after", "before", "reopen"]),
    st.tuples(st.just("correction"), st.sampled_from(MEASURED), st.sampled_from(["10.5", "40"])),
)


def _unit(point: str) -> str:
    return "degC" if READ.point(point).quantity == "temperature" else "V"


def _say(bench: Bench, said: Any) -> None:
    match said:
        case "reopen":
            bench.keep(reopen(bench.state, at=START, job="j", engine="panel", version="0"))
        case str():
            bench.hear(command(cast(CommandName, said)), trust=Trust.TYPED)
        case ("correction", point, digits):
            bench.hear(command("correction", point, value(digits, _unit(point))), trust=Trust.TYPED)
        case (point, digits):
            bench.hear(reading(point, digits, _unit(point)), trust=Trust.TYPED)


@given(st.lists(_SAID, max_size=20))
@settings(max_examples=100, deadline=None)
def test_every_value_follows_from_the_latest_inputs_that_count(talk: list[Any]) -> None:
    bench = Bench()
    for said in talk:
        _say(bench, said)
        _check(bench)
    on_disk = [EVENTS.validate_json(EVENTS.dump_json(event)) for event in bench.journal]
    assert resume(READ, None, on_disk) == bench.state


@given(st.lists(_SAID, min_size=3, max_size=9))
@example([("driver body", "21"), ("ambient", "11.0"), "strike"])
@example([("ambient", "11.0"), ("driver body", "21"), ("driver body", "11.0"), "strike"])
@example([("ambient", "11.0"), ("driver body", "21"), ("correction", "ambient", "10.5"), "reopen", "strike"])
@settings(max_examples=40, deadline=None)
def test_at_no_line_of_the_journal_counts_what_rests_on_a_struck_reading(talk: list[Any]) -> None:
    bench = Bench()
    for said in talk:
        _say(bench, said)
    for lines in range(1, len(bench.journal) + 1):
        prefix = bench.journal[:lines]
        _check_prefix(prefix)
        state, events = reopen(resume(READ, None, prefix), at=START, job="j", engine="panel", version="0")
        cut = Bench()
        cut.state, cut.journal = state, [*prefix, *events]
        assert resume(READ, None, cut.journal) == state
        _check(cut)


def test_an_input_was_struck_and_the_power_failed() -> None:
    bench = Bench()
    bench.hear(reading("shunt drop", "100", "mV"))
    done = bench.hear(command("strike"))
    assert [event.kind for event in done.events] == ["heard", "command", "withdrawn", "withdrawn"]
    prefix = bench.journal[:-1]
    assert resume(READ, None, prefix).latest("motor current") is None
    record = fold(prefix)
    assert [(r.status, r.ended_by) for r in record.readings] == [("withdrawn", prefix[-1].seq)] * 2
    assert [(r.status, r.ended_by) for r in fold(bench.journal).readings] == [
        ("withdrawn", prefix[-1].seq),
        ("withdrawn", bench.journal[-1].seq),
    ]


def _check_prefix(prefix: list[Event]) -> None:
    state = resume(READ, None, prefix)
    struck = {event.reading for event in prefix if isinstance(event, Withdrawn)}
    record = {point.name: point for point in fold(prefix).points}
    for each in state.computed:
        assert not struck.intersection((each.seq, *each.follows_from))
    for point in READ.points:
        for stage in ("before", "after"):
            shown, standing = getattr(record[point.name], stage), state.latest(point.name, stage)
            assert (None if shown is None else shown.seq) == (None if standing is None else standing.seq)


def _check(bench: Bench) -> None:
    state = bench.state
    struck = {event.reading for event in bench.journal if isinstance(event, Withdrawn)}
    record = {point.name: point for point in fold(bench.journal).points}
    for point in READ.computed:
        for stage in ("before", "after"):
            inputs = [state.latest(name, stage) for name in READ.measured_for(point.name)]
            standing = state.latest(point.name, stage)
            if None in inputs or any(each is not None and each.value == "over range" for each in inputs):
                assert standing is None
            elif standing is not None:
                assert standing.follows_from == tuple(sorted(each.seq for each in inputs if each is not None))
                assert not struck.intersection((standing.seq, *standing.follows_from))
            else:
                assert point.name == "gain"  # of nothing there is no level
            shown = getattr(record[point.name], stage)
            assert (None if shown is None else shown.seq) == (None if standing is None else standing.seq)

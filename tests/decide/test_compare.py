"""Readings beside a known-good board's, and one channel beside another: kept, said, and found in the record."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

import pytest

from benchvoice.answer.phrases import Phrasebook
from benchvoice.commands.settings import load_phrasebook
from benchvoice.decide.profile import read_board
from benchvoice.decide.session import open_session, reopen, resume
from benchvoice.errors import BoardError
from benchvoice.events import EVENTS, KnownGood, KnownGoodReading, Reading
from benchvoice.keep.record import fold
from benchvoice.keep.report import render_html
from benchvoice.records import ReadingIntent, Trust
from tests.decide.builders import START, command, reading, value
from tests.decide.test_computed import Bench

BOARD = """\
board: AM-4 amplifier
points:
  - {name: left output, quantity: voltage}
  - {name: right output, quantity: voltage}
  - {name: bias diode, quantity: diode drop, known good: 0.62 V}
  - {name: rail 5, nominal: 5 V, tolerance: 5 %}
  - {name: left drop, quantity: voltage}
  - {name: left current, known good: 1 A, computed: {drop: left drop, across: 0.1 ohm}}
  - {name: tap, quantity: voltage}
  - {name: tap by input, computed: {voltage: left output, divided by: {upper: 10 kohm, lower: 10 kohm}}}
alike:
  - {points: [left output, right output], within: 5 %}
  - {points: [tap by input, tap], within: 3 %}
"""
READ = read_board(BOARD, "board.yaml")
GOOD = KnownGood(
    job="good-1",
    board="AM-4 amplifier",
    readings=(
        KnownGoodReading(point="left output", value="2.00", unit="V", uncertainty="0.0058"),
        KnownGoodReading(point="bias diode", value="0.50", unit="V"),
        KnownGoodReading(point="rail 5", value="4.00", unit="V"),
    ),
)


@pytest.fixture(scope="module")
def phrases() -> Phrasebook:
    return load_phrasebook(READ)


@pytest.fixture
def bench() -> Bench:
    return Bench(READ)


@pytest.fixture
def beside_good() -> Bench:
    bench = Bench(READ)
    bench.state, opened = open_session(READ, None, at=START, job="j", engine="panel", version="0", known_good=GOOD)
    bench.journal = list(opened)
    return bench


# --- a known-good board -------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("digits", "percent", "unlike", "said"),
    [
        ("0.55", "-11.3", True, "Known good: zero point six two volts, eleven per cent lower."),
        ("0.70", "12.9", True, "Known good: zero point six two volts, thirteen per cent higher."),
        ("0.60", "-3.2", False, "Known good: zero point six two volts."),
        ("over range", None, True, "Known good: zero point six two volts, unlike this one."),
    ],
)
def test_a_value_of_the_board_file(bench: Bench, digits: str, percent: str | None, unlike: bool, said: str) -> None:
    phrases = load_phrasebook(READ)
    done = bench.hear(reading("bias diode", digits))
    kept = done.events[1]
    assert isinstance(kept, Reading)
    assert kept.statement == "recorded"  # no verdict
    assert kept.known_good is not None
    assert (kept.known_good.percent, kept.known_good.unlike, kept.known_good.within) == (percent, unlike, "10")
    assert phrases.reply(done.decision).text.endswith(f"Bias diode. No limits. {said}")
    assert ("Known good" in phrases.reply(done.decision, terse=True).text) == unlike
    record = fold(bench.journal)
    assert [(each.point, each.to) for each in record.unlike] == [("bias diode", "the known-good board")] * unlike
    assert ("unlike the known-good board" in render_html(record)) == unlike
    assert any("unlike the known-good board" in row.what for row in record.timeline) == unlike


def test_the_job_of_a_known_good_board_goes_before_the_file(beside_good: Bench) -> None:
    kept = beside_good.hear(reading("bias diode", "0.52")).events[1]
    assert isinstance(kept, Reading)
    assert kept.known_good is not None
    assert (kept.known_good.value, kept.known_good.unlike) == ("0.50", False)
    assert fold(beside_good.journal).known_good == "good-1"


def test_what_has_limits_is_judged_and_not_compared(beside_good: Bench) -> None:
    kept = beside_good.hear(reading("rail 5", "5.00")).events[1]
    assert isinstance(kept, Reading)
    assert (kept.statement, kept.known_good) == ("pass", None)


def test_it_outlives_a_restart_and_another_session(beside_good: Bench) -> None:
    on_disk = [EVENTS.validate_json(EVENTS.dump_json(event)) for event in beside_good.journal]
    state = resume(READ, None, on_disk)
    assert state.known_good == GOOD
    state, events = reopen(state, at=START, job="j", engine="panel", version="0")
    assert resume(READ, None, [*on_disk, *events]).known_good == GOOD
    other = GOOD.model_copy(update={"job": "good-2"})
    state, _ = reopen(state, at=START, job="j", engine="panel", version="0", known_good=other)
    assert state.known_good == other


def test_a_computed_value_is_compared_too(bench: Bench, phrases: Phrasebook) -> None:
    done = bench.hear(reading("left drop", "80", "mV"))
    assert phrases.reply(done.decision).text.endswith(
        "Makes left current zero point eight zero amps. Known good: one amp, twenty per cent lower."
    )
    assert [each.point for each in fold(bench.journal).unlike] == ["left current"]


# --- channels -----------------------------------------------------------------------------------------------------
def test_the_second_of_two_channels_is_compared(bench: Bench, phrases: Phrasebook) -> None:
    assert bench.hear(reading("left output", "2.00")).decision.likeness == ()
    done = bench.hear(reading("right output", "2.24"))
    assert phrases.reply(done.decision).text.endswith("Unlike left output by twelve per cent.")
    (found,) = fold(bench.journal).unlike
    assert (found.stage, found.point, found.to, found.percent, found.within) == (
        "before",
        "right output",
        "left output",
        "12.0",
        "5",
    )
    bench.hear(reading("right output", "2.06"))
    assert fold(bench.journal).unlike == ()


def test_it_is_the_same_whichever_was_read_first(bench: Bench, phrases: Phrasebook) -> None:
    bench.hear(reading("right output", "2.24"))
    done = bench.hear(reading("left output", "2.00"))
    assert "Unlike right output by twelve per cent." in phrases.reply(done.decision).text


def test_what_was_struck_or_corrected_no_longer_counts(bench: Bench) -> None:
    bench.hear(reading("left output", "2.00"))
    bench.hear(reading("right output", "2.24"))
    bench.hear(command("strike"))
    assert fold(bench.journal).unlike == ()
    bench.hear(reading("right output", "2.24"))
    done = bench.hear(command("correction", "left output", value("2.20")))
    assert done.decision.likeness == ()
    assert fold(bench.journal).unlike == ()
    done = bench.hear(command("correction", "left output", value("2.60")))
    assert [each.point for each in done.decision.likeness] == ["right output"]


def test_channels_of_different_stages_are_not_compared(bench: Bench) -> None:
    bench.hear(reading("left output", "2.00"))
    bench.hear(command("after"), trust=Trust.TYPED)
    assert bench.hear(reading("right output", "2.24")).decision.likeness == ()
    assert fold(bench.journal).unlike == ()


def test_a_measured_point_beside_what_it_should_be_by_another(bench: Bench, phrases: Phrasebook) -> None:
    """A divider of two equal resistors (computed)."""
    bench.hear(reading("tap", "1.10"))
    done = bench.hear(reading("left output", "2.00"))
    assert phrases.reply(done.decision).text.endswith(
        "Makes tap by input one point zero zero volts. Unlike tap by ten per cent."
    )


# --- files --------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ("alike: [{points: [a, b], within: 5 %}]", r"alike\[0\]\.points\[1\]: there is no point 'b'"),
        ("alike: [{points: [a, a]}]", r"alike\[0\]\.points\[1\]: 'a' is named twice"),
        ("alike: [{points: [a]}]", r"alike\[0\]\.points: at least one entry is needed here"),
        ("alike: [{points: [a, c]}]", r"alike\[0\]\.points\[1\]: 'c' is current, 'a' is voltage"),
        ("alike: [{points: [a, e]}]", r"alike\[0\]\.points\[1\]: 'e' is AC, 'a' is DC\. Compare AC with AC, or DC"),
        ("alike: [{points: [d, f]}]", r"alike\[0\]\.points\[1\]: 'f' is ripple, 'd' is voltage"),
        ("alike: [{points: [a, d], within: 5 V}]", r"alike\[0\]\.within: '5 V' is not a percentage above 0, up to 100"),
        ("known good within: 0 %", r"known good within: '0 %' is not a percentage above 0"),
    ],
)
def test_a_mistake_is_refused(lines: str, message: str) -> None:
    text = "board: b\npoints:\n  - {name: a, quantity: voltage, waveform: DC}\n  - {name: c, quantity: current}\n"
    text += "  - {name: d, quantity: voltage}\n  - {name: e, quantity: voltage, waveform: AC}\n"
    text += f"  - {{name: f, quantity: ripple}}\n{lines}\n"
    with pytest.raises(BoardError, match=rf"^b\.yaml, line 8, {message}"):
        read_board(text, "b.yaml")


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ("nominal: 5 V, tolerance: 5 %, known good: 5 V", r"a point with limits is judged by them, not compared"),
        ("quantity: continuity, known good: 5 V", r"continuity is not compared\. Write expected instead"),
        ("quantity: current, known good: 5 V", r"V does not measure current"),
    ],
)
def test_a_known_good_value_that_makes_no_sense_is_refused(keys: str, message: str) -> None:
    with pytest.raises(BoardError, match=rf"^b\.yaml, line 3, points\[0\]\.known good: {message}"):
        read_board(f"board: b\npoints:\n  - {{name: a, {keys}}}\n", "b.yaml")


def test_how_far_it_may_lie_apart_is_the_boards() -> None:
    board = read_board("board: b\nknown good within: 2.5 %\npoints:\n  - {name: a, known good: 5 V}\n", "b.yaml")
    assert (board.known_good_within, board.points[0].known_good) == (Decimal("2.5"), Decimal(5))
    assert READ.known_good_within == 10


@pytest.mark.parametrize(
    ("known", "read", "compared"),
    [("AC", "DC", False), ("DC", "DC", True), ("AC", "AC", True), (None, "AC", True), ("AC", None, True)],
)
def test_ac_is_not_compared_with_dc(
    known: Literal["AC", "DC"] | None, read: Literal["AC", "DC"] | None, *, compared: bool
) -> None:
    good = KnownGoodReading(point="left output", value="2.00", unit="V", waveform=known)
    bench = Bench(READ)
    given = KnownGood(job="good-1", board="AM-4 amplifier", readings=(good,))
    bench.keep(reopen(bench.state, at=START, job="j", engine="panel", version="0", known_good=given))
    done = bench.hear(ReadingIntent("left output", value("3.00", waveform=read)))
    assert bool(done.decision.likeness) is compared
    other = bench.hear(ReadingIntent("right output", value("5.00", waveform=known)))
    assert bool(other.decision.likeness) is compared
    assert bool([each for each in fold(bench.journal).unlike if each.point == "right output"]) is compared


def test_ac_in_ratio_to_dc_is_not_computed() -> None:
    board = "board: b\npoints:\n  - {name: a, quantity: voltage}\n  - {name: d, quantity: voltage}\n"
    bench = Bench(read_board(f"{board}  - {{name: gain, computed: {{voltage: a, ratio to: d}}}}\n", "b.yaml"))
    bench.hear(ReadingIntent("a", value("3.00", waveform="AC")))
    done = bench.hear(ReadingIntent("d", value("3.00", waveform="DC")))
    assert [each.why for each in done.decision.computed] == ["AC in ratio to DC is no level"]

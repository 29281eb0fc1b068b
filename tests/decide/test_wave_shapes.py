"""AC by a meter that responds to the average: what it makes of waves that are no sine, and what is said of them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from benchvoice.answer.phrases import Phrasebook
from benchvoice.commands.settings import load_phrasebook
from benchvoice.decide.coverage import not_covered
from benchvoice.decide.meter import read_meter
from benchvoice.decide.profile import read_board
from benchvoice.decide.verdict import judge
from benchvoice.decide.wave_shapes import Shape, shown_percent
from benchvoice.errors import BoardError
from benchvoice.events import Reading
from benchvoice.records import SpokenValue, Statement
from tests.decide.builders import reading, value
from tests.decide.test_computed import Bench

BOARD = """\
board: WG-1 wave generator
points:
  - {name: sine out, nominal: 5 V, tolerance: 10 %, waveform: AC}
  - {name: square out, nominal: 5 V, tolerance: 10 %, waveform: AC, shape: square}
  - {name: pulse out, nominal: 5 V, tolerance: 10 %, waveform: AC, shape: pulse}
  - {name: ripple, quantity: ripple, limits: {high: 50 mV}, shape: triangle}
  - {name: heater current, nominal: 2 A, tolerance: 10 %, waveform: AC, shape: distorted}
  - {name: heater drop, computed: {current: heater current, ratio to: 1 A}}
"""
READ = read_board(BOARD, "board.yaml")


def meter(responds: str) -> str:
    ranges = "ranges: [{up_to: 60 V, resolution: 0.01 V, accuracy: {reading: 1 %, counts: 3}}]"
    amps = ranges.replace(" V", " A")
    return (
        f"name: small meter\nfunctions:\n  - {{quantities: [voltage, ripple], waveform: AC{responds}, {ranges}}}\n"
        f"  - {{quantity: current, waveform: AC{responds}, {amps}}}\n"
        f"  - {{quantity: voltage, waveform: DC, {ranges}}}\n"
    )


AVERAGE, TRUE, UNKNOWN = meter(", responds: average"), meter(", responds: true rms"), meter("")


# the reading of a meter that shows 1.1107 times the mean of the rectified wave: form factors by integration; that the
# errors are +11 % and -4 % is handbook knowledge, from memory
@pytest.mark.parametrize(
    ("shape", "percent"), [("square", "11.072"), ("triangle", "-3.809"), ("pulse", None), ("distorted", None)]
)
def test_how_far_it_is_off(shape: Shape, percent: str | None) -> None:
    found = shown_percent(shape)
    assert (None if found is None else found.quantize(Decimal("0.001"))) == (percent and Decimal(percent))


NOT_JUDGED = "not judged: the meter responds to the average and"
AT = {
    "sine": ("sine out", "5.0", "V"),
    "square": ("square out", "5.0", "V"),
    "pulse": ("pulse out", "5.0", "V"),
    "triangle": ("ripple", "20", "mV"),
    "distorted": ("heater current", "2.0", "A"),
}


@pytest.mark.parametrize(
    ("wave", "file", "statement", "basis"),
    [
        ("sine", AVERAGE, "pass", "meter and spoken digits"),
        ("sine", None, "pass", "spoken digits only: no meter given"),
        ("square", TRUE, "pass", "meter and spoken digits"),
        ("square", AVERAGE, "recorded", f"{NOT_JUDGED} reads a square wave 11.1 % too high"),
        ("triangle", AVERAGE, "recorded", f"{NOT_JUDGED} reads a triangle wave 3.8 % too low"),
        ("pulse", AVERAGE, "recorded", f"{NOT_JUDGED} is right for a sine, not for a pulse wave"),
        ("distorted", AVERAGE, "recorded", f"{NOT_JUDGED} is right for a sine, not for a distorted wave"),
        ("square", UNKNOWN, "recorded", "not judged: a square wave, and the meter is not known to be true rms"),
        ("square", None, "recorded", "not judged: a square wave, and the meter is not known to be true rms"),
    ],
)
def test_only_what_the_meter_shows_truly_is_judged(wave: str, file: str | None, statement: str, basis: str) -> None:
    used = None if file is None else read_meter(file, "meter.yaml")
    point, digits, unit = AT[wave]
    verdict = judge(SpokenValue(digits, unit), READ.point(point), used)
    assert (verdict.statement, verdict.basis) == (statement, basis)
    unjudged = statement == "recorded"
    assert (verdict.uncertainty is None, verdict.probability is None) == (unjudged, unjudged)
    assert verdict.high is not None  # it is told all the same


def test_over_range_of_such_a_wave_fails_no_more_than_a_number() -> None:
    verdict = judge(SpokenValue("over range", "V"), READ.point("square out"), read_meter(AVERAGE, "meter.yaml"))
    assert verdict.statement is Statement.RECORDED


@pytest.mark.parametrize(
    ("file", "said"),
    [
        (AVERAGE, "Recorded. Five point five. Square out. Not judged, this meter takes every wave for a sine."),
        (UNKNOWN, "Recorded. Five point five. Square out. Not judged, this meter is not known to be true R M S."),
        (TRUE, "Conditional pass, high. Five point five. Square out. Limits four point five to five point five volts."),
    ],
)
def test_it_is_said(file: str, said: str, phrases: Phrasebook) -> None:
    bench = Bench(READ, file)
    done = bench.hear(reading("square out", "5.5"))
    assert phrases.reply(done.decision).text == said
    kept = done.events[1]
    assert isinstance(kept, Reading)
    assert (kept.shape, kept.statement == "recorded") == ("square", file != TRUE)
    assert ("Not judged" in phrases.reply(done.decision, terse=True).text) == (file != TRUE)


@pytest.fixture(scope="module")
def phrases() -> Phrasebook:
    return load_phrasebook(READ)


def test_what_the_meter_cannot_judge_is_told_with_the_board() -> None:
    remarks = not_covered(READ, read_meter(AVERAGE, "meter.yaml"))
    why = "waves are recorded and not judged: the meter is not known to be true rms"
    assert remarks == (
        f"square out: square {why}",
        f"pulse out: pulse {why}",
        f"ripple: triangle {why}",
        f"heater current: distorted {why}",
    )
    assert not_covered(READ, read_meter(TRUE, "meter.yaml")) == ()


def test_a_computed_value_does_not_rest_on_it() -> None:
    done = Bench(READ, AVERAGE).hear(reading("heater current", "2.0", "A"))
    assert [each.why for each in done.decision.computed] == ["heater current may not be what the meter shows"]


def test_what_was_said_to_be_ac_counts_as_ac() -> None:
    board = read_board("board: b\npoints:\n  - {name: probe, quantity: voltage}\n", "b.yaml")
    used = read_meter(AVERAGE, "meter.yaml")
    assert judge(value("5.0", waveform="AC"), board.point("probe"), used).responds == "average"
    assert judge(value("5.0"), board.point("probe"), used).responds is None


@pytest.mark.parametrize(
    ("read", "text", "message"),
    [
        (read_board, "board: b\npoints:\n  - {name: rail 5, nominal: 5 V, shape: square}\n",
         r"line 3, points\[0\]\.shape: only AC has a shape\. Write waveform: AC too"),
        (read_board, "board: b\npoints:\n  - {name: out, waveform: AC, shape: round}\n",
         r"line 3, points\[0\]\.shape: 'round' is not 'sine'"),
        (read_meter, meter(", responds: peak"), r"functions\[0\]\.responds: 'peak' is not 'true rms' or 'average'"),
        (read_meter, meter("").replace("waveform: DC", "waveform: DC, responds: average"),
         r"functions\[2\]\.responds: only AC is responded to in one way or the other"),
    ],
)  # fmt: skip
def test_a_mistake_in_a_file_is_refused(read: Any, text: str, message: str) -> None:
    with pytest.raises(BoardError, match=message):
        read(text, "file.yaml")

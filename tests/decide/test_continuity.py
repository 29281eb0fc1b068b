"""Continuity: judged by what is expected, stopped under power, kept as words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchvoice.commands.settings import load_phrasebook
from benchvoice.decide.checklist_file import read_checklist
from benchvoice.decide.coverage import not_covered
from benchvoice.decide.profile import read_board, read_meter
from benchvoice.decide.session import step
from benchvoice.decide.verdict import judge
from benchvoice.errors import BoardError
from benchvoice.events import Reading
from benchvoice.keep.record import fold
from benchvoice.keep.record_customer import customer_page
from benchvoice.keep.report import render_html
from benchvoice.records import Outcome, Parse, ReadingIntent, SpokenValue, Statement, Trust
from tests.decide.builders import METER, command, hearing, reading
from tests.decide.test_computed import Bench

BOARD = """\
board: LX-2 lamp dimmer
points:
  - {name: line fuse, quantity: continuity, expected: continuity}
  - {name: standby switch, quantity: continuity, expected: open circuit}
  - {name: door switch, quantity: continuity}
  - {name: fault code, quantity: digits}
"""
READ = read_board(BOARD, "board.yaml")


def words(point: str, digits: str) -> ReadingIntent:
    return ReadingIntent(point, SpokenValue(digits, ""))


@pytest.mark.parametrize(
    ("point", "digits", "statement"),
    [
        ("line fuse", "continuity", Statement.PASS),
        ("line fuse", "open circuit", Statement.FAIL),
        ("standby switch", "open circuit", Statement.PASS),
        ("standby switch", "continuity", Statement.FAIL),
        ("door switch", "continuity", Statement.RECORDED),
    ],
)
def test_it_is_judged_by_what_is_expected(point: str, digits: str, statement: Statement) -> None:
    verdict = judge(SpokenValue(digits, ""), READ.point(point))
    assert verdict.statement is statement
    assert (verdict.uncertainty, verdict.probability, verdict.direction) == (None, None, None)


def test_it_is_kept_said_and_recorded_as_words() -> None:
    bench = Bench(READ)
    done = bench.hear(words("line fuse", "open circuit"))
    kept = done.events[1]
    assert isinstance(kept, Reading)
    assert (kept.value, kept.unit, kept.statement, kept.expected) == ("open circuit", "", "fail", "continuity")
    phrases = load_phrasebook(READ)
    assert phrases.reply(done.decision).text == "Fail. Open circuit. Line fuse. Expected, continuity."
    assert phrases.reply(done.decision, terse=True).text == "Fail, open circuit."
    bench.hear(command("after"), trust=Trust.TYPED)
    done = bench.hear(command("read back", "line fuse"))
    assert phrases.reply(done.decision).text == "Line fuse. No reading."
    bench.hear(words("line fuse", "continuity"))
    record = fold(bench.journal)
    assert "expected: continuity" in render_html(record)
    page = customer_page(record)
    told = [line for section in page.sections for line in section.lines]
    assert "The continuity at line fuse was open circuit instead of continuity." in told
    assert record.points[0].change is None


def test_a_question_can_offer_it() -> None:
    bench = Bench(READ)
    done = bench.hear(words("line fuse", "continuity"), words("line fuse", "open circuit"), trust=Trust.DOUBTFUL)
    assert load_phrasebook(READ).question(done.decision) == "Line fuse. Continuity or open circuit?"


def test_continuity_that_may_be_none_is_asked_though_it_would_pass() -> None:
    bench = Bench(READ)
    heard = hearing(words("line fuse", "continuity"), after_s=5)
    heard = replace(heard, twins=(Parse("line fuse has no continuity", (words("line fuse", "open circuit"),)),))
    done = step(bench.state, heard, word_question=lambda _: "?")
    assert done.decision.outcome is Outcome.ASKED
    assert [str(each.value) for each in done.decision.candidates] == ["continuity", "open circuit"]


def test_it_is_stopped_under_power() -> None:
    bench = Bench(READ)
    bench.hear(command("powered"), trust=Trust.TYPED)
    done = bench.hear(words("line fuse", "continuity"))
    assert (done.decision.about, done.decision.why) == ("stopped", "the unit is marked powered")


@pytest.mark.parametrize("meant", [words("fault code", "continuity"), reading("line fuse", "12", "")])
def test_words_and_numbers_do_not_stand_for_each_other(meant: ReadingIntent) -> None:
    assert Bench(READ).hear(meant).decision.about == "refused"


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ("expected: closed", r"expected: 'closed' is not continuity or open circuit"),
        ("limits: {low: 1}", r"limits: continuity has no limits\. Write expected: continuity"),
        ("limits: {high: 1 ohm}", r"limits: continuity has no limits\. Write expected: continuity"),
        ("nominal: 5", r"nominal: continuity has no nominal"),
        ("nominal: 5 ohm", r"nominal: continuity has no nominal"),
        ("state: powered", r"state: continuity is measured on a unit without power\. Write state: unpowered, or"),
    ],
)
def test_a_mistake_in_the_file_is_refused(keys: str, message: str) -> None:
    with pytest.raises(BoardError, match=rf"^b\.yaml, line 3, points\[0\]\.{message}"):
        read_board(f"board: b\npoints:\n  - {{name: fuse, quantity: continuity, {keys}}}\n", "b.yaml")


def test_a_number_has_limits_not_an_expected_word() -> None:
    with pytest.raises(BoardError, match=r"points\[0\]\.expected: voltage is a number\. Write nominal and tolerance"):
        read_board("board: b\npoints:\n  - {name: rail 5, nominal: 5 V, expected: open circuit}\n", "b.yaml")


def test_a_checklist_branches_on_it() -> None:
    text = "checklist: Dead\nsteps:\n  - {measure: line fuse, if: {fail: end, pass: next}}\n  - {say: Go on}\n"
    assert read_checklist(text, "list.yaml", READ).steps[0].point == "line fuse"
    with pytest.raises(BoardError, match=r"'door switch' has no limits: its value neither passes nor fails"):
        read_checklist(text.replace("line fuse", "door switch"), "list.yaml", READ)


def test_no_meter_gives_an_accuracy_for_it() -> None:
    assert not_covered(READ, read_meter(METER, "meter.yaml")) == ()

"""What is on view follows the session: what counts, what is asked, what was not taken."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from benchvoice.commands.loading import load_board
from benchvoice.decide import session
from benchvoice.decide.profile import read_board
from benchvoice.decide.timer_log import Now
from benchvoice.files import shipped
from benchvoice.loop import Turn
from benchvoice.records import Reply, Statement, Trust
from benchvoice.screen.view import SIGNS, EarState, Strip, after_notice, after_turn, first_view, timers_line
from tests.decide.builders import BOARD, hearing, reading
from tests.screen.views import JOURNAL, START, Talk


def test_before_the_first_word_nothing_is_read() -> None:
    view = Talk().view
    assert (view.board, view.job, view.stage, view.journal) == (
        "GF-2 greenhouse fan controller",
        "GF-2-0001",
        "before",
        JOURNAL,
    )
    assert (view.point, view.reading, view.statement, view.strip, view.left, view.turns) == ("", 0, None, None, 7, 0)


def test_a_reading_is_on_view_with_its_digits_and_limits() -> None:
    view = Talk().say("rail three point three reads four point oh")
    assert (view.point, view.now_on, view.value_text, view.unit) == ("rail 3.3", "", "4.0", "V")
    assert (view.statement, view.direction) == (Statement.FAIL, "high")
    assert view.limits_text == "3.14 to 3.47\u00a0V"
    # half-width 0.5 % of 4.0 V + 2 counts of 1 mV + half of the last spoken digit, 0.05 V, U = 2 sqrt(sum of a²/3)
    # (GUM 4.3.7, from memory) = 2 sqrt((0.022² + 0.05²)/3) = 0.0631, rounded up to two digits
    assert view.uncertainty_text == "U = 0.064\u00a0V"
    assert view.strip is not None
    assert view.strip == Strip(
        Decimal("3.14"), Decimal("3.47"), Decimal("3.3"), Decimal("4.0"), view.strip.uncertainty, over_range=False
    )
    assert (view.heard, view.left, view.turns) == ("rail three point three reads four point oh", 6, 1)
    assert view.said.startswith("Fail, high. Four point zero.")


def test_timers_are_on_view_with_what_is_left_of_each() -> None:
    talk = Talk()
    assert timers_line(talk.bench.state, Now(START)) == ""
    talk.say("timer five minutes")
    talk.say("soak test timer two hours")
    due = talk.bench.state.timers.running[0].due
    assert timers_line(talk.bench.state, Now(due - timedelta(seconds=250))).startswith("timer 4:10, soak test timer 1")
    assert timers_line(talk.bench.state, Now(due + timedelta(seconds=5))).startswith("timer 0:00, ")


def test_spoken_zeros_stay() -> None:
    assert Talk().say("rail five reads five point oh oh oh").value_text == "5.000"


def test_over_range_has_no_unit_and_no_number() -> None:
    view = Talk().say("fan current is over range")
    assert (view.value_text, view.unit, view.statement) == ("over range", "", Statement.FAIL)
    assert view.strip is not None
    assert (view.strip.value, view.strip.uncertainty, view.strip.over_range) == (None, None, True)


def test_a_point_without_limits_has_no_strip() -> None:
    view = Talk().say("probe reads minus two point five volts")
    assert (view.value_text, view.statement, view.limits_text, view.strip) == (
        "\u22122.5",
        Statement.RECORDED,
        "",
        None,
    )


def test_units_are_printed_with_their_signs() -> None:
    view = Talk().say("logic rail to ground reads four point seven kilohms")
    assert (view.value_text, view.unit, view.limits_text) == ("4.7", "kΩ", "at least 0.200\u00a0kΩ")


def test_a_struck_reading_is_off_the_screen() -> None:
    view = Talk().say("rail five reads five point oh two", "rail three point three reads four point oh", "strike that")
    assert (view.point, view.reading, view.value_text, view.statement) == ("rail 3.3", 0, "", None)
    assert view.limits_text == "3.14 to 3.47\u00a0V"
    assert view.strip == Strip(Decimal("3.14"), Decimal("3.47"), Decimal("3.3"))


def test_a_point_is_on_view_once_it_is_named_with_what_counts_there() -> None:
    talk = Talk()
    talk.say("rail five reads five point oh two", "on input")
    assert (talk.view.point, talk.view.value_text) == ("input", "")
    assert (talk.say("on rail five").point, talk.view.value_text) == ("rail 5", "5.02")


def test_another_stage_has_readings_of_its_own() -> None:
    talk = Talk()
    before = talk.say("rail five reads five point oh two")
    after = talk.say("after the repair")
    assert (before.stage, before.left, before.statement) == ("before", 6, Statement.PASS)
    assert (after.stage, after.left, after.statement, after.point) == ("after", 7, None, "rail 5")
    assert talk.say("before the repair").statement is Statement.PASS


def test_the_same_value_again_is_another_reading() -> None:
    talk = Talk()
    first, second = talk.say("rail five reads five point oh two"), talk.say("rail five reads five point oh two")
    assert first.value_text == second.value_text
    assert first.reading < second.reading


def test_a_question_is_open_until_it_is_answered() -> None:
    talk = Talk()
    view = talk.say("rail five reads five point oh two", "input reads two hundred and forty")
    assert view.question == "Two hundred and forty volts on input? Say yes, or the value again."
    assert (view.offers, view.asked_about) == (("240\u00a0V",), "input")
    assert (view.point, view.value_text) == ("rail 5", "5.02"), "the older reading still counts"
    assert talk.say("good morning").question == view.question
    taken = talk.say("yes")
    assert (taken.question, taken.offers, taken.asked_about) == ("", (), "")
    assert (taken.point, taken.value_text) == ("input", "240")


def test_a_question_offers_what_tells_its_meanings_apart() -> None:
    talk = Talk()
    state, view = talk.bench.state, talk.view
    cases = [
        ((reading("input", "15"), reading("input", "50")), ("15", "50\u00a0V"), "input"),
        ((reading("input", "24", "V"), reading("rail 5", "24", "V")), ("input", "rail 5"), ""),
        ((reading("probe", "2", "V"), reading("probe", "2", "mV")), ("2\u00a0V", "2\u00a0mV"), "probe"),
        ((reading("input", "24", "V"), reading("rail 5", "5", "V")), ("24", "5\u00a0V"), ""),
    ]
    for meanings, offers, about in cases:
        heard = hearing(*meanings, trust=Trust.DOUBTFUL)
        step = session.step(state, heard, word_question=talk.bench.phrases.question)
        assert step.state.question is not None
        turn = Turn(heard, step.decision, talk.bench.phrases.reply(step.decision), step.events)
        asked = after_turn(view, turn, step.state)
        assert (asked.offers, asked.asked_about) == (offers, about)
        assert asked.question == talk.bench.phrases.question(step.decision)
        later = step.state.question.moment.at + timedelta(seconds=121)
        told = after_notice(asked, Reply("No answer."), session.lapse(step.state, later, "nowhere", 0.0)[0])
        assert (told.question, told.offers, told.asked_about, told.said) == ("", (), "", "No answer.")


def test_what_is_not_taken_is_told_until_something_is() -> None:
    talk = Talk()
    assert talk.say("five point oh two").refused == "Not taken. The point was not said."
    assert talk.say("good morning").refused == "Not taken. The point was not said."
    assert talk.say("rail five reads five point oh two").refused == ""
    talk.say("input reads two hundred and forty")
    assert talk.say("no").refused == "Not taken."


def test_overheard_talk_is_not_shown() -> None:
    talk = Talk()
    stopped = talk.say("stop listening")
    assert stopped.ear is EarState.NOT_LISTENING
    assert talk.say("rail five reads five").heard == "(ignored: not listening)"
    assert talk.view.said == "Not listening."
    assert talk.say("start listening").ear is EarState.LISTENING


def test_the_state_of_the_ears_is_else_left_to_who_knows_it() -> None:
    talk = Talk()
    talk.view = replace(talk.view, ear=EarState.SPEAKING)
    assert talk.say("on rail five").ear is EarState.SPEAKING


def test_a_job_taken_up_again_shows_its_last_reading_but_no_point_for_a_value_alone() -> None:
    talk = Talk()
    talk.say("rail five reads five point oh two")
    state, _ = session.reopen(talk.bench.state, at=START, job="GF-2-0001", engine="text", version="0")
    view = first_view(state, job="GF-2-0001", journal=JOURNAL)
    assert (view.point, view.value_text, view.now_on, view.left) == ("rail 5", "5.02", "", 6)


def test_a_point_that_left_the_board_file_keeps_its_reading() -> None:
    talk = Talk()
    talk.say("probe reads two volts")
    text = BOARD.replace("  - name: probe\n    quantity: voltage\n", "")
    state = replace(talk.bench.state, board=read_board(text, "board.yaml"))
    assert first_view(state, job="j", journal="").value_text == "2"


@pytest.mark.parametrize("demo", ["failed_regulator", "clean_board", "noisy_bench"])
def test_every_point_of_the_demo_boards_can_be_shown(demo: str) -> None:
    board = load_board(shipped("demo_sessions") / demo / "board.yaml")
    state, _ = session.open_session(board, None, at=START, job="j", engine="text", version="0")
    talk = Talk()
    for point in board.points:
        heard = hearing(reading(point.name, "1", point.unit))
        step = session.step(state, heard, word_question=talk.bench.phrases.question)
        turn = Turn(heard, step.decision, talk.bench.phrases.reply(step.decision), step.events)
        view = after_turn(talk.view, turn, step.state)
        assert view.question or (view.point, view.value_text) == (point.name, "1")


def test_every_statement_has_a_sign_of_its_own() -> None:
    assert set(SIGNS) == set(Statement)
    assert len(set(SIGNS.values())) == len(Statement)

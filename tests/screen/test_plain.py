"""Plain lines: what changed, in words, and nothing twice."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchvoice.records import Reply
from benchvoice.screen.plain import changes
from benchvoice.screen.view import EarState, View, after_notice
from tests.screen.views import FAIL, READY, Talk


def told(*texts: str) -> list[tuple[str, ...]]:
    """The lines after each utterance of a new job."""
    talk, lines = Talk(), []
    for text in texts:
        before = talk.view
        lines.append(changes(before, talk.say(text)))
    return lines


def test_the_first_view_says_where_we_are() -> None:
    assert changes(None, READY) == (
        "GF-2 greenhouse fan controller, job GF-2-0001, before the repair, 7 not read",
        "journal: jobs/GF-2-0001/journal.jsonl",
        "nothing read yet",
        "listening",
    )


def test_a_conversation() -> None:
    fail, question, struck, refused, ignored = told(
        "rail three point three reads four point oh",
        "input reads two hundred and forty",
        "strike that",
        "next step",
        "good morning",
    )
    assert fail == (
        "heard: rail three point three reads four point oh",
        "!! fail, high: rail 3.3, 4.0 V; limits 3.14 to 3.47\u00a0V; U = 0.064\u00a0V",
        "said: Fail, high. Four point zero. Rail three point three. "
        "Limits three point one four to three point four seven volts.",
    )
    assert question == (
        "heard: input reads two hundred and forty",
        "question: Two hundred and forty volts on input? Say yes, or the value again.",
    )
    assert struck == ("heard: strike that", "said: Not taken. No reading is struck.")
    assert refused == ("heard: next step", "said: Not taken. There is no checklist.")
    assert ignored == ("heard: (ignored: not a sentence of the bench)",)


def test_the_same_words_twice_are_told_twice() -> None:
    first, second = told("rail five reads five point oh two", "rail five reads five point oh two")
    assert first == second
    assert len(first) == 3


@pytest.mark.parametrize("ear", [EarState.THINKING, EarState.SPEAKING])
def test_what_follows_every_utterance_goes_without_saying(ear: EarState) -> None:
    assert changes(FAIL, replace(FAIL, ear=ear, level_dbfs=-20.0)) == ()


@pytest.mark.parametrize("ear", [EarState.DEAF, EarState.TOO_LOUD, EarState.CLIPPED, EarState.NOT_LISTENING])
def test_trouble_is_told_and_when_it_is_over(ear: EarState) -> None:
    trouble = replace(FAIL, ear=ear, why="a reason")
    assert changes(FAIL, trouble) == (f"{ear}: a reason",)
    assert changes(trouble, trouble) == ()
    assert changes(trouble, FAIL) == ("listening again",)


def test_a_voice_that_is_lost_is_told_whatever_the_ears_do() -> None:
    mute: View = replace(FAIL, ear=EarState.LISTENING, why="the loudspeaker is gone")
    assert changes(FAIL, mute) == ("cannot be heard: the loudspeaker is gone",)
    assert changes(mute, replace(mute, ear=EarState.THINKING)) == ()
    assert changes(mute, FAIL) == ("can be heard again",)


def test_a_step_is_told_once() -> None:
    step: View = replace(FAIL, step="measure rail 3.3")
    assert changes(FAIL, step) == ("step: measure rail 3.3",)
    assert changes(step, replace(step, level_dbfs=-10.0)) == ()


def test_what_is_said_on_our_own_account_is_a_line_each_time() -> None:
    state = Talk().bench.state
    told = after_notice(FAIL, Reply("I hear you again."), state)
    assert changes(FAIL, told) == ("said: I hear you again.",)
    assert changes(told, after_notice(told, Reply("I hear you again."), state)) == ("said: I hear you again.",)

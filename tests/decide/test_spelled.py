"""Part numbers in the session: asked back with their part, kept after "yes"."""

from __future__ import annotations

from typing import Any

import pytest

from benchvoice.decide.profile import read_board
from benchvoice.decide.session import open_session, reopen, resume, step
from benchvoice.decide.spelled import MOST_CHARACTERS
from benchvoice.events import Event, Reworked
from benchvoice.records import Outcome, Thing, Trust, WorkIntent
from tests.decide.builders import BOARD, START, answer, command, hearing, reading

U4 = Thing("part", "U4", what="3.3 V regulator")
FITTED = WorkIntent("fitted", thing=Thing("part", "U4"))


def number(text: str) -> WorkIntent:
    return WorkIntent("part number", text=text)


def more(text: str) -> WorkIntent:
    return WorkIntent("more characters", text=text)


class Talk:
    """A session in which U4 was fitted, with its journal."""

    def __init__(self) -> None:
        self.state, opened = open_session(
            read_board(BOARD, "board.yaml"), None, at=START, job="j", engine="panel", version="0"
        )
        self.journal: list[Event] = list(opened)
        self.seconds = 0
        self.say(FITTED)

    def say(self, *meanings: Any, trust: Trust = Trust.AGREED) -> Any:
        self.seconds += 2
        done = step(self.state, hearing(*meanings, trust=trust, after_s=self.seconds), word_question=lambda d: d.why)
        self.state = done.state
        self.journal += done.events
        return done.decision

    @property
    def kept(self) -> list[tuple[str, str]]:
        return [(event.ref, event.text) for event in self.journal if isinstance(event, Reworked)]


@pytest.mark.parametrize("trust", [Trust.AGREED, Trust.DOUBTFUL, Trust.TYPED])
def test_it_is_asked_back_however_certain(trust: Trust) -> None:
    talk = Talk()
    for _ in range(2):  # said again is no yes
        decision = talk.say(number("LM1117"), trust=trust)
        assert decision.outcome is Outcome.ASKED
        assert decision.candidates[0].work.thing.name == "U4"
        assert talk.kept == []
    assert talk.say(answer("yes")).about == "part number"
    assert talk.kept == [("U4", "LM1117")]


def test_another_one_says_in_place_of_which_it_is() -> None:
    talk = Talk()
    talk.say(number("LM1117"))
    assert talk.say(answer("yes")).work.before == ""
    talk.say(number("LM317"))
    assert talk.say(answer("yes")).work.before == "LM1117"
    talk.say(FITTED)
    talk.say(number("LM3"))
    assert talk.say(answer("yes")).work.before == ""  # it is another part


def test_characters_alone_go_on_while_it_is_asked() -> None:
    talk = Talk()
    talk.say(number("LM"))
    assert talk.state.context.spelling
    assert talk.say(more("1117")).candidates[0].work == WorkIntent("part number", U4, "LM1117")
    talk.say(answer("yes"))
    assert talk.kept == [("U4", "LM1117")]
    assert not talk.state.context.spelling


def test_it_cannot_grow_beyond_its_bound() -> None:
    talk = Talk()
    talk.say(number("A" * MOST_CHARACTERS))
    full = talk.say(more("1"))
    assert full.candidates[0].work.text == "A" * MOST_CHARACTERS
    assert full.remark == "a part number has at most 20 characters"  # said, or it would be spelled on and on
    talk.say(answer("no"))
    decision = talk.say(number("A" * 21))
    assert (decision.outcome, decision.why) == (Outcome.IGNORED, "a part number has at most 20 characters")


@pytest.mark.parametrize("what", [answer("no"), command("strike"), reading("rail 5", "5.02"), FITTED])
def test_whatever_else_is_said_drops_it(what: Any) -> None:
    talk = Talk()
    talk.say(number("LM1117"))
    talk.say(what)
    talk.say(answer("yes"))
    assert talk.kept == []


def test_without_a_part_it_is_refused() -> None:
    talk = Talk()
    talk.say(WorkIntent("out", thing=Thing("cover", "lid")))
    decision = talk.say(number("LM1117"))
    assert (decision.outcome, decision.why) == (Outcome.IGNORED, "say first which part was fitted")
    assert not talk.state.context.part_fitted


def test_of_a_part_of_an_earlier_session_it_is_asked_with_the_part() -> None:
    talk = Talk()
    talk.state, _ = reopen(talk.state, at=START, job="j", engine="panel", version="0")
    decision = talk.say(number("LM1117"))
    assert decision.candidates[0].work.thing.name == "U4"
    talk.say(answer("yes"))
    assert talk.kept == [("U4", "LM1117")]


def test_a_doubtful_one_does_not_end_a_question_about_a_reading() -> None:
    talk = Talk()
    talk.say(reading("rail 5", "5.02"), trust=Trust.DOUBTFUL)
    decision = talk.say(number("LM1117"), trust=Trust.DOUBTFUL)
    assert decision.candidates[0].point == "rail 5"
    talk.say(answer("yes"))
    assert [read.value for read in talk.state.readings] == ["5.02"]


def test_how_often_it_was_asked_counts_what_goes_on_with_it() -> None:
    talk = Talk()
    assert [talk.say(said).tries for said in (number("LM"), more("1"), more("2"), number("X"))] == [0, 1, 2, 0]


def test_the_journal_gives_the_same_state_after_every_utterance() -> None:
    talk = Talk()
    for said in (number("LM"), more("317"), answer("yes"), number("X"), more("2"), answer("no")):
        talk.say(said)
        assert resume(talk.state.board, None, talk.journal) == talk.state
    assert talk.kept == [("U4", "LM317")]

"""The intake in the session: what is kept at once, what is asked back, and what ends it."""

from __future__ import annotations

from typing import Any

import pytest

from benchvoice.decide.intake_log import accessories_of
from benchvoice.decide.profile import read_board
from benchvoice.decide.session import SessionState, open_session, reopen, resume, step
from benchvoice.decide.spelled import MOST_CHARACTERS
from benchvoice.events import EVENTS, Event, Intake
from benchvoice.keep.record import fold
from benchvoice.records import NOT_LISTED, CommandIntent, Outcome, Trust, WorkIntent
from tests.decide.builders import BOARD, START, answer, command, hearing, note, reading
from tests.understand.boards import english

BOARD_READ = read_board(BOARD, "board.yaml")


def told(act: Any, text: str = "", name: str = "") -> WorkIntent:
    return WorkIntent(act, text=text, name=name)


def lamp(pattern: str) -> WorkIntent:
    return told("indicator", pattern, "front lamp")


class Talk:
    """A session that is spoken to, with its journal."""

    def __init__(self, serial: str | None = None) -> None:
        self.state, opened = open_session(
            BOARD_READ, None, at=START, job="j", engine="panel", version="0", serial=serial
        )
        self.journal: list[Event] = list(opened)
        self.seconds = 0

    def say(self, *meanings: Any, trust: Trust = Trust.AGREED, clip: str | None = "clips/000001.flac") -> Any:
        self.seconds += 2
        heard = hearing(*meanings, trust=trust, after_s=self.seconds, clip=clip)
        done = step(self.state, heard, word_question=lambda decision: decision.why)
        self.state = done.state
        self.journal += done.events
        return done.decision

    def again(self, visit: int | None = None, serial: str | None = None) -> None:
        """The job is taken up again."""
        self.state, opened = reopen(
            self.state, at=START, job="j", engine="panel", version="0", visit=visit, serial=serial
        )
        self.journal += opened

    @property
    def kept(self) -> list[tuple[str, str]]:
        return [(event.what, event.text) for event in self.state.work.events if isinstance(event, Intake)]

    @property
    def serial(self) -> str:
        return self.state.intake.serial(self.state.work.events)[0]


def test_what_is_told_is_kept_at_once() -> None:
    talk = Talk()
    for act, text in (("complaint", "no output"), ("came with", "power cable"), ("arrived", "wet")):
        assert talk.say(told(act, text)).outcome is Outcome.ACCEPTED
    assert talk.kept == [("complaint", "no output"), ("accessory", "power cable"), ("arrived", "wet")]


def test_an_accessory_is_listed_once() -> None:
    talk = Talk()
    talk.say(told("came with", "power cable"))
    assert talk.say(told("came with", "power cable")).why == "power cable is listed already"


CONTRADICTING = [
    (["nothing", "power cable"], "nothing", ("power cable",)),
    (["power cable", "manual", "nothing"], "power cable, manual", ()),
]


@pytest.mark.parametrize("trust", [Trust.AGREED, Trust.DOUBTFUL, Trust.TYPED])
@pytest.mark.parametrize(("accessories", "before", "listed"), CONTRADICTING)
def test_nothing_and_something_are_asked_and_never_count_both(
    accessories: list[str], before: str, listed: tuple[str, ...], trust: Trust
) -> None:
    talk = Talk()
    for each in accessories[:-1]:
        talk.say(told("came with", each))
    had = accessories_of(talk.state.work.events)
    decision = talk.say(told("came with", accessories[-1]), trust=trust)
    assert (decision.outcome, decision.work.before) == (Outcome.ASKED, before)
    assert talk.say(answer("first")).work.before == before  # not understood: the question says so again
    talk.say(answer("no"))
    assert accessories_of(talk.state.work.events) == had
    talk.say(told("came with", accessories[-1]), trust=trust)
    assert talk.say(answer("yes")).work.before == before
    assert accessories_of(talk.state.work.events) == listed
    assert len(fold(talk.journal).intake) == 1  # the record holds what counts
    talk.say(command("strike"))
    assert accessories_of(talk.state.work.events) == had  # and what was told before counts again


def test_what_was_one_of_two_meanings_is_asked_by_itself_where_it_contradicts() -> None:
    talk = Talk()
    talk.say(told("came with", "power cable"))
    talk.say(told("came with", "nothing"), told("came with", "manual"), trust=Trust.DOUBTFUL)
    assert talk.say(answer("first")).work.before == "power cable"
    talk.say(answer("yes"))
    assert accessories_of(talk.state.work.events) == ()


def test_nothing_is_told_twice_without_harm() -> None:
    talk = Talk()
    talk.say(told("came with", "nothing"))
    assert talk.say(told("came with", "nothing")).outcome is Outcome.ACCEPTED


# --- the serial number --------------------------------------------------------------------------------------------
@pytest.mark.parametrize("trust", [Trust.AGREED, Trust.TYPED, Trust.DOUBTFUL])
def test_a_serial_number_is_asked_back_however_certain(trust: Trust) -> None:
    talk = Talk()
    decision = talk.say(told("serial", "AB123"), trust=trust)
    assert decision.outcome is Outcome.ASKED
    assert [candidate.work.text for candidate in decision.candidates] == ["AB123"]
    assert talk.kept == []
    assert talk.say(told("serial", "AB123"), trust=trust).outcome is Outcome.ASKED  # said again is no yes
    assert talk.kept == []
    assert talk.say(answer("yes")).about == "serial"
    assert talk.kept == [("serial", "AB123")]


def test_characters_alone_go_on_while_it_is_asked() -> None:
    talk = Talk()
    talk.say(told("serial", "AB"))
    assert talk.state.context.spelling
    assert talk.say(told("more characters", "12")).candidates[0].work == told("serial", "AB12")
    assert talk.say(told("more characters", "3"), trust=Trust.DOUBTFUL).candidates[0].work == told("serial", "AB123")
    talk.say(answer("yes"))
    assert talk.kept == [("serial", "AB123")]
    assert not talk.state.context.spelling
    assert talk.say(told("more characters", "4")).outcome is Outcome.IGNORED


@pytest.mark.parametrize("what", [answer("no"), command("strike"), reading("rail 5", "5.02")])
def test_whatever_else_is_said_drops_it(what: Any) -> None:
    talk = Talk()
    talk.say(told("serial", "AB123"))
    talk.say(what)
    talk.say(answer("yes"))
    assert talk.kept == []


def test_another_one_takes_its_place_while_it_is_asked() -> None:
    talk = Talk()
    talk.say(told("serial", "AB123"))
    talk.say(told("serial", "CD9"))
    talk.say(answer("yes"))
    assert talk.kept == [("serial", "CD9")]


def test_it_cannot_grow_beyond_its_bound() -> None:
    assert english().intake.most_characters == MOST_CHARACTERS
    talk = Talk()
    talk.say(told("serial", "A" * 19))
    assert talk.say(told("more characters", "12")).candidates[0].work == told(
        "serial", "A" * 19
    )  # asked once more as it was
    assert talk.state.question is not None
    talk.say(answer("yes"))
    assert talk.kept == [("serial", "A" * 19)]


def test_of_two_meanings_the_serial_number_alone_is_asked() -> None:
    talk = Talk()
    decision = talk.say(told("serial", "A1"), told("complaint", "dead"), trust=Trust.DOUBTFUL)
    assert [candidate.work.text for candidate in decision.candidates] == ["A1"]


def test_what_the_job_had_before_is_told_and_the_last_counts() -> None:
    talk = Talk(serial="X1")
    assert talk.serial == "X1"
    assert talk.say(told("serial", "X2")).work.before == "X1"
    assert talk.say(answer("second")).work.before == "X1"  # asked once more, and said again
    assert talk.say(answer("yes")).work.before == "X1"
    assert talk.serial == "X2"
    talk.say(told("serial", "x-2"))
    assert talk.state.question is not None
    talk.say(answer("no"))
    talk.say(command("strike"))
    talk.say(command("strike"))
    talk.again(serial="X3")  # given on the command line, later
    assert talk.serial == "X3"


def test_the_same_number_written_otherwise_needs_no_warning() -> None:
    talk = Talk(serial="ab-12")
    assert talk.say(told("serial", "AB12")).work is None


def test_a_later_visit_knows_the_number_of_the_earlier_one() -> None:
    talk = Talk()
    talk.say(told("serial", "AB1"))
    talk.say(answer("yes"))
    talk.say(told("came with", "power cable"))
    talk.again(visit=2)
    assert (talk.serial, talk.kept) == ("AB1", [])
    assert talk.state.context.intake
    assert talk.say(told("serial", "AB2")).work.before == "AB1"


# --- lamps and beepers --------------------------------------------------------------------------------------------
def test_a_pattern_that_is_like_no_other_is_kept_with_its_meaning() -> None:
    talk = Talk()
    decision = talk.say(lamp("5 short, red"), trust=Trust.TYPED)
    assert (decision.outcome, decision.work.intent.means) == (Outcome.ACCEPTED, "supply too low")


@pytest.mark.parametrize("pattern", ["5 short, red", "2 short, 1 long", "2 short, 2 long", "4 short, red", "dark"])
@pytest.mark.parametrize("trust", [Trust.AGREED, Trust.DOUBTFUL])
def test_whatever_pattern_was_heard_it_is_asked_back_first(pattern: str, trust: Trust) -> None:
    """The lamp may have shown what is not in the table, with one element misheard."""
    talk = Talk()
    assert talk.say(lamp(pattern), trust=trust).outcome is Outcome.ASKED
    assert talk.kept == []
    assert talk.say(answer("no")).about in ("refused", "indicator")
    assert ("indicator", "5 short, red") not in talk.kept


def test_a_listed_pattern_that_was_heard_is_kept_after_yes() -> None:
    talk = Talk()
    assert talk.say(lamp("5 short, red")).candidates[0].work.means == "supply too low"
    assert talk.say(answer("yes")).work.intent.means == "supply too low"
    assert talk.kept == [("indicator", "5 short, red")]


def test_a_pattern_that_is_like_another_is_asked_back() -> None:
    talk = Talk()
    decision = talk.say(lamp("2 short, 1 long"))
    assert (decision.outcome, decision.candidates[0].work.means) == (Outcome.ASKED, "output overload")
    assert talk.kept == []
    talk.say(answer("yes"))
    assert talk.kept == [("indicator", "2 short, 1 long")]


UNLISTED = [(answer("yes"), "5 short, red", "supply too low"), (answer("first"), "5 short, red", "supply too low"),
            (answer("no"), "4 short, red", ""), (answer("second"), "4 short, red", ""),
            (lamp("5 short, red"), "5 short, red", "supply too low"),
            (lamp("4 short, red"), "4 short, red", "")]  # fmt: skip


@pytest.mark.parametrize(("said", "kept", "means"), UNLISTED)
def test_of_an_unlisted_pattern_the_nearest_is_asked(said: Any, kept: str, means: str) -> None:
    talk = Talk()
    decision = talk.say(lamp("4 short, red"))
    assert (decision.outcome, decision.why, decision.candidates[0].work.text) == (
        Outcome.ASKED,
        NOT_LISTED,
        "5 short, red",
    )
    decision = talk.say(said)
    assert (decision.outcome, decision.work.intent.means) == (Outcome.ACCEPTED, means)
    assert talk.kept == [("indicator", kept)]


def test_a_doubtful_pattern_is_confirmed_first_and_then_matched() -> None:
    talk = Talk()
    assert talk.say(lamp("4 short, red"), trust=Trust.DOUBTFUL).why != NOT_LISTED
    assert talk.say(answer("yes")).why == NOT_LISTED
    talk.say(answer("no"))
    assert talk.kept == [("indicator", "4 short, red")]


def test_without_a_table_every_pattern_is_asked_back() -> None:
    talk = Talk()
    beep = told("indicator", "2 short", "beeper")
    assert talk.say(beep).outcome is Outcome.ASKED
    assert not talk.say(answer("yes")).work.unlisted
    assert talk.kept == [("indicator", "2 short")]


# --- when, and undone ---------------------------------------------------------------------------------------------
def test_the_intake_is_over_with_the_first_reading_and_can_be_opened_again() -> None:
    talk = Talk()
    assert talk.state.context.intake
    talk.say(note("regulator is burnt"))
    assert talk.state.context.intake
    talk.say(reading("rail 5", "5.02"))
    assert not talk.state.context.intake
    talk.again()  # the same visit goes on
    assert not talk.state.context.intake
    talk.say(told("intake"))
    assert talk.state.context.intake


def test_a_strike_undoes_the_latest() -> None:
    talk = Talk()
    talk.say(told("complaint", "no output"))
    talk.say(told("came with", "battery"))
    assert talk.say(CommandIntent("strike")).work.intent == told("came with", "battery")
    assert talk.kept == [("complaint", "no output")]


def test_a_complaint_in_my_words_is_kept_as_sound() -> None:
    talk = Talk()
    talk.say(told("complaint follows"))
    decision = talk.say(trust=Trust.UNRELATED)
    assert decision.about == "complaint"
    event = next(event for event in talk.journal if isinstance(event, Intake))
    assert (event.what, event.clip, event.verified) == ("complaint", "clips/000001.flac", False)
    assert talk.say(told("complaint follows"), clip=None).about == "refused"  # no sound is kept
    talk.say(told("complaint follows"))
    talk.say(answer("no"))
    talk.say(command("left"))
    assert len(talk.kept) == 1


def test_closing_names_what_goes_back_with_the_unit() -> None:
    talk = Talk()
    talk.say(told("came with", "battery"))
    talk.say(told("came with", "manual"))
    talk.say(command("close"))
    assert talk.say(answer("yes")).names == ("battery", "manual")
    assert talk.state.closed


def test_the_journal_gives_the_same_state_at_every_line() -> None:
    talk = Talk(serial="X1")
    said = [told("complaint", "dead"), told("serial", "AB"), told("more characters", "1"), answer("yes"),
            lamp("4 short, red"), answer("no"), lamp("2 short, 1 long"), answer("yes"), reading("rail 5", "5.02"),
            told("intake"), told("came with", "battery"), command("strike"), told("complaint follows")]  # fmt: skip
    states: dict[int, SessionState] = {}
    for each in said:
        talk.say(each)
        states[len(talk.journal)] = talk.state
    lines = [EVENTS.validate_json(EVENTS.dump_json(event)) for event in talk.journal]
    for at, state in states.items():
        assert resume(BOARD_READ, None, lines[:at]) == state

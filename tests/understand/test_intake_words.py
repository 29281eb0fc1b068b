"""The intake: what can be said, what it means, and when it is listened for."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import GrammarError
from benchvoice.records import Context, SpokenIntake, WorkIntent
from benchvoice.tables import read_table
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.intake_words import read_intake_words
from benchvoice.understand.language import FILES
from benchvoice.understand.parse import Parser
from benchvoice.understand.typed import normalise
from tests.understand.boards import POINTS, english
from tests.understand.test_language import texts

OWN = SpokenIntake(("fan does not turn",), ("fan cable",), (("mode lamp", "LED 1"), ("buzzer", "buzzer")))
TAKEN_IN, LATER, SPELLING = Context(intake=True), Context(), Context(spelling=True, question_open=True)


@cache
def parser(own: SpokenIntake = SpokenIntake()) -> Parser:  # noqa: B008  it is frozen
    return Parser(Grammar(english(), POINTS, intake=own))


def serial(text: str) -> WorkIntent:
    return WorkIntent("serial", text=text)


def lamp(text: str, name: str = "front lamp") -> WorkIntent:
    return WorkIntent("indicator", text=text, name=name)


UNDERSTOOD = [
    ("complaint no output", WorkIntent("complaint", text="no output")),
    ("Complaint: it smokes when cold.", WorkIntent("complaint", text="it smokes when cold")),
    ("complaint is it hums", WorkIntent("complaint", text="it hums")),
    ("the complaint is no power", WorkIntent("complaint", text="no power")),
    ("complaint in my words", WorkIntent("complaint follows")),
    ("came with power cable", WorkIntent("came with", text="power cable")),
    ("it came with a red bag", WorkIntent("came with", text="red bag")),
    ("came with nothing", WorkIntent("came with", text="nothing")),
    ("it came with nothing at all", WorkIntent("came with", text="nothing")),
    ("arrived wet", WorkIntent("arrived", text="wet")),
    ("it arrived smelling burnt", WorkIntent("arrived", text="smelling burnt")),
    ("arrived in a bucket", WorkIntent("arrived", text="in a bucket")),
    ("serial number alpha bravo one two three", serial("AB123")),
    ("serial number alfa juliett xray zero niner", serial("AJX09")),
    ("serial number x ray dash oh tree", serial("X-03")),
    ("Serial number: AB-124", serial("AB-124")),
    ("The serial number is AB-124.", serial("AB-124")),
    ("the serial number 4711", serial("4711")),
    ("serial number 4711", serial("4711")),
    ("serial number 0012", serial("0012")),
    ("serial number alpha 12 b", serial("A12B")),
    ("serial number ab12", serial("AB12")),
    ("Serial Number A1", serial("A1")),
    ("serial number AB/12", serial("AB/12")),
    ("serial number alpha bravo point one slash two", serial("AB.1/2")),
    ("serial number A Bravo 3", serial("AB3")),
    ("front lamp two short one long", lamp("2 short, 1 long")),
    ("Front lamp: 2 short, 1 long, red.", lamp("2 short, 1 long, red")),
    ("front lamp two short pause one long amber", lamp("2 short, pause, 1 long, amber")),
    ("the front lamp blinks short short long", lamp("2 short, 1 long")),
    ("the front lamp is off", lamp("dark")),
    ("beeper silent", lamp("silent", "beeper")),
    ("front lamp steady green", lamp("steady, green")),
    ("intake again", WorkIntent("intake")),
    ("back to intake", WorkIntent("intake")),
]  # our own sentences; the alphabet is ICAO's (Annex 10, Volume II, 5.2.1.3), from memory


@pytest.mark.parametrize(("text", "meant"), UNDERSTOOD)
def test_understood(text: str, meant: WorkIntent) -> None:
    words = normalise(text, english())
    assert normalise(words, english()) == words
    assert parser().parse(words, LATER).intents == (meant,)  # in a transcript always


REFUSED = [
    ("complaint is", "what the complaint is was not said"),
    ("The complaint is:", "what the complaint is was not said"),
    ("serial number gizmo", "gizmo is no letter and no digit"),
    ("serial number AB*12", "ab*12 is no letter and no digit"),
    ("serial number " + "one " * 21, "such a number has at most 20 characters"),
    ("front lamp two", "no pattern of front lamp was understood"),
    ("front lamp two short red long", "no pattern of front lamp was understood"),
    ("front lamp steady two short", "no pattern of front lamp was understood"),
    ("front lamp thirteen short", "no pattern of front lamp was understood"),
]


@pytest.mark.parametrize(("text", "why"), REFUSED)
def test_refused_with_the_reason(text: str, why: str) -> None:
    parse = parser().parse(normalise(text, english()), TAKEN_IN)
    assert (parse.intents, parse.why, parse.tried) == ((), why, True)


@pytest.mark.parametrize("text", ["it arrived late for lunch", "it arrived", "it arrived wet for lunch"])
def test_talk_of_what_arrived_is_not_taken(text: str) -> None:
    for context in (TAKEN_IN, LATER):
        assert parser().parse(text, context).intents == ()


HEARD = [
    (TAKEN_IN, "complaint no output", True),
    (TAKEN_IN, "came with power cable", True),
    (TAKEN_IN, "arrived wet", True),
    (TAKEN_IN, "serial number alpha bravo one two three dash x ray", True),
    (TAKEN_IN, "serial number" + " one" * 20, True),
    (TAKEN_IN, "serial number" + " one" * 21, False),
    (TAKEN_IN, "front lamp two short pause one long red", True),
    (TAKEN_IN, "front lamp two short two short", False),  # it is four short
    (TAKEN_IN, "one two three", False),
    (TAKEN_IN, "intake again", False),
    (TAKEN_IN, "rail five reads five point zero two volts", True),
    (LATER, "complaint no output", False),
    (LATER, "serial number alpha bravo", False),
    (LATER, "front lamp two short", False),
    (LATER, "intake again", True),
    (SPELLING, "one two three", True),
    (SPELLING, "serial number one", True),
    (SPELLING, "yes", True),
]


@pytest.mark.parametrize(("context", "text", "can"), HEARD)
def test_what_is_listened_for(context: Context, text: str, can: bool) -> None:
    assert parser().grammar.network(context).accepts(text) is can


def test_digits_alone_are_a_serial_number_s_only_while_it_is_spelled() -> None:
    at_rail = Context(current="rail 5")
    assert [type(intent).__name__ for intent in parser().parse("five", at_rail).intents] == ["ReadingIntent"]
    assert parser().parse("five", SPELLING).intents == (WorkIntent("more characters", text="5"),)


def test_a_board_s_own_words() -> None:
    own = parser(OWN)
    assert own.parse("mode lamp two short", TAKEN_IN).intents == (lamp("2 short", "LED 1"),)
    for said in ("complaint fan does not turn", "came with fan cable", "buzzer two short", "came with power cable"):
        assert own.grammar.network(TAKEN_IN).accepts(said)
    assert not own.grammar.network(TAKEN_IN).accepts("front lamp two short")
    assert not parser().grammar.network(TAKEN_IN).accepts("came with fan cable")


@given(st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-", min_size=1, max_size=20))
def test_whatever_is_spelled_is_what_was_spelled(text: str) -> None:
    words = english().intake
    said = " ".join(" ".join(words.spoken[sign]) for sign in text)
    assert words.spelled(tuple(said.split())) == (text, "")


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"accessories": "cable"}, "intake.yaml, accessories: is missing or not a list"),
        ({"alphabet": []}, "intake.yaml, alphabet: is missing or not a table"),
        ({"alphabet": {"AB": ["ab"]}}, "intake.yaml, alphabet.AB: is not a character with the words for it"),
        ({"elements": {"blip": "blip"}}, "intake.yaml, elements.blip: is none of short, long, pause"),
        ({"colours": ["pink"]}, "intake.yaml, colours: 'pink' is none of"),
        ({"count up to": 40}, "intake.yaml, count up to: is no number from 1 to 12"),
        ({"sentences": {"dance": ["dance"]}}, "intake.yaml, sentences.dance: is not a list of sentences"),
    ],
)
def test_a_broken_file_is_named(change: dict[str, object], complaint: str) -> None:
    data = read_table(texts(), "intake.yaml", files=FILES, of="words") | change
    with pytest.raises(GrammarError, match=complaint):
        read_intake_words(data)

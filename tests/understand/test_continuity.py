"""Continuity as it is said: two words, far apart, and never a number."""

from __future__ import annotations

import pytest

from benchvoice.errors import GrammarError
from benchvoice.files import shipped
from benchvoice.records import Context, SpokenPoint
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.language import FILES, read_language
from benchvoice.understand.taken_names import taken_for
from tests.understand.boards import english, grammar, parser

AT_FUSE = Context(current="line fuse", last="line fuse")

SAID = [
    # words, value; how technicians say it: common practice, no source
    ("line fuse has continuity", "continuity"),
    ("line fuse reads continuity", "continuity"),
    ("line fuse is open circuit", "open circuit"),
    ("line fuse has no continuity", "open circuit"),
    ("line fuse has open circuit", "open circuit"),
    ("the line fuse shows open circuit", "open circuit"),
    ("line fuse is open", "open circuit"),
    ("line fuse is closed", "continuity"),
    ("line fuse reads overload", "open circuit"),  # what a meter shows that finds no way through
]
HEARD = [("continuity", "continuity"), ("open circuit", "open circuit"), ("no continuity", "open circuit")]

REFUSED = [
    ("line fuse reads zero point two ohms", "continuity is said as continuity or open circuit"),
    ("line fuse reads five", "continuity is said as continuity or open circuit"),
    ("line fuse has no", ""),
    ("input has five volts", "what followed input was not understood"),
    ("input has continuity", ""),
    ("input reads continuity", "'continuity' is not a number"),
    ("rail six has continuity", "there is no point called rail six"),
]


@pytest.mark.parametrize(("words", "value"), SAID)
def test_a_sentence_of_continuity(words: str, value: str) -> None:
    assert parser().parse(words, Context()).meaning == f"reading|line fuse|{value}||"


@pytest.mark.parametrize(("words", "value"), HEARD)
def test_alone_at_the_point_in_hand(words: str, value: str) -> None:
    assert parser().parse(words, AT_FUSE).meaning == f"reading||{value}||"
    assert parser().parse(f"correction {words}", AT_FUSE).meaning == f"command|correction||{value}||"
    assert grammar().network(AT_FUSE).accepts(words)


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("correction line fuse has continuity", "continuity"),
        ("correction line fuse has no continuity", "open circuit"),
        ("correction line fuse is open circuit", "open circuit"),
        ("correction line fuse open circuit", "open circuit"),
    ],
)
@pytest.mark.parametrize("context", [Context(), AT_FUSE, Context(current="input", last="input")])
def test_it_is_corrected_as_it_is_read(words: str, value: str, context: Context) -> None:
    assert parser().parse(words, context).meaning == f"command|correction|line fuse|{value}||"
    assert grammar().network(context).accepts(words) is (words != "correction line fuse open circuit")


@pytest.mark.parametrize("words", ["correction input has five volts", "correction input five volts"])
def test_a_number_is_not_corrected_so(words: str) -> None:
    assert parser().parse(words, Context(current="input", last="input")).intents == ()


@pytest.mark.parametrize(("words", "why"), REFUSED)
def test_what_is_no_continuity_is_refused(words: str, why: str) -> None:
    parse = parser().parse(words, Context())
    assert parse.intents == ()
    assert why in parse.why


@pytest.mark.parametrize(
    ("words", "heard"),
    [
        ("line fuse has continuity", True),
        ("line fuse has no continuity", True),  # or it would be heard without "no"
        ("line fuse is open circuit", True),
        ("line fuse reads zero point two ohms", True),  # to be refused with the reason
        ("line fuse is open", False),
        ("input has five volts", False),
        ("input has continuity", False),
        ("line fuse reads overload", False),
    ],
)
def test_only_what_cannot_be_taken_for_something_else_is_listened_for(words: str, heard: bool) -> None:
    assert grammar().network(Context()).accepts(words) == heard


def test_no_point_can_be_called_so() -> None:
    assert taken_for("continuity", english()) == taken_for("open circuit", english()) == "a value"


def test_a_board_without_such_points_listens_for_none_of_it() -> None:
    words = Grammar(english(), [SpokenPoint("rail 5", ("rail five",), "voltage", "V")]).vocabulary()
    assert {"continuity", "circuit", "has", "decibels"}.isdisjoint(words)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "open circuit: [open circuit, no continuity]}",
            "}",
            r"in words\.continuity: needs phrases for con",
        ),
        (
            "  continuity: {continuity: [continuity],",
            "  voltage: {a: [b],",
            r"in words\.voltage: has no values that",
        ),
    ],
)
def test_a_language_has_to_name_both(old: str, new: str, message: str) -> None:
    folder = shipped("grammars") / "en"
    texts = {name: (folder / name).read_text(encoding="utf-8") for name in FILES}
    assert texts["units.yaml"].count(old) == 1
    only = texts["units.yaml"].replace(old, new)
    only = only.replace("open circuit: [open, not continuous]", "") if new == "}" else only
    with pytest.raises(GrammarError, match=rf"units\.yaml, {message}"):
        read_language(texts | {"units.yaml": only})

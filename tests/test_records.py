"""The types that pass between the rooms: what they promise of themselves."""

from __future__ import annotations

import dataclasses
import itertools
import re
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice import records
from benchvoice.records import (
    Alternative,
    AnswerIntent,
    CommandIntent,
    GoToIntent,
    Intent,
    NoteIntent,
    Parse,
    Quantity,
    ReadingIntent,
    SpokenValue,
    Tone,
    Transcript,
    WordArc,
    WordNetwork,
)
from tests.hear.networks import sentences

# rail (five | three) reads four [point oh]
NETWORK = WordNetwork(
    7,
    frozenset({4, 6}),
    (
        WordArc(0, 1, "rail"),
        WordArc(1, 2, "five"),
        WordArc(1, 2, "three"),
        WordArc(2, 3, "reads"),
        WordArc(3, 4, "four"),
        WordArc(4, 5, "point"),
        WordArc(5, 6, "oh"),
    ),
)


@pytest.mark.parametrize(
    ("text", "accepted"),
    [
        ("rail five reads four", True),
        ("rail three reads four point oh", True),
        ("  rail  five reads four ", True),
        ("rail five reads four point", False),
        ("rail five reads", False),
        ("five reads four", False),
        ("rail five reads four point oh oh", False),
        ("rail six reads four", False),
        ("Rail five reads four", False),
        ("", False),
    ],
)
def test_network_accepts_its_sentences_alone(text: str, accepted: bool) -> None:
    assert NETWORK.accepts(text) is accepted


def test_network_with_a_final_start_accepts_silence() -> None:
    assert WordNetwork(1, frozenset({0}), ()).accepts("")


def test_network_names_its_words_once() -> None:
    assert NETWORK.words == ("five", "four", "oh", "point", "rail", "reads", "three")


def test_network_key_tells_networks_apart() -> None:
    same = WordNetwork(7, frozenset({6, 4}), tuple(NETWORK.arcs))
    assert same.key == NETWORK.key
    assert re.fullmatch(r"[0-9a-f]{64}", NETWORK.key)
    others = [
        dataclasses.replace(NETWORK, finals=frozenset({4})),
        dataclasses.replace(NETWORK, n_nodes=8),
        dataclasses.replace(NETWORK, arcs=NETWORK.arcs[:-1]),
        dataclasses.replace(NETWORK, arcs=(*NETWORK.arcs[:-1], WordArc(5, 6, "zero"))),
    ]
    assert len({NETWORK.key, *(other.key for other in others)}) == 5


@st.composite
def networks(draw: st.DrawFn) -> WordNetwork:
    """Small acyclic networks in which no word leaves a node twice."""
    n_nodes = draw(st.integers(1, 5))
    arcs = []
    for source, word in itertools.product(range(n_nodes - 1), ("one", "two", "oh")):
        if draw(st.booleans()):
            arcs.append(WordArc(source, draw(st.integers(source + 1, n_nodes - 1)), word))
    finals = draw(st.frozensets(st.integers(0, n_nodes - 1)))
    return WordNetwork(n_nodes, finals, tuple(arcs))


@given(networks())
def test_accepts_agrees_with_walking_every_path(network: WordNetwork) -> None:
    accepted = sentences(network)
    for length in range(network.n_nodes + 1):
        for words in itertools.product(("one", "two", "oh"), repeat=length):
            assert network.accepts(" ".join(words)) == (words in accepted)


@given(networks())
def test_what_leaves_a_node_is_the_arcs_from_it_in_order(network: WordNetwork) -> None:
    for node in range(network.n_nodes):
        assert network.leaving(node) == tuple(arc for arc in network.arcs if arc.source == node)
    assert network.leaving(network.n_nodes) == ()


# --- values ---------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("value", "text", "number"),
    [
        (SpokenValue("3.30", "V"), "3.30 V", "3.30"),
        (SpokenValue("-0.5", "V", True), "-0.5 V", "-0.5"),
        (SpokenValue("01803", ""), "01803", "1803"),
        (SpokenValue("0.00", "mV"), "0.00 mV", "0.00"),
    ],
)
def test_spoken_value_keeps_its_digits(value: SpokenValue, text: str, number: str) -> None:
    assert str(value) == text
    assert str(value.number) == number
    assert not value.over_range


def test_over_range_has_no_number() -> None:
    value = SpokenValue("over range", "ohm")
    assert value.over_range
    assert str(value) == "over range"
    with pytest.raises(ArithmeticError, match="ConversionSyntax"):
        _ = value.number


def test_quantity_is_written_with_its_unit() -> None:
    assert str(Quantity(Decimal("3.14"), "V")) == "3.14 V"
    assert str(Quantity(Decimal("1803"), "")) == "1803"


@pytest.mark.parametrize(
    ("digits", "without"),
    [
        ("2.00", "2"),
        ("2.0", "2"),
        ("2.50", "2.5"),
        ("-0.50", "-0.5"),
        ("0.0", "0"),
        ("20", "20"),  # those before the point are part of the number
        ("2", "2"),
        ("over range", "over range"),
    ],
)
def test_the_noughts_that_end_decimals_do_not_change_a_number(digits: str, without: str) -> None:
    value = SpokenValue(digits, "V", unit_said=True)
    assert value.without_noughts == replace(value, digits=without)
    if value.has_number and not value.over_range:
        assert value.without_noughts.number == value.number


def test_bare_digits_keep_every_nought() -> None:
    assert SpokenValue("1.50", "").without_noughts == SpokenValue("1.50", "")


# --- meanings -------------------------------------------------------------------------------------------------------
FOUR, FOUR_ZERO = SpokenValue("4", "V"), SpokenValue("4.0", "V")
DIFFERENT: list[Intent] = [
    ReadingIntent("rail 5", FOUR),
    ReadingIntent("rail 5", FOUR_ZERO),
    ReadingIntent("rail 15", FOUR),
    ReadingIntent(None, FOUR),
    ReadingIntent("rail 5", SpokenValue("4", "mV")),
    ReadingIntent("rail 5", SpokenValue("4", "V", waveform="AC")),
    ReadingIntent("rail 5", SpokenValue("over range", "")),
    GoToIntent("rail 5"),
    GoToIntent("rail 15"),
    CommandIntent("strike"),
    CommandIntent("close"),
    CommandIntent("read back"),
    CommandIntent("read back", "rail 5"),
    CommandIntent("correction", None, FOUR),
    CommandIntent("correction", None, FOUR_ZERO),
    CommandIntent("correction", "rail 5", FOUR),
    NoteIntent("capacitor bulging"),
    NoteIntent(""),
    AnswerIntent("yes"),
    AnswerIntent("no"),
]


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(DIFFERENT, 2)))
def test_different_intents_have_different_meanings(one: Intent, other: Intent) -> None:
    assert one.meaning != other.meaning
    assert Parse("", (one,)).meaning != Parse("", (other,)).meaning


def test_how_a_value_was_said_does_not_change_its_meaning() -> None:
    said = ReadingIntent("rail 5", SpokenValue("4", "V", unit_said=True))
    assert said.meaning == ReadingIntent("rail 5", FOUR).meaning
    assert ReadingIntent("rail 5", FOUR, near=True).meaning == ReadingIntent("rail 5", FOUR).meaning


def test_parse_without_intents_has_no_meaning() -> None:
    assert Parse("three point", (), "unfinished number").meaning is None
    both = Parse("three three", (ReadingIntent(None, FOUR), ReadingIntent(None, FOUR_ZERO)))
    assert both.meaning == f"{ReadingIntent(None, FOUR).meaning} / {ReadingIntent(None, FOUR_ZERO).meaning}"


def test_transcript_text_is_its_best_alternative() -> None:
    assert Transcript("vosk", ()).text == ""
    assert Transcript("vosk", (Alternative("five", -1.0), Alternative("nine", -2.0))).text == "five"


# --- all of them ----------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    "kind",
    [kind for kind in vars(records).values() if dataclasses.is_dataclass(kind) and isinstance(kind, type)],
    ids=lambda kind: kind.__name__,
)
def test_records_cannot_be_changed(kind: type) -> None:
    blank: object = object.__new__(kind)
    for field in dataclasses.fields(kind):
        with pytest.raises(dataclasses.FrozenInstanceError, match=f"cannot assign to field '{field.name}'"):
            setattr(blank, field.name, None)


def test_tones_are_named_as_they_are_journalled() -> None:
    assert {tone.value for tone in Tone} == {tone.name.lower().replace("_", " ") for tone in Tone}

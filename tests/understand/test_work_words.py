"""Work on the unit: what can be said, what it means, and when it is listened for."""

from __future__ import annotations

import random
from collections.abc import Mapping
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.errors import GrammarError
from benchvoice.records import Context, SpokenPart, SpokenValue, Thing, WorkIntent
from benchvoice.tables import read_table
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.language import FILES
from benchvoice.understand.parse import Parser
from benchvoice.understand.typed import WrittenNames, normalise
from benchvoice.understand.work_words import read_work_words
from tests.understand.boards import POINTS, english
from tests.understand.test_language import texts

PARTS = (
    SpokenPart("U4", ("u four", "three point three volt regulator"), "voltage"),
    SpokenPart("U5", ("u five", "dual gizmo"), "voltage"),
    SpokenPart("R7", ("r seven", "resistor"), "resistance"),
    SpokenPart("R8", ("r eight", "resistor"), "resistance"),
    SpokenPart("C12", ("c twelve",), "capacitance"),
    SpokenPart("Q1", ("q one",)),
)
CLOSED = Context()
OPEN = Context(taken_out=True)
REWORK = Context(taken_out=True, reworked=True, fitted="resistance", part_fitted=True)


@cache
def grammar() -> Grammar:
    return Grammar(english(), POINTS, PARTS)


@cache
def parser() -> Parser:
    return Parser(grammar())


def screws(count: int, size: str = "", length: str = "", place: str = "", name: str = "screw") -> Thing:
    return Thing("fastener", name, count, size, length, place)


def out(thing: Thing) -> WorkIntent:
    return WorkIntent("out", thing)


def number(text: str) -> WorkIntent:
    return WorkIntent("part number", text=text)


def back(thing: Thing) -> WorkIntent:
    return WorkIntent("back", thing)


U4, R7, LID = Thing("part", "U4"), Thing("part", "R7"), Thing("cover", "lid")

UNDERSTOOD = [
    ("with another supply it works", WorkIntent("substituted", Thing("substitute", "supply"), "works")),
    ("with another supply no change", WorkIntent("substituted", Thing("substitute", "supply"), "no change")),
    ("With another cable, it is different.", WorkIntent("substituted", Thing("substitute", "cable"), "different")),
    ("tried another load: the fault is gone", WorkIntent("substituted", Thing("substitute", "load"), "works")),
    ("with another u four no change", WorkIntent("substituted", Thing("part", "U4"), "no change")),
    ("with another U4 nothing changes", WorkIntent("substituted", Thing("part", "U4"), "no change")),
    ("out four screws long top edge", out(screws(4, "", "long", "top edge"))),
    ("Out: four screws, long, top edge.", out(screws(4, "", "long", "top edge"))),
    ("out four screws m three by eight left", out(screws(4, "M3 by 8", "", "left"))),
    ("out two screws m two point five", out(screws(2, "M2.5"))),
    ("out one nut m four", out(screws(1, "M4", name="nut"))),
    ("out 4 screws M3x8 top edge", out(screws(4, "M3 by 8", "", "top edge"))),
    ("out two long screws rear", out(screws(2, "", "long", "rear"))),
    ("took out fourteen screws from the left edge", out(screws(14, "", "", "left edge"))),
    ("unplugged lamp cable left", out(Thing("cable", "lamp cable", place="left"))),
    ("lid off", out(LID)),
    ("the lid is off", out(LID)),
    ("took off u four", out(U4)),
    ("removed u four", out(U4)),
    ("Removed U4.", out(U4)),
    ("removed three point three volt regulator", out(U4)),
    ("removed R102", out(Thing("part", "R102"))),
    ("back four screws", back(screws(4))),
    ("reconnected lamp cable", back(Thing("cable", "lamp cable"))),
    ("plugged in the lamp cable on the left", back(Thing("cable", "lamp cable", place="left"))),
    ("lid back on", back(LID)),
    ("put back u four", back(U4)),
    ("what goes back next", WorkIntent("back next")),
    ("what is still out", WorkIntent("still out")),
    ("careful cable under the lid", WorkIntent("careful", LID, "cable under the lid")),
    ("Careful: cable under the lid", WorkIntent("careful", LID, "cable under the lid")),
    ("careful ribbon left edge", WorkIntent("careful", None, "ribbon left edge")),
    ("left out because stripped", WorkIntent("left out", text="stripped")),
    ("left out because the customer wants it so", WorkIntent("left out", text="the customer wants it so")),
    ("unit is closed", WorkIntent("unit closed")),
    ("fitted u four", WorkIntent("fitted", U4)),
    ("fitted R7 value 4K7", WorkIntent("fitted", R7, value=SpokenValue("4.7", "kohm", True))),
    ("value four k seven", WorkIntent("value", value=SpokenValue("4.7", "kohm", True))),
    ("value r four seven", WorkIntent("value", value=SpokenValue("0.47", "ohm", True))),
    ("value forty seven ohms", WorkIntent("value", value=SpokenValue("47", "ohm", True))),
    ("value 47K3", WorkIntent("value", value=SpokenValue("47.3", "kohm", True))),
    ("method hot air", WorkIntent("method", text="hot air")),
    ("damage lifted pad left edge", WorkIntent("damage", text="lifted pad, left edge")),
    ("mended with jumper wire", WorkIntent("mended", text="jumper wire")),
    ("cleaned with alcohol", WorkIntent("cleaned", text="alcohol")),
    ("inspection passed", WorkIntent("inspected", text="passed")),
    ("part number lima mike three one seven", number("LM317")),
    ("part number lima mike 317 dash n", number("LM317-N")),
    ("part number lima mike three point three slash november", number("LM3.3/N")),
    ("part number LM1117-33", number("LM1117-33")),
    ("Part number: LM1117-3.3/NOPB.", number("LM1117-3.3/NOPB")),
    ("part number 7805", number("7805")),
    ("part number LM 317", number("LM317")),
    ("part number 2N3904", number("2N3904")),
    ("part number max232cpe+", number("MAX232CPE+")),
    ("part number LT1761-5#TR", number("LT1761-5#TR")),
    ("part number DELTA", number("DELTA")),
    ("part number delta", number("D")),
]  # fmt: skip


@pytest.mark.parametrize(("text", "meant"), UNDERSTOOD)
def test_understood(text: str, meant: WorkIntent) -> None:
    words = normalise(text, english(), WrittenNames(POINTS))
    assert parser().parse(words, REWORK).intents == (meant,)


REFUSED = [
    ("with another gizmo it works", "not a sentence of the bench"),
    ("with another supply", "what came of another supply was not understood"),
    ("with another supply the hum is softer", "what came of another supply was not understood"),
    ("out four gizmos", "what followed out was not understood"),
    ("back two screws m nine", "what followed back was not understood"),
    ("removed u nine", "there is no part called u nine"),
    ("fitted u nine", "there is no part called u nine"),
    ("value forty seven", "the unit was not said"),
    ("fitted R7 and R8", "what followed fitted was not understood"),
    ("value 5m", "m may be milliohms or megohms: write 5M0"),
    ("value minus four point seven kilohms", "no part has that value"),
    ("value 0K", "no part has that value"),
    ("value zero kilohms", "no part has that value"),
    ("value zero microfarads", "microfarads does not measure resistance"),
    ("value forty seven volts", "volts does not measure resistance"),
    ("value G10", "'g10' is not the value of a part's resistance"),
    ("value 10 M", "'10 m' is not a number"),
    ("fitted Q1 value 4K7", "such a part has no value that is known here"),
    ("out of order", "the point was not said"),
    ("part number lima mike thre one seven", "thre is no letter and no digit"),
    ("part number lm 317", "lm is no letter and no digit"),
    ("part number LM317*A", "lm317*a is no letter and no digit"),
    ("part number " + "one " * 21, "such a number has at most 20 characters"),
]


@pytest.mark.parametrize(("text", "why"), REFUSED)
def test_refused(text: str, why: str) -> None:
    words = normalise(text, english(), WrittenNames(POINTS))
    parse = parser().parse(words, REWORK)
    assert (parse.intents, parse.why) == ((), why)


LISTENED_FOR = [
    (CLOSED, "with another supply it works", True),
    (CLOSED, "with another u four no change", True),
    (CLOSED, "tried another supply it works", False),
    (CLOSED, "out four screws m three by eight long top edge", True),
    (CLOSED, "took out four screws left", True),
    (OPEN, "put back four screws", True),
    (CLOSED, "out thirteen screws", False),
    (CLOSED, "out one screws", False),
    (CLOSED, "lid off", True),
    (CLOSED, "took off u four", True),
    (CLOSED, "took off u six", False),  # the board does not list it
    (CLOSED, "took off three point three volt regulator", True),
    (CLOSED, "took off dual gizmo", False),  # a recogniser may not know the words
    (CLOSED, "took off resistor", False),  # there are two
    (CLOSED, "fitted r seven", True),
    (CLOSED, "careful cable under the lid", True),
    (CLOSED, "back four screws", False),  # nothing is out
    (CLOSED, "what is still out", False),
    (CLOSED, "method hot air", False),
    (CLOSED, "value four k seven", False),
    (CLOSED, "part number lima mike three", False),
    (REWORK, "part number lima mike three", True),
    (REWORK, "part number lima mike plus", False),  # typed only
    (OPEN, "back four screws", True),
    (OPEN, "what goes back next", True),
    (OPEN, "unit is closed", True),
    (OPEN, "left out because stripped", True),
    (OPEN, "left out because the customer wants it so", False),
    (OPEN, "method hot air", False),
    (REWORK, "method hot air", True),
    (REWORK, "value four k seven", True),
    (REWORK, "value four volts", False),
    (Context(listening=False), "out four screws", False),
]


@pytest.mark.parametrize(("context", "text", "heard"), LISTENED_FOR)
def test_what_is_listened_for_depends_on_what_was_done(context: Context, text: str, heard: bool) -> None:
    assert grammar().network(context).accepts(text) is heard


def test_a_board_without_parts_hears_of_none() -> None:
    network = Grammar(english(), POINTS).network(REWORK)
    assert not network.accepts("took off u four")
    assert network.accepts("out four screws")


def _said(tags: Mapping[str, str]) -> tuple[str, int, str, str, str]:
    name = tags.get("fastener") or tags.get("fasteners") or tags.get("cable") or tags.get("cover") or tags["ref"]
    size = tags.get("thread", "") + (f" by {tags['millimetres']}" if "millimetres" in tags else "")
    return name, int(tags.get("count", "1")), size, tags.get("length", ""), tags.get("position", "")


_CONTEXTS = st.builds(Context, taken_out=st.booleans(), reworked=st.booleans(), part_fitted=st.booleans(),
                      fitted=st.sampled_from(["", "resistance", "capacitance", "voltage"]))  # fmt: skip


@settings(max_examples=2000)
@given(st.integers(0, 2**32), _CONTEXTS)
def test_whatever_can_be_said_of_work_is_understood_as_it_was_meant(seed: int, context: Context) -> None:
    sampled = grammar().sample(random.Random(seed), context)
    tags = {tag.kind: tag.text for tag in sampled.tags}
    if not tags["intent"].startswith("work/"):
        return
    assert grammar().network(context).accepts(sampled.text)
    parse = parser().parse(sampled.text, context)
    if "value" in tags["intent"]:
        refused = parse.why in ("the unit was not said", "no value was said")
        assert refused or all(isinstance(found, WorkIntent) and found.value for found in parse.intents)
        return
    assert len(parse.intents) == 1, (sampled, parse)
    (intent,) = parse.intents
    assert isinstance(intent, WorkIntent)
    form = tags["intent"].removeprefix("work/")
    if form.endswith((" out", " back")) and form not in ("left out", "still out"):
        assert intent.thing is not None
        thing = intent.thing
        assert intent.act == ("out" if form.endswith("out") else "back")
        assert (thing.name, thing.count, thing.size, thing.length, thing.place) == _said(tags)
    elif form == "part number":
        assert intent.text == "".join(tag.text for tag in sampled.tags if tag.kind == "character")
    elif form == "careful":
        assert sampled.text == f"careful {intent.text}"
        assert (intent.thing.name if intent.thing else None) == tags.get("cover")
    else:
        kept = next((tags[slot] for slot in tags if slot not in ("intent", "position")), "")
        assert kept in (intent.text.partition(",")[0], intent.thing.name if intent.thing else "")


def test_the_words_of_the_board_are_no_words_of_work() -> None:
    """Every sentence of work begins in a way in which no reading of a point does."""
    rng = random.Random(1)
    for _ in range(300):
        sampled = grammar().sample(rng, REWORK)
        if any(tag.kind == "intent" and tag.text.startswith("work/") for tag in sampled.tags):
            assert not any(
                sampled.text.startswith(" ".join(name) + " ") for name in grammar().names
            ), sampled.text  # fmt: skip


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"fasteners": ["screw"]}, "fasteners.yaml, fasteners: is missing or not a table"),
        ({"lengths": "long"}, "fasteners.yaml, lengths: is missing or not a list"),
        ({"count up to": "many"}, "fasteners.yaml, count up to: is no number from 2 to 99"),
        ({"sentences": []}, "fasteners.yaml, sentences: is missing or not a table"),
        ({"sentences": {"glued": ["glued"]}}, "fasteners.yaml, sentences.glued: is not a list of sentences"),
        ({"text only": {"fitted": "fitted"}}, "fasteners.yaml, text only.fitted: is not a list of sentences"),
    ],
)
def test_a_broken_file_is_named(change: dict[str, object], complaint: str) -> None:
    data = read_table(texts(), "fasteners.yaml", files=FILES, of="words") | change
    with pytest.raises(GrammarError, match=complaint):
        read_work_words(data)

"""What is said about work on the unit: every count is said back, and what to take care of at the right moment."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.answer.work import ABOUT
from benchvoice.errors import GrammarError
from benchvoice.records import (
    Candidate,
    CommandIntent,
    Decision,
    Outcome,
    SpokenValue,
    Thing,
    Tone,
    WorkAct,
    WorkDone,
    WorkIntent,
)
from benchvoice.spelling import spell_number
from tests.answer.test_phrases import BOOK

LONG = Thing("fastener", "screw", 4, "M3 by 8", "long", "top edge")
TWO = Thing("fastener", "screw", 2, "", "long", "top edge")
LID = Thing("cover", "lid")
CABLE = Thing("cable", "lamp cable", place="left")
U4 = Thing("part", "U4", what="3.3 V regulator")


def done(act: WorkAct, *things: Thing, about: str | None = None, **fields: object) -> Decision:
    text, value = str(fields.pop("text", "")), fields.pop("value", None)
    assert value is None or isinstance(value, SpokenValue)
    intent = WorkIntent(act, things[0] if things else None, text, value)
    work = WorkDone(intent, things, **fields)  # type: ignore[arg-type]
    return Decision(Outcome.ACCEPTED, about or act, work=work)


SUPPLY = Thing("substitute", "supply")
SAID = [
    (
        done("substituted", SUPPLY, text="works"),
        "With another supply, it works. That speaks for it as the cause.",
        "Another supply, it works.",
    ),
    (
        done("substituted", U4, text="no change"),
        "With another U four, three point three volt regulator, no change. That speaks against it.",
        "Another U four, three point three volt regulator, no change.",
    ),
    (
        done("substituted", SUPPLY, text="different"),
        "With another supply, it is different. It may be part of the cause.",
        "Another supply, it is different.",
    ),
    (done("out", LONG), "Out: four screws, M three by eight, long, top edge.", None),
    (done("out", Thing("fastener", "nut", 1)), "Out: one nut.", None),
    (done("out", CABLE), "Out: lamp cable, left.", None),
    (done("out", U4), "Out: U four, three point three volt regulator.", None),
    (
        done("back", TWO, of=4, still=2),
        "Back: two screws, long, top edge. Two of four still out.",
        "Back: two screws, long, top edge. Two of four still out.",
    ),
    (
        done("back", TWO, next=LID, careful=("cable under the lid",)),
        "Back: two screws, long, top edge. Next: lid. Careful, cable under the lid.",
        "Back: two screws, long, top edge. Careful, cable under the lid.",
    ),
    (
        done("back", LID, behind=CABLE, next=CABLE),
        "Back: lid. Lamp cable, left, came out after it and is still out. Next: lamp cable, left.",
        "Back: lid. Lamp cable, left, came out after it.",
    ),
    (
        done("back", U4, again=("rail 3.3",)),
        "Back: U four, three point three volt regulator. Measure again after the repair: rail three point three.",
        "Back: U four, three point three volt regulator.",
    ),
    (done("back next", LID, next=LID, pieces=3), "Next: lid. Three still out.", "Next: lid."),
    (done("back next", next=None), "Nothing to put back.", None),
    (
        done("still out", TWO, LID, of=4, pieces=3),
        "Three still out. Two of four screws, long, top edge, then lid.",
        None,
    ),
    (
        done("still out", left_out=((TWO, "stripped"),)),
        "Nothing to put back. Left out: two screws, long, top edge, stripped.",
        None,
    ),
    (
        done("still out", LID, about="not closed", pieces=1),
        "Not closed. One still out. Lid. Put it back, or say, left out because, and why.",
        "Not closed. One still out. Lid.",
    ),
    (done("left out", TWO, text="stripped"), "Left out: two screws, long, top edge. Stripped.", None),
    (
        done("left out", TWO, text="stripped", next=LID),
        "Left out: two screws, long, top edge. Stripped. Next: lid.",
        None,
    ),
    (done("unit closed"), "Unit closed.", None),
    (done("careful", text="cable under the lid"), "Noted. Careful, cable under the lid.", None),
    (
        done("fitted", U4, again=("rail 3.3", "rail 5")),
        "Fitted: U four, three point three volt regulator. Measure again after the repair: rail three point three,"
        " rail five.",
        "Fitted: U four, three point three volt regulator.",
    ),
    (
        done("value", value=SpokenValue("4.70", "kohm", True), ref="R7"),
        "Value four point seven zero kilohms. R seven.",
        None,
    ),
    (
        done("value", value=SpokenValue("4.7", "kohm", True), ref="R7", instead=SpokenValue("47", "kohm", True)),
        "Value four point seven kilohms. R seven. Instead of forty seven kilohms.",
        None,
    ),
    (
        done("part number", text="LM317-N", ref="U4"),
        "Part number kept. U four.",
        None,
    ),
    (
        done("part number", text="LM317-N", ref="U4", before="LM3"),
        "Part number kept. U four. In place of lima, mike, three.",
        None,
    ),
    (done("method", text="hot air", ref="U4"), "Method hot air. U four.", None),
    (done("mended", text="jumper wire", ref="U4"), "Mended with jumper wire. U four.", None),
]


@pytest.mark.parametrize(("decided", "full", "terse"), SAID)
def test_sentence(decided: Decision, full: str, terse: str | None) -> None:
    said, short = BOOK.reply(decided), BOOK.reply(decided, terse=True)
    assert said.text.casefold() == full.casefold()
    assert short.text.casefold() == (terse or full).casefold()
    assert said.tone is (Tone.REFUSED if decided.about == "not closed" else Tone.DONE)


def test_six_things_are_named_and_the_rest_is_counted() -> None:
    text = BOOK.reply(done("still out", *[LID] * 9, pieces=9)).text
    assert text == "Nine still out. Lid, then lid, then lid, then lid, then lid, then lid, then three more."


@given(st.integers(1, 99), st.integers(0, 99), st.booleans())
def test_every_count_is_said_back(count: int, more: int, terse: bool) -> None:
    thing = Thing("fastener", "screw", count, place="left")
    out = BOOK.reply(done("out", thing), terse=terse).text
    assert out == f"Out: {spell_number(str(count))} {'screw' if count == 1 else 'screws'}, left."
    if more:
        back = BOOK.reply(done("back", thing, of=count + more, still=more), terse=terse).text
        assert f"{spell_number(str(more)).capitalize()} of {spell_number(str(count + more))} still out." in back


def question(*work: WorkIntent, **fields: object) -> str:
    candidates = tuple(Candidate(None, None, work=intent) for intent in work)
    return BOOK.question(Decision(Outcome.ASKED, "question", candidates=candidates, **fields))  # type: ignore[arg-type]


def test_a_count_that_is_not_certain_is_asked_with_both() -> None:
    five = WorkIntent("out", Thing("fastener", "screw", 5))
    nine = WorkIntent("out", Thing("fastener", "screw", 9))
    assert question(five, nine) == "Out five screws or out nine screws?"
    assert question(five) == "Out five screws?"
    value = [WorkIntent("value", value=SpokenValue(digits, "kohm", True)) for digits in ("47", "4.7")]
    assert question(*value) == "Value forty seven kilohms or value four point seven kilohms?"


def test_what_came_out_and_went_back_is_offered_as_it_is_said() -> None:
    lid = [WorkIntent(act, LID) for act in ("out", "back")]
    assert question(*lid) == "Lid off or lid back on?"
    assert question(WorkIntent("out", CABLE)) == "Unplugged lamp cable, left?"
    assert question(WorkIntent("back", CABLE)) == "Reconnected lamp cable, left?"
    part = [WorkIntent(act, U4) for act in ("out", "back")]
    assert question(part[0]) == "Took off u four, three point three volt regulator?"
    assert question(part[1]) == "Put back u four, three point three volt regulator?"
    struck = WorkDone(WorkIntent("out"), (LID,))
    assert BOOK.reply(Decision(Outcome.ACCEPTED, "strike", work=struck)).text == "Struck. Lid off."


def test_a_part_number_is_asked_back_character_by_character_with_its_part() -> None:
    number = WorkIntent("part number", U4, "LM317-3.3")
    assert question(number, why="asked back") == (
        "U four, part number of nine characters: lima, mike, three, one, seven, dash, three, point, three?"
    )


def test_what_is_struck_is_named() -> None:
    struck = WorkDone(WorkIntent("back"), (TWO,))
    assert BOOK.reply(Decision(Outcome.ACCEPTED, "strike", work=struck)).text == (
        "Struck. Back two screws, long, top edge."
    )
    strike = Candidate(None, None, CommandIntent("strike"))
    asked = Decision(Outcome.ASKED, "question", candidates=(strike,), work=struck)
    assert BOOK.question(asked) == "Strike back two screws, long, top edge?"


@pytest.mark.parametrize("about", ABOUT)
def test_a_decision_that_does_not_say_what_was_done_is_refused(about: str) -> None:
    with pytest.raises(GrammarError, match=f"a decision about '{re.escape(about)}' needs what was done"):
        BOOK.reply(Decision(Outcome.ACCEPTED, about))

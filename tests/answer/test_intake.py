"""The intake in words."""

from __future__ import annotations

from typing import Any

import pytest

from benchvoice.answer.phrases import read_phrasebook
from benchvoice.errors import GrammarError
from benchvoice.records import (
    INTAKE_ACTS,
    NOT_LISTED,
    Candidate,
    CommandIntent,
    Decision,
    Outcome,
    Tone,
    WorkDone,
    WorkIntent,
)
from tests.answer.test_phrases import BOOK, TEXTS, decision


def told(act: Any, text: str = "", name: str = "", means: str = "") -> WorkIntent:
    return WorkIntent(act, text=text, name=name, means=means)


def done(intent: WorkIntent, before: str = "") -> Decision:
    return decision(intent.act, work=WorkDone(intent, before=before))


def asked(*works: WorkIntent, why: str = "asked back", before: str = "") -> Decision:
    candidates = tuple(Candidate(None, None, work=work) for work in works)
    work = WorkDone(works[0], before=before) if before else None
    return decision("question", Outcome.ASKED, why=why, candidates=candidates, work=work)


SERIAL = told("serial", "AX-01")
LISTED = told("indicator", "2 short, 1 long", "front lamp", "output overload")
SEEN = told("indicator", "1 short, 1 long, red", "front lamp")

SAID = [
    (done(told("complaint", "no output")), "Complaint noted. No output."),
    (done(told("complaint")), "Complaint noted."),  # its sound alone is kept
    (done(told("complaint follows")), "Say the complaint."),
    (done(told("came with", "power cable")), "Came with: power cable."),
    (done(told("arrived", "wet")), "Arrived: wet."),
    (done(told("came with", "manual"), "nothing"), "Came with: manual. In place of nothing."),
    (asked(told("came with", "nothing"), before="battery, manual"),
     "Came with battery, manual before. Came with nothing?"),
    (asked(told("came with", "manual")), "Came with manual?"),
    (done(SERIAL), "Serial number kept."),
    (done(SERIAL, "B2"), "Serial number kept. In place of bravo, two."),
    (done(LISTED), "Front lamp, two short, one long. Output overload."),
    (decision("indicator", work=WorkDone(SEEN, unlisted=True)), "Front lamp, one short, one long, red. Not listed."),
    (done(SEEN), "Front lamp, one short, one long, red."),  # the board has no table to list it
    (done(told("intake")), "Intake."),
    (asked(SERIAL), "Serial number of five characters: alpha, x ray, dash, zero, one?"),
    (asked(told("serial", "7")), "Serial number of one character: seven?"),
    (asked(SERIAL, before="B2"),
     "The job has bravo, two. Serial number of five characters: alpha, x ray, dash, zero, one?"),
    (asked(LISTED), "Front lamp, two short, one long: output overload?"),
    (asked(SEEN), "Front lamp, one short, one long, red?"),
    (asked(LISTED, SEEN, why=NOT_LISTED),
     "Front lamp, one short, one long, red: not listed. Nearest: two short, one long, output overload. Is it that?"),
    (asked(LISTED, SEEN, why="not heard clearly"),
     "Front lamp, two short, one long, or front lamp, one short, one long, red?"),
    (asked(told("complaint", "dead"), why="not heard clearly"), "Complaint, dead?"),
    (decision("strike", work=WorkDone(told("came with", "manual"))), "Struck. Came with manual."),
    (decision("closed", names=("power cable", "manual")),
     "Job closed. Goes back with the unit: power cable and manual."),
    (decision("closed"), "Job closed."),
]  # fmt: skip


@pytest.mark.parametrize(("said", "text"), SAID)
def test_what_is_said_of_the_intake(said: Decision, text: str) -> None:
    full, terse = BOOK.reply(said), BOOK.reply(said, terse=True)
    assert full.text == text
    assert len(terse.text) <= len(full.text)
    assert (full.tone is Tone.ASK) == (said.outcome is Outcome.ASKED or said.about == "complaint follows")


def test_a_strike_that_is_asked_names_what_would_go() -> None:
    candidates = (Candidate(None, None, CommandIntent("strike")),)
    strike = decision("question", Outcome.ASKED, candidates=candidates, work=WorkDone(told("came with", "manual")))
    assert BOOK.question(strike) == "Strike came with manual?"


@pytest.mark.parametrize("act", INTAKE_ACTS)
def test_every_act_can_be_offered(act: Any) -> None:
    assert BOOK.question(asked(told(act, "9", "front lamp"), why="not heard clearly"))


def test_a_phrasebook_without_the_alphabet_is_refused() -> None:
    with pytest.raises(GrammarError, match=r"intake\.yaml, alphabet: is missing or not a table"):
        read_phrasebook(TEXTS | {"intake.yaml": "alphabet: []"})

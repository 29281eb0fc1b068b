"""How steps of a checklist are said, and that whatever is decided of one has its sentence."""

from __future__ import annotations

import re
from typing import Any

import pytest
from hypothesis import given, settings

from benchvoice.answer.phrases import read_phrasebook
from benchvoice.decide.checklist_steps import Checklist
from benchvoice.errors import GrammarError
from benchvoice.records import Candidate, CommandIntent, Decision, Outcome, Reply, StepTold, Tone
from tests.answer.test_phrases import BOOK, TEXTS, decision, reading
from tests.decide.checklists import CHECKLISTS
from tests.decide.test_guide import TALK, conversation

WORDS = re.compile(r"[A-Za-z][A-Za-z ,.:?']*")

STEPS = [
    (StepTold("say", "Connect 24 V, limited to 0.5 A."), "Connect twenty four volts, limited to zero point five amps."),
    (StepTold("say", "Lid off; mind the cable"), "Lid off, mind the cable."),
    (StepTold("say", "First: unplug it. Then wait!"), "First, unplug it. Then wait."),
    (StepTold("ask", "Does the fan turn?"), "Does the fan turn?"),
    (StepTold("ask", "Which lamp?", choices=("red", "green")), "Which lamp? Red or green?"),
    (StepTold("ask", "Which lamp", choices=("red", "green", "none")), "Which lamp? Red, green or none?"),
    (StepTold("measure", point="rail 3.3"), "Measure rail three point three."),
    (StepTold("inspect", "Electrolytic capacitors"), "Inspect. Electrolytic capacitors. In order?"),
    (StepTold("wait", "Let it cool", wait_s=90), "Wait one minute thirty seconds. Let it cool."),
    (StepTold("wait", wait_s=7200), "Wait two hours."),
    (StepTold("warn", "The heat sink is hot."), "Warning. The heat sink is hot."),
    (StepTold("power", power="unpowered"), "Is the unit without power?"),
    (StepTold("power", power="powered"), "Is the unit powered?"),
    (StepTold("end"), "The list is done."),
]


@pytest.mark.parametrize(("step", "text"), STEPS)
def test_a_step_in_words(step: StepTold, text: str) -> None:
    assert BOOK.reply(decision("step", step=step)).text == text
    assert BOOK.reply(decision("step", step=step), terse=True).text == text


SAID = [
    (decision("step", names=("yes",), step=StepTold("end")), "Yes. The list is done."),
    (decision("step back", step=StepTold("measure", point="rail 5")), "Back. Measure rail five."),
    (
        decision("step skipped", names=("it is not fitted",), step=StepTold("end")),
        "Skipped, it is not fitted. The list is done.",
    ),
    (decision("step jumped", names=("lamp",), step=StepTold("ask", "Does it light?")), "Does it light?"),
    (
        decision("where", step=StepTold("say", "Unplug it", part="power up", number=3, of=12)),
        "Step three of twelve. Power up. Unplug it.",
    ),
    (
        decision("step again", why="something else was said since", step=StepTold("ask", "Does it light?")),
        "Not taken. Something else was said since. Does it light?",
    ),
    (decision("where", step=StepTold("say", "Unplug it", number=3, of=12)), "Step three of twelve. Unplug it."),
    (decision("left", steps=("a", "rails", "rails")), "Three steps left. A, rails."),
    (decision("left", steps=("",), names=("rail 5",)), "One step left. Not read, one. Rail five."),
    (
        reading("4.0", step=StepTold("measure", point="rail 5")),
        "Pass. Four point zero. Rail three point three. Limits three point one four to three point four seven volts. "
        "Measure rail five.",
    ),
    (
        decision("strike", point="rail 5", rests_on="measure rail 5"),
        "Struck. Rail five. The list went on from that value, at measure rail five.",
    ),
]


@pytest.mark.parametrize(("told", "text"), SAID)
def test_what_is_said_to_a_step(told: Decision, text: str) -> None:
    assert BOOK.reply(told).text == text


def _asked(command: CommandIntent) -> Decision:
    return decision("question", Outcome.ASKED, candidates=(Candidate(None, None, command),))


@pytest.mark.parametrize(
    ("command", "question"),
    [
        (CommandIntent("skip"), "Skip this step? Say because, and the reason."),
        (CommandIntent("skip", detail="it is not fitted"), "Skip this step because it is not fitted?"),
        (CommandIntent("jump", detail="TP2 checks"), "Jump to test point two checks?"),
        (CommandIntent("choice", detail="red"), "Red?"),
        (CommandIntent("back"), "Step back?"),
        (CommandIntent("next"), "Next step?"),
    ],
)
def test_a_command_is_asked(command: CommandIntent, question: str) -> None:
    assert BOOK.reply(_asked(command)) == Reply(question, Tone.ASK)


@pytest.mark.parametrize(
    ("kind", "tone"),
    [("say", Tone.DONE), ("warn", Tone.CAUTION), ("ask", Tone.ASK), ("power", Tone.ASK), ("end", Tone.DONE)],
)
def test_the_tone_is_that_of_the_step(kind: str, tone: Tone) -> None:
    step = StepTold(kind, "Look at it", power="powered")
    assert BOOK.reply(decision("step", step=step)).tone is tone
    assert BOOK.reply(reading("4.0", step=step)).tone is Tone.PASS  # the verdict's own


def test_a_job_begins_with_the_step_at_hand() -> None:
    ready = BOOK.notice("ready")
    assert BOOK.begun(ready, StepTold("say", "Unplug it")).text == "Ready. Unplug it."
    assert BOOK.begun(ready, None) == ready


@pytest.mark.parametrize("key", ["steps", "powers", "times"])
def test_a_language_without_them_is_refused(key: str) -> None:
    texts = {**TEXTS, "replies.yaml": re.sub(rf"(?m)^{key}:", f"no {key}:", TEXTS["replies.yaml"])}
    with pytest.raises(GrammarError, match=f"replies.yaml, {key}: is missing"):
        read_phrasebook(texts)


@given(CHECKLISTS, TALK)
@settings(max_examples=60, deadline=None)
def test_every_decision_of_a_guided_session_is_answered(checklist: Checklist, talk: list[Any]) -> None:
    for _, _, done in conversation(checklist, talk)[1]:
        full, terse = BOOK.reply(done.decision), BOOK.reply(done.decision, terse=True)
        if done.decision.about == "nothing":
            assert (full.text, full.tone) == ("", None)
            continue
        assert WORDS.fullmatch(full.text), full.text
        assert WORDS.fullmatch(terse.text), terse.text
        assert len(terse.text) <= len(full.text)
        if done.decision.outcome is Outcome.ASKED:
            assert full.tone is Tone.ASK
            assert full.text.endswith(("?", "."))

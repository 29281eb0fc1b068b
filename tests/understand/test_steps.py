"""Sentences of a checklist: heard only while one is gone through, and understood as they were meant."""

from __future__ import annotations

import random
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.records import AnswerIntent, CommandIntent, Context, Intent, SpokenSteps
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.parse import Parser
from tests.understand.boards import POINTS, english, grammar, parser

STEPS = SpokenSteps(
    parts=(("safety", "safety"), ("power up", "power up"), ("test point two checks", "TP2 checks")),
    choices=("dark", "steady light", "slow blinking"),
)
PLAIN = Context()
ASKED = Context(question_open=True)
CHOOSING = Context(question_open=True, choices=STEPS.choices)
MEASURING = Context(current="rail 5", last="fan current")
CONTEXTS = (PLAIN, ASKED, CHOOSING, MEASURING)


@cache
def guided() -> Grammar:
    return Grammar(english(), POINTS, steps=STEPS)


@cache
def understanding() -> Parser:
    return Parser(guided())


UNDERSTOOD: list[tuple[str, Context, Intent]] = [
    ("next step", PLAIN, CommandIntent("next")),
    ("step is done", PLAIN, CommandIntent("next")),
    ("step back", PLAIN, CommandIntent("back")),
    ("undo that step", PLAIN, CommandIntent("back")),
    ("skip step", PLAIN, CommandIntent("skip")),
    ("skip this step", PLAIN, CommandIntent("skip")),
    ("skip step because it is not fitted", PLAIN, CommandIntent("skip", detail="it is not fitted")),
    ("Skip this step because the lid is glued.", PLAIN, CommandIntent("skip", detail="the lid is glued")),
    ("because i cannot reach it", ASKED, CommandIntent("reason", detail="i cannot reach it")),
    ("because of the rust", ASKED, CommandIntent("reason", detail="of the rust")),
    ("where am I", PLAIN, CommandIntent("where")),
    ("which step is this", PLAIN, CommandIntent("where")),
    ("jump to power up", PLAIN, CommandIntent("jump", detail="power up")),
    ("jump to test point two checks", PLAIN, CommandIntent("jump", detail="TP2 checks")),
    ("it is slow blinking", CHOOSING, CommandIntent("choice", detail="slow blinking")),
    ("steady light", CHOOSING, CommandIntent("choice", detail="steady light")),
    ("the first", CHOOSING, AnswerIntent("first")),
]


@pytest.mark.parametrize(("text", "context", "intent"), UNDERSTOOD)
def test_understood(text: str, context: Context, intent: Intent) -> None:
    assert understanding().parse(text, context).intents == (intent,)


@pytest.mark.parametrize(
    ("text", "context"),
    [
        ("jump to attic", PLAIN),
        ("jump to", PLAIN),
        ("it is dark", PLAIN),  # nothing was asked that has this answer
        ("it is purple", CHOOSING),
        ("dark", ASKED),
        ("skip step because", PLAIN),
    ],
)
def test_not_understood(text: str, context: Context) -> None:
    assert understanding().parse(text, context).intents == ()


HEARD = [
    (PLAIN, "step is done", True),
    (PLAIN, "skip step because it is not fitted", True),
    (PLAIN, "skip step because the lid is glued", False),  # free words are typed alone
    (PLAIN, "because it is not fitted", False),
    (ASKED, "because it is not fitted", True),
    (PLAIN, "jump to safety", True),
    (PLAIN, "it is dark", False),
    (CHOOSING, "it is dark", True),
    (CHOOSING, "dark", False),  # a single short word is easily imagined
    (Context(listening=False), "step is done", False),
]


@pytest.mark.parametrize(("context", "text", "can"), HEARD)
def test_what_is_listened_for(context: Context, text: str, can: bool) -> None:
    assert guided().network(context).accepts(text) is can


@pytest.mark.parametrize("context", CONTEXTS)
def test_without_a_checklist_nothing_more_is_listened_for(context: Context) -> None:
    for _, text, _ in HEARD:
        assert not grammar().network(context).accepts(text)
    assert parser().parse("jump to safety", context).intents == ()


@settings(max_examples=1500)
@given(st.integers(0, 2**32), st.sampled_from(CONTEXTS))
def test_whatever_can_be_said_of_steps_is_understood_as_it_was_meant(seed: int, context: Context) -> None:
    sampled = guided().sample(random.Random(seed), context)
    intent = next(tag.text for tag in sampled.tags if tag.kind == "intent")
    assert guided().network(context).accepts(sampled.text)
    kind, _, name = intent.partition("/")
    if kind != "steps":
        return
    detail = next((tag.text for tag in sampled.tags if tag.kind == "detail"), "")
    assert understanding().parse(sampled.text, context).intents == (CommandIntent(name, detail=detail),)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["next", "back", "skip", "where", "jump", "choice", "reason"])
def test_every_sentence_of_a_step_is_sampled(name: str) -> None:
    """So that the property above cannot hold for want of cases."""
    tags = {tag.text for seed in range(400) for tag in guided().sample(random.Random(seed), CHOOSING).tags}
    assert f"steps/{name}" in tags


def test_the_vocabulary_holds_parts_and_choices() -> None:
    words = set(guided().vocabulary())
    assert {"safety", "checks", "blinking", "because", "jump", "where", "glued"} - words == {"glued"}
    assert not {"safety", "blinking", "jump"} & set(grammar().vocabulary())


def test_the_rest_of_a_reading_is_told_by_the_point_at_which_it_was_made() -> None:
    """The checklist has gone on to a voltage; "four seventy", a pause, "kilohms" was still the resistance."""
    follows = Context(current="rail 5", last="logic rail to ground", follows="four seventy")
    corrections = [intent for intent in understanding().parse("kilohms", follows).intents
                   if isinstance(intent, CommandIntent) and intent.joined and intent.value is not None]  # fmt: skip
    assert [(intent.value.digits, intent.value.unit) for intent in corrections if intent.value] == [
        ("470", "kohm"),
        ("4.70", "kohm"),
    ]

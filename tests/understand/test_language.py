"""The language files: what ships is whole, and what is broken is named."""

from __future__ import annotations

import random

import pytest

from benchvoice.errors import GrammarError
from benchvoice.files import shipped
from benchvoice.records import Context
from benchvoice.understand.language import FILES, read_language
from benchvoice.understand.templates import fill, phrase, read_template, sample, slots_in
from benchvoice.units import QUANTITIES, UNITS
from tests.understand.boards import english, parser


def texts() -> dict[str, str]:
    folder = shipped("grammars") / "en"
    return {name: (folder / name).read_text(encoding="utf-8") for name in FILES}


def test_every_unit_can_be_said_and_every_quantity_heard() -> None:
    assert set(english().units.values()) == set(UNITS)
    assert set(english().heard_units) == set(QUANTITIES)
    for quantity, phrases in english().heard_units.items():
        assert set(phrases) <= set(english().unit_phrases(QUANTITIES[quantity]))


def fixed_sentences() -> list[str]:
    """Every sentence of a command or an answer that has no value in it, with one point's name where one may stand."""
    found: dict[str, None] = {}
    for templates in (english().templates, english().text_templates):
        for (kind, _), texts in templates.items():
            for node in map(read_template, texts if kind in ("commands", "answers", "note follows") else ()):
                if "value" not in slots_in(node):
                    filled = fill(node, {"point": phrase(("rail", "five"))})
                    found.update({sample(filled, random.Random(seed)).text: None for seed in range(20)})
    return list(found)


@pytest.mark.parametrize("sentence", fixed_sentences())
def test_a_fixed_sentence_has_one_meaning(sentence: str) -> None:
    context = Context(current="rail 5", last="rail 5", question_open=True)
    assert len(parser().parse(sentence, context).intents) == 1


@pytest.mark.parametrize(
    ("file", "text", "complaint"),
    [
        ("numbers.yaml", None, "numbers.yaml: is missing"),
        ("numbers.yaml", "digits: {one: 1", "numbers.yaml, line"),
        ("numbers.yaml", "- one", "numbers.yaml: holds no table of words"),
        ("numbers.yaml", "digits: [one]", "numbers.yaml, digits: is missing or not a table"),
        ("units.yaml", "units: {parsec: [parsecs]}", "units.yaml, units.parsec: is not a unit"),
        (
            "phrases.yaml",
            "commands: {dance: [dance]}\ntext only: {}",
            "commands.dance: is not a command",
        ),
        ("phrases.yaml", "reading: rail\ntext only: {}", "phrases.yaml, reading: is neither a list nor a table"),
        ("notes.yaml", "parts: lead", "notes.yaml, parts: is missing or not a list"),
    ],
)
def test_a_broken_file_is_named(file: str, text: str | None, complaint: str) -> None:
    broken = {name: content for name, content in texts().items() if name != file}
    if text is not None:
        broken[file] = text
    with pytest.raises(GrammarError, match=complaint):
        read_language(broken)

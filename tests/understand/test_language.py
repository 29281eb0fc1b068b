"""The language files: what ships is whole, and what is broken is named."""

from __future__ import annotations

import pytest

from benchvoice.errors import GrammarError
from benchvoice.files import shipped
from benchvoice.understand.language import FILES, read_language
from benchvoice.units import QUANTITIES, UNITS
from tests.understand.boards import english


def texts() -> dict[str, str]:
    folder = shipped("grammars") / "en"
    return {name: (folder / name).read_text(encoding="utf-8") for name in FILES}


def test_every_unit_can_be_said_and_every_quantity_heard() -> None:
    assert set(english().units.values()) == set(UNITS)
    assert set(english().heard_units) == set(QUANTITIES)
    for quantity, phrases in english().heard_units.items():
        assert set(phrases) <= set(english().unit_phrases(QUANTITIES[quantity]))


@pytest.mark.parametrize(
    ("file", "text", "complaint"),
    [
        ("numbers.yaml", None, "numbers.yaml: is missing"),
        ("numbers.yaml", "digits: {one: 1", "numbers.yaml, line"),
        ("numbers.yaml", "- one", "numbers.yaml: holds no table of words"),
        ("numbers.yaml", "digits: [one]", "numbers.yaml, digits: is missing or not a table"),
        ("units.yaml", "units: {parsec: [parsecs]}", "units.yaml, units.parsec: is not a unit"),
        ("notes.yaml", "parts: lead", "notes.yaml, parts: is missing or not a list"),
    ],
)
def test_a_broken_file_is_named(file: str, text: str | None, complaint: str) -> None:
    broken = {name: content for name, content in texts().items() if name != file}
    if text is not None:
        broken[file] = text
    with pytest.raises(GrammarError, match=complaint):
        read_language(broken)

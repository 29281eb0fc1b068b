"""Free words of a typed sentence keep what was typed: capitals, commas, decimal points."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.records import CommandIntent, Context, Intent, NoteIntent, WorkIntent
from benchvoice.understand.as_typed import as_typed
from benchvoice.understand.language import Phrase
from benchvoice.understand.typed import normalise
from tests.understand.boards import english, parser

AT_HAND, INTAKE = Context(), Context(intake=True)


def words_of(text: str) -> Phrase:
    return parser().words_of(normalise(text, english()))


def typed(text: str, context: Context = AT_HAND) -> tuple[Intent, ...]:
    return as_typed(parser().parse(normalise(text, english()), context), text, words_of).intents


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("note LM1117-3.3 is warm, C7 bulged", NoteIntent("LM1117-3.3 is warm, C7 bulged", free=True)),
        ("Note: see IPC-A-610, 5.2.", NoteIntent("see IPC-A-610, 5.2", free=True)),
        ("note 3,3 V after 5 min", NoteIntent("3,3 V after 5 min", free=True)),
        ("note regulator is burnt", NoteIntent("regulator is burnt")),
        ("Note Regulator is burnt.", NoteIntent("Regulator is burnt")),
        ("complaint: Fan stops at 55 C, says Ann", WorkIntent("complaint", text="Fan stops at 55 C, says Ann")),
        ("came with PSU, 1.5 m lead", WorkIntent("came with", text="PSU, 1.5 m lead")),
        ("because R7 isn't fitted", CommandIntent("reason", detail="R7 isn't fitted")),
        # what is not free is left as it is heard
        ("on Rail 5", parser().parse("on rail five", Context()).intents[0]),
        ("Rail 5 reads 5.02 V", parser().parse("rail five reads five point zero two volts", Context()).intents[0]),
    ],
)
def test_what_is_kept(text: str, meant: Intent) -> None:
    assert typed(text, INTAKE) == (meant,)


@given(st.text(st.characters(exclude_categories=("C", "Z")), max_size=12).map(lambda text: f"note x {text} y"))
def test_whatever_is_noted_reads_as_the_words_that_were_understood(text: str) -> None:
    heard = parser().parse(normalise(text, english()), Context()).intents
    kept = typed(text)
    assert len(kept) == len(heard)
    for before, after in zip(heard, kept, strict=True):
        assert isinstance(before, NoteIntent)
        assert isinstance(after, NoteIntent)
        assert " ".join(words_of(after.text)) == before.text

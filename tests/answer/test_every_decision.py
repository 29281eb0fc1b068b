"""Whatever the session decides in random conversations has its sentence, in words alone."""

from __future__ import annotations

import re
from typing import Any

from hypothesis import given, settings

from benchvoice.records import Outcome, Tone
from tests.answer.test_phrases import BOOK
from tests.decide.test_session_properties import _TALK, conversation

ANNOUNCED = ("Say the note.", "Say the complaint.")
WORDS = re.compile(r"[A-Za-z][A-Za-z ,.?:']*")


@given(_TALK)
@settings(max_examples=60)
def test_every_decision_is_answered(utterances: list[Any]) -> None:
    for _, _, done in conversation(utterances)[1]:
        full, terse = BOOK.reply(done.decision), BOOK.reply(done.decision, terse=True)
        if done.decision.about == "nothing":
            assert (full.text, full.tone) == ("", None)
            continue
        assert WORDS.fullmatch(full.text), full.text
        assert WORDS.fullmatch(terse.text), terse.text
        assert len(terse.text) <= len(full.text)
        assert (full.tone is Tone.ASK) == (done.decision.outcome is Outcome.ASKED or full.text in ANNOUNCED)
        if done.decision.outcome is Outcome.ASKED:
            assert full.text.endswith(("?", "."))

"""Free words of a typed sentence as they were typed: "note LM1117-3.3 is warm, C7 bulged" keeps capitals and commas."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from benchvoice.records import CommandIntent, Intent, NoteIntent, Parse, WorkIntent

__all__ = ["as_typed"]

_AROUND = ".:- \u2013\u2014"  # what parts the words from what they follow, or ends the line
_FREE_ACTS = ("complaint", "came with", "arrived")
_FREE_COMMANDS = ("reason", "skip")


def as_typed(parse: Parse, written: str, words_of: Callable[[str], tuple[str, ...]]) -> Parse:
    """The parse with the words that are kept as they are (a note, a complaint, a reason) taken from what was typed.

    Args:
        parse: of the normalised sentence.
        written: the sentence as it was typed.
        words_of: the words of a typed sentence or the end of one, as the parser has them.
    """
    return replace(parse, intents=tuple(_written(intent, written, words_of) for intent in parse.intents))


def _written(intent: Intent, written: str, words_of: Callable[[str], tuple[str, ...]]) -> Intent:
    match intent:
        case NoteIntent(text=str(text)) if text:
            return replace(intent, text=_end_of(written, text, words_of))
        case WorkIntent(act=act, text=str(text)) if act in _FREE_ACTS and text:
            return replace(intent, text=_end_of(written, text, words_of))
        case CommandIntent(name=name, detail=str(detail)) if name in _FREE_COMMANDS and detail:
            return replace(intent, detail=_end_of(written, detail, words_of))
        case _:
            return intent


def _end_of(written: str, words: str, words_of: Callable[[str], tuple[str, ...]]) -> str:
    """The end of what was typed that reads as `words`, without the signs around it; `words` where none does."""
    tokens = written.split()
    for at in range(1, len(tokens)):
        end = " ".join(tokens[at:])
        if " ".join(words_of(end)) == words:
            return end.strip(_AROUND) or words
    return words

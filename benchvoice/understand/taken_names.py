"""Which names a point cannot have, because at the bench they already mean something: a value, an answer, a command."""

from __future__ import annotations

import re
from collections.abc import Iterator

from benchvoice.understand.language import Language, Phrase
from benchvoice.understand.templates import match, read_template

__all__ = ["taken_for"]

_OF_THE_LIST = ("choice", "part of the list")
"""Slots whose words are those of one checklist, which is compared with the points when it is read."""
_LITERAL = re.compile(r"<[^>]*>|([a-z']+)")


def taken_for(name: str, language: Language) -> str:
    """What a spoken name would be taken for ("a value", "an answer"), empty where nothing else is meant by it.

    Args:
        name: lower-case words with single spaces.
        language: the words that have a meaning already.
    """
    words = tuple(name.split())
    if _is_value(words, language):
        return "a value"
    for kind, what in (("answers", "an answer"), ("commands", "a command")):
        if words and set(words) <= _words_of(kind, language):
            return what
    if words and words[0] in _begins_a_note(language):
        return "a note"
    for kind, what in (("work", "work on the unit"), ("steps", "a step of a checklist")):
        if _is_sentence(words, kind, language):
            return what
    return ""


def _is_sentence(words: Phrase, kind: str, language: Language) -> bool:
    """Whether it is a whole sentence of that kind, or one that it may be in a transcript."""

    def ends(slot: str, start: int) -> Iterator[int]:
        known = language.work.slots.get(slot)
        if slot in _OF_THE_LIST or start >= len(words):
            return
        if known is None:  # a part, a reason: any words
            yield from range(start + 1, len(words) + 1)
            return
        yield from (start + len(phrase) for phrase in known if words[start : start + len(phrase)] == phrase)

    found = (next(match(read_template(text), words, ends), None) for text in _templates(kind, language))
    return any(spans is not None for spans in found)


def _is_value(words: Phrase, language: Language) -> bool:
    """Whether it is a number, a unit, or a number with its unit, as far as words go: "five", "plus twelve volt"."""
    number = 0
    while number < len(words) and (words[number] in language.number_words or words[number] in language.and_words):
        number += 1
    rest = words[number:]
    whole = rest in language.units or rest in language.prefix_alone or rest in language.waveform
    in_words = any(words in phrases for phrases in language.in_words.values())
    return whole or in_words or words in language.over_range or (number > 0 and not rest)


def _words_of(kind: str, language: Language) -> frozenset[str]:
    """Every word of the sentences of that kind, slots aside."""
    templates = [*_templates(kind, language)]
    return frozenset(word for text in templates for word in _LITERAL.findall(text) if word)


def _begins_a_note(language: Language) -> frozenset[str]:
    """The words that begin a sentence which takes any words after it."""
    return frozenset(text.split()[0] for text in _templates("note", language) if text[:1].isalpha())


def _templates(kind: str, language: Language) -> tuple[str, ...]:
    tables = (language.templates, language.text_templates)
    return tuple(text for table in tables for (of, _), texts in table.items() if of == kind for text in texts)

"""Times as they are said: "ninety seconds", "five minutes", "one hour thirty minutes". Whole seconds, never guessed."""

from __future__ import annotations

from typing import NamedTuple

from benchvoice.spelling import spell_number
from benchvoice.time_units import SECONDS_IN, TIMERS_UP_TO
from benchvoice.understand.language import Language, Phrase
from benchvoice.understand.numbers import spoken_values
from benchvoice.understand.templates import Alt, Node, Seq, Tag, Word, phrase
from benchvoice.units import quantity_kind

__all__ = ["LONGEST_S", "Duration", "duration_said", "read_duration"]

LONGEST_S = 86_400

_PLAINLY_SAID = quantity_kind("temperature")
"""A quantity whose numbers are said without a unit or sign in their midst, as those of a time are."""


_NONE: Phrase = ()


class Duration(NamedTuple):
    """A time in seconds; nought with the reason where the words are none."""

    seconds: int
    why: str = ""


def duration_said(language: Language) -> Node:
    """The times that are listened for: one whole number and its unit, each number tagged with its digits."""
    forms: list[Node] = []
    for unit, (many, one, *_) in language.time_units.items():
        numbers = [str(number) for number in range(2, TIMERS_UP_TO[unit] + 1)]
        several = Alt(tuple(phrase(tuple(spell_number(n).split()), Tag("digits", n)) for n in numbers))
        forms.append(Seq((several, Word(many, Tag("unit", unit)))))
        forms.append(Seq((Word(spell_number("1"), Tag("digits", "1")), Word(one, Tag("unit", unit)))))
    return Alt(tuple(forms))


def read_duration(words: Phrase, language: Language) -> Duration:
    """The time that the words say, a larger unit before a smaller one."""
    units = {word: unit for unit, said in language.time_units.items() for word in said}
    total, before, number = 0, LONGEST_S + 1, _NONE
    for word in words:
        if word not in units:
            number = (*number, word)
            continue
        size = SECONDS_IN[units[word]]
        count = _whole(number, language)
        if count is None:
            return Duration(0, f"'{' '.join(number)}' is no whole number" if number else "the number was not said")
        if size >= before:
            return Duration(0, "the larger unit comes first")
        total, before, number = total + count * size, size, _NONE
    if number or not words:
        return Duration(0, "hours, minutes or seconds were not said")
    if not 0 < total <= LONGEST_S:
        return Duration(0, "a timer runs from one second to one day")
    return Duration(total)


def _whole(words: Phrase, language: Language) -> int | None:
    """The whole number that the words say, where they can say no other."""
    values = spoken_values(words, _PLAINLY_SAID, language, point_unsaid=True).meanings
    if len(values) != 1 or values[0].unit_said or not values[0].digits.isdigit():
        return None
    return int(values[0].digits)

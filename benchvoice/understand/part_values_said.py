"""The value of a part as it is said ("four point seven kilohms") or typed (`4K7`)."""

from __future__ import annotations

from benchvoice.errors import UnitError
from benchvoice.part_values import read_part_value
from benchvoice.records import SpokenValue
from benchvoice.understand.language import Language, Phrase
from benchvoice.understand.numbers import Values, spoken_values
from benchvoice.units import quantity_kind

__all__ = ["part_values_said"]


def part_values_said(words: Phrase, quantity: str, language: Language) -> Values:
    """Every value of a part that the words can mean.

    Args:
        words: as they were said, or one that was typed.
        quantity: of the part's value; "" where such a part has none.
        language: its number words and units.
    """
    if not quantity:
        return Values((), "such a part has no value that is known here")
    if len(words) == 1 and any(character.isdigit() for character in words[0]):
        if quantity == "resistance" and words[0].endswith("m"):
            return Values((), "m may be milliohms or megohms: write 5M0")
        try:
            found = Values((SpokenValue(*read_part_value(words[0], quantity), unit_said=True),))
        except UnitError as error:
            found = Values((), error.what)
        return _real(found)
    kind = quantity_kind(quantity)
    values = spoken_values(words, kind, language, own_unit=kind.base, point_unsaid=True)
    # a swallowed unit would make another part of it, so there is no default
    said = tuple(value for value in values.meanings if value.unit_said and value.waveform is None)
    return _real(Values(said, values.why or ("" if said else "the unit was not said")))


def _real(values: Values) -> Values:
    """Without what no part has: less than nothing, or nothing at all but for a link of zero ohms."""
    real = tuple(value for value in values.meanings if not value.over_range and _is_real(value))
    return Values(real, values.why if real or not values.meanings else "no part has that value")


def _is_real(value: SpokenValue) -> bool:
    return value.number > 0 or (value.number == 0 and value.unit == "ohm" and not value.digits.startswith("-"))

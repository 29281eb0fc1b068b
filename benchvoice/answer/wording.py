"""Numbers, units and names as they are said: words only, so that nothing is left for a synthesiser to guess."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from benchvoice.errors import UnitError
from benchvoice.records import SpokenValue
from benchvoice.spelling import spell_digits, spell_number
from benchvoice.units import UNITS, convert, unit

__all__ = ["Wording", "sounds_like_another"]

_MICRO_AND_OHM = "\u00b5\u03bc\u03a9\u2126\u00b0"
_TYPED = re.compile(
    r"(?P<number>(?:(?<![^\W_])[-\u2212](?=[0-9.]))?(?:[0-9]+(?:\.[0-9]+)?|(?<![0-9A-Za-z])\.[0-9]+))"
    rf"(?:\s?(?P<unit>[A-Za-z{_MICRO_AND_OHM}]+)(?![0-9A-Za-z]))?"
    r"|(?P<word>[^\W\d_]+(?:'[^\W\d_]+)*)"
    r"|(?P<sign>\S)"
)
_WHOLE = re.compile(r"[+\-\u2212]?(?P<whole>[0-9]*)")
_UNWIELDY = (Decimal("0.001"), Decimal(10_000))


def sounds_like_another(digits: str) -> bool:
    """Whether the whole part holds a teen or a ten, which are easily taken for one another: 15 and 50, 113 and 130."""
    match = _WHOLE.match(digits)
    whole = match["whole"] if match else ""
    if not whole or whole.startswith("0") or len(whole) > 6:
        return False  # said digit by digit already
    groups = (int(whole) // 1000 % 100, int(whole) % 100)
    return any(13 <= group <= 19 or (group >= 30 and group % 10 == 0) for group in groups)


@dataclass(frozen=True)
class Wording:
    """How things are called in one language.

    Attributes:
        units: unit symbol → its plural ("volts").
        one_unit: unit symbol → what one of it is called ("volt").
        waveforms: "AC", "DC" → how that is said.
        over_range: how a reading above the meter's range is said.
        in_words: value that is words → how it is said.
        left_unsaid: symbols of units that are not said back where they were not spoken.
        signs: character in a written name → its word ("+" → "plus").
        names: point name → what it is called aloud; others are spelled from how they are written.
    """

    units: Mapping[str, str]
    one_unit: Mapping[str, str]
    waveforms: Mapping[str, str]
    over_range: str
    left_unsaid: frozenset[str]
    signs: Mapping[str, str]
    names: Mapping[str, str] = field(default_factory=dict)
    in_words: Mapping[str, str] = field(default_factory=dict)

    def unit(self, symbol: str, digits: str = "") -> str:
        """A unit's name, singular for exactly one of it; empty for bare digits."""
        if not symbol:
            return ""
        return (self.one_unit if digits.lstrip("+-\u2212") == "1" else self.units)[unit(symbol).symbol]

    def number(self, digits: str, symbol: str) -> str:
        """A number's words; bare digits (a fault code) and long numbers digit by digit."""
        return spell_digits(digits) if not symbol and digits.isdigit() else spell_number(digits)

    def value(self, value: SpokenValue, *, with_unit: bool | None = None) -> str:
        """A value as it is read back, its digits kept.

        Args:
            value: what was measured.
            with_unit: whether its unit is said; None says it unless it was not spoken and goes without saying.
        """
        if not value.has_number:
            return self.over_range if value.over_range else self.in_words[value.digits]
        words = [self.number(value.digits, value.unit)]
        if with_unit is None:
            with_unit = value.unit_said or value.unit not in self.left_unsaid
        if with_unit:
            words.append(self.unit(value.unit, value.digits))
        if value.waveform:
            words.append(self.waveforms[value.waveform])
        return " ".join(word for word in words if word)

    def by_digits(self, value: SpokenValue) -> str:
        """A value's digits one by one, without its unit: 15.0 is "one five point zero"."""
        if not value.has_number:
            return self.value(value)
        whole, point, decimals = value.digits.partition(".")
        # a leading zero makes every whole part be said digit by digit; its own word is then taken off
        signless = whole.lstrip("+-\u2212")
        sign = spell_number(f"{whole[: len(whole) - len(signless)]}0").removesuffix("zero").strip()
        words = [sign, spell_digits(signless) if signless else "", spell_number(f".{decimals}") if point else ""]
        return " ".join(word for word in words if word)

    def count(self, number: int) -> str:
        """How many, in words."""
        return spell_number(str(number))

    def read_back(self, value: SpokenValue, *, with_unit: bool | None = None) -> str:
        """A value as it is said, and once more digit by digit where a teen and a ten could be mistaken."""
        said = self.value(value, with_unit=with_unit)
        if not value.has_number or not value.unit or not sounds_like_another(value.digits):
            return said
        return f"{said}, {self.by_digits(value)}"

    def limit(self, number: Decimal, symbol: str) -> str:
        """A limit with its unit; in a handier multiple of the unit where it would be very long."""
        number, symbol = _handy(number, symbol)
        digits = f"{number:f}"
        return f"{self.number(digits, symbol)} {self.unit(symbol, digits)}".strip()

    def limits(self, low: Decimal, high: Decimal, symbol: str) -> tuple[str, str]:
        """Both limits in one unit, which is said once, after the second."""
        if _handy(low, symbol)[1] != _handy(high, symbol)[1]:
            return self.limit(low, symbol), self.limit(high, symbol)
        number, handy = _handy(low, symbol)
        return self.number(f"{number:f}", handy), self.limit(high, symbol)

    def point(self, name: str | None) -> str:
        """What a point is called aloud; empty for none."""
        if name is None:
            return ""
        return self.names.get(name) or self.spoken(name)

    def spoken(self, text: str) -> str:
        """A written text in words: `+3.3V rail` → "plus three point three volts rail", `U4 pin 3` → "U four pin three".

        Characters that have no word in `signs` are left out.
        """
        words: list[str] = []
        for match in _TYPED.finditer(text):
            if match["word"]:  # a raised or circled digit counts as a letter to the pattern, but is none
                words.append("".join(letter for letter in match["word"] if letter.isalpha() or letter == "'"))
            elif match["sign"]:
                words.append(self.signs.get(match["sign"], ""))
            else:
                words += [spell_number(match["number"]), self._written_unit(match["unit"], match["number"])]
        return " ".join(word for word in words if word)

    def _written_unit(self, symbol: str | None, number: str) -> str:
        if symbol is None:
            return ""
        try:
            return self.unit(symbol, number)
        except UnitError:  # an ordinary word after a number
            return self.spoken(symbol)


def _handy(number: Decimal, symbol: str) -> tuple[Decimal, str]:
    size = abs(number)
    if not symbol or not size or _UNWIELDY[0] <= size < _UNWIELDY[1]:
        return number, symbol
    base = unit(symbol).base
    for other in UNITS.values():
        if other.base == base and 1 <= abs(moved := convert(number, symbol, other.symbol)) < 1000:
            return moved.normalize(), other.symbol
    return number, symbol

"""Units and quantities: which units a quantity is measured in, what they are worth, and the typed form of a value.

Unit symbols are written as in the SI Brochure (9th edition), in plain characters where a keyboard lacks the sign:
`ohm` for Ω, `u` for µ, `degC` for °C. Numbers are `Decimal`; digits are never dropped or added.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from benchvoice.errors import UnitError

__all__ = ["QUANTITIES", "UNITS", "QuantityKind", "Unit", "convert", "quantity_kind", "read_typed", "same_size", "unit"]

# SI prefixes in use at the bench, as powers of ten (SI Brochure, 9th ed., table 7; from memory).
PREFIXES = MappingProxyType({"p": -12, "n": -9, "u": -6, "m": -3, "": 0, "k": 3, "M": 6, "G": 9})


@dataclass(frozen=True)
class Unit:
    """A unit symbol, the base unit that it is a multiple of, and the power of ten between them."""

    symbol: str
    base: str
    exponent: int


@dataclass(frozen=True)
class QuantityKind:
    """A quantity that points can have.

    Attributes:
        name: as written in a board file ("voltage").
        base: its base unit's symbol; the empty string where the value has no unit (`digits`).
        units: the symbols it may be spoken or typed in, base unit first.
        signed: whether a value below zero can be real.
        words: what its values are where they are words, not numbers.
    """

    name: str
    base: str
    units: tuple[str, ...]
    signed: bool
    words: tuple[str, ...] = ()


def _kind(name: str, base: str, prefixes: str, signed: bool) -> QuantityKind:
    multiples = tuple(f"{prefix}{base}" for prefix in prefixes)
    return QuantityKind(name, base, (base, *multiples) if base else (), signed)


QUANTITIES: MappingProxyType[str, QuantityKind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            _kind("voltage", "V", "kmu", signed=True),
            _kind("ripple", "V", "mu", signed=False),
            _kind("diode drop", "V", "m", signed=False),
            _kind("current", "A", "mun", signed=True),
            _kind("resistance", "ohm", "kMm", signed=False),
            _kind("capacitance", "F", "munp", signed=False),
            _kind("frequency", "Hz", "kMG", signed=False),
            _kind("temperature", "degC", "", signed=True),
            _kind("power", "W", "mk", signed=False),
            # differences: how much warmer than something else, how many times as large on a logarithmic scale
            _kind("temperature rise", "K", "", signed=True),
            _kind("level", "dB", "", signed=True),
            # whether there is a way through: a fuse, a switch, a track
            QuantityKind("continuity", "", (), signed=False, words=("continuity", "open circuit")),
            # what a unit shows as bare digits: a fault code, a counter; leading zeros count
            _kind("digits", "", "", signed=False),
        )
    }
)

UNITS: MappingProxyType[str, Unit] = MappingProxyType(
    {
        symbol: Unit(symbol, kind.base, PREFIXES[symbol.removesuffix(kind.base)])
        for kind in QUANTITIES.values()
        for symbol in kind.units
    }
)

_SPELLINGS = MappingProxyType({"\u2126": "ohm", "\u03a9": "ohm", "\u00b0C": "degC", "\u2103": "degC"})
_TYPED = re.compile(r"(?P<number>[+\-\u2212]?\d+(?:\.\d+)?)\s*(?P<unit>[^\d\s.,+\-].*)?", re.ASCII)


def unit(symbol: str) -> Unit:
    """The unit of that symbol; `Ω`, `µ` and `°C` are read as `ohm`, `u` and `degC`.

    Raises:
        UnitError: no such unit.
    """
    plain = symbol.strip()
    for sign, spelt in _SPELLINGS.items():
        plain = plain.replace(sign, spelt)
    if plain[:1] in ("\u00b5", "\u03bc"):  # micro sign, Greek mu
        plain = "u" + plain[1:]
    found = UNITS.get(plain)
    if found is None:
        raise UnitError(f"'{symbol}' is not a unit benchvoice knows", cure=f"Write one of: {', '.join(UNITS)}")
    return found


def quantity_kind(name: str) -> QuantityKind:
    """The quantity of that name.

    Raises:
        UnitError: no such quantity.
    """
    found = QUANTITIES.get(name)
    if found is None:
        raise UnitError(f"'{name}' is not a quantity benchvoice knows", cure=f"Write one of: {', '.join(QUANTITIES)}")
    return found


def convert(number: Decimal, source: str, target: str) -> Decimal:
    """`number` of the unit `source`, expressed in the unit `target`; exact, digits kept.

    Raises:
        UnitError: the units measure different things.
    """
    from_unit, to_unit = unit(source), unit(target)
    if from_unit.base != to_unit.base:
        raise UnitError(f"{source} cannot be expressed in {target}")
    shift = from_unit.exponent - to_unit.exponent
    return number.scaleb(shift) if shift else number


def same_size(number: Decimal, size: Decimal) -> bool:
    """Whether two numbers of one unit are of one size: neither more than twice the other, signs aside."""
    return abs(size) <= abs(number) * 2 and abs(number) <= abs(size) * 2


def read_typed(text: str) -> tuple[Decimal, str]:
    """A typed value such as `3.30 V`, `-12 V`, `4.7 kΩ` or `10 %`: its number, digits kept, and its unit's symbol.

    Strict on purpose: a decimal comma, a thousands separator, a part-value code (`4K7`), an exponent or a spelt-out
    unit are refused rather than guessed at. A per cent sign is returned as the unit `%`; a number alone has the
    unit `""`.

    Raises:
        UnitError: the text is not a number and a unit.
    """
    match = _TYPED.fullmatch(text.strip())
    if match is None:
        raise UnitError(f"'{text}' is not a value", cure="Write a number and a unit, such as 3.3 V, 4.7 kohm or 25 mV")
    number = Decimal(match["number"].replace("\u2212", "-"))
    symbol = (match["unit"] or "").strip()
    if symbol in ("", "%"):
        return number, symbol
    return number, unit(symbol).symbol

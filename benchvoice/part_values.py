"""Values of parts: the part-value code as it is printed and typed (4K7, R47, 3V3), and which parts have a value.

The code puts the unit's letter in place of the decimal point: IEC 60062 (read second hand; capacitors from memory).
What could be read in two ways is refused: a capital M on a capacitor is a million of nothing.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from benchvoice.errors import UnitError
from benchvoice.units import convert
from benchvoice.units import unit as measurement_unit

__all__ = ["part_quantity", "read_part_value", "unusual", "value_code"]

# Class letters: IEEE 315 / ASME Y14.44 (read second hand). The voltage of a diode or a regulator is printed as 3V3
# (common practice, no source).
_QUANTITIES = MappingProxyType({"R": "resistance", "C": "capacitance", "D": "voltage", "U": "voltage", "F": "current"})
_LETTERS = MappingProxyType(
    {
        "resistance": MappingProxyType({"R": "ohm", "K": "kohm", "M": "Mohm"}),
        "capacitance": MappingProxyType({"P": "pF", "N": "nF", "U": "uF"}),
        "voltage": MappingProxyType({"V": "V"}),
    }
)
_LEADING = frozenset("RPNU")
"""Letters that may stand first, for a value below one: R47, p33. A K or M there (K47) is as often a misprint."""
_CODE = re.compile(r"(?P<whole>[0-9]{0,3})(?P<letter>[^\W\d_])(?P<decimals>[0-9]{0,3})", re.ASCII)
_REF = re.compile(r"([A-Za-z]{1,2})[0-9]{1,4}[A-Za-z]?")


def part_quantity(ref: str) -> str:
    """The quantity of the value of a part with that reference designator ("R7"): "" where it has none here."""
    match = _REF.fullmatch(ref)
    return "" if match is None else _QUANTITIES.get(match[1].upper(), "")


def read_part_value(text: str, quantity: str) -> tuple[str, str]:
    """The value that a part-value code means: `4K7` of a resistance is ("4.7", "kohm"), `R47` ("0.47", "ohm").

    Digits are kept as they are written: `4R70` is ("4.70", "ohm").

    Args:
        text: the code, in upper or lower case.
        quantity: "resistance", "capacitance" or "voltage": it decides what the letter means. A current has no code.

    Raises:
        UnitError: it is no code of that quantity, or can be read in two ways (`G10`, `K47`, `10 M`, `3,3`).
    """
    match = _CODE.fullmatch(text.strip().replace("\u00b5", "u").replace("\u03bc", "u"))
    letters: Mapping[str, str] = _LETTERS.get(quantity, {})
    if match is None or match["letter"].upper() not in letters or not (match["whole"] or match["decimals"]):
        cure = "Write it as 4K7, 470R, R47 or 4M7; a capacitor as 100n or 4u7; a voltage as 3V3"
        raise UnitError(f"'{text}' is not the value of a part's {quantity or 'kind'}", cure=cure)
    letter = match["letter"].upper()
    if not match["whole"] and letter not in _LEADING:
        raise UnitError(f"'{text}' can be read in two ways", cure=f"Write 0{text.strip()}")
    whole = match["whole"] or "0"
    digits = f"{whole}.{match['decimals']}" if match["decimals"] else whole
    return digits, letters[letter]


def value_code(digits: str, unit: str) -> str:
    """The code of a value, as it is printed beside it: ("4.7", "kohm") is 4K7, ("0.47", "ohm") R47.

    "" where the unit has none, or where the number is no plain decimal.
    """
    letter = next((name for table in _LETTERS.values() for name, symbol in table.items() if symbol == unit), "")
    match = re.fullmatch(r"([0-9]+)(?:\.([0-9]+))?", digits)
    if not letter or match is None:
        return ""
    small = letter.lower() if unit.endswith("F") else letter
    whole = "" if match[1] == "0" and match[2] and letter in _LEADING else match[1]
    return f"{whole}{small}{match[2] or ''}"


# IEC 60063: the rows of two digits, and that of 192 values with three, which holds those of 96 and of 48
_TWO_DIGITS = frozenset({
    *("10", "11", "12", "13", "15", "16", "18", "20", "22", "24", "27", "30"),
    *("33", "36", "39", "43", "47", "51", "56", "62", "68", "75", "82", "91"),
})  # fmt: skip
_OUT_OF_STEP = {"919": "920"}
_THREE_DIGITS = frozenset(
    _OUT_OF_STEP.get(text, text) for text in (f"{round(100 * 10 ** (step / 192))}" for step in range(192))
)
_LARGEST = MappingProxyType({"ohm": Decimal("1e9"), "F": Decimal(10), "V": Decimal(1000), "A": Decimal(100)})
"""Beyond these no part is met at the bench (common practice, no source)."""


def unusual(digits: str, unit: str) -> str:
    """Why a part hardly has that value, as a phrase; empty where it is one that parts are made with.

    Resistors and capacitors come in the preferred numbers of IEC 60063; what is heard as another one was most likely
    misheard. A link has zero ohms.
    """
    base = measurement_unit(unit).base
    number = convert(Decimal(digits), unit, base)
    if base not in _LARGEST or number == 0:
        return ""
    if number > _LARGEST[base]:
        return "it is too large for a part"
    figures = f"{number.normalize():e}".partition("e")[0].replace(".", "").rstrip("0").ljust(2, "0")
    preferred = (
        base in ("V", "A") or figures in _TWO_DIGITS or (base == "ohm" and figures.ljust(3, "0") in _THREE_DIGITS)
    )
    return "" if preferred else "it is no preferred number"

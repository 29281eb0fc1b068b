"""How numbers, units, times and dictated text are written in the record and its report."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import ROUND_UP, Decimal, InvalidOperation

from benchvoice.keep.record_handover import PartUsed
from benchvoice.keep.record_models import PointRecord, ReadingRecord, UnlikeRecord

__all__ = [
    "amount",
    "clip_link",
    "clock",
    "day_and_clock",
    "duration_text",
    "limits_of",
    "limits_text",
    "part_text",
    "plain_amount",
    "probability_text",
    "rounded_uncertainty",
    "share_text",
    "signed",
    "uncertainty_text",
    "unit_text",
    "unlike_text",
    "verdict_text",
    "visible",
]

_UNITS = {"ohm": "Ω", "degC": "°C"}
_MINUS = "\u2212"
_NO_BREAK = "\u00a0"
_CLIP = re.compile(r"clips/[A-Za-z0-9_-]+\.flac")
_BIDI = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def visible(text: str) -> str:
    """The text with every character that could hide or reorder others made visible; line ends and tabs stay."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(map(_visible_character, text))


def _visible_character(character: str) -> str:
    if character in "\n\t":
        return character
    if character in _BIDI or unicodedata.category(character) in ("Cc", "Cs", "Co", "Cn"):
        return f"⟨U+{ord(character):04X}⟩"
    return character


def unit_text(unit: str) -> str:
    """A unit's symbol as it is printed: Ω for ohm, µ for u, °C for degC."""
    for plain, sign in _UNITS.items():
        unit = unit.replace(plain, sign)
    return "µ" + unit[1:] if unit[:1] == "u" else unit


def plain_amount(value: str, unit: str | None, waveform: str | None = None) -> str:
    """A value as a line of text has it: "3.31 V", "230 V AC", "over range"."""
    return value if value == "over range" else " ".join(filter(None, (value, unit_text(unit or ""), waveform)))


def amount(value: str | None, unit: str) -> str:
    """A number with its unit, digits as they were spoken; "" for None."""
    if value is None:
        return ""
    written = visible(value).replace("-", _MINUS) if value[1:2].isdigit() else visible(value)
    return written if value == "over range" or not unit else f"{written}{_NO_BREAK}{unit_text(visible(unit))}"


def signed(value: str | None, unit: str) -> str:
    """The same with a plus sign where it is not negative."""
    if value is None:
        return ""
    return amount(value, unit) if value[:1] in "+-" else f"+{amount(value, unit)}"


def limits_text(low: str | None, high: str | None, unit: str, *, write: Callable[[str, str], str] = amount) -> str:
    """ "3.14 to 3.47 V", "at least 200 Ω", "at most 5 mV", or "no limits"; `write` makes a number and its unit text."""
    if low is not None and high is not None:
        return f"{write(low, '')} to {write(high, unit)}"
    if low is not None:
        return f"at least {write(low, unit)}"
    return "no limits" if high is None else f"at most {write(high, unit)}"


def limits_of(limited: ReadingRecord | PointRecord) -> str:
    """What a reading or a point is judged by: its limits, or the value that is expected."""
    if limited.expected:
        return f"expected: {visible(limited.expected)}"
    return limits_text(limited.low, limited.high, limited.unit)


def rounded_uncertainty(value: str) -> str:
    """An uncertainty with the two significant digits that can be meant at most, rounded up (GUM 7.2.6, from memory)."""
    try:
        number = Decimal(value)
    except InvalidOperation:
        return value
    if not number.is_finite() or number <= 0:
        return value
    place = Decimal(1).scaleb(number.adjusted() - 1)
    return value if number == number.quantize(place) else f"{number.quantize(place, ROUND_UP):f}"


def uncertainty_text(reading: ReadingRecord) -> str:
    """ "U = 0.075 V", or "" where none could be stated. The record itself keeps more digits."""
    if reading.uncertainty is None:
        return ""
    return f"U = {amount(rounded_uncertainty(reading.uncertainty), reading.unit)}"


def probability_text(probability: str) -> str:
    """ "p = 0.882"; what rounds to 0 or 1 is given as a bound, since no probability here is either."""
    return {"0.0000": "p < 0.0001", "1.0000": "p > 0.9999"}.get(probability, f"p = {visible(probability)}")


def share_text(share: str) -> str:
    """ "71 %"; what is more than nothing and less than a hundredth is given as a bound."""
    hundredths = Decimal(share) * 100
    return f"{hundredths.quantize(Decimal(1))}{_NO_BREAK}%" if hundredths >= 1 else f"less than 1{_NO_BREAK}%"


def verdict_text(reading: ReadingRecord) -> str:
    """ "fail, high"."""
    return reading.statement + (f", {reading.direction}" if reading.direction else "")


def clock(at: datetime) -> str:
    """The time of day, UTC."""
    return f"{at.astimezone(UTC):%H:%M:%S}"


def day_and_clock(at: datetime | None) -> str:
    """Day and time, UTC; a dash for None."""
    return "–" if at is None else f"{at.astimezone(UTC):%Y-%m-%d %H:%M:%S}"


def duration_text(seconds: int) -> str:
    """ "1 h 12 min", "12 min", "43 s": minutes once there is one, rounded."""
    if seconds < 60:
        return f"{seconds}{_NO_BREAK}s"
    hours, minutes = divmod(round(seconds / 60), 60)
    return " ".join(f"{number}{_NO_BREAK}{unit}" for number, unit in ((hours, "h"), (minutes, "min")) if number)


def unlike_text(found: UnlikeRecord) -> str:
    """ "right output, 1.2 V, 12 % higher than left output, 1.07 V, before the repair"."""
    own, other = plain_amount(found.value, found.unit), plain_amount(found.to_value, found.to_unit)
    how = "unlike"
    if found.percent is not None:
        how = f"{found.percent.lstrip('-')} % {'lower' if found.percent.startswith('-') else 'higher'} than"
    return f"{found.point}, {own}, {how} {found.to}, {other}, {found.stage} the repair"


def part_text(part: PartUsed) -> str:
    """A part that was fitted, with all that was told of it: "U4, 3.3 V regulator, LM1117-33"."""
    value = "" if part.value is None else plain_amount(part.value, part.unit)
    value = "" if value in part.what else value  # "3.3 V regulator" says it already
    return ", ".join(filter(None, (part.ref, part.what, value, part.part_number)))


def clip_link(clip: str | None) -> str | None:
    """The relative link to a clip; None for what is not the name of a clip, which then is never linked."""
    return clip if clip is not None and _CLIP.fullmatch(clip) else None

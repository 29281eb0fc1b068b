"""Spoken values: every meaning that a run of words can have as a measured value, and why it has none.

The digits are built as text, never computed, so that "three point three zero" stays 3.30. What people leave out is not
guessed: "three three" means 33 or 3.3, and whoever asks gets both.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple, cast

from benchvoice.records import SpokenValue
from benchvoice.understand.language import Language, Phrase
from benchvoice.units import QuantityKind

__all__ = ["OL", "Values", "spoken_values"]

OL = "ol"
"""What a meter shows over range, as it is typed."""

_DECIMALS_SHOWN = 3  # for a diode drop: a fourth digit stood before the point (common practice, no source)
_NO_DIODE_V = 10


class Values(NamedTuple):
    """The meanings of a run of words, likeliest first; with none, the reason."""

    meanings: tuple[SpokenValue, ...]
    why: str = ""


class _NoValueError(Exception):
    """These words are not a value. Carries the reason; never leaves this module."""


class _Unit(NamedTuple):
    symbol: str
    start: int
    end: int


def spoken_values(
    words: Sequence[str],
    kind: QuantityKind,
    language: Language,
    *,
    own_unit: str | None = None,
    volts_shown: bool | None = None,
    point_unsaid: bool = False,
) -> Values:
    """What `words` mean as a value of the quantity `kind`.

    Args:
        words: lower-case words without punctuation.
        kind: the quantity that is measured; it decides which units can be meant.
        language: the word tables.
        own_unit: the unit in which the point's values are written, where that is not the base unit: a value without a
            spoken unit can be in either.
        volts_shown: for a diode drop, whether the meter shows volts or millivolts; None asks where that matters.
        point_unsaid: whether the everyday form of hundreds ("three thirty", "three oh three") may be a number whose
            point was left out (3.30, 3.03) as well.

    Returns:
        One meaning, several where something was left unsaid, or none with the reason.
    """
    try:
        meanings = _values(tuple(words), kind, language, volts_shown, point_unsaid)
    except _NoValueError as refusal:
        return Values((), str(refusal))
    if own_unit in (None, kind.base) or kind.name == "diode drop":
        return Values(meanings)
    return Values(tuple(dict.fromkeys(either for value in meanings for either in _either_unit(value, str(own_unit)))))


def _either_unit(value: SpokenValue, own_unit: str) -> tuple[SpokenValue, ...]:
    """The meter shows "10.2" for 10.2 kohm and for 10.2 ohm; zero is zero in both."""
    if value.unit_said:
        return (value,)
    own = replace(value, unit=own_unit)
    return (own,) if value.over_range or value.number == 0 else (own, value)


def _threes(words: Phrase) -> Iterable[tuple[str, str, str]]:
    return zip(words, words[1:], words[2:], strict=False)


def _values(
    words: Phrase, kind: QuantityKind, language: Language, volts_shown: bool | None, point_unsaid: bool
) -> tuple[SpokenValue, ...]:
    if not words:
        raise _NoValueError("no value was said")
    if any(word == "," and before.isdigit() and after.isdigit() for before, word, after in _threes(words)):
        raise _NoValueError("write the number without a comma")
    if not all(word[0].isalnum() for word in words[1:]):
        raise _NoValueError("the value is parted by a sign")
    if kind.words or words in language.over_range or words == (OL,):
        return (SpokenValue(_in_words(words, kind, language) if kind.words else "over range", kind.base),)
    if not kind.base:
        return (SpokenValue(_digit_string(words, language), ""),)
    words, waveform = _take_waveform(words, kind, language)
    sign, words = _take_sign(words, language)
    halves = _half(words, kind, language)
    if halves is not None:
        digits, symbol = halves
        return (SpokenValue(sign + digits, symbol or kind.base, symbol is not None, waveform),)
    number, unit, infix = _split_unit(words, kind, language)
    texts = _infix_number(number, infix, language) if infix is not None else _number(number, language, point_unsaid)
    meanings = tuple(SpokenValue(sign + text, unit or kind.base, unit is not None, waveform) for text in texts)
    if kind.name == "diode drop" and unit is None:
        return _diode_drop(meanings, volts_shown)
    if kind.name == "diode drop" and unit == "mV":
        whole = tuple(value for value in meanings if "." not in value.digits and len(value.digits.lstrip("-")) >= 3)
        return whole or meanings  # 462 millivolts is what such a meter shows; 4.62 is no diode
    return meanings


def _in_words(words: Phrase, kind: QuantityKind, language: Language) -> str:
    """A value that is words; what a meter shows as over range is an open circuit to it."""
    found = language.in_words[kind.name].get(words)
    if found is None and words in language.over_range:
        return kind.words[-1]
    if found is None:
        raise _NoValueError(f"{kind.name} is said as {' or '.join(kind.words)}")
    return found


# --- what stands around the number --------------------------------------------------------------------------------
def _take_waveform(words: Phrase, kind: QuantityKind, language: Language) -> tuple[Phrase, Literal["AC", "DC"] | None]:
    for phrase, name in language.waveform.items():
        if words[-len(phrase) :] == phrase and len(words) > len(phrase):
            if kind.base not in ("V", "A"):
                raise _NoValueError(f"{name} does not go with {kind.name}")
            return words[: -len(phrase)], cast(Literal["AC", "DC"], name)
    return words, None


def _take_sign(words: Phrase, language: Language) -> tuple[str, Phrase]:
    if words and words[0] in language.minus:
        return "-", words[1:]
    if words and words[0] in language.plus:
        return "", words[1:]
    return "", words


def _find_units(words: Phrase, kind: QuantityKind, language: Language) -> list[_Unit]:
    """Every unit in `words`, longest phrase first where they overlap."""
    ours, found, at = language.unit_phrases(kind), [], 0
    while at < len(words):
        for length in (3, 2, 1):
            phrase = words[at : at + length]
            if len(phrase) < length:
                continue
            if phrase in ours:
                found.append(_Unit(ours[phrase], at, at + length))
                break
            if phrase in language.units:
                raise _NoValueError(f"{' '.join(phrase)} does not measure {kind.name}")
        else:
            length = 1
        at += length
    return found


def _split_unit(words: Phrase, kind: QuantityKind, language: Language) -> tuple[Phrase, str | None, int | None]:
    """The number's words, its unit's symbol if one was said, and where a unit stood in place of the point."""
    units = _find_units(words, kind, language)
    if not units:
        return words, None, None
    first = units[0]
    if len(units) == 2:
        # "four k seven ohms": the multiplier in place of the point, and the base unit once more
        last = units[1]
        if last.symbol != kind.base or last.end != len(words) or first.end == last.start or first.symbol == last.symbol:
            raise _NoValueError("two units were said")
        words = words[: last.start]
    elif len(units) > 2:
        raise _NoValueError("two units were said")
    if first.end == len(words):
        return words[: first.start], first.symbol, None
    phrase = words[first.start : first.end]
    if phrase not in language.infix_units.get(kind.name, frozenset()):
        raise _NoValueError(f"{' '.join(phrase)} cannot stand in place of the point")
    if first.start == 0 and phrase not in language.leading_units:
        raise _NoValueError("the unit came before the number")
    return words[: first.start] + words[first.end :], first.symbol, first.start


def _half(words: Phrase, kind: QuantityKind, language: Language) -> tuple[str, str | None] | None:
    """ "half a volt", "one and a half volts": digits and unit; None where no half was said."""
    at = next((index for index, word in enumerate(words) if word in language.half), None)
    if at is None:
        return None
    rest = words[at + 1 :]
    if rest and rest[0] in language.article:
        rest = rest[1:]
    symbol = language.unit_phrases(kind).get(rest) if rest else None
    if rest and symbol is None:
        raise _NoValueError(f"{' '.join(rest)} does not follow a half")
    before = words[:at]
    if before and before[-1] in language.article:
        before = before[:-1]
    if not before:
        if symbol is None:
            raise _NoValueError("half of what was not said")
        return "0.5", symbol
    if before[-1] not in language.and_words:
        raise _NoValueError("a half follows 'and'")
    whole = _cardinal(before[:-1], language)
    if whole is None:
        raise _NoValueError(f"{' '.join(before[:-1])} is not a number")
    return f"{whole}.5", symbol


def _diode_drop(meanings: tuple[SpokenValue, ...], volts_shown: bool | None) -> tuple[SpokenValue, ...]:
    """A meter shows a diode drop as 0.462 or as 462, a larger one as 1.850 or 1850; what was unsaid stays open."""
    pointless = tuple(value for value in meanings if "." not in value.digits)
    found: list[SpokenValue] = []
    for value in pointless or meanings:
        size = value.digits.lstrip("-")
        sign = value.digits.removesuffix(size)
        volts = _volts_shown_as(size) if pointless else (size,)
        in_volts = [replace(value, digits=sign + digits, unit="V") for digits in volts]
        in_millivolts = [replace(value, unit="mV")]
        if not value.number:
            shown = in_volts
        elif pointless:
            shown = {True: in_volts, False: in_millivolts, None: in_volts + in_millivolts}[volts_shown]
        else:  # no meter's diode test reaches ten volts, but 462.5 is shown by one that counts millivolts
            shown = in_millivolts + in_volts if value.number.copy_abs() >= _NO_DIODE_V else in_volts
        found.extend(item for item in shown if item not in found)
    return tuple(found)


def _volts_shown_as(digits: str) -> tuple[str, ...]:
    """What a meter that shows volts shows where `digits` are read off without the point, likeliest first.

    The digit before the point may be among them: "one eight five" is 0.185 or 1.85. A diode test reaches to about
    3 V (common practice, no source), so a larger first digit stands after the point.
    """
    if len(digits) == 1:
        return (digits,)
    below_one, above_one = f"0.{digits}", f"{digits[0]}.{digits[1:]}"
    if digits[0] not in "123":
        return (below_one,)
    return (above_one, below_one) if len(digits) > _DECIMALS_SHOWN else (below_one, above_one)


# --- the number itself --------------------------------------------------------------------------------------------
def _number(words: Phrase, language: Language, point_unsaid: bool) -> tuple[str, ...]:
    """The digits that `words` can mean, with their point; at least one.

    Raises:
        _NoValueError: not a number.
    """
    points = [index for index, word in enumerate(words) if word in language.point]
    if len(points) > 1:
        raise _NoValueError("the point was said twice")
    if points:
        return (_with_point(words[: points[0]], words[points[0] + 1 :], language),)
    return _without_point(words, language, point_unsaid)


def _infix_number(words: Phrase, at: int, language: Language) -> tuple[str, ...]:
    if any(word in language.point for word in words):
        raise _NoValueError("the point was said beside a unit that stands for it")
    return (_with_point(words[:at], words[at:], language),)


def _with_point(before: Phrase, after: Phrase, language: Language) -> str:
    if not after:
        raise _NoValueError("nothing was said after the point")
    decimals = _decimals(after, language)
    if not before:
        return f"0.{decimals}"
    whole = _whole(before, language)
    if whole is None:
        raise _NoValueError(f"'{' '.join(before)}' is not a number")
    return f"{whole}.{decimals}"


def _whole(words: Phrase, language: Language) -> str | None:
    """The whole part before a point: a number in words, pairs ("two twenty"), or digit by digit; None if it is none."""
    if len(words) == 1 and words[0] in language.weak_zero:
        return "0"
    cardinal = _cardinal(words, language)
    if cardinal is not None:
        return cardinal
    groups = _groups(words, language)
    if groups is None:
        return None
    digits = "".join(groups)
    if digits.startswith("0") and len(digits) > 1:
        return None
    return digits


def _without_point(words: Phrase, language: Language, point_unsaid: bool) -> tuple[str, ...]:
    if not words:
        raise _NoValueError("no number was said")
    cardinal = _cardinal(words, language)
    if cardinal is not None:
        return (cardinal,)
    groups = _groups(words, language)
    if groups is None or len(groups) < 2:
        raise _NoValueError(f"'{' '.join(words)}' is not a number")
    digits = "".join(groups)
    if digits.startswith("0"):
        raise _NoValueError("a number that begins with zero needs its point")
    if not point_unsaid and _said_as_hundreds(words, groups, language):
        return (digits,)
    return (digits, f"{groups[0]}.{''.join(groups[1:])}")


def _said_as_hundreds(words: Phrase, groups: list[str], language: Language) -> bool:
    """Whether it is the everyday form of a number of hundreds: "one twenty", "four seventy", "one oh five"."""
    if len(groups[0]) != 1:
        return False
    if len(groups) == 2:
        return len(groups[1]) == 2
    return len(groups) == 3 and words[1] in language.weak_zero and groups[2] != "0" and len(words) == 3


def _cardinal(words: Phrase, language: Language) -> str | None:
    """A number said as one, up to 999,999: its digits; None where the words are not such a number."""
    if len(words) == 1 and words[0] in language.zero:
        return "0"
    split = next((index for index, word in enumerate(words) if word in language.thousand), None)
    if split is None:
        number = _hundreds(words, language, most=99)
        return None if number is None else str(number)
    before, rest = words[:split], words[split + 1 :]
    thousands = 1 if _is_article(before, language) else _hundreds(before, language, most=9)
    if thousands is None:
        return None
    if not rest:
        return str(thousands * 1000)
    below = _hundreds(_drop_and(rest, language), language, most=9)
    return None if below is None else str(thousands * 1000 + below)


def _is_article(words: Phrase, language: Language) -> bool:
    return len(words) == 1 and words[0] in language.article


def _drop_and(words: Phrase, language: Language) -> Phrase:
    return words[1:] if len(words) > 1 and words[0] in language.and_words else words


def _hundreds(words: Phrase, language: Language, *, most: int) -> int | None:
    """A number below a thousand, or with `most` 99 up to "ninety nine hundred and ninety nine"."""
    split = next((index for index, word in enumerate(words) if word in language.hundred), None)
    if split is None:
        return _below_hundred(words, language)
    before, rest = words[:split], words[split + 1 :]
    count = 1 if _is_article(before, language) else _below_hundred(before, language)
    if count is None or count > most or (count >= 10 and count % 10 == 0):
        return None
    if not rest:
        return count * 100
    below = _below_hundred(_drop_and(rest, language), language)
    return None if below is None else count * 100 + below


def _below_hundred(words: Phrase, language: Language) -> int | None:
    """ "five", "fifteen", "fifty", "fifty five"; None for anything else, zero included."""
    if len(words) == 1:
        found = language.digits.get(words[0]) or language.teens.get(words[0]) or language.tens.get(words[0])
        return None if found is None else int(found)
    if len(words) == 2 and words[0] in language.tens and words[1] in language.digits:
        return int(language.tens[words[0]]) + int(language.digits[words[1]])
    return None


def _groups(words: Phrase, language: Language) -> list[str] | None:
    """The digits as they were grouped: "twenty four six six" → 24, 6, 6; "double four" → 4, 4; None if not digits."""
    groups: list[str] = []
    at = 0
    while at < len(words):
        word, following = words[at], words[at + 1] if at + 1 < len(words) else ""
        if word in language.times:
            digit = _digit(following, language)
            if digit is None:
                return None
            groups.extend(digit * language.times[word])
            at += 2
        elif word in language.tens and following in language.digits:
            groups.append(str(int(language.tens[word]) + int(language.digits[following])))
            at += 2
        elif word in language.tens and (following in language.teens or following in language.tens):
            return None  # "forty eleven" is a slip of the tongue, not a number
        else:
            group = _digit(word, language) or language.teens.get(word) or language.tens.get(word)
            if group is None:
                return None
            groups.append(group)
            at += 1
    return groups


def _digit(word: str, language: Language) -> str | None:
    return "0" if word in language.zero or word in language.weak_zero else language.digits.get(word)


def _digit_string(words: Phrase, language: Language) -> str:
    groups = _groups(words, language)
    if groups is None or any(word in language.teens or word in language.tens for word in words):
        raise _NoValueError(f"'{' '.join(words)}' is not a row of digits")
    return "".join(groups)


def _decimals(words: Phrase, language: Language) -> str:
    """The digits after the point: one by one, and a last group of two may be said as one ("three point twelve")."""
    groups = _groups(words, language)
    if groups is None:
        raise _NoValueError(f"'{' '.join(words)}' cannot follow the point")
    pairs = [i for i, word in enumerate(words) if word in language.teens or word in language.tens]
    if len(pairs) > 1 or (pairs and len(groups[-1]) != 2):
        raise _NoValueError(f"'{' '.join(words)}' after the point can be read in more than one way")
    return "".join(groups)

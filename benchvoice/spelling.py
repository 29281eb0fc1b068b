"""Numbers written out as they are said: whole part in words, digits after the point one by one, none dropped."""

from __future__ import annotations

import re

__all__ = ["DIGITS", "spell_digits", "spell_number"]

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = (
    *("ten", "eleven", "twelve", "thirteen", "fourteen"),
    *("fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_SIGNS = {"": "", "+": "plus", "-": "minus", "\u2212": "minus"}
_NUMBER = re.compile(r"(?P<sign>[+\-\u2212]?)(?P<whole>[0-9]*)(?:\.(?P<decimals>[0-9]+))?")
_TOO_LARGE = 1_000_000  # from here on digit by digit is easier to follow by ear


def spell_number(text: str) -> str:
    """A written decimal number in words: `3.30` → "three point three zero", `-105` → "minus one hundred and five".

    Whole numbers below a million are said in words, without commas or hyphens. Larger ones, and those with leading
    zeros (`01803`), are said digit by digit. `.5` is "point five".

    Raises:
        ValueError: the text is not a plain decimal number.
    """
    match = _NUMBER.fullmatch(text.strip())
    if match is None or not (match["whole"] or match["decimals"]):
        raise ValueError(f"not a plain decimal number: {text!r}")
    words = [_SIGNS[match["sign"]]]
    if match["whole"]:
        words.append(_whole(match["whole"]))
    if match["decimals"]:
        words += ["point", spell_digits(match["decimals"])]
    return " ".join(word for word in words if word)


def spell_digits(digits: str) -> str:
    """Digits one by one: `462` → "four six two".

    Raises:
        ValueError: there is a character other than 0 to 9.
    """
    if not (digits.isascii() and digits.isdigit()):
        raise ValueError(f"not digits: {digits!r}")
    return " ".join(DIGITS[int(digit)] for digit in digits)


def _whole(digits: str) -> str:
    if (len(digits) > 1 and digits.startswith("0")) or int(digits) >= _TOO_LARGE:
        return spell_digits(digits)
    thousands, rest = divmod(int(digits), 1000)
    if not thousands:
        return _below_thousand(rest)
    start = f"{_below_thousand(thousands)} thousand"
    if not rest:
        return start
    joint = " and " if rest < 100 else " "
    return start + joint + _below_thousand(rest)


def _below_thousand(number: int) -> str:
    hundreds, rest = divmod(number, 100)
    if not hundreds:
        return _below_hundred(rest)
    start = f"{DIGITS[hundreds]} hundred"
    return f"{start} and {_below_hundred(rest)}" if rest else start


def _below_hundred(number: int) -> str:
    if number < 10:
        return DIGITS[number]
    if number < 20:
        return _TEENS[number - 10]
    tens, ones = divmod(number, 10)
    return f"{_TENS[tens]} {DIGITS[ones]}" if ones else _TENS[tens]

"""Numbers and written names as they are said: digits after a point one by one, none dropped."""

from __future__ import annotations

import re
import unicodedata

__all__ = ["DIGITS", "NUMBER_WORDS", "TEENS", "TENS", "name_in_words", "spell_digits", "spell_number", "spoken_form",
           "unspoken_sign"]  # fmt: skip

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = (
    *("ten", "eleven", "twelve", "thirteen", "fourteen"),
    *("fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
NUMBER_WORDS = frozenset({*DIGITS, *TEENS, *TENS, "hundred", "thousand", "and", "point", "minus", "plus"}) - {""}
"""Every word of a spelled number."""
_SIGNS = {"": "", "+": "plus", "-": "minus", "\u2212": "minus"}
_NUMBER = re.compile(r"(?P<sign>[+\-\u2212]?)(?P<whole>[0-9]*)(?:\.(?P<decimals>[0-9]+))?")
_TOO_LARGE = 1_000_000  # from here on digit by digit is easier to follow by ear
_SPOKEN = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)?(?: [^\W\d_]+(?:'[^\W\d_]+)?)*")
_TOKEN = re.compile(
    r"(?P<number>(?:(?<!\w)[+\-\u2212])?[0-9]+(?:\.[0-9]+)?)"  # a sign stands free: "rail -12", but "fan-2" has none
    r"|(?P<word>[^\W\d_]+(?:'[^\W\d_]+)?)"
    r"|(?P<gap>[\s_/(),:]+|-(?![0-9])|(?<=\w)-)"
)
_CHANGES_NUMBERS = re.compile(r"[0-9][,;:!?/\u2013\u2014-][0-9]|[0-9]\.[0-9]+\.[0-9]|[0-9]\s?[/*^]|[/*^]\s?[0-9]")
# how a written name is read aloud at the bench (common practice, no source)
_READ_AS = {
    "gnd": "ground",
    "tp": "test point",
    "vcc": "v c c",
    "vdd": "v d d",
    "vin": "v in",
    "vout": "v out",
    "v": "volt",
    "mv": "millivolt",
    "a": "amp",
    "hz": "hertz",
    "khz": "kilohertz",
    "mhz": "megahertz",
}


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


def spoken_form(text: str) -> str | None:
    """A given spoken name in lower case with single spaces; None where it is not made of words alone."""
    plain = " ".join(text.lower().split())
    return plain if _SPOKEN.fullmatch(plain) else None


def unspoken_sign(text: str) -> str:
    """The first sign of a text that changes its numbers when it is left out aloud, with what it stands beside.

    `< 50` would be said as "fifty", `1,5` as "one five". "" where there is none.
    """
    found = _CHANGES_NUMBERS.search(text)
    sums = (at for at, sign in enumerate(text) if unicodedata.category(sign) in ("Sm", "No") and sign != "+")
    first = next(sums, len(text))
    if found is not None and found.start() <= first:
        return found[0]
    return text[first : first + 1]


def name_in_words(name: str) -> str | None:
    """A written name in words: `rail 3.3 to ground` → "rail three point three to ground", `TP7` → "test point seven".

    None where it holds a sign that cannot be read aloud for certain.
    """
    words: list[str] = []
    at = 0
    while at < len(name):
        match = _TOKEN.match(name, at)
        if match is None:
            return None
        at = match.end()
        if match["number"]:
            words.append(spell_number(match["number"]))
        elif match["word"]:
            lower = match["word"].lower()
            # "a" alone is an amp only after a number: "5 A fuse", but "phase A"
            after_number = bool(re.search(r"\d\s*$", name[: match.start()]))
            unit_alone = lower in ("v", "a") and not after_number
            words.append(lower if unit_alone else _READ_AS.get(lower, lower))
    return spoken_form(" ".join(words))


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
        return TEENS[number - 10]
    tens, ones = divmod(number, 10)
    return f"{TENS[tens]} {DIGITS[ones]}" if ones else TENS[tens]

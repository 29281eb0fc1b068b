"""What a YAML parser complains of, in the words of who wrote the file, at the line where the mistake is.

A parser notices an open bracket, or a key without a colon, a line or more behind it, and names its own tokens.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import NamedTuple

__all__ = ["Complaint", "Mistake", "mistake"]


class Complaint(NamedTuple):
    """What the parser says: what it wanted, while it did what, with lines counted from 1 (None for unknown)."""

    problem: str
    line: int | None
    context: str = ""
    begun: int | None = None


class Mistake(NamedTuple):
    """What is wrong, as a phrase, its line, and what to do about it."""

    what: str
    line: int | None
    cure: str | None


_NO_SPACE = re.compile(r"\s*(?:- +)?[^\s'\"#:{\[]+:[^\s:/]")
_COLON = re.compile(r":(?:\s|$)")
_BEFORE_SPACE = "Write a space after the colon"
_QUOTES = "Put that text in quotation marks"


def mistake(complaint: Complaint, lines: Sequence[str]) -> Mistake:
    """The mistake behind a complaint.

    Args:
        complaint: the parser's.
        lines: those of the file.
    """
    at = complaint.line
    if "\t" in _text(lines, at):
        return Mistake("a tab", at, "Indent with spaces, not with tabs")
    for known, meant in _KNOWN:
        if known in complaint.problem or known in complaint.context:
            return meant(complaint, lines)
    return Mistake(complaint.problem or complaint.context or "not YAML", at, None)


def _bracket(complaint: Complaint, lines: Sequence[str]) -> Mistake:  # noqa: ARG001
    if "got ':'" in complaint.problem and complaint.line == complaint.begun:
        return Mistake("there is a second colon between two commas", complaint.line, _QUOTES)
    opened, closed = "{}" if "mapping" in complaint.context else "[]"
    what = f"the bracket '{opened}' is not closed"
    return Mistake(what, complaint.begun, f"Write '{closed}' at its end, and commas between what stands in it")


def _key(complaint: Complaint, lines: Sequence[str]) -> Mistake:
    return _no_colon(complaint.begun, lines)


def _no_colon(line: int | None, lines: Sequence[str]) -> Mistake:
    begun = _NO_SPACE.match(_text(lines, line))
    cure = _BEFORE_SPACE if begun else "Write the key, a colon, a space and the value"
    return Mistake("there is no colon and space behind the key", line, cure)


def _second_colon(complaint: Complaint, lines: Sequence[str]) -> Mistake:
    line = complaint.line
    above = _above(lines, line)
    if _NO_SPACE.match(_text(lines, above)):
        return _no_colon(above, lines)
    if len(_COLON.findall(_text(lines, line))) > 1:
        return Mistake("there is a second colon in the line", line, _QUOTES)
    return Mistake("it is indented as if it belonged to the line above", line, "Indent it like its neighbours")


def _indented(complaint: Complaint, lines: Sequence[str]) -> Mistake:
    above = _above(lines, complaint.line)
    if above is not None and not _COLON.search(_text(lines, above)):
        return _no_colon(above, lines)
    what = "it is indented otherwise than the lines that it belongs to"
    return Mistake(what, complaint.line, "Indent it like them, with spaces")


def _text(lines: Sequence[str], line: int | None) -> str:
    return lines[line - 1] if line is not None and 1 <= line <= len(lines) else ""


def _above(lines: Sequence[str], line: int | None) -> int | None:
    """The nearest line above that says something; None where there is none."""
    return next((at for at in range((line or 1) - 1, 0, -1) if _text(lines, at).split("#")[0].strip()), None)


def _quotation(complaint: Complaint, lines: Sequence[str]) -> Mistake:  # noqa: ARG001
    return Mistake("the quotation mark is not closed", complaint.begun, "Write it at the end of the text too")


def _beginning(complaint: Complaint, lines: Sequence[str]) -> Mistake:  # noqa: ARG001
    sign = re.search(r"character '(.)'", complaint.problem)
    return Mistake(f"no text begins with {sign[1] if sign else 'that'} here", complaint.line, _QUOTES)


_KNOWN: tuple[tuple[str, Callable[[Complaint, Sequence[str]], Mistake]], ...] = (
    ("flow mapping", _bracket),
    ("flow sequence", _bracket),
    ("quoted scalar", _quotation),
    ("could not find expected ':'", _key),
    ("mapping values are not allowed", _second_colon),
    ("expected <block end>", _indented),
    ("expected '<document start>'", _indented),
    ("cannot start any token", _beginning),
)

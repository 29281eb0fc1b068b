"""Lines of text for a terminal: measured, cropped, wrapped, and in characters that it can show."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from rich.cells import cell_len, chop_cells, set_cell_size

__all__ = ["Line", "Look", "clean", "crop", "in_ascii", "sides", "wrap"]

_ASCII = str.maketrans(
    {
        "\u2212": "-",
        "\u00a0": " ",
        "…": "...",
        "·": ".",
        "Ω": "ohm",
        "µ": "u",
        "μ": "u",
        "°": "deg ",
        "⟨": "<",
        "⟩": ">",
    }
)


class Look(Enum):
    """How a line is set off; words say the same each time."""

    PLAIN = "plain"
    STRONG = "strong"
    PASS = "pass"
    DOUBT = "doubt"
    FAIL = "fail"
    BAND = "band"


@dataclass(frozen=True)
class Line:
    """One line of the screen."""

    text: str
    look: Look = Look.PLAIN


def clean(text: str, *, ascii_only: bool = False) -> str:
    """One line in which every character is seen; with `ascii_only` in ASCII, with question marks where need be."""
    line = " ".join(text.split())
    shown = line if line.isprintable() else "".join(map(_seen, line))
    return in_ascii(shown) if ascii_only else shown


def _seen(character: str) -> str:
    return character if character.isprintable() else f"⟨U+{ord(character):04X}⟩"


def in_ascii(text: str) -> str:
    """The text with characters beyond ASCII put into words or signs, or a question mark."""
    return text.translate(_ASCII).encode("ascii", "replace").decode("ascii")


def crop(text: str, width: int) -> str:
    """The text, its end left out where it is wider than `width` columns; an ellipsis stands for it."""
    if cell_len(text) <= width:
        return text
    ellipsis = "..." if text.isascii() else "…"
    if width <= len(ellipsis):
        return set_cell_size(text, width).rstrip()
    return set_cell_size(text, width - len(ellipsis)).rstrip() + ellipsis


def wrap(text: str, width: int, most: int) -> tuple[str, ...]:
    """The text in at most `most` lines of at most `width` columns; the last is cropped where there would be more."""
    lines: list[str] = []
    for word in text.split():
        for piece in chop_cells(word, width) if cell_len(word) > width else (word,):
            joined = f"{lines[-1]} {piece}" if lines else piece
            if lines and cell_len(joined) <= width:
                lines[-1] = joined
            else:
                lines.append(piece)
    if len(lines) <= most:
        return tuple(lines)
    kept = lines[: most - 1] if most > 0 else []
    return (*kept, crop(" ".join(lines[most - 1 :]), width)) if most > 0 else ()


def sides(left: str, rights: Iterable[str], width: int) -> str:
    """`left`, and the first of `rights` that has room beside it at the right end."""
    for right in rights:
        space = width - cell_len(left) - cell_len(right)
        if right and space >= 2:
            return f"{left}{' ' * space}{right}"
    return crop(left, width)

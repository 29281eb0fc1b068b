"""Words and numbers in letters many rows high, drawn with half blocks, or with `#` where there are no blocks.

Every letter is drawn once, seven dots high. It is shown as large as the room allows, by whole multiples of its dots,
so that strokes stay even. Letters are capitals: they are the larger ones. The small letters are those of the units.
"""

from __future__ import annotations

from enum import Enum
from functools import lru_cache

__all__ = ["DOTS_HIGH", "Ink", "largest", "rows_of"]

DOTS_HIGH = 7
_ACROSS = 6  # columns from one drawing to the next, below
_GAP = 1
_BLANK = ("..",) * DOTS_HIGH

_DRAWN = """
0     1     2     3     4     5     6     7     8     9     .     -     +     ?
.###. .#... .###. .###. ...#. ##### .###. ##### .###. .###. ..... ..... ..... .###.
#...# ##... #...# #...# ..##. #.... #.... ....# #...# #...# ..... ..... ..#.. #...#
#...# .#... ....# ....# .#.#. ####. #.... ...#. #...# #...# ..... ..... ..#.. ....#
#...# .#... ...#. ..##. #..#. ....# ####. ...#. .###. .#### ..... ####. ##### ..##.
#...# .#... ..#.. ....# ##### ....# #...# ..#.. #...# ....# ..... ..... ..#.. ..#..
#...# .#... .#... #...# ...#. #...# #...# ..#.. #...# ....# ##... ..... ..#.. .....
.###. ###.. ##### .###. ...#. .###. .###. ..#.. .###. .###. ##... ..... ..... ..#..

A     B     C     D     E     F     G     H     I     J     K     L     M     N
.###. ####. .###. ####. ##### ##### .###. #...# ###.. ..### #...# #.... #...# #...#
#...# #...# #...# #...# #.... #.... #...# #...# .#... ...#. #..#. #.... ##.## ##..#
#...# #...# #.... #...# #.... #.... #.... #...# .#... ...#. #.#.. #.... #.#.# #.#.#
##### ####. #.... #...# ####. ####. #.### ##### .#... ...#. ##... #.... #.#.# #..##
#...# #...# #.... #...# #.... #.... #...# #...# .#... ...#. #.#.. #.... #...# #...#
#...# #...# #...# #...# #.... #.... #...# #...# .#... #..#. #..#. #.... #...# #...#
#...# ####. .###. ####. ##### #.... .###. #...# ###.. .##.. #...# ##### #...# #...#

O     P     Q     R     S     T     U     V     W     X     Y     Z     /     _
.###. ####. .###. ####. .#### ##### #...# #...# #...# #...# #...# ##### ....# .....
#...# #...# #...# #...# #.... ..#.. #...# #...# #...# #...# #...# ....# ....# .....
#...# #...# #...# #...# #.... ..#.. #...# #...# #...# .#.#. .#.#. ...#. ...#. .....
#...# ####. #...# ####. .###. ..#.. #...# #...# #.#.# ..#.. ..#.. ..#.. ..#.. .....
#...# #.... #.#.# #.#.. ....# ..#.. #...# #...# #.#.# .#.#. ..#.. .#... .#... .....
#...# #.... #..#. #..#. ....# ..#.. #...# .#.#. ##.## #...# ..#.. #.... #.... .....
.###. #.... .##.# #...# ####. ..#.. .###. ..#.. #...# #...# ..#.. ##### #.... #####

k     m     n     p     z     µ     °     Ω     %     (     )     ,     :     #
#.... ..... ..... ..... ..... ..... .##.. .###. ##..# ..#.. #.... ..... ..... .#.#.
#.... ..... ..... ..... ..... ..... #..#. #...# ##..# .#... .#... ..... ##... .#.#.
#..#. ##.#. #.##. ####. ##### #..#. #..#. #...# ...#. #.... ..#.. ..... ##... #####
#.#.. #.#.# ##..# #...# ...#. #..#. .##.. #...# ..#.. #.... ..#.. ..... ..... .#.#.
##... #.#.# #...# ####. ..#.. #..#. ..... #...# .#... #.... ..#.. ##... ##... #####
#.#.. #.#.# #...# #.... .#... ####. ..... .#.#. #...# .#... .#... ##... ##... .#.#.
#..#. #.#.# #...# #.... ##### #.... ..... ##.## #..## ..#.. #.... #.... ..... .#.#.
"""


class Ink(Enum):
    """What large letters are drawn with. The value: how many dots one character holds, one above the other."""

    BLOCKS = 2
    ASCII = 1


def _letters() -> dict[str, tuple[str, ...]]:
    drawn: dict[str, tuple[str, ...]] = {" ": _BLANK}
    for row in _DRAWN.strip("\n").split("\n\n"):
        names, *lines = row.splitlines()
        for index, name in enumerate(names.split()):
            start = index * _ACROSS
            cells = [line[start : start + _ACROSS - 1] for line in lines]
            wide = max(cell.rfind("#") for cell in cells) + 1
            first = min(cell.find("#") for cell in cells if "#" in cell)
            drawn[name] = tuple(cell[first:wide] for cell in cells)
    drawn["\u2212"] = drawn["-"]
    return drawn


_LETTERS = _letters()


def rows_of(size: int, ink: Ink) -> int:
    """The rows of a terminal that letters need whose dots are `size` half rows (BLOCKS) or rows (ASCII) high."""
    return -(-DOTS_HIGH * size // ink.value)


@lru_cache(maxsize=64)
def largest(text: str, width: int, rows: int, ink: Ink) -> tuple[str, ...]:
    """`text` as large as it can be drawn, in lines of at most `width` characters, at most `rows` of them.

    Capitals stand for small letters, except for those of the units, which are told apart by them. Empty where the text
    does not fit at the smallest size, or holds a character that cannot be drawn.
    """
    letters = [_LETTERS.get(letter) or _LETTERS.get(letter.upper()) for letter in text]
    known = [letter for letter in letters if letter is not None]
    if not known or len(known) != len(letters):
        return ()
    dots = [("." * _GAP).join(letter[row] for letter in known) for row in range(DOTS_HIGH)]
    square = 2 // ink.value  # a character is about twice as high as wide: dots of this width are as wide as high
    for size in range(rows * ink.value // DOTS_HIGH, 0, -1):
        across = min(size * square, width // len(dots[0]))
        if across >= 1 and 2 * across >= size * square:  # narrower letters are hard to read
            return _drawn(dots, size, across, ink)
    return ()


def _drawn(dots: list[str], size: int, across: int, ink: Ink) -> tuple[str, ...]:
    tall = ["".join(dot * across for dot in line) for line in dots for _ in range(size)]
    if ink is Ink.ASCII:
        return tuple(line.replace(".", " ").rstrip() for line in tall)
    if len(tall) % 2:
        tall.append("." * len(tall[0]))
    pairs = zip(tall[::2], tall[1::2], strict=True)
    return tuple("".join(_HALVES[upper + lower] for upper, lower in zip(*pair, strict=True)).rstrip() for pair in pairs)


_HALVES = {"..": " ", "#.": "▀", ".#": "▄", "##": "█"}

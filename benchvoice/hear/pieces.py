"""Text and the pieces of words that a transformer reads and writes: byte-pair encoding as SentencePiece does it.

A piece's number is also its rank: of two neighbouring pieces that can be joined, those are joined first whose joint has
the lowest number (Sennrich et al., ACL 2016). A space is written as U+2581 at the beginning of a word.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise

from benchvoice.errors import ModelError

__all__ = ["END", "START", "Pieces"]

START, END = 1, 2
"""The numbers of the pieces that begin and end a text."""

_SPACE = "\u2581"
_BYTES_FROM = 3  # the pieces of single bytes, for what no other piece writes


class Pieces:
    """The pieces of a model, read from its file.

    The file holds, for each number in turn, a length (one byte; from 128 on two, the second times 128 plus what the
    first has above 128) and so many bytes of UTF-8.

    Args:
        data: the file's content.

    Raises:
        ModelError: it is cut short, or holds too few pieces.
    """

    def __init__(self, data: bytes) -> None:
        self._texts = _read(data)
        # a letter stands twice, as a byte and as a piece of its own: the later counts
        self._numbers = {text: number for number, text in enumerate(self._texts)}

    def __len__(self) -> int:
        return len(self._texts)

    def of_sentence(self, text: str) -> tuple[int, ...]:
        """The pieces of a sentence as it is written: with a capital letter and a full stop."""
        words = text.split()
        pieces = [piece for place, word in enumerate(words) for piece in self.of_word(word, first=place == 0)]
        return (*pieces, *self.stop)

    def of_word(self, word: str, *, first: bool = False) -> tuple[int, ...]:
        """The pieces of one word with the space before it; with a capital letter where it is the `first`."""
        return self._encoded(_SPACE + (word[:1].upper() + word[1:] if first else word))

    @property
    def stop(self) -> tuple[int, ...]:
        """The pieces of a full stop after a word."""
        return self._encoded(".")

    def text(self, pieces: Iterable[int]) -> str:
        """The text of pieces."""
        written = b"".join(self._texts[piece] for piece in pieces)
        return written.decode("utf-8", "replace").replace(_SPACE, " ").strip()

    @lru_cache(maxsize=4096)  # noqa: B019  # lives as long as its model
    def _encoded(self, text: str) -> tuple[int, ...]:
        parts = list(text)
        while True:
            joints = ((self._numbers.get((a + b).encode()), at) for at, (a, b) in enumerate(pairwise(parts)))
            best = min(((number, at) for number, at in joints if number is not None), default=None)
            if best is None:
                break
            at = best[1]
            parts[at : at + 2] = [parts[at] + parts[at + 1]]
        found: list[int] = []
        for part in parts:
            number = self._numbers.get(part.encode())
            found += [number] if number is not None else [_BYTES_FROM + byte for byte in part.encode()]
        return tuple(found)


def _read(data: bytes) -> list[bytes]:
    texts: list[bytes] = []
    at = 0
    while at < len(data):
        length = data[at]
        at += 1
        if length >= 128:
            length += (data[at] if at < len(data) else 0) * 128 - 128
            at += 1
        if at + length > len(data):
            raise ModelError("the list of pieces ends in the middle of one", cure="Install the model again")
        texts.append(data[at : at + length])
        at += length
    if len(texts) < _BYTES_FROM + 256:
        raise ModelError("the list of pieces is too short to be one", cure="Install the model again")
    return texts

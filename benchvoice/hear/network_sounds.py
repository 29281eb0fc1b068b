"""How the phoneme network hears words: each word's pronunciations in the network's own symbols.

The network learnt to write what a letter-to-sound model wrote for its training texts, oddities included (`one` as
o n e). So that model's answer comes first; the dictionary's pronunciations and those measured (`heard_as.txt`) follow.
The model takes 17 ms a word, so its answers for the words of the shipped grammar are kept in the same file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cache

from benchvoice.errors import GrammarError
from benchvoice.files import shipped
from benchvoice.hear.lexicon import IPA, Lexicon, Phones, dictionary

__all__ = ["HeardAs", "NetworkSounds"]

Symbols = tuple[str, ...]
HeardAs = Mapping[str, tuple[Symbols, ...]]
"""Word → ways in which the network writes it, the letter-to-sound model's own first."""


class NetworkSounds:
    """Pronunciations as numbers of the network's symbols.

    Args:
        symbols: the network's symbols, in the order of its output columns.
        letters_to_sound: the letter-to-sound model: a word in, its symbols out.
        heard_as: what is known beforehand; by default the shipped file.
        lexicon: our own pronunciations; by default the shipped lexicon.
    """

    def __init__(
        self,
        symbols: Iterable[str],
        letters_to_sound: Callable[[str], Iterable[str]],
        *,
        heard_as: HeardAs | None = None,
        lexicon: Lexicon | None = None,
    ) -> None:
        self._numbers = {symbol: number for number, symbol in enumerate(symbols)}
        self._letters_to_sound = letters_to_sound
        self._heard_as = _shipped() if heard_as is None else heard_as
        self._lexicon = Lexicon.shipped() if lexicon is None else lexicon
        self._known: dict[str, tuple[tuple[int, ...], ...]] = {}

    def variants(self, word: str) -> tuple[tuple[int, ...], ...]:
        """The word's pronunciations, best first; empty where none can be written in the network's symbols."""
        if word not in self._known:
            numbered = (self._number(symbols) for symbols in self._spellings(word))
            self._known[word] = tuple(dict.fromkeys(sounds for sounds in numbered if sounds))
        return self._known[word]

    def _spellings(self, word: str) -> list[Symbols]:
        known = self._heard_as.get(word, ())
        written = dict.fromkeys((*self._lexicon.variants(word), *dictionary().variants(word)))
        # the model has no answer for a single letter, and none but letters is a word to it
        guess = not known and word.isalpha() and not (len(word) == 1 and written)
        guessed = (tuple(self._letters_to_sound(word)),) if guess else ()
        return [*known, *guessed, *(symbols for phones in written for symbols in _in_ipa(phones))]

    def _number(self, symbols: Symbols) -> tuple[int, ...]:
        """Their numbers; empty where the network lacks one."""
        if not all(symbol in self._numbers for symbol in symbols):
            return ()
        return tuple(self._numbers[symbol] for symbol in symbols)


def _in_ipa(phones: Phones) -> list[Symbols]:
    """A dictionary pronunciation in IPA: with the usual symbols, and with the unstressed vowel where that differs."""
    usual = tuple(IPA[phone][0] for phone in phones)
    weak = tuple(IPA[phone][-1] for phone in phones)
    return [usual] if weak == usual else [usual, weak]


@cache
def _shipped() -> HeardAs:
    path = shipped("grammars") / "en" / "heard_as.txt"
    return parse_heard_as(path.read_text(encoding="utf-8"), file=str(path)) if path.is_file() else {}


def parse_heard_as(text: str, *, file: str | None = None) -> HeardAs:
    """Read lines of a word and IPA symbols separated by spaces; `#` begins a comment.

    Raises:
        GrammarError: a word without symbols.
    """
    found: dict[str, list[Symbols]] = {}
    for number, raw in enumerate(text.splitlines(), 1):
        word, *symbols = raw.split("#", 1)[0].split() or [""]
        if word and not symbols:
            raise GrammarError(
                f"'{word}' has no sounds",
                file=file,
                line=number,
                cure="Write the word and IPA symbols, such as: two t w oʊ",
            )
        if word:
            found.setdefault(word.lower(), []).append(tuple(symbols))
    return {word: tuple(dict.fromkeys(variants)) for word, variants in found.items()}

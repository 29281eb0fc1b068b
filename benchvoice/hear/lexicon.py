"""Pronunciations: our own word list, the dictionary that comes with PocketSphinx, and letter-to-sound for the rest.

Sounds are ARPAbet phones without stress, as in the CMU Pronouncing Dictionary; `ipa` turns them into the IPA symbols
that the phoneme network uses, and `arpabet` turns a letter-to-sound result back.
"""

from __future__ import annotations

import importlib.util
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType

from benchvoice.errors import GrammarError
from benchvoice.files import package_folder, shipped

__all__ = ["IPA", "Lexicon", "Phones", "arpabet", "dictionary", "dictionary_path", "dictionary_words", "ipa",
           "letters_to_sound"]  # fmt: skip

Phones = tuple[str, ...]
"""One pronunciation: ARPAbet phones such as ("V", "OW", "L", "T")."""

IPA: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "AA": ("ɑ",),
        "AE": ("æ",),
        "AH": ("ʌ", "ə"),  # stressed, unstressed: the dictionary does not tell them apart
        "AO": ("ɔ",),
        "AW": ("aʊ",),
        "AY": ("aɪ",),
        "B": ("b",),
        "CH": ("t͡ʃ",),
        "D": ("d",),
        "DH": ("ð",),
        "EH": ("ɛ",),
        "ER": ("ɝ",),
        "EY": ("eɪ",),
        "F": ("f",),
        "G": ("g",),
        "HH": ("h",),
        "IH": ("ɪ",),
        "IY": ("i",),
        "JH": ("d͡ʒ",),
        "K": ("k",),
        "L": ("l",),
        "M": ("m",),
        "N": ("n",),
        "NG": ("ŋ",),
        "OW": ("oʊ",),
        "OY": ("ɔɪ",),
        "P": ("p",),
        "R": ("ɹ",),
        "S": ("s",),
        "SH": ("ʃ",),
        "T": ("t",),
        "TH": ("θ",),
        "UH": ("ʊ",),
        "UW": ("u",),
        "V": ("v",),
        "W": ("w",),
        "Y": ("j",),
        "Z": ("z",),
        "ZH": ("ʒ",),
    }
)
"""The IPA symbols of each ARPAbet phone, the usual one first (39 phones of the CMU Pronouncing Dictionary)."""

# Other symbols that the letter-to-sound model writes for the same English sounds.
_ALSO: Mapping[str, Phones] = MappingProxyType(
    {
        "a": ("AA",),
        "ɒ": ("AA",),
        "ɐ": ("AH",),
        "e": ("EH",),
        "o": ("OW",),
        "ɚ": ("ER",),
        "ɜ": ("ER",),
        "r": ("R",),
        "ɡ": ("G",),
        "ɫ": ("L",),
        "ɾ": ("T",),
        "ɪə": ("IH", "R"),
        "eə": ("EH", "R"),
        "ju": ("Y", "UW"),
        "ja": ("Y", "AA"),
        "je": ("Y", "EH"),
        "jo": ("Y", "OW"),
        "jʌ": ("Y", "AH"),
        "wa": ("W", "AA"),
        "we": ("W", "EH"),
        "wi": ("W", "IY"),
        "wʌ": ("W", "AH"),
        "kʰ": ("K",),
        "pʰ": ("P",),
        "tʰ": ("T",),
        "ẽ": ("EH",),
        "ʝ": ("Y",),
        "ɲ": ("N", "Y"),
        "ʎ": ("L", "Y"),
        "x": ("HH",),
        "β": ("V",),
    }
)
# What the model writes between and upon sounds: spaces, ties, length, and the first half of its "ɟ͡ʝ".
_SILENT = frozenset(" ːˑ‿ʔ˞ʰɟ\u0361\u0329\u032f\u031e\u032a\u0303")
_FROM_IPA: Mapping[str, Phones] = MappingProxyType(
    {**_ALSO, **{symbol: (phone,) for phone, symbols in IPA.items() for symbol in symbols}}
)
_LINE = re.compile(r"(?P<word>\S+)\s+(?P<phones>[A-Z ]+)")


@dataclass(frozen=True)
class Lexicon:
    """Pronunciations by word, best first."""

    entries: Mapping[str, tuple[Phones, ...]]

    @classmethod
    def parse(cls, text: str, *, file: str | None = None) -> Lexicon:
        """The lexicon written in `text`: a word and its phones a line, `#` begins a comment.

        Raises:
            GrammarError: a line that is not a word and ARPAbet phones.
        """
        found: dict[str, dict[Phones, None]] = {}
        for number, raw in enumerate(text.splitlines(), 1):
            line = raw.split("#", 1)[0].strip()
            if not line:
                continue
            match = _LINE.fullmatch(line)
            if match is None:
                raise GrammarError(
                    f"'{line}' is not a word and its sounds",
                    file=file,
                    line=number,
                    cure="Write the word and its ARPAbet phones, such as: volt V OW L T",
                )
            phones = tuple(match["phones"].split())
            unknown = [phone for phone in phones if phone not in IPA]
            if unknown:
                raise GrammarError(
                    f"'{unknown[0]}' is not an ARPAbet phone", file=file, line=number, cure=f"Use: {' '.join(IPA)}"
                )
            found.setdefault(match["word"].lower(), {})[phones] = None
        return cls({word: tuple(variants) for word, variants in found.items()})

    @classmethod
    @cache
    def shipped(cls, language: str = "en", file: str = "lexicon.txt") -> Lexicon:
        """The lexicon of that language under `grammars/`; empty where the language has none.

        `variants.txt` holds ways in which only some people say a word.

        Raises:
            GrammarError: the file cannot be used.
        """
        path = shipped("grammars") / language / file
        if not path.is_file():
            return cls({})
        return cls.parse(path.read_text(encoding="utf-8"), file=str(path))

    def plus(self, more: Lexicon) -> Lexicon:
        """This lexicon with more pronunciations, which come after its own."""
        words = dict.fromkeys([*self.entries, *more.entries])
        return Lexicon({word: tuple(dict.fromkeys(self.variants(word) + more.variants(word))) for word in words})

    def variants(self, word: str) -> tuple[Phones, ...]:
        """The word's pronunciations here; empty where it has none."""
        return self.entries.get(word.lower(), ())


def ipa(phones: Phones) -> tuple[str, ...]:
    """A pronunciation in the phoneme network's IPA symbols, one per phone, the usual symbol of each."""
    return tuple(IPA[phone][0] for phone in phones)


def arpabet(symbols: Iterable[str]) -> Phones | None:
    """IPA symbols as ARPAbet phones; None where one is no sound of American English."""
    phones: list[str] = []
    for symbol in symbols:
        if symbol in _SILENT:
            continue
        same = _FROM_IPA.get(symbol)
        if same is None:
            return None
        phones.extend(same)
    return tuple(phones) or None


def letters_to_sound(word: str) -> Phones | None:
    """A pronunciation guessed from the spelling; None where that cannot be done.

    The letter-to-sound model comes with the phoneme network (hama 1.7), which has no build for Windows. There, and
    for a spelling that the model turns into sounds English does not have, the answer is None.
    """
    if not re.fullmatch(r"[a-z][a-z']*", word) or importlib.util.find_spec("hama") is None:
        return None
    return _guess(word)


@cache
def _guess(word: str) -> Phones | None:
    return arpabet(step.phoneme for step in _letter_model().predict(word).alignments)  # type: ignore[attr-defined]


@cache
def _letter_model() -> object:
    import hama

    model: object = hama.G2PModel()
    return model


def dictionary_path() -> Path | None:
    """The English pronouncing dictionary in the PocketSphinx package; None where that is not installed."""
    package = package_folder("pocketsphinx")
    path = None if package is None else package / "model" / "en-us" / "cmudict-en-us.dict"
    return path if path is not None and path.is_file() else None


@cache
def dictionary() -> Lexicon:
    """The whole English dictionary of the PocketSphinx package (134,860 lines); empty where it is not installed."""
    found: dict[str, list[Phones]] = {}
    for word, phones in _dictionary_lines():
        found.setdefault(word, []).append(tuple(phones.split()))
    return Lexicon({word: tuple(variants) for word, variants in found.items()})


@cache
def dictionary_words() -> frozenset[str]:
    """Every word of that dictionary, without its sounds, which take ten times the memory."""
    return frozenset(word for word, _ in _dictionary_lines())


def _dictionary_lines() -> Iterator[tuple[str, str]]:
    """Each word, once for every pronunciation, and its phones; nothing where the package is not installed."""
    path = dictionary_path()
    if path is None:
        return
    with path.open(encoding="utf-8") as lines:
        for line in lines:
            word, phones = line.split(maxsplit=1)
            yield word.split("(", 1)[0], phones

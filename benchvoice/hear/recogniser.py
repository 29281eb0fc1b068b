"""What every recogniser offers: a check of the words it will have to hear, and the hearing of one utterance."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from benchvoice.errors import VocabularyError
from benchvoice.records import Alternative, Transcript, Utterance, WordNetwork

__all__ = ["Brief", "Closable", "Finder", "Recogniser", "Reviewer", "Unheard", "Weigher", "require_words"]


@dataclass(frozen=True)
class Unheard:
    """A word that an engine cannot hear.

    Attributes:
        word: the word, lower case.
        engine: the recogniser's name.
        reason: why, as a short phrase ("not in the model's word list").
        suggestion: what to say or do instead, as a short phrase; empty where nothing is known.
    """

    word: str
    engine: str
    reason: str
    suggestion: str = ""

    def __str__(self) -> str:
        return f"{self.engine} cannot hear '{self.word}': {self.reason}" + (
            f"; {self.suggestion}" if self.suggestion else ""
        )


class Recogniser(Protocol):
    """Hears one utterance against a network of words. One instance serves one thread at a time."""

    @property
    def name(self) -> str:
        """The engine's name: "sphinx", "network" or "vosk"."""
        ...

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        """The words among `words` that this engine cannot hear, in the order met, each once."""
        ...

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        """The network's sentences that the utterance may be, best first, with the gap where the engine has one.

        `gap` is how much better an unbound decoding fits than the grammar's best, per frame: the higher, the less
        the sound is a sentence of the network. Its scale is the engine's own. What a network costs to compile is
        paid once: compiled networks are kept by `network.key`.

        Raises:
            VocabularyError: the network holds words that this engine cannot hear.
        """
        ...


class Brief(Protocol):
    """A recogniser whose gap costs time, and that can leave it out where nobody needs it."""

    def hear_briefly(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        """As `hear`, with the same alternatives in the same order, but it may leave out the gap and the scores.

        `hear` of the same sound then adds them, without hearing it again.

        Raises:
            VocabularyError: the network holds words that this engine cannot hear.
        """
        ...


class Finder(Protocol):
    """A recogniser that finds the best sentence sooner where nobody asks for the others."""

    def best(self, utterance: Utterance, network: WordNetwork) -> Alternative | None:
        """The first that `hear` would offer, with its score; None where it would offer none.

        Raises:
            VocabularyError: the network holds words that this engine cannot hear.
        """
        ...


@runtime_checkable
class Closable(Protocol):
    """A recogniser that has something to end."""

    def close(self) -> None:
        """End it. Closing twice is harmless."""


class Weigher(Protocol):
    """A recogniser that can say how well given sentences fit, so that two of them can be held against each other."""

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        """How well each text fits the whole utterance, natural log, higher is better; None where it does not fit."""
        ...


class Reviewer(Protocol):
    """A recogniser that can hear the sound in another way, and say once more how well given sentences fit."""

    def get_ready(self, utterance: Utterance) -> None:
        """Do what takes time and needs no sentences, so that `review` of the same sound need not."""
        ...

    def review(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        """How well each text fits the whole utterance, natural log, higher is better; None where it does not fit."""
        ...


def require_words(recogniser: Recogniser, words: Iterable[str]) -> None:
    """Insist that the recogniser can hear every word.

    Raises:
        VocabularyError: it cannot; the words are named, with what to do about them.
    """
    missing = recogniser.unheard(words)
    if missing:
        hints = dict.fromkeys(item.suggestion for item in missing if item.suggestion)
        raise VocabularyError(tuple(item.word for item in missing), recogniser.name, cure="; ".join(hints) or None)

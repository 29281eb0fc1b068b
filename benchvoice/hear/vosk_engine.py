"""Vosk as a recogniser, with a model that the user has chosen."""

from __future__ import annotations

import importlib.util
import json
from collections import OrderedDict
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from benchvoice.errors import ModelError
from benchvoice.hear.phrases import covering_sentences
from benchvoice.hear.recogniser import Unheard, require_words
from benchvoice.hear.vosk_model import require_model
from benchvoice.records import RATE_HZ, Alternative, Transcript, Utterance, WordNetwork

__all__ = ["VoskEngine"]

_UNKNOWN = "[unk]"
_ALTERNATIVES = 20
_CACHED_GRAMMARS = 4


class VoskEngine:
    """Vosk 0.3 bound to a word network, as far as Vosk can be bound.

    Vosk takes phrases and makes a bigram model of their words with back-off, not a grammar: it can join the beginning
    of one sentence to the end of another, and hear word pairs that no sentence has. It is given sentences that hold
    every pair of neighbouring words of the network, so whatever the network accepts is likely to it; alternatives that
    the network does not accept are dropped here. What is lost is recall: where no accepted one is among the best 20,
    nothing is offered. A wrong one is for the panel and the parser to judge, as with any engine.

    Scores are Vosk's own "confidence", a log-likelihood on its own scale. It has no gap; speech that is not for us
    is heard as unknown words, and then there are no alternatives.

    Args:
        model: the model's folder.

    Raises:
        ModelError: Vosk is not installed, or the folder is no model, damaged, or cannot take a grammar.
    """

    name = "vosk"

    def __init__(self, model: Path) -> None:
        require_model(model)
        if importlib.util.find_spec("vosk") is None:
            raise ModelError("Vosk is not installed", cure="Install it: pip install vosk")
        import vosk

        vosk.SetLogLevel(-1)
        try:
            self._model: Any = vosk.Model(str(model))
        except Exception as error:  # the library raises nothing narrower
            raise ModelError(
                f"model {model.name} cannot be loaded ({error})", file=model, cure="Verify it: benchvoice models verify"
            ) from error
        self._folder = model
        self._compiled: OrderedDict[str, Any] = OrderedDict()

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        """Words that are not in the model's word list; Vosk would leave them out of the grammar in silence."""
        return tuple(
            Unheard(word, self.name, f"not in the word list of {self._folder.name}", "say it in other words")
            for word in dict.fromkeys(words)
            if not self._knows(word)
        )

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        """The network's sentences among Vosk's best, best first.

        Raises:
            VocabularyError: words that the model does not know.
        """
        recogniser = self._recogniser(network)
        recogniser.Reset()
        # all at once: in pieces, a pause inside a reading would end it
        recogniser.AcceptWaveform(np.ascontiguousarray(utterance.samples).tobytes())
        result = json.loads(recogniser.FinalResult())
        best: dict[str, float] = {}
        for found in result.get("alternatives", ()):
            text = " ".join(found["text"].split())
            if text and network.accepts(text):
                best.setdefault(text, float(found["confidence"]))
        ranked = sorted((Alternative(text, score) for text, score in best.items()), key=lambda found: -found.score)
        return Transcript(self.name, tuple(ranked))

    def _knows(self, word: str) -> bool:
        return int(self._model.vosk_model_find_word(word)) >= 0

    def _recogniser(self, network: WordNetwork) -> Any:
        if network.key in self._compiled:
            self._compiled.move_to_end(network.key)
            return self._compiled[network.key]
        require_words(self, network.words)
        import vosk

        phrases = [*covering_sentences(network), *([_UNKNOWN] if self._knows(_UNKNOWN) else [])]
        recogniser = vosk.KaldiRecognizer(self._model, RATE_HZ, json.dumps(phrases, ensure_ascii=False))
        recogniser.SetMaxAlternatives(_ALTERNATIVES)
        self._compiled[network.key] = recogniser
        while len(self._compiled) > _CACHED_GRAMMARS:
            self._compiled.popitem(last=False)
        return recogniser

"""The phoneme network as a recogniser: the speech model of the hama package, and our own decoder over what it gives.

The model's numbers are the package's; they are computed by `conformer`, since the package's own library takes twelve
times as long. It rounds on the way: the logarithms of unlikely sounds differ by up to 2.5 in clean sound, by up to 13
in noise (ours by less than 0.001 from those of longer numbers). Of 360 readings of the tuning voices (clean, 20 and 10
dB) the same sentence was found in 356; the library's was right in 276, ours in 277.
"""

from __future__ import annotations

import platform
from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from benchvoice.errors import ModelError
from benchvoice.files import package_folder
from benchvoice.hear.choices import network_of
from benchvoice.hear.conformer import Conformer
from benchvoice.hear.decoder import Decoding, Sentence, decode
from benchvoice.hear.lexicon import Lexicon
from benchvoice.hear.network_sounds import NetworkSounds
from benchvoice.hear.recogniser import Unheard, require_words
from benchvoice.hear.sound_network import SoundNetwork, compile_sounds
from benchvoice.hear.tensor_file import read_tensors
from benchvoice.records import RATE_HZ, Alternative, Samples, Transcript, Utterance, WordNetwork

__all__ = ["NetworkRecogniser", "why_unavailable"]

PINNED = "1.7.0"
"""The version of hama whose inside this adapter uses: its public interface gives no log-probabilities."""

WORD_SCORE = -0.5
"""Added per word, natural log; tuned with `tests/corpus/measure_hearing.py` (see there for voices and noises)."""
MOST = 30
WITHIN = 12.0
"""Sentences up to this far below the best are offered, `MOST` of them; natural log. Beyond it nothing is in doubt."""

_KEPT_NETWORKS = 24  # those of eight contexts: sentences, slips, and what is said without the attention word
_SPEED = 0.9  # of the second opinion
_SHORTEST = 800
"""Samples below which the model is not asked; 50 ms hold no word."""


_BOUNDARY, _BLANK = "<wb>", "<blank>"


def why_unavailable() -> str | None:
    """Why the phoneme network cannot be used on this machine, as a sentence; None where it can."""
    if platform.system() not in ("Linux", "Darwin"):
        return f"The phoneme network has no build for {platform.system()}: without it benchvoice asks more often"
    if find_spec("hama") is None:
        return f"The phoneme network is not installed: install the Python package hama {PINNED}"
    installed = metadata.version("hama")
    if installed != PINNED:
        return f"The phoneme network needs hama {PINNED}, not {installed}: install that version"
    return None


class NetworkRecogniser:
    """Hears with the phoneme network. One instance serves one thread at a time.

    Args:
        lexicon: our own pronunciations; by default the shipped lexicon.

    Raises:
        ModelError: the network cannot be used here; the message says why.
    """

    name = "network"

    def __init__(self, lexicon: Lexicon | None = None) -> None:
        reason = why_unavailable()
        if reason is not None:
            raise ModelError(reason, cure="Choose another recogniser with --engine")
        from hama import _engine, vocab

        if not _engine.available():
            raise ModelError(
                f"hama carries no library for {platform.system()} on {platform.machine()}",
                cure="Choose another recogniser with --engine",
            )
        self._model = _model()
        self._letters: Any = None
        tokens = [*vocab.Vocabulary.load(None).decoder, _BOUNDARY, _BLANK]  # in the order of the model's symbols
        self._blank, self._boundary = tokens.index(_BLANK), tokens.index(_BOUNDARY)
        self._sounds = NetworkSounds(tokens, self._letters_to_sound, lexicon=lexicon)
        self._compiled: OrderedDict[str, SoundNetwork] = OrderedDict()
        self._as_it_came = _OfTheLast(self._model.log_probs)
        self._slower = _OfTheLast(lambda samples: self._model.log_probs(_slower(samples)))

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        """The words that have no pronunciation in the network's symbols."""
        return tuple(
            Unheard(word, self.name, "it cannot be spelt into sounds", "write it as it is spoken, in letters a to z")
            for word in dict.fromkeys(words)
            if not self._sounds.variants(word)
        )

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        """The best sentences with their exact scores, and the gap to the unbound path in natural log per frame.

        The alternatives hold every sentence within `WITHIN` of the best, or the best `MOST`; `margin` is how far below
        the best all others lie at least. Which of those offered mean the same is for the panel to say.

        Raises:
            VocabularyError: the network holds words without a pronunciation.
        """
        decoding = self._decode(utterance, network, MOST)
        if decoding is None or not decoding.sentences:
            return Transcript(self.name, ())
        heard = tuple(map(_offered, decoding.sentences))
        margin = WITHIN if len(heard) < MOST else heard[0].score - heard[-1].score
        return Transcript(self.name, heard, margin=margin, gap=decoding.gap)

    def best(self, utterance: Utterance, network: WordNetwork) -> Alternative | None:
        """The first that `hear` would offer; looking for the others takes a third of its time.

        Raises:
            VocabularyError: the network holds words without a pronunciation.
        """
        decoding = self._decode(utterance, network, 1)
        return None if decoding is None else next(map(_offered, decoding.sentences), None)

    def get_ready(self, utterance: Utterance) -> None:
        """Hear the sound slower, for `review`."""
        if len(utterance.samples) >= _SHORTEST:
            self._slower(utterance.samples)

    def review(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        """How well each text fits the sound played slower by a tenth, natural log; None where it does not fit.

        A second opinion by the same ear: it sees more of every sound, and at other pitches. See `engines._network`.

        Raises:
            VocabularyError: words without a pronunciation.
        """
        wanted = [text for text in dict.fromkeys(texts) if text]
        if not wanted or len(utterance.samples) < _SHORTEST:
            return (None,) * len(texts)
        sounds = self._sounds_of(network_of(wanted))  # asked about once: not kept
        decoding = self._decoded(sounds, self._slower(utterance.samples), most=len(wanted), within=np.inf)
        found = {" ".join(sentence.words): sentence.score for sentence in decoding.sentences}
        return tuple(found.get(text) for text in texts)

    def log_probs(self, samples: Samples) -> npt.NDArray[np.float32]:
        """(frames, symbols) natural logarithms, 50 frames a second. Those of the last sound are kept."""
        return self._as_it_came(samples)

    def _decode(self, utterance: Utterance, network: WordNetwork, most: int) -> Decoding | None:
        compiled = self._compile(network)
        if len(utterance.samples) < _SHORTEST:
            return None
        return self._decoded(compiled, self.log_probs(utterance.samples), most=most, within=WITHIN)

    def _decoded(
        self, sounds: SoundNetwork, log_probs: npt.NDArray[np.float32], *, most: int, within: float
    ) -> Decoding:
        symbols = {"blank": self._blank, "boundary": self._boundary}
        return decode(sounds, log_probs, **symbols, word_score=WORD_SCORE, most=most, within=within)

    def _compile(self, network: WordNetwork) -> SoundNetwork:
        known = self._compiled.get(network.key)
        if known is None:
            known = self._sounds_of(network)
            self._compiled[network.key] = known
            if len(self._compiled) > _KEPT_NETWORKS:
                self._compiled.popitem(last=False)
        self._compiled.move_to_end(network.key)
        return known

    def _sounds_of(self, network: WordNetwork) -> SoundNetwork:
        require_words(self, network.words)
        return compile_sounds(network, {word: self._sounds.variants(word) for word in network.words})

    def _letters_to_sound(self, word: str) -> list[str]:
        if self._letters is None:
            import hama

            self._letters = hama.G2PModel()
        return [step.phoneme for step in self._letters.predict(word).alignments]


class _OfTheLast:
    """What is computed of a sound; that of the last one is kept."""

    def __init__(self, compute: Callable[[Samples], npt.NDArray[np.float32]]) -> None:
        self._compute = compute
        self._kept: tuple[bytes, npt.NDArray[np.float32]] | None = None

    def __call__(self, samples: Samples) -> npt.NDArray[np.float32]:
        key = samples.tobytes()
        if self._kept is None or self._kept[0] != key:
            self._kept = key, self._compute(samples)
        return self._kept[1]


def _slower(samples: Samples) -> Samples:
    import soxr

    slower: Samples = soxr.resample(samples, RATE_HZ, RATE_HZ / _SPEED)
    return slower


def _offered(sentence: Sentence) -> Alternative:
    return Alternative(" ".join(sentence.words), sentence.score)


def _model() -> Conformer:
    """The model, from the file in the package."""
    path = (package_folder("hama") or Path()) / "assets" / "asr_waveform.hama"
    cure = f"Install it again: pip install --force-reinstall hama=={PINNED}"
    try:
        return Conformer(read_tensors(path, cure=cure))
    except (KeyError, ValueError):
        raise ModelError("the speech model is not made as expected", file=path, cure=cure) from None

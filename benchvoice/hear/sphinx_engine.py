"""PocketSphinx as a recogniser: hidden Markov models bound to the grammar, with the model in its wheel."""

from __future__ import annotations

import importlib.util
import math
from collections import OrderedDict
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import numpy as np

from benchvoice.errors import ModelError
from benchvoice.hear.lexicon import IPA, Lexicon, Phones, letters_to_sound
from benchvoice.hear.recogniser import Unheard, require_words
from benchvoice.records import RATE_HZ, Alternative, Samples, Transcript, Utterance, WordNetwork

__all__ = ["GAP_UNRELATED", "NOISY_DB", "SphinxEngine"]

GAP_UNRELATED = 1.5
"""A gap from which speech is hardly for us, in natural log per frame.

Measured on 40 synthesised readings a row, heard right, median / greatest: clean -0.9 / -0.2, white noise 20 dB
0.2 / 1.2, white 10 dB 1.2 / 1.7, pink 10 dB 0.7 / 1.1, hum 10 dB 0.0 / 0.9, blower 10 dB 1.0 / 1.9. Human speech that
is no reading: five stretches of prose 2.1 to 4.4; five of playing cards 1.9 to 3.1, but 1.0 for "five five" where the
grammar holds "five". A wrong reading has the gap of a right one: the gap tells whom speech is for, not what it says.
"""

NOISY_DB = 28.0
"""Speech less than this much above the noise, in dB, is heard both with the noise suppressed and as it came."""

_NO_FIT = 99.0
_SHORTEST = RATE_HZ // 10  # samples; no word is shorter, and the library cannot take an empty utterance
_CACHED_GRAMMARS = 8
_NOISE_FRAME = RATE_HZ // 100
_SUPPRESSION_LEVEL = 3
# PocketSphinx keeps log scores in base 1.0001 shifted right by 10 bits, and gives out exp() of that in base 1.0001.
_SCORE_SCALE = 1024.0
# beams wide enough that some sentence is found even in speech that is none; wip and silprob as measured
_COMMON: dict[str, object] = {
    "lm": None,
    "cmn": "batch",
    "bestpath": False,
    "silprob": 0.1,
    "wip": 0.003,
    "lw": 1.0,
    "beam": 1e-60,
    "pbeam": 1e-60,
    "wbeam": 1e-40,
    "samprate": RATE_HZ,
    "loglevel": "FATAL",
}
_HEARING: dict[str, object] = {"compallsen": False}
# both decodings of the gap must compute all senones, or their scores do not compare; half the frames and two
# Gaussians each halve the cost and leave right and unrelated as far apart
_FITTING: dict[str, object] = {"compallsen": True, "topn": 2, "ds": 2}
# the loop finds the very same score between narrower beams, a quarter sooner; a bound sentence needs the wide ones
_LOOP: dict[str, object] = {**_FITTING, "beam": 1e-30, "pbeam": 1e-30, "wbeam": 1e-20}


class _Known(NamedTuple):
    """An utterance made clearer, and what was found out about it.

    Attributes:
        key: its samples as they came, to know it by.
        sound: the suppressed sound.
        heard: texts by network and by whether the sound as it came was heard too.
        fits: natural log by text, "" being the phone loop.
        weights: natural log by text.
    """

    key: bytes
    sound: Samples
    heard: dict[tuple[str, bool], tuple[str, ...]]
    fits: dict[str, float | None]
    weights: dict[str, float | None]


class SphinxEngine:
    """PocketSphinx 5.1 bound to a word network.

    The network is given as a finite-state grammar of words whose arcs all weigh the same. The JSGF form would weigh
    each word by the number of its rivals, and has to be compiled from text.

    An utterance is heard with the noise suppressed and, where there is noise (NOISY_DB), as it came too; where the two
    differ both are offered. Right first / right in either, of 40 synthesised readings: clean 39 / 39, white 20 dB
    32 / 34, white 10 dB 10 / 11, pink 10 dB 23 / 28, hum 10 dB 37 / 39, blower 10 dB 21 / 24. Both alike and wrong,
    in the same order: -, 1, 3, 2, 0, 4.
    An alternative's score is how much better it fits the suppressed sound than a loop of all phones, natural log per
    frame; `gap` is the best alternative's score with the sign turned (see GAP_UNRELATED).

    What was heard before changes nothing: the same sound has exactly the same transcript and weights.

    Raises:
        ModelError: PocketSphinx is not installed.
    """

    name = "sphinx"

    def __init__(self, lexicon: Lexicon | None = None) -> None:
        if importlib.util.find_spec("pocketsphinx") is None:
            raise ModelError("PocketSphinx is not installed", cure="Install it: pip install pocketsphinx")
        import pocketsphinx

        pocketsphinx.set_loglevel("FATAL")
        self._lexicon = Lexicon.shipped() if lexicon is None else lexicon
        self._hearing: Any = pocketsphinx.Decoder(**_COMMON, **_HEARING)
        self._fitting: Any = pocketsphinx.Decoder(**_COMMON, **_FITTING)
        self._looping: Any = pocketsphinx.Decoder(**(_COMMON | _LOOP))
        self._known: dict[str, bool] = {}
        self._compiled: OrderedDict[str, None] = OrderedDict()
        self._last: _Known | None = None
        self._add_phone_loop()

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        """Words that neither the dictionary nor the lexicon holds and whose spelling gives no pronunciation."""
        return tuple(
            Unheard(word, self.name, "no pronunciation", "say it in other words, or add it to lexicon.txt")
            for word in dict.fromkeys(words)
            if not self._learn(word)
        )

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        """The sentence that fits best; two where the sound as it came and the suppressed one differ.

        Raises:
            VocabularyError: words that cannot be heard.
        """
        texts = self._texts(utterance, network)
        if not texts:
            return Transcript(self.name, ())
        clear = self._clear(utterance.samples)
        found = [Alternative(text, self._advantage(text, clear)) for text in texts]
        found.sort(key=lambda alternative: -alternative.score)
        return Transcript(self.name, tuple(found), gap=-found[0].score)

    def hear_briefly(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        """As `hear`, but where it heard one sentence only: without the gap, and with a score of 0.

        `hear` of the same sound then adds what is missing, without hearing it again.

        Raises:
            VocabularyError: words that cannot be heard.
        """
        texts = self._texts(utterance, network)
        if len(texts) > 1:  # the fits tell which is the first
            return self.hear(utterance, network)
        return Transcript(self.name, tuple(Alternative(text, 0.0) for text in texts))

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        """How well each text fits the suppressed sound, natural log of the whole; None where it finds no path.

        Unlike the scores of `hear` these compare within one utterance only, and tell "oh" from "two": of 320 clean
        readings the right one led its nearest rival by 20 or more in all but 18, and no rival ever led by 10.

        Raises:
            VocabularyError: words that cannot be heard.
        """
        require_words(self, dict.fromkeys(word for text in texts for word in text.split()))
        clear = self._clear(utterance.samples)
        for text in texts:
            if text not in clear.weights:
                clear.weights[text] = self._weight(text, clear.sound)
        return tuple(clear.weights[text] for text in texts)

    def _clear(self, samples: Samples) -> _Known:
        """What is known of that sound; of the last one only, since what is heard is often weighed next."""
        key = samples.tobytes()
        if self._last is None or self._last.key != key:
            self._last = _Known(key, _suppressed(samples), {}, {}, {})
        return self._last

    def _texts(self, utterance: Utterance, network: WordNetwork) -> tuple[str, ...]:
        self._compile(network)
        if len(utterance.samples) < _SHORTEST:
            return ()
        clear, noisy = self._clear(utterance.samples), _noisy(utterance)
        if (network.key, noisy) not in clear.heard:
            sounds = [clear.sound, utterance.samples] if noisy else [clear.sound]
            heard = dict.fromkeys(self._decode(network.key, sound) for sound in sounds)
            clear.heard[network.key, noisy] = tuple(text for text in heard if network.accepts(text))
        return clear.heard[network.key, noisy]

    def _weight(self, text: str, sound: Samples) -> float | None:
        decoder = self._hearing
        decoder.add_fsg("weighed", _sentence(decoder, "weighed", text))
        return _fit(decoder, "weighed", sound)

    # --- words --------------------------------------------------------------------------------------------------------
    def _learn(self, word: str) -> bool:
        """Whether the word has a pronunciation; ours are added to both decoders when it is first met."""
        if word not in self._known:
            self._known[word] = self._add_word(word)
        return self._known[word]

    def _add_word(self, word: str) -> bool:
        own = self._hearing.lookup_word(word) is not None
        ours = list(self._lexicon.variants(word))
        if not own and not ours:
            guess = letters_to_sound(word)
            ours = [] if guess is None else [guess]
        have = self._dictionary_variants(word) if own else []
        for phones in ours:
            if phones in have:
                continue
            have.append(phones)
            entry = word if len(have) == 1 else f"{word}({len(have)})"
            for decoder in (self._hearing, self._fitting):
                decoder.add_word(entry, " ".join(phones), False)
        return bool(have)

    def _dictionary_variants(self, word: str) -> list[Phones]:
        entries = [self._hearing.lookup_word(word)]
        while (entry := self._hearing.lookup_word(f"{word}({len(entries) + 1})")) is not None:
            entries.append(entry)
        return [tuple(entry.split()) for entry in entries]

    # --- grammars -----------------------------------------------------------------------------------------------------
    def _add_phone_loop(self) -> None:
        decoder = self._looping
        for phone in IPA:
            decoder.add_word(f"_{phone}", phone, False)
        arcs = [(0, 1, 1.0, f"_{phone}") for phone in IPA]
        decoder.add_fsg("loop", decoder.create_fsg("loop", 0, 1, [*arcs, (1, 0, 1.0)]))

    def _compile(self, network: WordNetwork) -> None:
        if network.key in self._compiled:
            self._compiled.move_to_end(network.key)
            return
        require_words(self, network.words)
        end = network.n_nodes
        arcs = [(arc.source, arc.target, 1.0, arc.word) for arc in network.arcs]
        ends = [(node, end, 1.0) for node in sorted(network.finals)]
        decoder = self._hearing
        decoder.add_fsg(network.key, decoder.create_fsg(network.key, 0, end, [*arcs, *ends]))
        self._compiled[network.key] = None
        while len(self._compiled) > _CACHED_GRAMMARS:
            oldest, _ = self._compiled.popitem(last=False)
            decoder.remove_search(oldest)

    # --- decoding -----------------------------------------------------------------------------------------------------
    def _decode(self, search: str, sound: Samples) -> str:
        hypothesis = _run(self._hearing, search, sound)
        return "" if hypothesis is None else str(hypothesis.hypstr)

    def _advantage(self, text: str, clear: _Known) -> float:
        fits, decoder = clear.fits, self._fitting
        if "" not in fits:
            fits[""] = _fit(self._looping, "loop", clear.sound)
        if text not in fits:
            decoder.add_fsg("sentence", _sentence(decoder, "sentence", text))
            fits[text] = _fit(decoder, "sentence", clear.sound)
        fit, loop = fits[text], fits[""]
        if fit is None or loop is None:
            return -_NO_FIT
        frames: int = self._looping.n_frames()
        return (fit - loop) / max(1, frames)


def _sentence(decoder: Any, name: str, text: str) -> Any:
    words = text.split()
    return decoder.create_fsg(name, 0, len(words), [(at, at + 1, 1.0, word) for at, word in enumerate(words)])


def _fit(decoder: Any, search: str, sound: Samples) -> float | None:
    """How well a search's best path fits, natural log; None where it found no path to its end."""
    hypothesis = _run(decoder, search, sound)
    if hypothesis is None or hypothesis.best_score <= 0:
        return None
    return _SCORE_SCALE * math.log(float(hypothesis.best_score))


def _run(decoder: Any, search: str, sound: Samples) -> Any:
    # its own noise estimate would go on from the sound before (up to 0.1 of the gap); this is the only way to drop it
    decoder.reinit_feat()  # 0.1 ms
    decoder.activate_search(search)
    decoder.start_utt()
    try:
        decoder.process_raw(np.ascontiguousarray(sound).tobytes(), full_utt=True)
    finally:
        decoder.end_utt()  # a decoder left in the middle of an utterance takes no other search
    return decoder.hyp()


def _noisy(utterance: Utterance) -> bool:
    noise_dbfs = utterance.noise_dbfs
    return noise_dbfs is None or utterance.level_dbfs - noise_dbfs < NOISY_DB


def _suppressed(sound: Samples) -> Samples:
    """The sound after WebRTC's noise suppressor, 10 ms at a time."""
    from pywebrtc_audio import NoiseSuppressor

    suppressor = NoiseSuppressor(RATE_HZ, 1, _SUPPRESSION_LEVEL)
    whole = len(sound) // _NOISE_FRAME * _NOISE_FRAME
    frames = [suppressor.process(sound[at : at + _NOISE_FRAME]) for at in range(0, whole, _NOISE_FRAME)]
    return np.concatenate([*frames, sound[whole:]]).astype(np.int16)

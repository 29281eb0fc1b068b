"""Moonshine as a recogniser: a transformer that writes what it hears, here only along the sentences of the bench.

The model is Moonshine Tiny English (27 million parameters; Jeffries et al., "Moonshine: Speech Recognition for Live
Transcription and Voice Commands", arXiv:2410.15608), which the PyPI package moonshine-voice carries under the MIT
licence. Only its model files are used, by ONNX Runtime: the package's own interface gives text, and what is needed here
is how likely a given sentence is.
"""

from __future__ import annotations

import heapq
import importlib.util
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from benchvoice.errors import ModelError
from benchvoice.files import package_folder
from benchvoice.hear.lexicon import dictionary_words
from benchvoice.hear.pieces import END, START, Pieces
from benchvoice.hear.recogniser import Unheard, require_words
from benchvoice.hear.sentence_paths import Paths
from benchvoice.hear.written import ways_to_write
from benchvoice.records import Alternative, Samples, Transcript, Utterance, WordNetwork

__all__ = ["MoonshineEngine", "why_unavailable"]

PINNED = "0.1.0"
"""The version of moonshine-voice whose model files are used; later ones carry none."""

BEAM = 16
WITHIN = 10.0
"""How many beginnings of sentences are followed, and up to how far below the best one; natural log.

With 6, "fifteen" was lost where "five" led it by 1.6; with 16 hardly anything within 8, in little more time.
"""
MOST = 12
LONGEST_FREE = 48
"""Pieces of a free transcription; a breath holds fewer."""

_PIECES_A_WORD = 1.6  # of 284 readings of the tuning voices: 1.61
_TOGETHER = 2  # pieces: to run so many twice costs no more than to run once more
_SHORTEST = 2400  # samples; 150 ms hold no word, and the model needs some frames
_STEM = "past_key_values"

Floats = npt.NDArray[np.floating[Any]]
Cache = dict[str, Floats]


def why_unavailable() -> str | None:
    """Why the model cannot be had on this machine, as a sentence; None where it can."""
    for package, name in (("moonshine_voice", f"moonshine-voice {PINNED}"), ("onnxruntime", "onnxruntime")):
        if importlib.util.find_spec(package) is None:
            return f"The speech transformer is not installed: install the Python package {name}"
    try:
        installed = metadata.version("moonshine-voice")
    except metadata.PackageNotFoundError:
        installed = "one of unknown version"
    if installed != PINNED:
        return f"The speech transformer needs moonshine-voice {PINNED}, not {installed}: install that version"
    return None


class _Heard(NamedTuple):
    """A sound as the model sees it.

    Attributes:
        key: its samples, to know it by.
        states: (1, frames, features) what the encoder makes of it.
        free: what the model would write unbound, with its natural log probability; empty until it is asked.
    """

    key: bytes
    states: Floats
    free: list[Alternative]


@dataclass(frozen=True)
class _Beginning:
    """The beginning of a sentence: its pieces, its score, its row in the cache, and where it can go on."""

    pieces: tuple[int, ...]
    score: float
    row: int
    places: frozenset[Any]


class MoonshineEngine:
    """Moonshine Tiny bound to a word network. One instance serves one thread at a time.

    A sentence's score is the natural log of the probability that the model writes it as it is spelled at the bench,
    with a capital letter and a full stop; `gap` is how much more probable what it would write unbound is, per piece of
    the sentence. It writes "3.31" as readily as "three point three one", so even what is certainly right has a gap.

    Raises:
        ModelError: the model cannot be used here; the message says why.
    """

    name = "moonshine"

    def __init__(self) -> None:
        reason = why_unavailable()
        if reason is not None:
            raise ModelError(reason, cure="Choose another recogniser with --engine")
        import onnxruntime

        folder = _model_folder()
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        options.inter_op_num_threads = 1
        options.log_severity_level = 4
        try:
            self._encoder: Any = onnxruntime.InferenceSession(str(folder / "encoder_model.ort"), options)
            self._decoder: Any = onnxruntime.InferenceSession(str(folder / "decoder_model_merged.ort"), options)
            self._pieces = Pieces((folder / "tokenizer.bin").read_bytes())
            if len(self._pieces) != self._decoder.get_outputs()[0].shape[-1]:
                raise ValueError("its list of pieces is another model's, or cut short")
        except Exception as error:  # the library raises nothing narrower
            cure = f"Install it again: pip install --force-reinstall moonshine-voice=={PINNED}"
            raise ModelError(f"the speech transformer cannot be loaded ({error})", cure=cure) from error
        self._inputs = {entry.name: entry for entry in self._decoder.get_inputs()}
        self._outputs = [entry.name for entry in self._decoder.get_outputs()]
        self._words = dictionary_words()
        self._last: _Heard | None = None

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        """Words of no letters; any other can be written, if need be letter by letter."""
        return tuple(
            Unheard(word, self.name, "it has no letters", "write it in words")
            for word in dict.fromkeys(words)
            if not any(letter.isalpha() for letter in word)
        )

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        """The network's likeliest sentences, best first, and the gap to what would be written unbound.

        `margin` is how far was looked, no proof: a beginning that was dropped on the way might have ended better.

        Raises:
            VocabularyError: the network holds words without a letter.
        """
        require_words(self, network.words)
        if len(utterance.samples) < _SHORTEST:
            return Transcript(self.name, ())
        heard = self._hear(utterance.samples)
        found = self._bound(heard.states, Paths(network, self._pieces))
        if not found:
            return Transcript(self.name, ())
        alternatives = tuple(Alternative(" ".join(words), score) for words, score in found)
        margin = alternatives[0].score - alternatives[-1].score if len(found) == MOST else WITHIN
        return Transcript(self.name, alternatives, margin=margin, gap=self._gap(heard, alternatives[0]))

    def weigh(self, utterance: Utterance, texts: Sequence[str]) -> tuple[float | None, ...]:
        """How probable each text is, natural log of the whole; None where there is too little sound."""
        if len(utterance.samples) < _SHORTEST or not texts:
            return (None,) * len(texts)
        rows = [(*self._pieces.of_sentence(text), END) for text in texts]
        return tuple(self._scores(self._hear(utterance.samples).states, rows))

    def probability(self, utterance: Utterance, text: str) -> float:
        """How probable a sentence is however it is written, in words or in figures; natural log.

        Raises:
            ValueError: there is too little sound.
        """
        if len(utterance.samples) < _SHORTEST:
            raise ValueError("too little sound to weigh a sentence")
        states = self._hear(utterance.samples).states
        ways = ways_to_write(text, self._words)
        rows = [(*self._pieces.of_sentence(way), END) for way in ways]
        return float(np.logaddexp.reduce(self._scores(states, rows)))

    def length(self, text: str) -> float:
        """How many words of usual length have as many pieces: "nanofarads" is written in five."""
        return len(self._pieces.of_sentence(text)) / _PIECES_A_WORD

    def prefer(self, utterance: Utterance, text: str, others: Sequence[str]) -> tuple[float, ...]:
        """By how much the model prefers a text to each of others where they first differ, natural log; 0 for itself.

        All in one step: what comes after the difference is not looked at, so this costs hardly more than one text.
        """
        if len(utterance.samples) < _SHORTEST:
            return (0.0,) * len(others)
        row = (*self._pieces.of_sentence(text), END)
        follows, _ = self._run(
            self._hear(utterance.samples).states, np.array([[START, *row[:-1]]], dtype=np.int64), None
        )
        found: list[float] = []
        for other in others:
            rival = (*self._pieces.of_sentence(other), END)
            at = next((at for at, (a, b) in enumerate(zip(row, rival, strict=False)) if a != b), None)
            found.append(0.0 if at is None else float(follows[0, at, row[at]] - follows[0, at, rival[at]]))
        return tuple(found)

    def free(self, utterance: Utterance) -> Alternative:
        """What was said, whatever it was, with the natural log of its probability: nothing binds it to the bench."""
        if len(utterance.samples) < _SHORTEST:
            return Alternative("", 0.0)
        return self._free(self._hear(utterance.samples))

    # --- the model ------------------------------------------------------------------------------------------------
    def _hear(self, samples: Samples) -> _Heard:
        """What the encoder makes of a sound; that of the last one is kept."""
        key = samples.tobytes()
        if self._last is None or self._last.key != key:
            sound = samples.astype(np.float32)[np.newaxis] / 32768
            inputs = {"input_values": sound, "attention_mask": np.ones(sound.shape, dtype=np.int64)}
            self._last = _Heard(key, self._encoder.run(None, inputs)[0], [])
        return self._last

    def _run(self, states: Floats, pieces: npt.NDArray[np.int64], cache: Cache | None) -> tuple[Floats, Cache]:
        """Natural log probabilities (rows, steps, pieces) of what follows each piece, and the cache for going on."""
        rows = len(pieces)
        inputs: dict[str, Any] = {
            "input_ids": pieces,
            "encoder_hidden_states": np.repeat(states, rows, axis=0),
            "encoder_attention_mask": np.ones(
                (rows, 1), dtype=np.int64
            ),  # every frame: of each 384 columns it keeps one
            "use_cache_branch": np.array([cache is not None]),
        }
        for name, entry in self._inputs.items():
            if name.startswith(_STEM):
                inputs[name] = _nothing(entry, rows) if cache is None else cache[name]
        wanted = {name: value for name, value in inputs.items() if name in self._inputs}
        found = dict(zip(self._outputs, self._decoder.run(None, wanted), strict=True))
        following = {name.replace("present", _STEM): value for name, value in found.items() if name != "logits"}
        if cache is not None:  # what belongs to the sound does not change
            following.update({name: value for name, value in cache.items() if ".encoder." in name})
        return _log_softmax(found["logits"]), following

    def _scores(self, states: Floats, rows: Sequence[tuple[int, ...]]) -> list[float]:
        """The natural log probability of each row of pieces.

        The first row is run whole; those that leave it at about the same place are then run together from there on.
        (What is run together is quantised together: the same row's figure differs by 0.5 or so with its company.)
        """
        first = rows[0]
        begun, cache = self._run(states, np.array([[START, *first[:-1]]], dtype=np.int64), None)
        steps = [float(begun[0, at, piece]) for at, piece in enumerate(first)]
        found = dict.fromkeys(range(len(rows)), sum(steps))
        for shared, numbers in _by_departure(first, rows):
            kept = {
                name: np.repeat(value if ".encoder." in name else value[:, :, : shared + 1], len(numbers), axis=0)
                for name, value in cache.items()
            }
            rests = [rows[number][shared:] for number in numbers]
            inputs = np.full((len(rests), max(map(len, rests)) - 1), END, dtype=np.int64)
            for at, rest in enumerate(rests):
                inputs[at, : len(rest) - 1] = rest[:-1]
            follows = self._run(states, inputs, kept)[0] if inputs.size else np.empty((len(rests), 0, 0))
            common = sum(steps[:shared])
            for number, rest, after in zip(numbers, rests, follows, strict=True):
                own = sum(float(after[at, piece]) for at, piece in enumerate(rest[1:]))
                found[number] = common + float(begun[0, shared, rest[0]]) + own
        return list(found.values())

    def _free(self, heard: _Heard) -> Alternative:
        if not heard.free:
            written: list[int] = []
            total = 0.0
            scores, cache = self._run(heard.states, np.array([[START]], dtype=np.int64), None)
            while True:
                piece = int(scores[0, -1].argmax())
                total += float(scores[0, -1, piece])
                if piece == END or len(written) == LONGEST_FREE:
                    break
                written.append(piece)
                scores, cache = self._run(heard.states, np.array([[piece]], dtype=np.int64), cache)
            heard.free.append(Alternative(self._pieces.text(written), total))
        return heard.free[0]

    def _gap(self, heard: _Heard, best: Alternative) -> float:
        return (self._free(heard).score - best.score) / len(self._pieces.of_sentence(best.text))

    def _bound(self, states: Floats, paths: Paths) -> list[tuple[tuple[str, ...], float]]:
        """The best sentences along the paths, by beam search, best first, with their scores."""
        scores, cache = self._run(states, np.array([[START]], dtype=np.int64), None)
        beam = [_Beginning((), 0.0, 0, paths.start)]
        ended: dict[tuple[str, ...], float] = {}
        while beam:
            best_end = max(ended.values(), default=-np.inf)
            grown: list[_Beginning] = []
            for begun in beam:
                for piece, places in paths.following(begun.places).items():
                    score = begun.score + float(scores[begun.row, -1, piece])
                    grown.append(_Beginning((*begun.pieces, piece), score, begun.row, places))
                words = paths.ended(begun.places)
                if words is not None:
                    ended[words] = max(ended.get(words, -np.inf), begun.score + float(scores[begun.row, -1, END]))
            likely = heapq.nlargest(BEAM, grown, key=lambda item: item.score)
            floor = max(likely[0].score if likely else -np.inf, best_end) - WITHIN
            beam = [item for item in likely if item.score >= floor]
            if beam:
                kept = {name: value[[item.row for item in beam]] for name, value in cache.items()}
                scores, cache = self._run(states, np.array([[item.pieces[-1]] for item in beam], dtype=np.int64), kept)
                beam = [_Beginning(item.pieces, item.score, row, item.places) for row, item in enumerate(beam)]
        return heapq.nlargest(MOST, ended.items(), key=lambda item: item[1])


def _model_folder() -> Path:
    """Where the package keeps the model."""
    package = package_folder("moonshine_voice")
    folder = None if package is None else package / "assets" / "tiny-en"
    if folder is None or not (folder / "decoder_model_merged.ort").is_file():
        cure = f"Install it again: pip install --force-reinstall moonshine-voice=={PINNED}"
        raise ModelError("the package moonshine-voice holds no model", cure=cure)
    return folder


def _by_departure(first: tuple[int, ...], rows: Sequence[tuple[int, ...]]) -> list[tuple[int, list[int]]]:
    """The rows but the first by how many pieces they share with it; those that share hardly more go with them."""
    groups: list[tuple[int, list[int]]] = []
    departures = ((_shared(first, row), number) for number, row in enumerate(rows) if row != first)
    for shared, number in sorted(departures):
        if groups and shared - groups[-1][0] <= _TOGETHER:
            groups[-1][1].append(number)
        else:
            groups.append((shared, [number]))
    return groups


def _shared(one: tuple[int, ...], other: tuple[int, ...]) -> int:
    return next(at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b)


def _nothing(entry: Any, rows: int) -> Floats:
    """An empty part of the cache: no step yet."""
    _, heads, _, size = entry.shape
    return np.zeros((rows, heads, 0, size), dtype=np.float32)


def _log_softmax(logits: Floats) -> Floats:
    shifted: Floats = logits - logits.max(axis=-1, keepdims=True)
    shifted -= np.log(np.exp(shifted).sum(axis=-1, keepdims=True))  # in place: the model knows 32768 pieces
    return shifted

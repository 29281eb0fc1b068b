"""The likeliest sentences of a network, in exact order, from a CTC model's log-probabilities per frame.

Two steps. A *sweep* goes through the frames backwards and finds, for every point of the network and every frame, the
score of the best way from there to the end of the sound. A *search* then goes forwards, word by word, over
beginnings of sentences; since the sweep tells exactly how well each beginning can end (an A* search whose estimate is
the truth), the first sentence that it completes is the best one, the next the second best, and so on: nothing is
pruned, and no beginning is extended that does not belong to one of the sentences returned.

Scores are natural logarithms and those of the best alignment (Viterbi), as in Graves et al., ICML 2006 for the
labelling of CTC. A sentence's symbols are its words' sounds with an optional blank between two of them (required
between equal ones) and, between, before and after words: nothing, or a blank, a word boundary and a blank, each
optional.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count, islice, pairwise

import numpy as np
import numpy.typing as npt

from benchvoice.hear.sound_network import SoundNetwork, WordExit

__all__ = ["Decoding", "Sentence", "decode"]

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]

_FLOOR = -1e4
"""Lower log-probabilities count as this, so that sums and differences stay finite."""


@dataclass(frozen=True)
class Sentence:
    """A sentence of the network, and the natural logarithm of its best alignment's probability."""

    words: tuple[str, ...]
    score: float


@dataclass(frozen=True)
class Decoding:
    """What was found.

    Attributes:
        sentences: best first; empty where no sentence fits into the frames.
        free: score of the best path that no network binds.
        n_frames: number of frames.
    """

    sentences: tuple[Sentence, ...]
    free: float
    n_frames: int

    @property
    def gap(self) -> float | None:
        """How much better the free path fits than the best sentence, per frame; None without a sentence."""
        return (self.free - self.sentences[0].score) / self.n_frames if self.sentences else None


def decode(
    network: SoundNetwork,
    log_probs: npt.NDArray[np.floating],
    *,
    blank: int,
    boundary: int,
    word_score: float = 0.0,
    most: int = 20,
    within: float = np.inf,
) -> Decoding:
    """Find the best sentences.

    Args:
        network: the compiled network.
        log_probs: (frames, symbols), natural logarithms.
        blank, boundary: columns of the CTC blank and of the word boundary.
        word_score: added for every word; below zero it favours sentences of fewer words.
        most: how many sentences to return at most.
        within: return none whose score lies further below the best one's.

    Raises:
        ValueError: the array has no frames or not two dimensions.
    """
    if log_probs.ndim != 2 or not len(log_probs):
        raise ValueError(f"log_probs must be (frames, symbols) with at least one frame, not {log_probs.shape}")
    scores = np.maximum(log_probs.astype(np.float64), _FLOOR)
    free = float(scores.max(axis=1).sum())
    ahead = _Sweep(network, scores.astype(np.float32), blank=blank, boundary=boundary, word_score=word_score)
    search = _Search(network, ahead, scores, blank=blank, boundary=boundary, word_score=word_score)
    found = list(islice(search.sentences(within), most))
    return Decoding(tuple(sorted(found, key=lambda item: -item.score)), free, len(scores))


class _Sweep:
    """For every frame, how well the rest of the sound can go.

    Attributes:
        enter: (frames + 1, R) score of the rest where run r begins at that frame, its word counted.
        leave: (frames + 1, C) score of the rest where a word of leaving class c has just ended before that frame.
    """

    def __init__(self, net: SoundNetwork, scores: Singles, *, blank: int, boundary: int, word_score: float) -> None:
        frames = len(scores)
        lowest = np.float32(-np.inf)
        self.enter = np.full((frames + 1, len(net.runs)), lowest, dtype=np.float32)
        self.leave = np.empty((frames + 1, len(net.class_node)), dtype=np.float32)
        ending = np.where(net.finals, np.float32(0), lowest)
        sound = np.full(len(net.sound) + 1, lowest, dtype=np.float32)  # one more, so that it can be shifted
        pause = np.full(len(net.sound), lowest, dtype=np.float32)  # the blank after each sound
        stay, onward = np.empty_like(pause), np.empty_like(pause)  # made once: making them takes longer than the sums
        before, border, after = ending, ending, ending  # blank, boundary, blank at each node
        groups = np.full(len(net.rounds[0]) + 1 if net.rounds else 1, lowest, dtype=np.float32)  # the last is none
        for frame in range(frames, -1, -1):
            # a word has just ended before this frame: begin another, pause, or stop at the end
            for place, members in enumerate(net.rounds):
                entered = self.enter[frame][members]
                part = groups[: len(members)]
                part[:] = np.maximum(part, entered) if place else entered
            begin = np.maximum.reduceat(groups[net.class_groups], net.class_starts)
            self.leave[frame] = np.maximum(begin, np.maximum(before, border)[net.class_node])
            if not frame:
                break
            row = scores[frame - 1]
            # sounds in this frame: stay, the blank after, the next sound, or out of the word
            following = sound[1:]
            np.maximum(sound[:-1], pause, out=stay)
            np.maximum(stay, following, out=onward)
            onward[net.repeats] = stay[net.repeats]
            onward[net.last] = np.maximum(sound[net.last], self.leave[frame][net.run_class])
            np.maximum(pause, following, out=pause)
            pause += row[blank]
            np.take(row, net.sound, out=stay, mode="clip")  # of all modes the one that needs no copy
            np.add(onward, stay, out=sound[:-1])
            self.enter[frame - 1] = sound[net.first] + np.float32(word_score)
            any_word = begin[net.plain_class]
            before, border, after = (
                np.maximum(np.maximum(before, border), any_word) + row[blank],
                np.maximum(np.maximum(border, after), any_word) + row[boundary],
                np.maximum(after, any_word) + row[blank],
            )


@dataclass(frozen=True, eq=False)
class _Beginning:
    """The beginning of a sentence: its words, the node reached, and how well it fits however far it reaches.

    `ends` holds, by last sound, the best score (frames + 1,) where that sound filled the frame before; `rests` the
    same for the blanks and the boundary after the last word.
    """

    words: tuple[str, ...]
    node: int
    ends: dict[int, Floats]
    rests: Floats

    def leaving(self, next_sound: int | None) -> Floats:
        """Best score before each frame from where `next_sound` may begin; None: any sound, or the end."""
        allowed = [scores for sound, scores in self.ends.items() if sound != next_sound]
        leaving: Floats = np.maximum.reduce([self.rests, *allowed])
        return leaving


class _Search:
    def __init__(
        self, net: SoundNetwork, ahead: _Sweep, scores: Floats, *, blank: int, boundary: int, word_score: float
    ) -> None:
        self._net, self._ahead = net, ahead
        self._blank, self._boundary, self._word_score = blank, boundary, word_score
        # sums[t, s]: score of symbol s in all frames before t
        self._sums = np.vstack([np.zeros(scores.shape[1]), np.cumsum(scores, axis=0)]).T.copy()

    def sentences(self, within: float) -> Iterator[Sentence]:
        """The network's sentences from the best on, as long as they lie within that of the best."""
        order = count()  # settles ties, so that beginnings are never compared
        heap: list[tuple[float, int, _Beginning, WordExit | None]] = []
        lowest = -np.inf
        best = None

        def offer(beginning: _Beginning) -> None:
            if self._net.finals[beginning.node]:
                whole = float(beginning.leaving(None)[-1])
                if whole > lowest:
                    heapq.heappush(heap, (-whole, next(order), beginning, None))
            for score, word in self._prospects(beginning):
                if score > lowest:
                    heapq.heappush(heap, (-score, next(order), beginning, word))

        offer(self._start())
        while heap:
            negative, _, beginning, word = heapq.heappop(heap)
            if best is None:
                best = -negative
                lowest = best - within if np.isfinite(within) else -np.inf
            if -negative < lowest:
                return
            if word is None:
                yield Sentence(beginning.words, -negative)
            else:
                offer(self._extend(beginning, word))

    def _prospects(self, beginning: _Beginning) -> list[tuple[float, WordExit]]:
        """Each word that may follow, with the score of the best whole sentence that goes on with it."""
        words = self._net.exits[beginning.node]
        if not words:
            return []
        runs = np.array([number for word in words for number in word.runs], dtype=np.intp)
        starts = np.cumsum([0, *(len(word.runs) for word in words[:-1])])
        ahead = self._ahead.enter[:, runs]
        totals = (beginning.leaving(None)[:, np.newaxis] + ahead).max(axis=0)
        firsts = self._net.sound[self._net.first[runs]]
        for sound in beginning.ends:
            same = firsts == sound
            if same.any():
                totals[same] = (beginning.leaving(sound)[:, np.newaxis] + ahead[:, same]).max(axis=0)
        return list(zip(np.maximum.reduceat(totals, starts).tolist(), words, strict=True))

    def _start(self) -> _Beginning:
        arrived = np.full(self._sums.shape[1], -np.inf)
        arrived[0] = 0.0
        return _Beginning((), 0, {}, np.maximum(arrived, self._rests(arrived)))

    def _extend(self, beginning: _Beginning, word: WordExit) -> _Beginning:
        ends: dict[int, Floats] = {}
        for number in word.runs:
            sounds = self._net.runs[number].sounds
            current = self._fill(sounds[0], beginning.leaving(sounds[0]) + self._word_score)
            for previous, sound in pairwise(sounds):
                pause = self._fill(self._blank, current)
                current = self._fill(sound, pause if sound == previous else np.maximum(pause, current))
            known = ends.get(sounds[-1])
            ends[sounds[-1]] = current if known is None else np.maximum(known, current)
        rests = self._rests(np.maximum.reduce(list(ends.values())))
        return _Beginning((*beginning.words, word.word), word.target, ends, rests)

    def _rests(self, arrived: Floats) -> Floats:
        before = self._fill(self._blank, arrived)
        border = self._fill(self._boundary, np.maximum(arrived, before))
        rests: Floats = np.maximum.reduce([before, border, self._fill(self._blank, border)])
        return rests

    def _fill(self, symbol: int, arrived: Floats) -> Floats:
        """Best score where `symbol` filled one frame or more up to there, after any of the scores `arrived`."""
        sums = self._sums[symbol]
        filled = np.empty_like(arrived)
        filled[0] = -np.inf
        np.maximum.accumulate(arrived[:-1] - sums[:-1], out=filled[1:])
        filled[1:] += sums[1:]
        return filled

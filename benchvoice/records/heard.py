"""Sound, and what was heard in it.

Sound is NumPy int16, mono, 16 kHz; times are seconds from the start of the recording or stream.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

__all__ = [
    "RATE_HZ",
    "Alternative",
    "AudioBlock",
    "Samples",
    "Transcript",
    "Trust",
    "Utterance",
    "WordArc",
    "WordNetwork",
]


RATE_HZ = 16_000
"""Sample rate of all sound inside benchvoice, in hertz."""

Samples = npt.NDArray[np.int16]
"""Mono sound, one int16 per sample at RATE_HZ."""


@dataclass(frozen=True, eq=False)
class AudioBlock:
    """A stretch of sound as it came from a device or file.

    Attributes:
        samples: the sound.
        start_s: seconds from the start of the stream to its first sample.
        overflow: whether sound was lost just before this block.
    """

    samples: Samples
    start_s: float
    overflow: bool = False


@dataclass(frozen=True, eq=False)
class Utterance:
    """One stretch of speech with a little quiet kept around it.

    Attributes:
        samples: the sound.
        start_s, end_s: seconds from the start of the stream to its first sample and past its last one.
        level_dbfs: mean level of the voiced part, in dB relative to full scale (a full-scale square wave is 0).
        noise_dbfs: mean level of the quiet around it, in the same measure; None where there was no quiet.
        clipped: whether samples reached full scale.
        cut: whether words may be missing: it was ended by the longest allowed length or the end of the stream, not by
            quiet, or began while we spoke ourselves.
        narrow: whether it lacks all above 4 kHz, as over a telephone: digits are easily mistaken then.
    """

    samples: Samples
    start_s: float
    end_s: float
    level_dbfs: float
    noise_dbfs: float | None = None
    clipped: bool = False
    cut: bool = False
    narrow: bool = False


class WordArc(NamedTuple):
    """One word of a network, from node `source` to node `target`."""

    source: int
    target: int
    word: str


@dataclass(frozen=True)
class WordNetwork:
    """Every sentence that may be heard just now, as an acyclic, deterministic network of words.

    Nodes are numbered from 0 (the start) so that every arc leads to a higher number. A sentence is the words along a
    path from node 0 to a final node, and no two paths have the same words. Words are lower case.
    """

    n_nodes: int
    finals: frozenset[int]
    arcs: tuple[WordArc, ...]

    @cached_property
    def words(self) -> tuple[str, ...]:
        """The different words, sorted."""
        return tuple(sorted({arc.word for arc in self.arcs}))

    @cached_property
    def key(self) -> str:
        """A digest that tells networks apart, for caches."""
        text = f"{self.n_nodes};{sorted(self.finals)};{self.arcs}"
        return hashlib.sha256(text.encode()).hexdigest()

    @cached_property
    def _next(self) -> dict[tuple[int, str], int]:
        return {(arc.source, arc.word): arc.target for arc in self.arcs}

    def leaving(self, node: int) -> tuple[WordArc, ...]:
        """The words that may follow at a node, with where they lead."""
        return self._leaving.get(node, ())

    @cached_property
    def _leaving(self) -> dict[int, tuple[WordArc, ...]]:
        found: dict[int, list[WordArc]] = {}
        for arc in self.arcs:
            found.setdefault(arc.source, []).append(arc)
        return {node: tuple(arcs) for node, arcs in found.items()}

    def accepts(self, text: str) -> bool:
        """Whether the words of `text`, separated by spaces, are one of the network's sentences."""
        return self._final_of(text) is not None

    def ends(self, text: str) -> bool:
        """Whether `text` is one of the network's sentences and no longer one begins with it."""
        node = self._final_of(text)
        return node is not None and not self.leaving(node)

    def _final_of(self, text: str) -> int | None:
        node: int | None = 0
        for word in text.split():
            node = self._next.get((node, word)) if node is not None else None
        return node if node in self.finals else None


class Trust(StrEnum):
    """How far a transcript's first alternative can be relied upon."""

    TYPED = "typed"  # it came as text: nothing was misheard
    AGREED = "agreed"  # independent recognisers agree on the meaning, clear of the next best
    DOUBTFUL = "doubtful"  # meant for us, but the recognisers differ or hardly prefer it: ask
    UNRELATED = "unrelated"  # not a sentence of the grammar: other talk, or noise
    FAILED = "failed"  # an engine broke on the sound: nothing is known of it


class Alternative(NamedTuple):
    """One way to hear an utterance: its words, and the engine's score (higher is better; not a probability)."""

    text: str
    score: float


@dataclass(frozen=True)
class Transcript:
    """What a recogniser, or the panel, heard.

    Attributes:
        engine: the recogniser's name ("network", "sphinx", "vosk", "panel", "text").
        alternatives: best first; empty where nothing was heard.
        trust: how far the first can be relied upon.
        why: a few words on `trust`, for the journal ("sphinx and network agree", "network hears fifty").
        margin: score of the best alternative minus that of the best with another meaning; None where not known.
        gap: how much better an unbound decoding fits than the grammar's best, per frame; None where not known.
        free: what was said, as far as a model makes it out that nothing binds to the bench; empty where there is none.
            For notes alone: it is never verified. Of a transcript's line it is the line as it was typed.
        twins: sentences that sound nearly like the first and mean something else, where the ears cannot exclude them
            for certain ("thirteen", "thirty"), likeliest first. Whether it matters is for the session to say.
        unlikely: the part of the twins that hearing the sound once more speaks clearly against. An ear that takes the
            one for the other will do so twice: where such a twin is the more usual value, it is a twin like the others.
    """

    engine: str
    alternatives: tuple[Alternative, ...]
    trust: Trust = Trust.DOUBTFUL
    why: str = ""
    margin: float | None = None
    gap: float | None = None
    free: str = ""
    twins: tuple[str, ...] = ()
    unlikely: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The best alternative's words; empty where nothing was heard."""
        return self.alternatives[0].text if self.alternatives else ""

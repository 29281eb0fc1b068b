"""What is suspected and why, as it passes from room to room: a suggestion, made by `suspect`."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

__all__ = ["Cause", "Reason", "ReasonKind", "Suspect", "SuspectSet", "Suspicion"]


@dataclass(frozen=True)
class Cause:
    """Something that may have failed.

    `at` is the reference for a "part", else a point's name: what "feeds" it from outside the board, the "way" to it
    from what feeds it, or a "load": anything that it feeds and that pulls it down.
    """

    kind: Literal["part", "feed", "way", "load"]
    at: str


ReasonKind = Literal[
    "feed right",
    "feed open",
    "fed from outside",
    "lifted",
    "consequence",
    "doubtful",
    "load",
    "contrary",
    "contrary load",
    "apart",
    "tried, works",
    "tried, different",
    "tried",
]


@dataclass(frozen=True)
class Reason:
    """Why something is suspected, or what stands in the way of it.

    `kind` tells what is the matter with `point`: it fails and `feed`, which feeds it, passes ("feed right"), is not
    known to pass ("feed open"), or does not exist on the board ("fed from outside"); it lies too high, which its
    failing feed does not bring about ("lifted"); it fails only because `feed` does ("consequence"); its statement is
    conditional ("doubtful"); it shows that something pulls `feed` down ("load"); it passes though what feeds it fails
    ("contrary"); it fails though the rail that it tests does not ("contrary load"); it fails, and the board file does
    not say what feeds it ("apart"). Of what was tried with another in its place `point` is that thing: the fault was
    gone ("tried, works"), was another ("tried, different"), or nothing changed ("tried").
    """

    kind: ReasonKind
    point: str
    feed: str | None = None


@dataclass(frozen=True)
class Suspect:
    """A cause with what the part is, and its share of all that explains the readings, 0 to 1, four decimals."""

    cause: Cause
    what: str
    share: Decimal


@dataclass(frozen=True)
class SuspectSet:
    """Causes that, failed together, explain every reading, none of them in vain; with its share."""

    causes: tuple[Cause, ...]
    share: Decimal


@dataclass(frozen=True)
class Suspicion:
    """What the readings make suspect: a suggestion.

    Attributes:
        certain: whether a point of the supplies fails for certain; if not, every part is a suspect.
        suspects: the likeliest first; `n_suspects` is how many there are in all.
        sets: the likeliest minimal sets; `n_sets` is how many there are, of which all were weighed if `complete`.
        reasons: why.
        next_point: the point that tells most, and how many bits it tells in the mean; None where none tells anything.
        supplied: whether the board file says at all what feeds what.
    """

    certain: bool
    suspects: tuple[Suspect, ...] = ()
    n_suspects: int = 0
    sets: tuple[SuspectSet, ...] = ()
    n_sets: int = 0
    complete: bool = True
    reasons: tuple[Reason, ...] = ()
    next_point: str | None = None
    next_bits: Decimal | None = None
    supplied: bool = True

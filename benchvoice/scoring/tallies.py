"""Results of utterances, added up: over all, and for each speaker, noise and kind of sentence."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from benchvoice.scoring.bounds import Rate

__all__ = [
    "GROUPS",
    "RESULTS",
    "SERIAL",
    "Confusion",
    "ReadBack",
    "Scored",
    "Tally",
    "confusions",
    "grouped",
    "real_time_factor",
    "words_wrong",
]

RESULTS = ("right", "fewer digits", "accepted wrong", "asked", "ignored")
"""How a recording can end; "fewer digits": taken as the number that was said, with fewer noughts at its end."""

GROUPS = ("speaker", "noise", "kind", "talk")
"""By what results are grouped; a recording without such a label is in no group of it."""


SERIAL = "serial"
"""The kind of sentence that is never taken but always read back."""


@dataclass(frozen=True)
class Scored:
    """One recording's result.

    Attributes:
        audio, text: what the corpus says of it.
        heard: the words heard, utterances parted by " / ".
        result: one of `RESULTS`.
        meant: what was meant, in words; empty where nothing was meant for the bench.
        taken: what it was taken for without asking; for one that was asked what was offered first; else empty.
        why: the reason why it was asked or ignored; empty where it was right.
        speaker, noise, kind, talk: its labels; empty where there are none.
        wrong_words, words: words put in, left out or replaced, and words said; both 0 where nothing was meant for the
            bench.
        remarks: what was wrong with the recording though it could be heard.
        sweep: its result under each setting of a sweep.
        sound_s: the sound's length in seconds.
        took_s: how long hearing it took, in seconds; not a property of what was heard, so kept out of comparisons.
    """

    audio: str
    text: str
    heard: str
    result: str
    meant: str = ""
    taken: str = ""
    why: str = ""
    speaker: str = ""
    noise: str = ""
    kind: str = ""
    talk: str = ""
    wrong_words: int = 0
    words: int = 0
    remarks: tuple[str, ...] = ()
    sweep: tuple[str, ...] = field(default=(), repr=False)
    sound_s: float = 0.0
    took_s: float = field(default=0.0, compare=False)

    def as_json(self) -> dict[str, Any]:
        """Its fields but the sweep's, and but the time it took, which differs from run to run."""
        fields = asdict(self)
        del fields["took_s"], fields["sweep"]
        return {**fields, "sound_s": round(self.sound_s, 3)}


@dataclass(frozen=True)
class Tally:
    """Results added up; `results` has every one of `RESULTS`."""

    recordings: int
    words: Rate
    results: dict[str, Rate]

    @classmethod
    def of(cls, scored: Sequence[Scored]) -> Tally:
        counts = Counter(item.result for item in scored)
        words = Rate(sum(item.wrong_words for item in scored), sum(item.words for item in scored))
        return cls(len(scored), words, {result: Rate(counts[result], len(scored)) for result in RESULTS})

    def as_json(self) -> dict[str, Any]:
        rates = {result: rate.as_json() for result, rate in self.results.items()}
        return {"recordings": self.recordings, "words wrong": self.words.as_json(), **rates}


@dataclass(frozen=True)
class ReadBack:
    """How serial numbers were read back, which are kept only after a "yes": as they were said, otherwise, or not."""

    right: Rate
    otherwise: Rate
    not_understood: Rate

    @classmethod
    def of(cls, scored: Iterable[Scored]) -> ReadBack:
        """Of the serial numbers among these results."""
        mine = [item for item in scored if item.kind == SERIAL]
        right = sum(item.result == "asked" and item.taken == item.meant for item in mine)
        otherwise = sum(item.result != "ignored" and item.taken not in ("", item.meant) for item in mine)
        return cls(Rate(right, len(mine)), Rate(otherwise, len(mine)), Rate(len(mine) - right - otherwise, len(mine)))

    def as_json(self) -> dict[str, Any]:
        named = {"right": self.right, "otherwise": self.otherwise, "not understood": self.not_understood}
        return {name: rate.as_json() for name, rate in named.items()}


@dataclass(frozen=True)
class Confusion:
    """What was said and for what it was taken, and how often.

    Attributes:
        result: "accepted wrong", or "asked" with the wrong thing offered first.
        said: what was meant, or the words of talk that was not meant for the bench.
        heard: what it was taken for.
    """

    result: str
    said: str
    heard: str
    count: int


def grouped(scored: Sequence[Scored]) -> dict[str, dict[str, Tally]]:
    """The tallies by label: for each of `GROUPS` its names in alphabetical order; none where nothing is labelled."""
    found: dict[str, dict[str, Tally]] = {}
    for group in GROUPS:
        names = sorted({name for item in scored if (name := getattr(item, group))})
        found[group] = {name: Tally.of([item for item in scored if getattr(item, group) == name]) for name in names}
    return found


def confusions(scored: Iterable[Scored]) -> list[Confusion]:
    """What was taken for what: accepted wrong before asked with the wrong first offer, the more frequent first."""
    counts = Counter(
        (item.result, item.meant or f"talk: {item.text or 'nothing'}", item.taken)
        for item in scored
        if item.result == "accepted wrong" or (item.result == "asked" and item.taken and item.taken != item.meant)
    )
    listed = [Confusion(*key, count) for key, count in counts.items()]
    return sorted(listed, key=lambda each: (RESULTS.index(each.result), -each.count, each.said, each.heard))


def real_time_factor(scored: Iterable[Scored]) -> float | None:
    """Seconds of one process's work for each second of sound; None where there was no sound."""
    items = list(scored)
    sound_s = sum(item.sound_s for item in items)
    return sum(item.took_s for item in items) / sound_s if sound_s else None


def words_wrong(said: str, heard: str) -> tuple[int, int]:
    """Words put in, left out or replaced, and words said. Words are parted by white space; case does not matter."""
    import jiwer

    reference, hypothesis = " ".join(said.lower().split()), " ".join(heard.lower().split())
    if not reference or not hypothesis:  # jiwer takes no empty reference
        return len(hypothesis.split()) or len(reference.split()), len(reference.split())
    found = jiwer.process_words(reference, hypothesis)
    return found.substitutions + found.deletions + found.insertions, len(reference.split())

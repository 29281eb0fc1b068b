"""One run of a corpus against an earlier one: what changed, utterance by utterance."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from benchvoice.errors import CorpusError
from benchvoice.scoring.bounds import Rate
from benchvoice.scoring.tallies import RESULTS, Scored

__all__ = ["Change", "Comparison", "Earlier", "compare", "read_earlier"]

_CURE = "Name what 'benchvoice score --json' printed"


@dataclass(frozen=True)
class Earlier:
    """What an earlier run said of one recording; `meant` and `taken` as in `Scored`."""

    audio: str
    text: str
    result: str
    meant: str
    taken: str


@dataclass(frozen=True)
class Change:
    """A recording that ended otherwise, or the same way but taken for something else."""

    audio: str
    text: str
    before: str
    after: str
    taken_before: str
    taken_after: str


@dataclass(frozen=True)
class Comparison:
    """Two runs, over the recordings that both have.

    Attributes:
        before, after: each of `RESULTS` of the recordings in both.
        changes: what changed, in the corpus's order.
        added, gone: names of recordings with their text that only this run has, and only the earlier one.
        relabelled: recordings in both whose meaning by the label is another.
    """

    before: dict[str, Rate]
    after: dict[str, Rate]
    changes: tuple[Change, ...]
    added: tuple[str, ...]
    gone: tuple[str, ...]
    relabelled: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "before": {result: rate.as_json() for result, rate in self.before.items()},
            "after": {result: rate.as_json() for result, rate in self.after.items()},
            "changes": [change.__dict__ for change in self.changes],
            "added": list(self.added),
            "gone": list(self.gone),
            "relabelled": list(self.relabelled),
        }


def read_earlier(text: str, name: str) -> list[Earlier]:
    """The recordings of an earlier run's JSON.

    Args:
        text: the file's text.
        name: its name, for messages.

    Raises:
        CorpusError: it is not what `benchvoice score --json` prints.
    """
    try:
        document = json.loads(text)
    except (json.JSONDecodeError, RecursionError):
        raise CorpusError("is not JSON", file=name, cure=_CURE) from None
    each = document.get("each") if isinstance(document, dict) else None
    if not isinstance(each, list):
        raise CorpusError("is no result of benchvoice score", file=name, field="each", cure=_CURE)
    found = []
    for place, item in enumerate(each):
        for key in ("audio", "text", "result", "meant", "taken"):
            if not isinstance(item, dict) or not isinstance(item.get(key), str):
                raise CorpusError("is missing or not text", file=name, field=f"each[{place}].{key}", cure=_CURE)
        if item["result"] not in RESULTS:
            what = f"'{item['result']}' is no result"
            raise CorpusError(what, file=name, field=f"each[{place}].result", cure=_CURE)
        found.append(Earlier(item["audio"], item["text"], item["result"], item["meant"], item["taken"]))
    return found


def compare(before: Sequence[Earlier], after: Sequence[Scored]) -> Comparison:
    """What this run has changed. Recordings are the same where sound and text are, the first with the first."""
    old = dict(zip(_keys((item.audio, item.text) for item in before), before, strict=True))
    new = dict(zip(_keys((item.audio, item.text) for item in after), after, strict=True))
    both = [key for key in new if key in old]
    changes = [
        Change(new[key].audio, new[key].text, old[key].result, new[key].result, old[key].taken, new[key].taken)
        for key in both
        if (old[key].result, old[key].taken) != (new[key].result, new[key].taken)
    ]
    return Comparison(
        _rates(old[key].result for key in both),
        _rates(new[key].result for key in both),
        tuple(changes),
        added=tuple(_named(key) for key in new if key not in old),
        gone=tuple(_named(key) for key in old if key not in new),
        relabelled=tuple(_named(key) for key in both if old[key].meant != new[key].meant),
    )


_Key = tuple[str, str, int]


def _keys(pairs: Iterable[tuple[str, str]]) -> list[_Key]:
    """Each recording's sound, text, and how often both came before: a corpus may hold the same twice."""
    seen: Counter[tuple[str, str]] = Counter()
    keys = []
    for pair in pairs:
        keys.append((*pair, seen[pair]))
        seen[pair] += 1
    return keys


def _named(key: _Key) -> str:
    return f"{key[0]}: '{key[1]}'"


def _rates(results: Iterable[str]) -> dict[str, Rate]:
    counts = Counter(results)
    return {result: Rate(counts[result], counts.total()) for result in RESULTS}

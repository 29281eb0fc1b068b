"""The small fixed corpus that every change is held against, utterance by utterance.

    python -m tests.corpus.fixed            compare with expected.jsonl; exit status 1 where an outcome is another
    python -m tests.corpus.fixed --write    hear the set and write expected.jsonl
    python -m tests.corpus.fixed --make     make the sounds and labels anew (needs every voice of `voices.py`)

`fixed/` holds sounds of both splits, clean and noisy: it tells that something changed, it does not measure. Each
recording is heard by itself, by the default panel and the path of `benchvoice hear`. expected.jsonl is what the program
did when it was written, not what it should do: read the difference before writing it anew.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from benchvoice.commands.listening import utterances
from benchvoice.commands.score_hearing import read_rooms
from benchvoice.events import Asked
from benchvoice.hear.audio import Recording
from benchvoice.hear.engines import open_engines
from benchvoice.loop import Turn
from tests.corpus import make_corpus
from tests.corpus.noises import noises_of
from tests.corpus.planned import Cast, Plan, plan
from tests.corpus.sentences import BOARDS
from tests.corpus.voices import voices_of

__all__ = ["FIXED", "differences", "expected", "heard_now", "labels"]

FIXED = Path(__file__).parent / "fixed"

RECIPE = (
    # set, how many of each split
    ("clean", 6),
    ("20dB", 4),
    ("10dB", 3),
    ("channel", 2),
    ("cut", 3),
    ("slips", 2),
    ("talk", 2),
)
SEED = 4


def make() -> None:
    """Write the sounds and labels that `RECIPE` says; older ones go."""
    plans: list[Plan] = []
    for split in ("tune", "held-out"):
        voices = voices_of(split)
        for which, many in RECIPE:
            # the voices go round over the whole set, not within each part of it
            turn = len(plans) % len(voices)
            cast = Cast(voices[turn:] + voices[:turn], noises_of(split))
            first = len(voices) * len(plans)  # so that the noises go round too
            plans += [_of(split, which, first, number, cast) for number in range(many)]
    for old in FIXED.glob("*.flac"):
        old.unlink()
    make_corpus.make_all(plans, FIXED, Path(tempfile.gettempdir()) / "benchvoice-corpus-speech", jobs=1)
    make_corpus.write_labels(plans, FIXED)


def _of(split: str, which: str, first: int, number: int, cast: Cast) -> Plan:
    # every utterance its own turn of the noises, and the voices in their order
    turned = Cast(cast.voices[number % len(cast.voices) :] + cast.voices[: number % len(cast.voices)], cast.noises)
    return plan(split, which, first + len(cast.voices) * number, SEED, turned)


def labels() -> list[dict[str, str]]:
    """The lines of corpus.jsonl."""
    return _lines(FIXED / "corpus.jsonl")


def expected() -> list[dict[str, Any]]:
    """The lines of expected.jsonl."""
    return _lines(FIXED / "expected.jsonl")


def _lines(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def heard_now() -> Iterator[dict[str, Any]]:
    """What is done with each recording: its name, and the outcome of each utterance in it."""
    rooms = read_rooms(BOARDS / "oven.yaml", BOARDS / "meter.yaml")
    with open_engines("panel") as ears:
        for label in labels():
            bench = rooms.bench(ears)
            heard = utterances(Recording(FIXED / label["audio"]), watched=False)
            outcomes = [_outcome(bench.take_utterance(utterance, label["audio"])) for utterance in heard]
            yield {"audio": label["audio"], "said": label["text"], "outcomes": outcomes}


def _outcome(turn: Turn) -> str:
    """An utterance's outcome with everything that could be wrong about it."""
    decision = turn.decision
    parts = [f"{decision.outcome} {decision.about}", decision.point]
    if decision.value is not None:
        parts.append(f"{decision.value.digits} {decision.value.unit}".rstrip())
    for event in turn.events:
        if isinstance(event, Asked):
            parts += [
                " ".join(filter(None, (offer.command, offer.point, offer.value, offer.unit)))
                for offer in event.candidates
            ]
    return ", ".join(filter(None, parts))


def differences(now: list[dict[str, Any]], then: list[dict[str, Any]]) -> list[str]:
    """What is other than it was, a line for each recording."""
    before = {line["audio"]: line["outcomes"] for line in then}
    found = [
        f"{line['audio']} '{line['said']}': {before.get(line['audio'], 'not heard before')} is now {line['outcomes']}"
        for line in now
        if line["outcomes"] != before.get(line["audio"])
    ]
    gone = sorted(before.keys() - {line["audio"] for line in now})
    return found + [f"{audio}: not there now" for audio in gone]


def main() -> int:
    """Make, write or compare; 1 where something is other than it was."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    task = parser.add_mutually_exclusive_group()
    task.add_argument("--make", action="store_true")
    task.add_argument("--write", action="store_true")
    chosen = parser.parse_args()
    if chosen.make:
        make()
        return 0
    now = []
    for line in heard_now():
        now.append(line)
        print(f"\r{len(now)} of {len(labels())}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    if chosen.write:
        text = "".join(json.dumps(line) + "\n" for line in now)
        (FIXED / "expected.jsonl").write_text(text, encoding="utf-8")
        return 0
    other = differences(now, expected())
    print("\n".join(other) or f"{len(now)} recordings, all as expected")
    return int(bool(other))


if __name__ == "__main__":
    sys.exit(main())

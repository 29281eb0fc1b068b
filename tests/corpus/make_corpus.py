"""Make a labelled corpus for `benchvoice score`: sound files, labels, and the board that they were spoken for.

    python -m tests.corpus.make_corpus --split tune|held-out --set SET --count N --out DIR [--seed S]
        [--only KIND] [--voice NAME …] [--noise NAME …] [--noises-of-both] [--speech DIR] [--jobs N] [--cache DIR]
    benchvoice score DIR/corpus.jsonl --board DIR/board.yaml --meter DIR/meter.yaml

DIR gets corpus.jsonl (the labels), made.jsonl (a line for each, with all that was drawn: rate, pitch, room, band, gain,
noise, form of the value), board.yaml, meter.yaml and the sounds. What is there already is kept, so a run that was
stopped goes on where it ended. The same arguments give the same samples, given the same voices and the same grammar.
`voices.py` and `noises.py` say who may be heard in which split; `sentences.py` says in which proportions; `planned.py`
says what the sets are.

Each noise gets the same number of utterances of each voice. An hour of talk is about 900 utterances of `--set talk`:
the length made is printed.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import soundfile

from benchvoice.records import RATE_HZ
from tests.corpus.noises import NOISE_SPLITS, noises_of
from tests.corpus.people import digit_files
from tests.corpus.planned import SETS, Cast, Plan, plan, sound_of
from tests.corpus.sentences import BOARDS, PROPORTIONS, STEPS
from tests.corpus.voices import SPLITS, VOICES, missing, voices_of

__all__ = ["cast_of", "label_of", "main", "make_all", "write_labels"]

FREE = ("speaker", "noise", "kind")
"""The label's fields that say what is counted apart, not what is meant."""


def cast_of(split: str, which: str, chosen: argparse.Namespace) -> Cast:
    """Voices and noises of that split, as far as they can be had and were chosen.

    Raises:
        ValueError: a chosen one belongs to another split or is missing, or none is left.
    """
    if which == "digits_8k":
        if chosen.speech is None or not (found := digit_files(chosen.speech)):
            raise ValueError("--set digits_8k needs --speech DIR with files DIGIT_SPEAKER_TAKE.wav of all ten digits")
        return Cast(tuple(found), (), chosen.speech)
    voices_split = "stress" if which == "stress" else split
    for name in chosen.voice or ():
        if VOICES[name].split != voices_split:
            raise ValueError(f"voice {name} belongs to {VOICES[name].split}, not to {voices_split}")
        if missing(VOICES[name]):
            raise ValueError(f"voice {name}: {missing(VOICES[name])}")
    voices = tuple(chosen.voice or voices_of(voices_split))
    allowed = tuple(NOISE_SPLITS) if chosen.noises_of_both else noises_of(split)
    for name in chosen.noise or ():
        if name not in allowed:
            raise ValueError(f"noise {name} belongs to {NOISE_SPLITS[name]}, not to {split}")
    if not voices:
        why = "; ".join(f"{name}: {missing(voice)}" for name, voice in VOICES.items() if voice.split == voices_split)
        raise ValueError(f"no voice of {voices_split} can be had here: {why}")
    return Cast(voices, tuple(chosen.noise or allowed))


def file_of(number: int, planned: Plan) -> str:
    """The sound file's name: it changes with the plan, so that a file that is there is the right one."""
    return f"{number:05d}-{planned.key}.flac"


def label_of(number: int, planned: Plan) -> dict[str, Any]:
    """The utterance's line in corpus.jsonl."""
    free = dict(zip(FREE, (planned.speaker, planned.noise_label, planned.sentence.kind), strict=True))
    after = {"after": list(planned.sentence.after)} if planned.sentence.after else {}
    return {"audio": file_of(number, planned), "text": planned.sentence.text, **after, **planned.sentence.label, **free}


def _make(numbered: tuple[int, Plan], out: Path, cache: Path) -> float:
    """Make one sound unless it is there; its length in seconds."""
    path = out / file_of(*numbered)
    if not path.is_file():
        fresh = out / f".{os.getpid()}.flac"
        soundfile.write(fresh, sound_of(numbered[1], cache), RATE_HZ)
        fresh.rename(path)
    return float(soundfile.info(path).duration)


def make_all(plans: Sequence[Plan], out: Path, cache: Path, jobs: int) -> float:
    """Make every sound that is missing, with a line of progress; the length of all in seconds."""
    out.mkdir(parents=True, exist_ok=True)
    work = partial(_make, out=out, cache=cache)
    if jobs == 1:
        return _told(map(work, enumerate(plans)), len(plans))
    with ProcessPoolExecutor(jobs) as pool:
        return _told(pool.map(work, enumerate(plans), chunksize=4), len(plans))


def _told(lengths: Iterable[float], n: int) -> float:
    total = 0.0
    for done, length in enumerate(lengths, 1):
        total += length
        print(f"\r{done} of {n} utterances, {total / 60:.1f} minutes", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    return total


def write_labels(plans: Sequence[Plan], out: Path) -> None:
    """Write corpus.jsonl and, beside it, what was drawn for each line."""
    labels = [label_of(number, planned) for number, planned in enumerate(plans)]
    drawn = [
        {"audio": label["audio"], **planned.all_of_it} for label, planned in zip(labels, plans, strict=True)
    ]  # fmt: skip
    for name, lines in (("corpus.jsonl", labels), ("made.jsonl", drawn)):
        (out / name).write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--split", required=True, choices=[split for split in SPLITS if split != "stress"])
    parser.add_argument("--set", required=True, choices=SETS, dest="which")
    parser.add_argument("--count", required=True, type=int, help="how many utterances")
    parser.add_argument("--out", required=True, type=Path)
    parser.add_argument("--seed", type=int, default=1)
    kinds = [*PROPORTIONS, "intake", "job", "steps", "slip", "misfit"]
    parser.add_argument("--only", choices=kinds, help="one kind of sentence instead of bench talk's proportions")
    parser.add_argument("--voice", action="append", choices=list(VOICES), help="one of the split's; more than once")
    parser.add_argument("--noise", action="append", choices=list(NOISE_SPLITS), help="likewise")
    both = "also the other split's noises, for a table that says which were tuned on"
    parser.add_argument("--noises-of-both", action="store_true", help=both)
    parser.add_argument("--speech", type=Path, help="for digits_8k: people's single digits, DIGIT_SPEAKER_TAKE.wav")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--cache", type=Path, default=Path(tempfile.gettempdir()) / "benchvoice-corpus-speech")
    return parser


def _check(chosen: argparse.Namespace) -> None:
    """Refuse what would be left undone in silence. Raises ValueError."""
    if chosen.count < 1:
        raise ValueError("--count must be 1 or more")
    if chosen.only and chosen.which in ("talk", "cut", "serials", "digits_8k"):
        raise ValueError(f"--only does not go with --set {chosen.which}, which has sentences of its own")
    if chosen.only and (chosen.only in ("slip", "misfit")) != (chosen.which == "slips"):
        raise ValueError(f"there is no {chosen.only} in --set {chosen.which}")


def main(arguments: Sequence[str] | None = None) -> None:
    """Make the corpus that the arguments ask for."""
    parser = _arguments()
    chosen = parser.parse_args(arguments)
    try:
        _check(chosen)
        cast = cast_of(chosen.split, chosen.which, chosen)
        print(f"drawing {chosen.count} sentences", file=sys.stderr)
        plans = [
            plan(chosen.split, chosen.which, number, chosen.seed, cast, only=chosen.only)
            for number in range(chosen.count)
        ]
    except ValueError as error:
        parser.error(str(error))
    seconds = make_all(plans, chosen.out, chosen.cache, chosen.jobs)
    write_labels(plans, chosen.out)
    shutil.copy(BOARDS / ("digits.yaml" if chosen.which == "digits_8k" else "oven.yaml"), chosen.out / "board.yaml")
    shutil.copy(BOARDS / "meter.yaml", chosen.out / "meter.yaml")
    if chosen.only == "steps":
        shutil.copy(STEPS, chosen.out / "steps.yaml")
    print(f"{len(plans)} utterances, {seconds / 60:.1f} minutes, in {chosen.out / 'corpus.jsonl'}")
    for place, name in enumerate(FREE):
        counts = Counter(tuple(label_of(0, planned)[each] for each in FREE)[place] for planned in plans)
        print(f"{name}: " + ", ".join(f"{what} {n}" for what, n in sorted(counts.items())))


if __name__ == "__main__":
    main()

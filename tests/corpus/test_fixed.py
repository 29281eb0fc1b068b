"""The small fixed corpus: what is in it, and that each recording ends as it did when expected.jsonl was written."""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path

import pytest
import soundfile

from benchvoice.commands.corpus import read_corpus
from tests.corpus.fixed import FIXED, differences, expected, heard_now, labels
from tests.corpus.make_corpus import FREE
from tests.corpus.noises import TALKER, noises_of
from tests.corpus.planned import speaker_of


def test_it_is_small_and_whole() -> None:
    sounds = sorted(FIXED.glob("*.flac"))
    assert [label["audio"] for label in labels()] == [path.name for path in sounds]
    assert len(sounds) <= 60
    assert sum(path.stat().st_size for path in FIXED.iterdir()) <= 3_000_000
    assert {(soundfile.info(path).samplerate, soundfile.info(path).channels) for path in sounds} == {(16000, 1)}


def test_it_has_something_of_everything() -> None:
    kinds = {label["kind"] for label in labels()}
    assert {"reading", "command", "go to", "correction", "talk", "slip", "misfit", "cut", "doubled"} <= kinds
    noises = {label["noise"].rsplit(" ", 2)[0] for label in labels()}
    assert {"none", TALKER} < noises
    assert noises - {"none"} <= {*noises_of("tune"), *noises_of("held-out")}
    assert len({label["speaker"] for label in labels()}) >= 8


def test_its_labels_are_what_score_reads(tmp_path: Path) -> None:
    stripped = [{key: value for key, value in label.items() if key not in FREE} for label in labels()]
    for label in stripped:
        label["audio"] = str(FIXED / label["audio"])
    (tmp_path / "corpus.jsonl").write_text("\n".join(map(json.dumps, stripped)), encoding="utf-8")
    lines = read_corpus(tmp_path / "corpus.jsonl", speaker_of().understood.parser)
    assert [bool(line.meant) for line in lines] == [
        label["kind"] not in ("talk", "slip", "misfit") for label in labels()
    ]  # fmt: skip


def test_what_is_other_than_it_was_is_told() -> None:
    then = [{"audio": "a", "outcomes": ["accepted reading"]}, {"audio": "b", "outcomes": []}]
    now = [{"audio": "a", "said": "x", "outcomes": []}, {"audio": "c", "said": "y", "outcomes": []}]
    assert differences(now, then) == [
        "a 'x': ['accepted reading'] is now []",
        "c 'y': not heard before is now []",
        "b: not there now",
    ]
    assert len(differences([], then)) == 2


def test_every_recording_ends_as_expected() -> None:
    """About a minute of computing. `python -m tests.corpus.fixed` says the same; a change is read before it is kept."""
    if importlib.util.find_spec("hama") is None:
        pytest.skip("the phoneme network has no build here: the panel is another one")
    assert differences(list(heard_now()), expected()) == []

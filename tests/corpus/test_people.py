"""Strings of digits spliced from single recordings; with people's recordings where they are on this machine."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchvoice.commands.corpus import read_corpus
from tests.corpus.make_corpus import FREE, main
from tests.corpus.people import digit_files, spliced
from tests.corpus.planned import speaker_of
from tests.hear.sounds import recordings


def _tone(path: Path, hz: int, seconds: float = 0.3) -> None:
    """A tone with quiet around it, at the telephone's rate."""
    at_s = np.arange(int(8000 * seconds)) / 8000
    soundfile.write(path, np.pad(0.3 * np.sin(2 * np.pi * hz * at_s), 800), 8000)


def _folder(folder: Path) -> Path:
    for digit in range(10):
        for take in range(2):
            _tone(folder / f"{digit}_anna_{take}.wav", 300 + 100 * digit)
    _tone(folder / "1_bert_0.wav", 400)
    _tone(folder / "readme.wav", 400)
    return folder


def test_only_people_with_all_digits_are_spliced(tmp_path: Path) -> None:
    files = digit_files(_folder(tmp_path))
    assert list(files) == ["anna"]
    assert [path.name for path in files["anna"]["7"]] == ["7_anna_0.wav", "7_anna_1.wav"]


def test_digits_follow_one_another_without_their_quiet(tmp_path: Path) -> None:
    files = digit_files(_folder(tmp_path))["anna"]
    sound = spliced("709", files, 1)
    assert 3 * 0.28 + 2 * 0.05 < len(sound) / 16000 < 3 * 0.32 + 2 * 0.15
    for third, hz in zip(np.array_split(sound, 3), (1000, 300, 1200), strict=True):
        middle = third[len(third) // 3 : 2 * len(third) // 3]
        peak = np.argmax(np.abs(np.fft.rfft(middle, 16000)))
        assert peak == pytest.approx(hz, abs=15)
    np.testing.assert_array_equal(sound, spliced("709", files, 1))
    assert not np.array_equal(sound, spliced("709", files, 2))


def test_the_corpus_of_peoples_digits(tmp_path: Path) -> None:
    folder = recordings("digits_8k")[0].parent
    given = ["--split", "held-out", "--set", "digits_8k", "--count", "6", "--jobs", "1", "--out", str(tmp_path)]
    main([*given, "--speech", str(folder)])
    text = (tmp_path / "corpus.jsonl").read_text(encoding="utf-8")
    assert str(folder) not in text + (tmp_path / "made.jsonl").read_text(encoding="utf-8")
    import json

    stripped = [
        {key: value for key, value in json.loads(line).items() if key not in FREE} for line in text.splitlines()
    ]
    (tmp_path / "stripped.jsonl").write_text("\n".join(map(json.dumps, stripped)), encoding="utf-8")
    lines = read_corpus(tmp_path / "stripped.jsonl", speaker_of(of_digits=True).understood.parser)
    assert [len(line.meant) for line in lines] == [1] * 6
    assert {line.meant[0].point for line in lines} == {"fault code"}

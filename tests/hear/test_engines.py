"""Engines by name, and the default panel on real sound."""

from __future__ import annotations

import sys
from multiprocessing import active_children
from pathlib import Path
from subprocess import run

import pytest

from benchvoice.errors import ModelError
from benchvoice.hear import moonshine_engine
from benchvoice.hear.engines import open_engines
from benchvoice.hear.network_engine import why_unavailable
from benchvoice.records import Trust
from tests.corpus.fixed import FIXED, labels
from tests.hear.networks import digit_strings, readings
from tests.hear.sounds import load, recordings, speak, utterance, with_noise

no_third = moonshine_engine.why_unavailable()
third = pytest.mark.skipif(no_third is not None, reason=str(no_third))
both = pytest.mark.skipif(why_unavailable() is not None, reason=str(why_unavailable()))
NETWORK = readings(("rail five", "logic rail", "fan drive"), ("volts", "millivolts"))


def words(text: str) -> str:
    """Texts that differ only in how zero and the verb are said mean the same here."""
    return text.replace(" oh", " zero").replace(" is ", " reads ").replace(" at ", " reads ")


@pytest.mark.parametrize("name", ["network", "sphinx", "moonshine"])
def test_one_engine_alone(name: str) -> None:
    missing = {"network": why_unavailable, "moonshine": moonshine_engine.why_unavailable}.get(name, lambda: None)()
    if missing is not None:
        pytest.skip(missing)
    with open_engines(name) as panel:
        assert [voter.recogniser.name for voter in panel.voters] == [name]
        assert panel.arbiter is None
        assert panel.caution.startswith(f"Only {name} is listening")


def test_vosk_needs_a_model() -> None:
    with pytest.raises(ModelError, match=r"Vosk needs a model\. Name its folder with --model"):
        open_engines("vosk")


def test_an_unknown_engine() -> None:
    with pytest.raises(ValueError, match="no recogniser is called 'ears'"):
        open_engines("ears")


def test_importing_loads_no_engine() -> None:
    engines = {"hama", "moonshine_voice", "onnxruntime", "pocketsphinx", "vosk"}
    check = f"import sys, benchvoice.hear.engines; print(sorted({engines!r} & set(sys.modules)))"
    done = run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@both
@third
def test_the_whole_panel_has_an_arbiter_that_agrees_or_asks() -> None:
    """Recordings of the fixed corpus, which the transformer alone writes otherwise than they would be typed."""
    network = readings(("logic rail", "fan drive"), ("volts", "millivolts"))
    with open_engines() as panel:
        assert panel.arbiter is not None
        assert panel.arbiter.scribe.name == "moonshine"
        assert panel.caution == ""
        reading, talk = (utterance(load(FIXED / labels()[number]["audio"])) for number in (24, 42))
        heard = panel.hear(reading, network, words)
        assert (heard.text, heard.trust) == ("logic rail is four point nine volts", Trust.AGREED)
        assert "moonshine" in heard.why
        assert panel.hear(talk, network, words).trust is Trust.UNRELATED


@both
@pytest.mark.apt
@pytest.mark.parametrize("voice", ["slt", "rms"])
def test_the_panel_agrees_on_a_clear_reading(tmp_path: Path, voice: str) -> None:
    said = "fan drive measures twenty four point six volts"
    with open_engines() as panel:
        heard = panel.hear(utterance(speak(said, tmp_path, voice)), NETWORK, words)
    assert heard.trust is Trust.AGREED
    assert "network" in heard.why
    assert ("sphinx" if no_third is not None else "moonshine") in heard.why
    assert heard.text == said
    assert heard.margin is not None
    assert heard.margin >= 3


@both
@pytest.mark.apt
def test_the_panel_accepts_nothing_wrong_in_loud_noise(tmp_path: Path) -> None:
    said = ("rail five reads four point nine two volts", "logic rail is three point three one", "fan drive is fifty")
    with open_engines() as panel:
        for text in said:
            for snr_db in (10, 5, 0):
                sound = with_noise(speak(text, tmp_path), snr_db)
                heard = panel.hear(utterance(sound), NETWORK, words)
                assert heard.trust is not Trust.AGREED or words(heard.text) == words(text)


@both
def test_the_panel_ignores_other_peoples_speech() -> None:
    with open_engines() as panel:
        for path in recordings("other_speech"):
            assert panel.hear(utterance(load(path)), NETWORK, words).trust is Trust.UNRELATED


@both
def test_the_panel_reads_people_right() -> None:
    with open_engines() as panel:
        for path in recordings("strings"):
            heard = panel.hear(utterance(load(path)), digit_strings(15), words)
            assert heard.trust is not Trust.UNRELATED
            assert words(heard.text).split()[:3] in (["one", "two", "three"], ["one", "zero", "zero"])


def test_where_one_cannot_be_opened_the_others_end(tmp_path: Path) -> None:
    """They are processes of their own that end for no signal: this process would wait for them at its end."""
    with pytest.raises(ModelError, match="there is no such model"):
        open_engines(model=tmp_path / "empty", apart=True)
    assert [child for child in active_children() if child.name == "benchvoice hears"] == []

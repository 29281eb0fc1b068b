"""`benchvoice tune` on real voices, from recordings and live on the software sound card; and `--tuned-to`."""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from benchvoice.commands.tune import _Bench, _one, _prompts
from benchvoice.commands.tune_takes import Recorded, Spoken
from benchvoice.events import Opened
from benchvoice.keep.journal import read_journal
from benchvoice.records import RATE_HZ, Samples
from benchvoice.tuning.profile import VoiceProfile, read_profile
from benchvoice.tuning.store import save_profile
from tests.commands.running import Ran, demo, run
from tests.hear.sounds import quiet_around, speak
from tests.sound_card import SoundCard
from tests.tuning.profiles import profile

BOARD = demo("failed_regulator") / "board.yaml"
PROMPTS = _prompts()


def said(text: str, folder: Path, voice: str, gain: float = 0.5) -> Samples:
    """What is said with quiet around it, as a microphone that stands well gives it."""
    sound = quiet_around(speak(text, folder, voice).astype(np.float64) * gain, 1.0)  # type: ignore[arg-type]
    return np.clip(sound, -32768, 32767).astype(np.int16)


def record(folder: Path, voice: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for number, prompt in enumerate(PROMPTS):
        soundfile.write(folder / f"{number:02}.wav", said(prompt, folder.parent, voice), RATE_HZ)
    return folder


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """A folder with the ten prompts in a voice."""
    made: dict[str, Path] = {}

    def of(voice: str) -> Path:
        if voice not in made:
            made[voice] = record(tmp_path_factory.mktemp("voice") / voice, voice)
        return made[voice]

    return of


def stored(home: Path, name: str = "anna") -> VoiceProfile:
    file = home / "voices" / f"{name}.json"
    return read_profile(file.read_text(encoding="utf-8"), file=str(file))


# --- from recordings ----------------------------------------------------------------------------------------------
@pytest.mark.long
@pytest.mark.apt
def test_a_voice_is_measured_helped_and_kept(
    recorded: Callable[[str], Path], own_home: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    ran = run(capsys, "tune", "anna", "--from", recorded("slt"))
    assert ran.status == 0, ran.err
    file = own_home / "voices" / "anna.json"
    assert [path for path in own_home.rglob("*") if path.is_file()] == [file]  # no sound is kept
    found = stored(own_home)
    assert [take.prompt for take in found.takes] == list(PROMPTS)
    # PocketSphinx takes this voice's "ninety" for "nineteen" until it knows how it is said
    ninety = next(take for take in found.takes if "ninety" in take.prompt)
    assert ninety.heard["sphinx"] == "heat sink is nineteen degrees"
    assert found.pronunciations["sphinx"]["ninety"] == ("N AY N D IY",)
    ranks = ("wrong", "ignored", "asked", "right")
    assert all(ranks.index(take.after) >= ranks.index(take.before) for take in found.takes)
    assert f"Stored on this machine only: {file}" in ran.out
    row = next(line for line in ran.out.splitlines() if "oh two volts" in line)
    assert re.search(r"\d+ dB +0\.\d\d +\w+ +\w+", row)
    assert re.search(r"Also heard by sphinx: .*ninety \(N AY N D IY\)", ran.out)

    listed = run(capsys, "tune", "--list")
    assert re.search(r"anna  20\d\d-\d\d-\d\d  10 prompts\n", listed.out)
    assert run(capsys, "tune", "--show", "anna").out == ran.out
    assert json.loads(run(capsys, "tune", "--show", "anna", "--json").out)["name"] == "anna"

    heard = run(
        capsys, "hear", BOARD, *_input(tmp_path), "--jobs", tmp_path, "--job", "a", "--tuned-to", "anna", "--quiet"
    )
    assert heard.status == 0, heard.err
    opened = read_journal(tmp_path / "a").events[0]
    assert isinstance(opened, Opened)
    assert opened.engine == "panel, tuned to anna"

    removed = run(capsys, "tune", "--reset", "anna")
    assert (removed.status, removed.out) == (0, f"removed {file}\n")
    assert run(capsys, "tune", "--list").out.startswith(f"No voice profiles in {own_home / 'voices'}.")


def _input(folder: Path) -> list[Path]:
    """The first reading of a demo session."""
    sound, rate_hz = soundfile.read(demo("failed_regulator") / "session.flac", dtype="int16")
    soundfile.write(folder / "input.wav", sound[: int(4.4 * rate_hz)], rate_hz)
    return [folder / "input.wav"]


def spoil(folder: Path, number: int, how: str) -> None:
    """Put something else in the place of a prompt."""
    path = folder / f"{number:02}.wav"
    sounds = {
        "quiet": np.random.default_rng(1).integers(-2, 3, 3 * RATE_HZ).astype(np.int16),
        "other": soundfile.read(folder / f"{(number + 1) % 10:02}.wav", dtype="int16")[0],
        "loud": np.clip(soundfile.read(path, dtype="int16")[0] * 20.0, -32768, 32767).astype(np.int16),
    }
    soundfile.write(path, sounds[how], RATE_HZ)


@pytest.mark.long
@pytest.mark.apt
def test_what_was_not_said_is_told_and_not_learnt_from_and_a_twin_that_everybody_takes_for_another_is_asked(
    recorded: Callable[[str], Path], own_home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = shutil.copytree(recorded("rms"), tmp_path / "takes")
    told = {
        "quiet": "nothing was said",
        "other": "that was another sentence, or too indistinct",
        "loud": "too loud: turn the microphone down, or speak from further away",
    }
    for number, how in enumerate(told):
        spoil(folder, number, how)
    assert PROMPTS[4] == "standby reads fifteen point zero milliamps"
    like = said(PROMPTS[4].replace("fifteen", "fifty"), tmp_path, "rms")  # as whoever says "fifteen" like "fifty"
    soundfile.write(folder / "04.wav", like, RATE_HZ)
    ran = run(capsys, "tune", "anna", "--from", folder)
    assert ran.status == 0, ran.err
    for number, why in enumerate(told.values()):
        asked = f"{number + 1} of 10: {PROMPTS[number]}\n   0{number}.wav\n"
        assert f"{asked}   Not used: {why}.\n   Left out.\n" in ran.err
    found = stored(own_home)
    assert [take.prompt for take in found.takes] == list(PROMPTS[3:])
    assert (found.takes[1].before, found.takes[1].after) == ("wrong", "asked")
    assert {(pair.one, pair.alike) for pair in found.pairs} >= {("fifteen", "ask"), ("nineteen", "ask")}
    assert "Always asked, since this voice says them alike: thirteen/thirty, " in ran.out


@pytest.mark.apt
def test_who_cannot_be_heard_gets_no_profile(
    recorded: Callable[[str], Path], own_home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = shutil.copytree(recorded("rms"), tmp_path / "takes")
    for number in (0, 1, 3, 4):
        spoil(folder, number, "quiet")
    ran = run(capsys, "tune", "anna", "--from", folder)
    assert (ran.status, ran.out) == (2, "")
    assert "only 1 of 10 prompts could be measured, and 7 are needed: no voice profile is stored." in ran.err
    assert f"'{PROMPTS[4]}': nothing was said. benchvoice devices --try says how the microphone stands." in ran.err
    assert "6 of 10" not in ran.err  # there is no use in going on
    assert not list(own_home.rglob("*.json"))


@pytest.mark.parametrize("count", [0, 9, 11])
def test_a_wrong_number_of_recordings_is_told(count: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for number in range(count):
        soundfile.write(tmp_path / f"{number:02}.wav", np.zeros(1600, np.int16), RATE_HZ)
    ran = run(capsys, "tune", "anna", "--from", tmp_path)
    assert ran.status == 2
    given = "1 was" if count == 1 else f"{count} were"
    assert f"10 recordings are needed, one a prompt, and {given} given: {tmp_path}." in ran.err


def test_what_is_no_recording_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = [tmp_path / f"{number}.wav" for number in range(10)]
    for file in files:
        file.write_text("not sound", encoding="utf-8")
    ran = run(capsys, "tune", "anna", "--from", *files)
    assert ran.status == 2
    assert str(files[0]) in ran.err
    assert "Traceback" not in ran.err


def test_the_prompts_are_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "tune", "--prompts").out.splitlines() == list(PROMPTS)


# --- bad input ----------------------------------------------------------------------------------------------------
def test_no_name_and_an_unfit_one_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "tune")
    assert (ran.status, ran.err) == (
        2,
        "benchvoice: no name was given. Say whose voice it is: benchvoice tune NAME.\n",
    )
    assert "'../anna' cannot be the name of a voice profile" in run(capsys, "tune", "../anna").err


HEARING: list[tuple[Any, ...]] = [
    ("hear", BOARD, "AUDIO"),
    ("listen", BOARD, "--quiet"),
    ("score", "CORPUS", "--board", BOARD),
]


@pytest.fixture
def arguments(request: pytest.FixtureRequest, tmp_path: Path) -> list[Any]:
    """A command that hears, with what it takes."""
    reading = {"text": "input reads twenty four point one volts", "point": "input", "value": "24.1", "unit": "V"}
    audio, corpus = _input(tmp_path)[0], tmp_path / "corpus.jsonl"
    corpus.write_text(json.dumps({"audio": audio.name, **reading}), encoding="utf-8")
    if request.param[0] == "listen":
        request.getfixturevalue("card")
    given: dict[Any, Any] = {"AUDIO": audio, "CORPUS": corpus}
    rest = [] if request.param[0] == "score" else ["--jobs", tmp_path / "jobs"]
    return [*(given.get(each, each) for each in request.param), *rest]


@pytest.mark.long
@pytest.mark.parametrize("arguments", HEARING, indirect=True, ids=lambda each: each[0])
def test_a_profile_that_cannot_be_used_ends_it_before_anything_is_begun(
    arguments: list[Any], own_home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = own_home / "voices"
    save_profile(profile("ben"), folder)
    save_profile(profile("cleo", engines={"hama": "0.1"}), folder)
    (folder / "dora.json").write_text('{"format": 1, "name": "dora"}', encoding="utf-8")
    before = {path: path.read_bytes() for path in folder.iterdir()}
    for name, complaint in (
        ("anna", f"there is no voice profile called 'anna' in {folder}. Known are: ben, cleo, dora."),
        ("cleo", "cleo.json, engines: this voice profile was made with other recognisers (hama 0.1, now "),
        ("dora", "dora.json, made: the voice profile is damaged: field required. Mend it, or remove it with"),
    ):
        ran = run(capsys, *arguments, "--tuned-to", name)
        assert (ran.status, ran.out.replace("Getting ready to listen ...\n", "")) == (2, "")
        assert complaint in ran.err
    assert not (tmp_path / "jobs").exists()
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


def test_a_damaged_profile_is_not_written_over(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = own_home / "voices"
    save_profile(profile("ben"), folder)
    (folder / "anna.json").write_text("{", encoding="utf-8")
    ran = run(capsys, "tune", "anna", "--from", "nowhere")
    assert ran.status == 2
    assert f"{folder / 'anna.json'}: the voice profile is damaged: invalid JSON" in ran.err
    listed = run(capsys, "tune", "--list")
    assert listed.status == 0
    assert "\nben  2026-11-26  1 prompts" in listed.out
    assert "anna.json: the voice profile is damaged" in listed.err
    assert run(capsys, "tune", "--reset", "anna").status == 0
    assert [path.name for path in folder.iterdir()] == ["ben.json"]


# --- used ---------------------------------------------------------------------------------------------------------
@pytest.mark.long
def test_what_a_voice_says_alike_is_asked_and_score_measures_it(
    own_home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A clear reading with "four" in it is asked of somebody whose "four" sounds like "five", in a sweep too."""
    pair = {"one": "four", "other": "five", "alike": "ask"}
    for name, pairs in (("ben", ()), ("anna", (pair,))):
        file = own_home / "voices" / f"{name}.json"
        save_profile(profile(name, network_gap=None, stranger_gap=None, pronunciations={}), file.parent)
        file.write_text(json.dumps({**json.loads(file.read_text(encoding="utf-8")), "pairs": pairs}), encoding="utf-8")
    reading = {"text": "input reads twenty four point one volts", "point": "input", "value": "24.1", "unit": "V"}
    corpus = tmp_path / "corpus.jsonl"
    corpus.write_text(json.dumps({"audio": _input(tmp_path)[0].name, **reading}), encoding="utf-8")
    meter = demo("failed_regulator") / "meter.yaml"
    results = {}
    for name in ("ben", "anna"):
        ran = run(capsys, "score", corpus, "--board", BOARD, "--meter", meter, "--json", "--tuned-to", name,
                  "--sweep", tmp_path / "sweep.svg")  # fmt: skip
        assert ran.status == 0, ran.err
        document = json.loads(ran.out)
        unmoved = next(point for point in document["sweep"] if point["shift"] == 0)
        assert unmoved["asked"]["count"] == document["asked"]
        results[name] = document["each"][0]["result"]
    assert results == {"ben": "right", "anna": "asked"}


# --- live ---------------------------------------------------------------------------------------------------------
class Tuning:
    """The command as its own process, which is spoken to as it asks."""

    def __init__(self, card: SoundCard, home: Path, folder: Path, *arguments: str) -> None:
        self._card = card
        self._folder = folder
        self.asked: list[str] = []
        self.errors: list[str] = []
        self.process = subprocess.Popen(
            [sys.executable, "-m", "benchvoice.cli", "tune", "anna", *arguments],
            env={**card.environment, "BENCHVOICE_HOME": str(home)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def answer(self, what: Callable[[str, int], str | None]) -> None:
        """Say to each prompt what `what` makes of it and of how many were asked before; None ends the answering."""
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.errors.append(line)
            found = re.match(r"\d+ of 10: (.*)", line)
            if found is None:
                continue
            saying = what(found[1], len(self.asked))
            self.asked.append(found[1])
            if saying is None:
                return
            speaking = threading.Thread(
                target=self._card.play, args=(said(saying, self._folder, "rms")[RATE_HZ // 2 :], RATE_HZ)
            )
            speaking.start()

    def ended(self) -> Ran:
        out, err = self.process.communicate(timeout=240)
        return Ran(self.process.returncode, out, "".join(self.errors) + err)


@contextmanager
def tuning(card: SoundCard, home: Path, folder: Path, *arguments: str) -> Iterator[Tuning]:
    made = Tuning(card, home, folder, *arguments)
    try:
        yield made
    finally:
        made.process.kill()
        made.process.wait()


class InTurn:
    """Somebody who has three tries at each prompt, and says these in turn."""

    tries = 3

    def __init__(self, folder: Path, *sentences: str) -> None:
        self._takes = []
        for number, sentence in enumerate(sentences):
            soundfile.write(folder / f"{number}.wav", said(sentence, folder, "rms"), RATE_HZ)
            self._takes.append(Recorded([folder / f"{number}.wav"]))

    def speak(self, number: int) -> Spoken:
        assert number == 1
        return self._takes.pop(0).speak(0)

    def close(self) -> None:
        """Nothing is open."""


@pytest.mark.apt
@pytest.mark.parametrize(("second", "outcome"), [("thirteen", "right"), ("thirty", "wrong")])
def test_what_is_clearly_another_value_is_asked_for_once_more(
    second: str, outcome: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It may have been a slip of the tongue; what comes twice is how this voice is heard."""
    sentences = [f"input is {teen} point eight four volts" for teen in ("thirty", second)]
    bench = _Bench(argparse.Namespace(engine="panel", model=None))
    try:
        measured, why = _one(bench, InTurn(tmp_path, *sentences), 1)
    finally:
        bench.close()
    assert measured is not None
    assert (measured.outcome, measured.text, why) == (outcome, sentences[1], "")
    assert f"   Not used: heard as '{sentences[0]}'.\n" in capsys.readouterr().err


@pytest.mark.long
@pytest.mark.apt
def test_prompts_are_asked_for_and_asked_again(card: SoundCard, own_home: Path, tmp_path: Path) -> None:
    with tuning(card, own_home, tmp_path) as tune:
        tune.answer(lambda prompt, count: PROMPTS[5] if count == 0 else prompt)
        ran = tune.ended()
    assert ran.status == 0, ran.err
    assert ran.err.startswith("BenchMicrophone listens. Say each prompt as you would at the bench, once.\n")
    assert "   Not used: that was another sentence, or too indistinct.\n" in ran.err
    assert tune.asked[:2] == [PROMPTS[0]] * 2
    assert list(dict.fromkeys(tune.asked)) == list(PROMPTS)
    found = stored(own_home)
    assert len(found.takes) >= 9
    assert sum(take.after == "right" for take in found.takes) >= 8
    assert all(take.above_noise_db > 20 for take in found.takes)
    assert "Stored on this machine only" in ran.out


@pytest.mark.long
@pytest.mark.apt
@pytest.mark.skipif(os.name != "posix", reason="signals are sent")
def test_stopped_half_way_it_stores_nothing_and_says_so(card: SoundCard, own_home: Path, tmp_path: Path) -> None:
    file = save_profile(profile("anna"), own_home / "voices")
    before = file.read_bytes()
    with tuning(card, own_home, tmp_path) as tune:
        tune.answer(lambda prompt, count: prompt if count < 1 else None)
        tune.process.send_signal(signal.SIGINT)
        ran = tune.ended()
    assert (ran.status, ran.out) == (130, "")
    assert "benchvoice: nothing was stored: the voice profile 'anna' is as it was before" in ran.err
    assert ran.err.endswith("benchvoice: interrupted\n")
    assert file.read_bytes() == before
    assert [path.name for path in file.parent.iterdir()] == ["anna.json"]


@pytest.mark.apt
def test_a_microphone_that_goes_away_ends_it(card: SoundCard, own_home: Path, tmp_path: Path) -> None:
    with tuning(card, own_home, tmp_path) as tune:
        tune.answer(lambda *_: None)
        card.unplug("vmic_in")
        try:
            ran = tune.ended()
        finally:
            card.plug("vmic_in")
    assert ran.status == 2
    assert "nothing is heard: " in ran.err
    assert "Connect it again, or choose another with --input." in ran.err
    assert not list(own_home.rglob("*.json"))

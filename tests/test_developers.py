"""DEVELOPERS.md: what it names is there, and its recipes work when they are followed on a copy."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

import pytest

from benchvoice.answer.phrases import FILES as REPLY_FILES
from benchvoice.cli import main
from benchvoice.commands.loading import language_texts
from benchvoice.hear.engines import ENGINES
from benchvoice.understand.language import FILES
from tests.hear.test_recogniser_contract import ENGINES as UNDER_CONTRACT

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BOARD = """\
board: KC-4 kiln controller
points:
  - {name: burner, quantity: pressure, nominal: 20 kPa, limits: {low: 18 kPa, high: 22 kPa}}
"""


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A copy of the package and its data, to be changed."""
    for name in ("benchvoice", "grammars", "demo_sessions"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__", "*.flac"))
    return tmp_path


def change(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{path.name} has {text.count(old)} times: {old}"
    path.write_text(text.replace(old, new), encoding="utf-8")


def python(copy: Path, code: str, *arguments: str | Path) -> str:
    """What the code prints, on standard output and error, with the copy in the package's place."""
    environment = {**os.environ, "PYTHONPATH": str(copy)}
    command = [sys.executable, "-c", code, *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment, cwd=copy)
    assert "Traceback" not in done.stderr, done.stderr
    return done.stdout + done.stderr


def benchvoice(copy: Path, *arguments: str | Path) -> str:
    """What the copy's command line prints."""
    return python(copy, "import sys; from benchvoice.cli import main; sys.exit(main())", *arguments)


def replay(copy: Path, board: Path, *said: str) -> str:
    lines = copy / "lines.txt"
    lines.write_text("\n".join(said) + "\n", encoding="utf-8")
    return benchvoice(copy, "replay", board, lines, "--jobs", copy / "jobs")


def named(pattern: str) -> Iterable[str]:
    return sorted(set(re.findall(pattern, GUIDE)))


def test_every_file_it_names_is_there() -> None:
    in_package = named(r"`((?:[a-z_]+/)+[a-z_*.0-9]+\.(?:py|j2|json))`")
    assert "decide/session_fold.py" in in_package
    for name in in_package:
        assert list((ROOT / "benchvoice").glob(name)) or list(ROOT.glob(name)), name
    for name in named(r"`([a-z_]+\.(?:yaml|txt))`"):
        assert (ROOT / "grammars" / "en" / name).is_file(), name
    for name in named(r"`([a-z_]+\.py)`"):
        assert list((ROOT / "benchvoice").glob(name)) + list(ROOT.glob(f"tests/**/{name}")), name


def test_the_names_in_code_that_it_gives_are_there() -> None:
    sources = "\n".join(path.read_text(encoding="utf-8") for path in sorted(ROOT.glob("benchvoice/**/*.py")))
    sources += "\n".join(path.read_text(encoding="utf-8") for path in sorted(ROOT.glob("tests/**/*.py")))
    sources += (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    recipes = GUIDE.split("## How to add")[1].split("## What a journal promises")[0]
    for name in set(re.findall(r"`(_?[A-Za-z]\w*(?:_\w+|[A-Z]\w*))`", recipes)):
        assert re.search(rf"\b{name}\b", sources), name


def test_a_word_and_a_sentence(copy: Path) -> None:
    """Neither the part nor the sentence is there before; the engines can hear the word, which no dictionary has."""
    board = copy / "demo_sessions" / "clean_board" / "board.yaml"
    said = ("how many remain", "note thyristor burnt")
    before = replay(copy, board, *said)
    assert "left." not in before
    change(copy / "grammars/en/phrases.yaml", '"which points are left"]', '"which points are left", "how many remain"]')
    change(copy / "grammars/en/notes.yaml", "parts: [resistor,", "parts: [thyristor, resistor,")
    after = replay(copy, board, *said)
    assert "Seven left. Bus," in after
    assert "Noted. Thyristor burnt." in after
    assert re.search(r"All \d+ words .* can be heard by", benchvoice(copy, "check", board))


def test_a_command_needs_more_than_its_sentence(copy: Path) -> None:
    close = '  close: ["close the job"]\n'
    change(copy / "grammars/en/phrases.yaml", close, f'{close}  rest: ["rest"]\n')
    printed = replay(copy, copy / "demo_sessions" / "clean_board" / "board.yaml", "rest")
    assert "phrases.yaml, commands.rest: is not a command benchvoice carries out. A command needs code too" in printed


def test_a_language_is_understood_by_its_folder_alone(copy: Path) -> None:
    """Esperanto, whose number words come in the order of English (from memory: dudek kvar punkto du nul is 24.20)."""
    folder = copy / "grammars" / "eo"
    folder.mkdir()
    for name in {*FILES, *REPLY_FILES}:
        shutil.copy(ROOT / "grammars" / "en" / name, folder)
    numbers = (
        "digits: {unu: 1, du: 2, tri: 3, kvar: 4, kvin: 5}", "zero: [nul]", "weak zero: []", "teens: {}",
        "tens: {dek: 10, dudek: 20}", "hundred: [cent]", "thousand: [mil]", "point: [punkto]", "minus: [minus]",
        "plus: [plus]", "times: {}", "and: []", "half: [duono]", "article: []", "over range: [tro]", "waveform: {}",
        "text only: [plus, duono]",
    )  # fmt: skip
    (folder / "numbers.yaml").write_text("\n".join(numbers), encoding="utf-8")
    change(folder / "units.yaml", "V: [volts, volt, v]", "V: [voltoj, volto]")
    change(folder / "phrases.yaml", '"<point> (reads|is|at|measures) <value>"', '"<point> (montras|estas) <value>"')
    (copy / "board.yaml").write_text("board: KC-4\npoints: [{name: enigo, nominal: 24 V}]\n", encoding="utf-8")
    code = (
        "from pathlib import Path; from benchvoice.commands.board_grammar import BoardGrammar; "
        "from benchvoice.commands.loading import load_board, load_language; "
        "from benchvoice.commands.settings import load_phrasebook; from benchvoice.records import Context; "
        "board = load_board(Path('board.yaml')); load_phrasebook(board, 'eo'); "
        "parser = BoardGrammar(board, None, load_language('eo')).parser; "
        "print(parser.parse('enigo montras dudek kvar punkto du nul voltoj', Context()).meaning)"
    )
    assert python(copy, code) == "reading|enigo|24.20|V|\n"


def test_a_language_folder_holds_the_files_that_the_guide_lists() -> None:
    paragraph = GUIDE.split("**A language.**")[1].split("**An engine.**")[0]
    listed = set(re.findall(r"`([a-z]+\.yaml)`", paragraph))
    assert listed == {*FILES, *REPLY_FILES}
    assert set(language_texts("en", tuple(listed))) == listed


def test_an_engine_is_named_in_each_place_alike(capsys: pytest.CaptureFixture[str]) -> None:
    """The names that can be asked for, the choices of the command line, and the engines under contract."""
    with pytest.raises(SystemExit, match="0"):
        main(["check", "--help"])
    assert f"--engine {{{','.join(ENGINES)}}}" in capsys.readouterr().out
    assert {"panel", *UNDER_CONTRACT} == set(ENGINES)


def test_a_quantity(copy: Path) -> None:
    """The recipe step by step: what is forgotten is named, and then all of the program takes it."""
    row = '            _kind("power", "W", "mk", signed=False),\n'
    change(copy / "benchvoice/units.py", row, row + '            _kind("pressure", "Pa", "k", signed=False),\n')
    board = copy / "board.yaml"
    board.write_text(BOARD, encoding="utf-8")
    said = (
        "burner reads twenty three point one kilopascals",
        "burner is twenty kilopascals",
        "burner reads five volts",
    )
    assert "units.yaml, units: has no name for Pa, kPa." in replay(copy, board, *said)
    units = copy / "grammars/en/units.yaml"
    named, heard = "  kW: [kilowatts, kilowatt]\n", "  power: [watts, milliwatts]\n"
    change(units, named, f"{named}  Pa: [pascals]\n  kPa: [kilopascals]\n")
    change(units, heard, f"{heard}  pressure: [kilopascals, pascals]\n")
    assert "replies.yaml, one unit: has no name for Pa, kPa." in replay(copy, board, *said)
    change(copy / "grammars/en/replies.yaml", "dB: decibel}", "dB: decibel, Pa: pascal, kPa: kilopascal}")
    printed = replay(copy, board, *said)
    assert "Fail, high. Twenty three point one kilopascals. Burner. Limits eighteen to twenty two" in printed
    assert "Pass. Twenty kilopascals." in printed
    assert "Not taken. Volts does not measure pressure." in printed
    assert "pressure" in json.dumps(json.loads(benchvoice(copy, "check", "--schema")))
    assert re.search(r"All \d+ words .* can be heard by", benchvoice(copy, "check", board))

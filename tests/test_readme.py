"""The README: its two commands are the ones that CI and users run, and every command it names runs as it is written."""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import TextIO

import pytest
import soundfile

from benchvoice.cli import main
from benchvoice.commands.board_grammar import BoardGrammar, spoken_steps
from benchvoice.decide.checklist_file import read_checklist
from benchvoice.decide.checklist_steps import KINDS, Checklist
from benchvoice.decide.meter import read_meter
from benchvoice.decide.profile import read_board
from benchvoice.files import shipped
from benchvoice.records import Context, SpokenPoint
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.parse import Parser
from tests.understand.boards import english

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
DEMO = shipped("demo_sessions") / "clean_board"


def documented() -> list[str]:
    """Every `benchvoice …` line of the README, each once: the table's, and those in blocks of shell commands."""
    rows = re.findall(r"^\| `(benchvoice [^`]+)`", README, re.MULTILINE)
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines() if line.startswith("benchvoice ")]
    return list(dict.fromkeys([*rows, *lines]))


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder with what the README's commands take: a board, a meter, sound, a transcript, a job, a corpus."""
    for name in ("board.yaml", "meter.yaml"):
        (tmp_path / name).write_text((DEMO / name).read_text(encoding="utf-8"), encoding="utf-8")
    sound, rate_hz = soundfile.read(DEMO / "session.flac", dtype="int16")
    soundfile.write(tmp_path / "AUDIO.flac", sound[: 5 * rate_hz], rate_hz)
    lines = (DEMO / "transcript.vtt").read_text(encoding="utf-8")
    (tmp_path / "TRANSCRIPT.vtt").write_text(lines, encoding="utf-8")
    text = "bus reads forty eight point one two volts"
    (tmp_path / "checklist.yaml").write_text("checklist: a\nsteps: [{measure: bus}]\n", encoding="utf-8")
    corpus = [{"audio": "AUDIO.flac", "text": text, "point": "bus", "value": "48.12", "unit": "V"}]
    (tmp_path / "CORPUS.jsonl").write_text("\n".join(map(json.dumps, corpus)), encoding="utf-8")
    (tmp_path / "typed.txt").write_text("bus reads 48.12 V\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["replay", "board.yaml", "TRANSCRIPT.vtt", "--job", "JOB", "--quiet"]) == 0


@pytest.fixture
def typed(tmp_path: Path) -> Iterator[TextIO]:
    """What is typed to `benchvoice type`."""
    with (tmp_path / "typed.txt").open(encoding="utf-8") as file:
        yield file


def as_printed_in_readme() -> list[str]:
    """What the README says that the demo prints: each sentence with its answer, each row, with single blanks."""
    block = README.split("It prints (")[1].split("```")[1]
    lines = [line for line in block.splitlines() if not re.match(r"jobs/|\d{8}-\d{6}-|GF-2 .* job$| *…$| *─+$", line)]
    begun = r"^ +\d:\d\d "  # what follows a sentence is its answer, wrapped
    entries: list[str] = []
    for line in lines:
        wrapped = entries and re.match(begun, entries[-1]) and line.startswith("      ")
        entries = [*entries[:-1], f"{entries[-1]} {line}"] if wrapped else [*entries, line]
    return [" ".join(entry.split()) for entry in entries if entry.strip()]


@pytest.mark.usefixtures("bench")
# `listen` runs until it is told to end, and `tune` is spoken to: commands/test_listen.py and test_tune.py run them
@pytest.mark.parametrize(
    "line", [line for line in documented() if line.split()[1] != "listen" and line != "benchvoice tune anna"]
)
def test_a_documented_command_runs(
    line: str, capsys: pytest.CaptureFixture[str], request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "120")
    if line.split()[1] == "devices":
        request.getfixturevalue("card")
    if line.split()[1] == "type":
        monkeypatch.setattr("sys.stdin", request.getfixturevalue("typed"))
    given = {"BOARD": "board.yaml", "AUDIO…": "AUDIO.flac", "TRANSCRIPT": "TRANSCRIPT.vtt", "CORPUS": "CORPUS.jsonl"}
    arguments = [given.get(word, word) for word in shlex.split(line)[1:]]
    status = main(arguments)
    printed = capsys.readouterr()
    assert status == 0, printed.err
    assert printed.out
    if line == "benchvoice demo":
        told, shown = " ".join(printed.out.split()), as_printed_in_readme()
        assert len(shown) > 20
        assert [entry for entry in shown if entry not in told] == []


def test_every_command_is_documented(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="0"):
        main(["--help"])
    commands = re.findall(r"^    (\w+) ", capsys.readouterr().out, re.MULTILINE)
    assert {line.split()[1] for line in documented()} == set(commands)


def test_the_two_commands_come_first_and_need_nothing_else() -> None:
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    assert blocks[0] == "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/benchvoice demo\n"
    assert blocks[1] == "python3 -m venv .venv && .venv/bin/pip install -e '.[test]' && .venv/bin/pytest\n"


def test_nothing_is_left_to_fill_in() -> None:
    assert re.findall(r"@[A-Z]+@", README) == []


def test_the_boards_of_the_readme_are_boards() -> None:
    boards = [text for text in re.findall(r"```yaml\n(.*?)```", README, re.DOTALL) if text.startswith("board:")]
    assert boards
    for text in boards:
        read_board(text, "README.md")


def test_the_first_board_has_as_many_words_as_the_readme_says() -> None:
    """The line that `check` ends with; that its words can be heard, `commands/test_hear.py` sees."""
    (told,) = re.findall(r"^All (\d+) words of this board and the grammar can be heard by", README, re.MULTILINE)
    board = re.findall(r"```yaml\n(board:.*?)```", README, re.DOTALL)[0]
    meter = read_meter((DEMO.parent / "failed_regulator" / "meter.yaml").read_text(encoding="utf-8"), "meter.yaml")
    read = read_board(board, "README.md")
    assert int(told) == len(BoardGrammar(read, meter, english()).grammar.vocabulary())


def _checklist() -> Checklist:
    (text,) = re.findall(r"```yaml\n(checklist:.*?)```", README, re.DOTALL)
    board = re.findall(r"```yaml\n(board:.*?)```", README, re.DOTALL)[0]
    return read_checklist(text, "README.md", read_board(board, "README.md"))


def test_the_checklist_of_the_readme_is_one_for_its_board() -> None:
    assert {step.kind for step in _checklist().steps} == set(KINDS)


def test_what_the_readme_says_to_a_checklist_can_be_said() -> None:
    steps = spoken_steps(_checklist())
    assert steps is not None
    parser = Parser(Grammar(english(), [SpokenPoint("input", ("input",), "voltage", "V")], steps=steps))
    table = README.split("\n## Checklists")[1].split("\n## ")[0]
    said = re.findall(r'"([^"]+)"', "\n".join(row.split("|")[1] for row in table.splitlines() if row.startswith('| "')))
    assert len(said) > 10
    context = Context(question_open=True, choices=steps.choices)
    for sentence in said:
        assert parser.parse(sentence, context).intents, sentence


def test_the_reasons_of_the_readme_are_those_that_are_heard() -> None:
    told = " ".join(README.split("Reasons that are heard: ")[1].split(";")[0].lower().split())
    assert told.split(", ") == [" ".join(reason) for reason in english().reasons]


def test_what_the_readme_says_can_be_said() -> None:
    board = read_board((shipped("demo_sessions") / "failed_regulator" / "board.yaml").read_text(encoding="utf-8"), "b")
    points = (*board.spoken_points(), SpokenPoint("line fuse", ("line fuse",), "continuity", ""))
    parser = Parser(Grammar(english(), points, board.spoken_parts()))
    table = README.split("## What can be said")[1].split("\n## ")[0]
    said = re.findall(r'"([^"]+)"', "\n".join(row.split("|")[1] for row in table.splitlines() if row.startswith('| "')))
    assert len(said) > 15
    context = Context(current="rail 5", last="rail 5", question_open=True, fitted="voltage", part_fitted=True)
    for sentence in said:
        assert parser.parse(sentence, context).intents, sentence

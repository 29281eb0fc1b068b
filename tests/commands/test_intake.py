"""The intake through the commands: by transcript, from a board file with its table, over two visits."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.commands.running import Ran, run

BOARD = """\
board: PS-9 bench supply
points:
  - {name: rail 5, nominal: 5 V, tolerance: 5 %}
complaints: [fuse blows at once]
indicators:
  - name: front lamp
    patterns:
      - {shows: "2 short, 1 long", means: output overload}
      - {shows: "5 short, red", means: supply too low}
"""


def replay(capsys: pytest.CaptureFixture[str], folder: Path, said: str, *options: str) -> Ran:
    (folder / "board.yaml").write_text(BOARD, encoding="utf-8")
    (folder / "said.txt").write_text(said, encoding="utf-8")
    return run(capsys, "replay", folder / "board.yaml", folder / "said.txt", "--jobs", folder, "--job", "a", *options)


def record(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "a" / "record.json").read_text(encoding="utf-8"))
    return found


FIRST = """\
complaint fuse blows at once
came with power cable
serial number alpha bravo
one two three
yes
front lamp four short red
yes
front lamp two short one long
rail 5 reads 5.02 V
close the job
yes
"""


def test_a_unit_is_taken_in_and_comes_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = replay(capsys, tmp_path, FIRST)
    assert ran.status == 0, ran.err
    for told in (
        "Serial number of five characters: alpha, bravo, one, two, three?",
        "Front lamp, four short, red: not listed. Nearest: five short, red, supply too low. Is it that?",
        "Front lamp, two short, one long. Output overload.",
        "Job closed. Goes back with the unit: power cable.",
    ):
        assert told in ran.out
    assert (record(tmp_path)["serial"], record(tmp_path)["complaint"]) == ("AB123", "fuse blows at once")
    again = replay(capsys, tmp_path, "serial number AB124\nyes\n")
    assert "The job has alpha, bravo, one, two, three. Serial number of five characters:" in again.out
    assert (record(tmp_path)["visit"], record(tmp_path)["serial"]) == (2, "AB124")
    assert record(tmp_path)["earlier"][0]["intake"][1]["text"] == "power cable"
    page = (tmp_path / "a" / "customer.html").read_text(encoding="utf-8")
    assert "AB124" in page


def test_another_serial_number_on_the_command_line_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    replay(capsys, tmp_path, "serial number AB123\nyes\n")
    assert "serial number" not in replay(capsys, tmp_path, "what is left\n", "--serial", "AB123").err
    assert (
        "serial number" not in replay(capsys, tmp_path, "what is left\n", "--serial", "ab-123").err
    )  # signs part none
    again = replay(capsys, tmp_path, "what is left\n", "--serial", "AB124")
    assert "this job had the serial number 'ab-123'; now it is 'AB124'" in again.err
    assert record(tmp_path)["serial"] == "AB124"


def test_a_bad_table_is_refused_with_its_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "board.yaml").write_text(BOARD.replace("5 short, red", "5 blips"), encoding="utf-8")
    ran = run(capsys, "check", tmp_path / "board.yaml")
    assert ran.status == 2
    assert "line 9, indicators[0].patterns[1].shows: '5 blips' is no pattern" in ran.err

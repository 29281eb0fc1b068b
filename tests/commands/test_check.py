"""`benchvoice check`: remarks on the meter, names that mean something else, and the schemas."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from ruamel.yaml import YAML

from tests.commands.running import DEMOS, demo, run

BOARD = "board: KL-4 kiln controller\npoints:\n  - {name: rail 5, nominal: 5 V, tolerance: 5 %}\n"


def board_with(folder: Path, point: str) -> Path:
    path = folder / "kiln.yaml"
    path.write_text(f"{BOARD}  - {point}\n", encoding="utf-8")
    return path


def test_what_the_meter_does_not_cover_is_listed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = board_with(tmp_path, "{name: output stage, limits: {high: 200 W}}")
    ran = run(capsys, "check", board, "--meter", demo("failed_regulator") / "meter.yaml", "--engine", "network")
    assert ran.status == 0, ran.err
    assert "Not covered: output stage: the meter gives no accuracy for power." in ran.out
    assert "Not covered: rail 5" not in ran.out


def test_a_part_that_is_not_listed_is_told_with_its_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = board_with(tmp_path, "{name: lamp, fed_by: {point: rail 5, through: F1}}")
    ran = run(capsys, "check", board, "--engine", "network")
    assert ran.status == 0, ran.err
    assert "kiln.yaml, line 4, points[1].fed_by.through: 'F1' is not among the parts." in ran.out


def test_supplies_in_a_loop_are_refused_with_their_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "check", board_with(tmp_path, "{name: lamp, fed_by: {point: lamp}}"))
    assert ran.status == 2
    assert "kiln.yaml, line 4, points[1].fed_by.point: 'lamp' would feed itself." in ran.err


@pytest.mark.parametrize(
    ("point", "complaint"),
    [
        ("{name: 'yes'}", "points[1].name: 'yes' would be taken for an answer. Add say:"),
        ("{name: first}", "points[1].name: 'first' would be taken for an answer. Add say:"),
        ("{name: five}", "points[1].name: 'five' would be taken for a value. Add say:"),
        ("{name: +12V}", "points[1].name: 'plus twelve volt' would be taken for a value. Add say:"),
        ("{name: strike that}", "points[1].name: 'strike that' would be taken for a command. Add say:"),
        ("{name: x, say: [note pin]}", "points[1].say[0]: 'note pin' would be taken for a note. Write words"),
    ],
)
def test_a_name_that_means_something_else_is_refused(
    point: str, complaint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ran = run(capsys, "check", board_with(tmp_path, point))
    assert ran.status == 2
    assert f"kiln.yaml, line 4, {complaint}" in ran.err


def test_such_a_point_is_called_something_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "check", board_with(tmp_path, "{name: five, say: [test point five]}"), "--engine", "network")
    assert ran.status == 0, ran.err


@pytest.mark.parametrize("name", DEMOS)
def test_the_meters_schema_takes_the_demos_meters(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    schema = json.loads(run(capsys, "check", "--meter-schema").out)
    assert schema["title"] == "benchvoice meter file"
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    meter = YAML(typ="safe").load((demo(name) / "meter.yaml").read_text(encoding="utf-8"))
    validator.validate(meter)
    assert not validator.is_valid({**meter, "colour": "green"})
    assert not validator.is_valid({**meter, "functions": []})


def test_without_a_board_the_message_tells_what_to_do(capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "check")
    assert ran.status == 2
    assert "no board file was named. Name one, or give --schema, --meter-schema or --checklist-schema" in ran.err

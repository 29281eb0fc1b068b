"""A checklist from the command line: named, found beside the board, checked, gone through by a transcript."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import jsonschema
import pytest
from ruamel.yaml import YAML

from benchvoice.events import ChecklistStep
from benchvoice.keep.journal import read_journal
from tests.commands.running import Ran, demo, run

FOLDER = demo("failed_regulator")
EXPECTED = [
    # step, outcome, reason, status
    ("Disconnect the supply.", "done", "", "counts"),
    ("wait 30 s: The input capacitor discharges through R1", "done", "", "counts"),
    ("No charge left in the input capacitor", "powered", "", "counts"),
    ("No charge left in the input capacitor", "unpowered", "", "counts"),
    ("No charge left in the input capacitor", "pass", "", "counts"),
    ("measure rail 3.3 to ground", "pass", "", "undone"),
    ("measure rail 3.3 to ground", "pass", "", "counts"),
    ("measure flyback diode", "pass", "", "counts"),
    ("Electrolytic capacitors, tops flat and no residue", "skipped", "the lid is glued", "counts"),
    ("The supply is on from here. Keep fingers off the heat sink.", "done", "", "counts"),
    ("measure input", "powered", "", "counts"),
    ("measure input", "pass", "", "counts"),
    ("measure rail 5", "pass", "", "counts"),
    ("measure rail 3.3", "fail, high", "", "counts"),
    ("measure regulator body", "fail, high", "", "counts"),
    ("Disconnect the supply.", "done", "", "counts"),
    ("wait 30 s: The input capacitor discharges through R1", "done", "", "counts"),
    ("No charge left in the input capacitor", "unpowered", "", "counts"),
    ("No charge left in the input capacitor", "pass", "", "counts"),
    ("Replace the regulator U4. Then say, after the repair.", "done", "", "counts"),
    ("The joints of U4", "pass", "", "counts"),
    ("measure rail 3.3", "powered", "", "counts"),
    ("measure rail 3.3", "conditional fail, low", "", "undone"),  # its value was corrected
    ("measure rail 3.3", "pass", "", "counts"),
    ("What does the front lamp do?", "slow blinking", "", "counts"),
    ("measure fan current", "pass", "", "counts"),
    ("wait 5 min: Let it warm up", "done", "", "counts"),
    ("measure regulator body", "pass", "", "counts"),
    ("Supply cable and its strain relief, sound", "pass", "", "counts"),
    ("Lid shut, every screw in", "pass", "", "counts"),
]


def replay(capsys: pytest.CaptureFixture[str], jobs: Path, *more: str | Path, board: Path | None = None) -> Ran:
    return run(capsys, "replay", board or FOLDER / "board.yaml", FOLDER / "checklist.txt", "--jobs", jobs,
               "--job", "a", "--meter", FOLDER / "meter.yaml", *more)  # fmt: skip


def test_the_demo_goes_through_its_checklist(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = replay(capsys, tmp_path, "--checklist", FOLDER / "checklist.yaml")
    assert (ran.status, ran.err) == (0, "")
    record = json.loads((tmp_path / "a" / "record.json").read_text(encoding="utf-8"))
    assert [tuple(row[key] for key in ("step", "outcome", "reason", "status")) for row in record["steps"]] == EXPECTED
    assert record["checklist"]["at_hand"] == ""
    assert "Conditional fail, low." in ran.out
    assert ran.out.count("Is the unit without power?") == 3
    page = (tmp_path / "a" / "record.html").read_text(encoding="utf-8")
    assert "It was gone through to its end." in page
    assert "the lid is glued" in page
    checks = [(check["proof"], check["status"]) for check in record["checks"]]
    assert checks == [
        ("function test", "passed"),  # the lamp
        ("function test", "passed"),
        ("function test", "noted"),  # the wait
        ("function test", "passed"),
        ("safety check", "passed"),
        ("safety check", "passed"),
    ]


def test_one_beside_the_board_is_taken_and_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = Path(shutil.copy(FOLDER / "board.yaml", tmp_path / "fan.yaml"))
    beside = Path(shutil.copy(FOLDER / "checklist.yaml", tmp_path / "fan.checklist.yaml"))
    ran = replay(capsys, tmp_path, board=board)
    assert ran.status == 0
    assert f"the checklist beside the board is gone through: {beside}" in ran.err
    assert "The list is done." in ran.out


def test_without_one_its_commands_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = replay(capsys, tmp_path)
    assert (ran.status, ran.err) == (0, "")
    assert "Not taken. There is no checklist." in ran.out
    assert not any(isinstance(event, ChecklistStep) for event in read_journal(tmp_path / "a").events)


def stands(job: Path) -> tuple[str, list[tuple[str, str, str]]]:
    """Where the job's checklist stands, and all that came of its steps."""
    record = json.loads((job / "record.json").read_text(encoding="utf-8"))
    return record["checklist"]["at_hand"], [(row["step"], row["outcome"], row["status"]) for row in record["steps"]]


@pytest.mark.parametrize("lines", range(2, 37, 5))
def test_a_job_taken_up_again_stands_where_it_stood(
    lines: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = (FOLDER / "checklist.txt").read_text(encoding="utf-8").splitlines()
    found = []
    for words in (said[:lines], ["good morning"]):
        path = tmp_path / "said.txt"
        path.write_text("\n".join(words), encoding="utf-8")
        ran = run(capsys, "replay", FOLDER / "board.yaml", path, "--jobs", tmp_path, "--job", "a",
                  "--checklist", FOLDER / "checklist.yaml", "--meter", FOLDER / "meter.yaml")  # fmt: skip
        assert ran.status == 0, ran.err
        found.append(stands(tmp_path / "a"))
    assert found[0] == found[1]
    assert found[0][1]


def test_a_job_is_taken_up_with_its_own_checklist(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Who starts again after a power cut names the job, no more; one beside the board does not take its place."""
    board = Path(shutil.copy(FOLDER / "board.yaml", tmp_path / "fan.yaml"))
    (tmp_path / "fan.checklist.yaml").write_text("checklist: other\nsteps: [{say: Look at it}]\n", encoding="utf-8")
    said = (FOLDER / "checklist.txt").read_text(encoding="utf-8").splitlines()
    path, found = tmp_path / "said.txt", []
    for words, more in ((said[:12], ("--checklist", FOLDER / "checklist.yaml")), (["good morning"], ())):
        path.write_text("\n".join(words), encoding="utf-8")
        ran = run(capsys, "replay", board, path, "--jobs", tmp_path, "--job", "a", *more)
        assert ran.status == 0, ran.err
        found.append(stands(tmp_path / "a"))
    assert f"--checklist names another: {tmp_path / 'a' / 'checklist.yaml'}" in ran.err
    assert "it begins anew" not in ran.err
    assert found[0] == found[1]
    assert found[0][1]


def test_another_checklist_is_remarked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    replay(capsys, tmp_path, "--checklist", FOLDER / "checklist.yaml")
    other = tmp_path / "other.yaml"
    other.write_text("checklist: other\nsteps: [{say: Look at it}]\n", encoding="utf-8")
    ran = replay(capsys, tmp_path, "--checklist", other)
    assert "the checklist is another than in this job's last session: it begins anew" in ran.err


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("steps: [{measure: rail 9}]", "list.yaml, line 2, steps[0].measure: the board has no point 'rail 9'"),
        ("steps: [{ask: a, choices: [five, six]}]", "list.yaml, line 2, steps[0].choices[0]: 'five' would be taken"),
        ("steps: [{say: a", "list.yaml, line 2: this is not YAML"),
    ],
)
@pytest.mark.parametrize("command", ["replay", "check", "hear", "listen"])
def test_a_bad_checklist_is_refused_before_anything_is_begun(
    text: str, complaint: str, command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "list.yaml"
    path.write_text(f"checklist: a\n{text}\n", encoding="utf-8")
    read = {"replay": (FOLDER / "checklist.txt",), "hear": (FOLDER / "session.flac",)}.get(command, ())
    jobs = () if command == "check" else (Path("--jobs"), tmp_path / "jobs")
    ran = run(capsys, command, FOLDER / "board.yaml", *read, "--checklist", path, *jobs)
    assert ran.status == 2
    assert complaint in ran.err
    assert not (tmp_path / "jobs").exists()


def test_a_missing_checklist_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = replay(capsys, tmp_path, "--checklist", tmp_path / "none.yaml")
    assert ran.status == 2
    assert "none.yaml: is missing. Check the name" in ran.err


def test_a_journal_takes_no_checklist(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    replay(capsys, tmp_path, "--checklist", FOLDER / "checklist.yaml")
    ran = run(capsys, "replay", FOLDER / "board.yaml", tmp_path / "a" / "journal.jsonl", "--jobs", tmp_path,
              "--checklist", FOLDER / "checklist.yaml")  # fmt: skip
    assert ran.status == 2
    assert "Leave out --checklist" in ran.err


def test_check_tells_of_the_checklist(capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "check", FOLDER / "board.yaml", "--checklist", FOLDER / "checklist.yaml")
    assert ran.status == 0, ran.err
    assert "Checklist 'Fan does not turn': 28 steps, every one can be reached, every way ends." in ran.out
    assert "They count as proof: 4 function tests, 2 safety checks." in ran.out
    assert "can be heard by network and sphinx" in ran.out


def test_the_schema_takes_the_demos_checklist(capsys: pytest.CaptureFixture[str]) -> None:
    schema = json.loads(run(capsys, "check", "--checklist-schema").out)
    jsonschema.Draft202012Validator.check_schema(schema)
    data = YAML(typ="safe", pure=True).load(FOLDER / "checklist.yaml")
    jsonschema.Draft202012Validator(schema).validate(data)

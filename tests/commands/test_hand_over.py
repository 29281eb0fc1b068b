"""The hand-over by transcript: the customer's page, checks of a checklist, and a unit that comes back."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest

from benchvoice.cli import main
from benchvoice.events import Opened
from benchvoice.keep.journal import read_journal
from tests.commands.running import demo, run

BOARD = demo("failed_regulator") / "board.yaml"
METER = demo("failed_regulator") / "meter.yaml"

LIST = """\
checklist: Proof
steps:
  - name: look
    say: Look at it
  - name: run
    proof: function test
    measure: rail 3.3
  - ask: Does the fan turn?
    expected: yes
  - name: safe
    proof: safety check
    inspect: Earth lead is fitted
"""

REPAIR = (
    "rail 3.3 reads 4.0 V",
    "note regulator is burnt",
    "fitted U4 value 3V3",
    "after the repair",
    "rail 3.3 reads 3.31 V",
    "close the job",
)


def replay(capsys: pytest.CaptureFixture[str], folder: Path, *said: str, options: tuple[str, ...] = ()) -> Any:
    """What a replay of these lines, in the job "a" of that folder, prints."""
    text = folder / "said.txt"
    text.write_text("\n".join(said) + "\n", encoding="utf-8")
    ran = run(capsys, "replay", BOARD, text, "--meter", METER, "--jobs", folder, "--job", "a", *options)
    assert ran.status == 0, ran.err
    return ran


def record(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "a" / "record.json").read_text(encoding="utf-8"))
    return found


def letter(capsys: pytest.CaptureFixture[str], folder: Path) -> str:
    ran = run(capsys, "record", "a", "--jobs", folder, "--customer")
    assert (ran.status, ran.err) == (0, "")
    return " ".join(ran.out.split())


def test_the_customers_page_lies_beside_the_record_and_is_printed_on_request(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ran = replay(capsys, tmp_path, *REPAIR, options=("--serial", "GF2-0042", "--complaint", "fan never stops"))
    assert str(tmp_path / "a" / "customer.html") in ran.out.splitlines()
    page = (tmp_path / "a" / "customer.html").read_text(encoding="utf-8").replace("\u00a0", " ")
    text = letter(capsys, tmp_path)
    for told in (
        "GF2-0042",
        "fan never stops",
        "The 3.3 V supply (rail 3.3) was too high: 4.0 V instead of 3.14 to 3.47 V.",
        "Noted: regulator is burnt.",
        "Fitted: U4, 3.3 V regulator.",
        "The 3.3 V supply (rail 3.3): 3.31 V, within limits (3.14 to 3.47 V; before: 4.0 V).",
        "Not measured: input, rail 5, rail 3.3 to ground, flyback diode, regulator body, fan current.",
    ):
        assert told in page
        assert told in text
    assert "whole" not in text


def test_one_kind_alone_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    replay(capsys, tmp_path, *REPAIR)
    (tmp_path / "a" / "customer.html").unlink()
    before = (tmp_path / "a" / "record.html").stat().st_mtime_ns
    ran = run(capsys, "record", "a", "--jobs", tmp_path, "--format", "customer")
    assert (ran.status, ran.out.splitlines()[-1]) == (0, str(tmp_path / "a" / "customer.html"))
    assert (tmp_path / "a" / "record.html").stat().st_mtime_ns == before


def test_checks_of_a_checklist_are_gathered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "list.yaml"
    path.write_text(LIST, encoding="utf-8")
    said = ("after the repair", "next step", "yes", "3.31 V", "no", "close the job")
    replay(capsys, tmp_path, *said, options=("--checklist", str(path)))
    assert [(check["step"], check["status"], check["outcome"]) for check in record(tmp_path)["checks"]] == [
        ("measure rail 3.3", "passed", "3.31 V, pass"),
        ("Does the fan turn?", "failed", "no"),
        ("Earth lead is fitted", "not done", ""),
    ]
    text = letter(capsys, tmp_path)
    assert "Function tests passed, 1 of 2: measure rail 3.3." in text
    assert "Function test, Does the fan turn?: failed (no)." in text
    assert "Safety check, Earth lead is fitted: not done." in text
    printed = run(capsys, "record", "a", "--jobs", tmp_path).out
    assert "Check not passed: Does the fan turn? (failed, no)\n" in printed
    assert "Check not passed: Earth lead is fitted (not done)\n" in printed
    page = (tmp_path / "a" / "record.html").read_text(encoding="utf-8")
    assert "<h2>Final safety checks</h2>" in page


# --- the unit comes back ------------------------------------------------------------------------------------------
def test_a_closed_job_that_is_opened_again_is_another_visit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    replay(capsys, tmp_path, *REPAIR, options=("--complaint", "fan never stops"))
    again = replay(capsys, tmp_path, "what is left", "strike that", "rail 3.3 reads 3.31 V", "close the job")
    told = r"visit 2; visit 1 was closed on \d{4}-\d\d-\d\d; 2 readings; replaced: U4 \(3.3 V regulator\)"
    assert re.search(f"benchvoice: {told}\n", again.err)
    assert "Input, rail five, rail three point three" in again.out  # all of it is left to measure again
    assert "Not taken." in again.out  # nothing of the first visit can be struck
    assert "job a, visit 2 " in again.out
    found = record(tmp_path)
    assert (found["visit"], found["complaint"], found["stages"]) == (2, None, ["before"])
    assert [(r["value"], r["visit"], r["status"]) for r in found["readings"]] == [
        ("4.0", 1, "earlier visit"),
        ("3.31", 1, "earlier visit"),
        ("3.31", 2, "current"),
    ]
    assert [visit["complaint"] for visit in found["earlier"]] == ["fan never stops"]
    assert "The unit was here before (visit 1, closed on" in letter(capsys, tmp_path)
    with (tmp_path / "a" / "record.csv").open(encoding="utf-8", newline="") as file:
        assert [row["visit"] for row in csv.DictReader(file)] == ["1", "1", "2"]


def test_a_job_that_only_ended_is_taken_up_unless_the_unit_came_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    replay(capsys, tmp_path, *REPAIR[:-1])
    assert "visit" not in replay(capsys, tmp_path, "what is left").err
    came = replay(capsys, tmp_path, "what is left", options=("--came-back",))
    assert "visit 2; visit 1 was closed on" in came.err
    events = read_journal(tmp_path / "a").events
    assert [event.visit for event in events if isinstance(event, Opened)] == [1, 1, 2]


def test_a_unit_without_an_earlier_job_cannot_come_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "said.txt").write_text("rail 5 reads 5.0\n", encoding="utf-8")
    ran = run(capsys, "replay", BOARD, tmp_path / "said.txt", "--jobs", tmp_path, "--job", "b", "--came-back")
    assert ran.status == 2
    assert "there is no earlier job of this unit. Give --job the name of its earlier job" in ran.err
    assert not (tmp_path / "b" / "record.html").exists()


def test_a_journal_of_two_visits_folds_to_the_same_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    replay(capsys, tmp_path, *REPAIR)
    replay(capsys, tmp_path, "rail 3.3 reads 3.31 V", "close the job")
    first = record(tmp_path)
    assert main(["replay", str(BOARD), str(tmp_path / "a" / "journal.jsonl"), "--jobs", str(tmp_path / "c")]) == 0
    second = json.loads((tmp_path / "c" / "a-replayed" / "record.json").read_text(encoding="utf-8"))
    assert {name: first[name] for name in first if name != "integrity"} == {
        name: second[name] for name in second if name != "integrity"
    }


@pytest.mark.parametrize("option", ["--came-back", "--complaint=x"])
def test_a_journal_is_folded_as_it_is(option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    replay(capsys, tmp_path, *REPAIR)
    ran = run(capsys, "replay", BOARD, tmp_path / "a" / "journal.jsonl", "--jobs", tmp_path / "c", option)
    assert (ran.status, f"Leave out {option.split('=', maxsplit=1)[0]}" in ran.err) == (2, True)

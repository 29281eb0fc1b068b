"""`--known-good JOB`, from the command line to the record."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from benchvoice.cli import main

BOARD = """\
board: AM-4 amplifier
points:
  - {name: left output, quantity: voltage}
  - {name: bias diode, quantity: diode drop}
"""


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "board.yaml").write_text(BOARD, encoding="utf-8")
    (tmp_path / "good.txt").write_text("left output reads 2.40 volts\nleft output reads 2.00 volts\n", encoding="utf-8")
    (tmp_path / "bad.txt").write_text("left output reads 2.50 volts\n", encoding="utf-8")
    assert main(["replay", "board.yaml", "good.txt", "--job", "good", "--quiet"]) == 0
    return tmp_path


@pytest.mark.parametrize("named", ["good", "jobs/good", "jobs/good/journal.jsonl"])
def test_its_latest_readings_are_compared_with(bench: Path, named: str, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert main(["replay", "board.yaml", "bad.txt", "--job", "bad", "--known-good", named]) == 0
    printed = capsys.readouterr().out
    assert "Known good: two point zero zero volts, twenty five per cent higher." in printed
    assert "Unlike: left output, 2.50 V, 25.0 % higher than the known-good board, 2.00 V, before the repair" in printed
    record = json.loads((bench / "jobs/bad/record.json").read_text(encoding="utf-8"))
    assert (record["known_good"], record["unlike"][0]["percent"]) == ("good", "25.0")
    assert "2.00 V, 25.0 %, unlike" in (bench / "jobs/bad/record.csv").read_text(encoding="utf-8")


def test_it_need_not_be_named_again_when_the_job_is_taken_up(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", "board.yaml", "bad.txt", "--job", "bad", "--known-good", "good", "--quiet"]) == 0
    (bench / "jobs/good/journal.jsonl").rename(bench / "elsewhere.jsonl")
    capsys.readouterr()
    assert main(["replay", "board.yaml", "bad.txt", "--job", "bad"]) == 0
    assert "twenty five per cent higher" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["board.yaml", "bad.txt", "--known-good", "none"], "there is no job 'none'. Name one of: good."),
        (["board.yaml", "bad.txt", "--job", "good", "--known-good", "good"], "cannot be its own known-good board"),
        (["other.yaml", "bad.txt", "--known-good", "good"], "is about 'AM-4 amplifier', not 'AM-5 amplifier'"),
        (["board.yaml", "bad.txt", "--known-good", "empty"], "no reading counts in it"),
        (["board.yaml", "jobs/good/journal.jsonl", "--known-good", "good"], "Leave out --known-good"),
    ],
)
def test_what_cannot_be_compared_with_is_refused(
    bench: Path, arguments: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (bench / "other.yaml").write_text(BOARD.replace("AM-4", "AM-5"), encoding="utf-8")
    (bench / "nothing.txt").write_text("what is left\n", encoding="utf-8")
    if "empty" in arguments:
        assert main(["replay", "board.yaml", "nothing.txt", "--job", "empty", "--quiet"]) == 0
    before = sorted(bench.glob("jobs/*"))
    assert main(["replay", *arguments]) == 2
    assert message in capsys.readouterr().err
    assert sorted(bench.glob("jobs/*")) == before  # nothing is begun


@pytest.mark.parametrize(
    ("said", "compared", "warned"),
    [
        # before the repair of a unit that was then repaired: no good unit
        ("left output reads 1.00 volts\nafter the repair\nleft output reads 2.00 volts", "two point zero zero", ""),
        ("left output reads 2.00 volts\nsupply reads 4.00 volts", "two point zero zero", "supply"),
        ("supply reads 4.00 volts\nleft output reads 2.00 volts\nsupply reads 5.00 volts", "two point zero", ""),
    ],
)
def test_only_what_shows_a_good_unit_is_compared_with(
    bench: Path, said: str, compared: str, warned: str, capsys: pytest.CaptureFixture[str]
) -> None:
    board = BOARD + "  - {name: supply, nominal: 5 V, tolerance: 5 %}\n"
    (bench / "board.yaml").write_text(board, encoding="utf-8")
    (bench / "unit.txt").write_text(said + "\n", encoding="utf-8")
    assert main(["replay", "board.yaml", "unit.txt", "--job", "unit", "--quiet"]) == 0
    capsys.readouterr()
    assert main(["replay", "board.yaml", "bad.txt", "--job", "bad", "--known-good", "unit"]) == 0
    printed = capsys.readouterr()
    assert f"Known good: {compared}" in printed.out
    left_out = f"of the known-good job 'unit' is left out what fails in it: {warned}\n"
    assert (left_out in printed.err) is bool(warned)


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ("left output reads 1.00 volts\nfitted U two", "no reading after the repair shows a good unit"),
        (
            "left output reads 1.00 volts\nafter the repair\nleft output reads 2.00 volts\nfitted U two",
            "no reading after",
        ),
        ("supply reads 4.00 volts", "no reading counts in it"),
    ],
)
def test_a_job_without_any_is_refused(bench: Path, said: str, message: str, capsys: pytest.CaptureFixture[str]) -> None:
    board = BOARD + "  - {name: supply, nominal: 5 V, tolerance: 5 %}\nparts:\n  - {ref: U2, is: regulator}\n"
    (bench / "board.yaml").write_text(board, encoding="utf-8")
    (bench / "unit.txt").write_text(said + "\n", encoding="utf-8")
    assert main(["replay", "board.yaml", "unit.txt", "--job", "unit", "--quiet"]) == 0
    assert main(["replay", "board.yaml", "bad.txt", "--job", "bad", "--known-good", "unit"]) == 2
    assert message in capsys.readouterr().err

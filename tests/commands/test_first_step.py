"""What `replay` and `hear` tell before anything is heard: the checklist's step at hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchvoice.events import Said
from benchvoice.keep.journal_reader import read_journal
from tests.commands.running import run
from tests.commands.test_replay import lines

BOARD = "board: KL-4\npoints:\n  - {name: probe, nominal: 12 V, tolerance: 5 %, state: unpowered}\n"
LIST = "checklist: First look\nsteps:\n  - {warn: The heater may be hot}\n  - {measure: probe}\n"


@pytest.mark.parametrize(("first", "with_list"), [("Warning. The heater may be hot.", True), ("probe reads", False)])
def test_the_step_at_hand_comes_first(
    first: str, with_list: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = tmp_path / "kiln.yaml"
    board.write_text(BOARD, encoding="utf-8")
    checklist = tmp_path / "kiln.checklist.yaml"
    if with_list:
        checklist.write_text(LIST, encoding="utf-8")
    text = lines(tmp_path, "probe reads 12 V")
    ran = run(capsys, "replay", board, text, "--jobs", tmp_path, "--job", "a")
    assert ran.out.splitlines()[0].strip().startswith(first)
    said = [event.text for event in read_journal(tmp_path / "a" / "journal.jsonl").events if isinstance(event, Said)]
    assert (said[0] == first) is with_list

"""A whole strip-down, rework and close-up: by transcript, taken up again in the middle, and by sound."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from benchvoice.events import Asked, Closed, Event, Refitted, Removed
from benchvoice.keep.journal import read_journal
from tests.commands.running import demo, run
from tests.corpus.speech import say, voices

BOARD = demo("failed_regulator") / "board.yaml"

# what is said, and what is answered
REPAIR = [
    ("rail 3.3 reads 4.0 V", "Fail, high."),
    ("careful cable under the lid", "Noted. Careful, cable under the lid."),
    ("out 4 screws M3x8 long top edge", "Out: four screws, m three by eight, long, top edge."),
    ("lid off", "Out: lid."),
    ("unplugged lamp cable left", "Out: lamp cable, left."),
    ("what is still out", "Six still out. Lamp cable, left, then lid, then four screws"),
    ("removed U4", "Out: u four, three point three volt regulator."),
    ("damage lifted pad", "Damage lifted pad. U four."),
    ("mended with jumper wire", "Mended with jumper wire. U four."),
    ("unit is closed", "Not closed. Seven still out."),
    ("fitted u four", "Fitted: u four, three point three volt regulator. Measure again after the repair: rail three"),
    ("value 3V3", "Value three point three volts. U four."),
    ("part number LM1117-33", "U four, part number of nine characters: lima, mike, one, one, one, seven, dash, three,"),
    ("yes", "Part number kept. U four."),
    ("method hot air", "Method hot air. U four."),
    ("cleaned with alcohol", "Cleaned with alcohol. U four."),
    ("inspection passed", "Inspection passed. U four."),
    ("what is left", "Measure again after the repair: rail three point three."),
    ("after the repair", "After the repair."),
    ("rail 3.3 reads 3.31 V", "Pass."),
    ("what goes back next", "Next: lamp cable, left. Six still out."),
    ("reconnected lamp cable", "Back: lamp cable, left. Next: lid. Careful, cable under the lid."),
    ("close the job", "Not closed. Five still out. Lid, then four screws"),
    ("lid back on", "Back: lid. Next: four screws"),
    ("back five screws", "Not taken. Only four of them are out."),
    ("back two screws", "Back: two screws, m three by eight, long, top edge. Two of four still out."),
    ("strike that", "Struck. Back two screws, m three by eight, long, top edge."),
    ("back three screws", "One of four still out."),
    ("what goes back next", "Next: one of four screws, m three by eight, long, top edge. One still out."),
    ("unit is closed", "Not closed. One still out."),
    ("left out because stripped", "Left out: one screw, m three by eight, long, top edge. Stripped."),
    ("unit is closed", "Unit closed. Left out: one screw, m three by eight, long, top edge, stripped."),
    ("close the job", "Job closed."),
]


def replay(capsys: pytest.CaptureFixture[str], folder: Path, *said: str) -> str:
    """What is printed for these lines, in the job "a" of that folder."""
    text = folder / "said.txt"
    text.write_text("\n".join(said) + "\n", encoding="utf-8")
    ran = run(capsys, "replay", BOARD, text, "--jobs", folder, "--job", "a")
    assert ran.status == 0, ran.err
    return ran.out


def record(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "a" / "record.json").read_text(encoding="utf-8"))
    return found


def events(folder: Path) -> list[Event]:
    return list(read_journal(folder / "a").events)


def test_a_whole_strip_down_and_close_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    printed = replay(capsys, tmp_path, *(said for said, _ in REPAIR))
    at = 0
    for said, answer in REPAIR:  # each answer stands after the one before
        assert answer in printed[at:], said
        at = printed.index(answer, at) + len(answer)
    found = record(tmp_path)
    rows = [(row["order"], row["name"], row["back"], row["count"], row["status"]) for row in found["strip_down"]]
    assert rows == [
        (1, "screw", 3, 4, "left out"),
        (2, "lid", 1, 1, "back"),
        (3, "lamp cable", 1, 1, "back"),
        (4, "U4", 0, 1, "replaced"),
    ]
    assert found["strip_down"][0]["why"] == "stripped"
    assert found["strip_down"][1]["careful"] == ["cable under the lid"]
    acts = [(row["ref"], row["act"], row["text"] or row["code"]) for row in found["rework"]]
    assert acts == [
        ("U4", "removed", ""),
        ("U4", "damage", "lifted pad"),
        ("U4", "mended", "jumper wire"),
        ("U4", "fitted", ""),
        ("U4", "value", "3V3"),
        ("U4", "part number", "LM1117-33"),
        ("U4", "method", "hot air"),
        ("U4", "cleaned", "alcohol"),
        ("U4", "inspected", "passed"),
    ]
    assert found["measure_again"] == []  # it was read after the repair
    assert found["unit_closed_at"] is not None
    assert isinstance(events(tmp_path)[-2], Closed)  # before the answer to it
    page = (tmp_path / "a" / "record.html").read_text(encoding="utf-8")
    for text in ("Strip-down and close-up", "4 × screw, M3 by 8, long, top edge", "3 of 4", "stripped", "Rework",
                 "LM1117-33", "(3V3)", "The unit was closed at"):  # fmt: skip
        assert text in page


@pytest.mark.parametrize("cut", range(1, len(REPAIR)))
def test_taken_up_again_after_any_line_it_ends_alike(
    cut: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = [line for line, _ in REPAIR]
    first = replay(capsys, tmp_path, *said[:cut])
    second = replay(capsys, tmp_path, *said[cut:])
    for line, answer in REPAIR[:cut]:
        assert answer in first, line
    for line, answer in REPAIR[cut:]:
        if line not in ("strike that", "yes"):  # of an earlier session it is asked; a question ends with its session
            assert answer in second or cut == 26, line


def test_the_page_warns_of_what_is_still_out_and_names_what_to_measure_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    printed = replay(capsys, tmp_path, "out two screws", "back one screw", "removed U4", "fitted U4")
    assert "To measure again after the repair: rail 3.3" in printed
    assert "Still out: 1 of 2 x screw" in printed
    page = (tmp_path / "a" / "record.html").read_text(encoding="utf-8")
    assert "Still out of the unit:" in page
    assert "To measure again after the repair:" in page
    assert "The unit was not called closed." in page


CONVERSATIONS = [
    # what is said, and what the last of it is answered
    (("back two screws",), "Not taken. It is not out."),
    (("lid off", "lid off"), "Not taken. It is out already."),
    (("out two screws long", "out three screws short", "back four screws"), "Not taken. Say where they go."),
    (("out four screws long", "out two screws short", "back four screws"), "Back four screws, long?"),
    (("out four screws long", "out two screws short", "back four screws", "yes"), "Back: four screws, long. Two"),
    (("what goes back next",), "Nothing to put back."),
    (("value 4K7",), "Not taken. Say first which part was fitted."),
    (("fitted J2", "value 4K7"), "Not taken. Such a part has no value"),
    (("fitted F1", "value 3.15 A"), "Value three point one five amps. F one."),
    (("fitted F1", "value 4K7"), "Not taken."),
    (("fitted R7", "value forty seven"), "Not taken. The unit was not said."),
    (("fitted R7", "value 4K7"), "Value four point seven kilohms. R seven."),
    (("fitted R7 value 4K70",), "Fitted: r seven. Four point seven zero kilohms."),
    (("fitted C1", "value 4u7"), "Value four point seven microfarads. C one."),
    (("part number LM317",), "Not taken. Say first which part was fitted."),
    (("fitted U4", "part number LM78-5.0/N"), "U four, part number of ten characters: lima, mike, seven"),
    (("fitted U4", "part number lima mike 317"), "U four, part number of five characters: lima, mike, three"),
    (("fitted U4", "part number lima mike thre"), "Not taken. Thre is no letter and no digit."),
    (("out two screws", "rail 5 reads 5.0", "strike that"), "Struck. Five point zero at rail five."),
    (("out two screws", "rail 5 reads 5.0", "strike that", "strike that"), "Struck. Out two screws."),
    (("left out because lost",), "Not taken. Nothing is out."),
    (("lid off", "left out because the customer wants it so", "close the job"), "Job closed."),
    (("removed U4", "put back U4"), "Back: u four, three point three volt regulator. Measure again"),
    (("fitted U3", "what is left"), "Measure again after the repair: rail five, rail three point three."),
    (("removed u nine",), "Not taken. There is no part called u nine."),
    (("removed R102",), "Out: r one hundred and two."),
]  # fmt: skip


@pytest.mark.parametrize(("said", "answer"), CONVERSATIONS)
def test_what_is_answered(
    said: tuple[str, ...], answer: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    printed = replay(capsys, tmp_path, *said).split("job a")[0].rstrip().splitlines()
    assert answer in printed[-2]


def test_a_strike_of_an_earlier_sessions_work_is_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    replay(capsys, tmp_path, "out two screws")
    assert "Strike out two screws?" in replay(capsys, tmp_path, "strike that", "yes")
    assert record(tmp_path)["strip_down"] == []
    assert "Struck: line 3" in [row["what"] for row in record(tmp_path)["timeline"]]


# --- by sound -----------------------------------------------------------------------------------------------------
def sound_of(folder: Path, voice: str, *said: str) -> Path:
    """The sentences one after the other in that voice, with quiet between them."""
    quiet = np.random.default_rng(5).normal(0, 8, 24_000).astype(np.int16)
    parts = [quiet]
    for sentence in said:
        parts += [say(sentence, voice, folder / "speech"), quiet]
    path = folder / "said.flac"
    soundfile.write(path, np.concatenate(parts), 16_000)
    return path


@pytest.mark.apt
@pytest.mark.skipif("rms" not in voices(), reason="flite is not installed")
def test_a_strip_down_by_sound(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sound = sound_of(
        tmp_path,
        "rms",
        "careful cable under the lid",
        "out four screws long top edge",
        "lid off",
        "what is still out",
        "lid back on",
        "back four screws",
        "unit is closed",
    )
    ran = run(capsys, "hear", BOARD, sound, "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    assert "Out: four screws, long, top edge." in ran.out
    assert "Five still out. Lid, then four screws, long, top edge." in ran.out
    # what turns from one way to the other is asked, and then the lid's remark was said
    kept = [event.thing.count for event in events(tmp_path) if isinstance(event, Removed)]
    assert kept == [4, 1]
    assert "Careful, cable under the lid." in ran.out


@pytest.mark.apt
@pytest.mark.skipif("awb" not in voices(), reason="flite is not installed")
def test_out_that_is_heard_as_back_is_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One voice says "out nine screws" so that all ears hear "back nine screws"."""
    sound = sound_of(tmp_path, "awb", "out five screws left", "out four screws left", "out nine screws")
    ran = run(capsys, "hear", BOARD, sound, "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    assert [event for event in events(tmp_path) if isinstance(event, Refitted)] == []
    asked = [event.question for event in events(tmp_path) if isinstance(event, Asked)]
    removed = [event.thing.count for event in events(tmp_path) if isinstance(event, Removed)]
    assert removed in ([5, 4], [5, 4, 9])
    assert len(removed) + len(asked) == 3

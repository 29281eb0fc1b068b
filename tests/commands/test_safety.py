"""Cautions and timers through the commands: by transcript, with the recording's time, taken up again, and by sound."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from benchvoice.events import Caution, Event, Reading, Said, TimerOver
from benchvoice.keep.journal import read_journal
from tests.commands.running import Ran, run
from tests.corpus.speech import say, voices
from tests.decide.test_cautions import BOARD


def replay(capsys: pytest.CaptureFixture[str], folder: Path, said: Sequence[tuple[str, str]], *options: str) -> Ran:
    """A transcript of (time, words); a line without a time has none."""
    board, text = folder / "board.yaml", folder / "said.txt"
    board.write_text(BOARD, encoding="utf-8")
    text.write_text("".join(f"[{at}] {words}\n" if at else f"{words}\n" for at, words in said), encoding="utf-8")
    return run(capsys, "replay", board, text, "--jobs", folder, "--job", "a", *options)


def events(folder: Path) -> list[Event]:
    return list(read_journal(folder / "a").events)


def record(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "a" / "record.json").read_text(encoding="utf-8"))
    return found


REPAIR = [
    ("unit powered up", "Unit powered. Caution, mains. Line input."),
    ("caution understood", "Acknowledged."),
    ("bulk rail reads 330 volts", "Caution, high voltage. Bulk rail. Three hundred and thirty volts."),
    ("rail 5 to ground reads 210 ohms", "Not taken. The unit is marked powered. Caution, rail five to ground"),
    ("power is off", "Unit without power. Caution, C one may be charged to four hundred volts, thirty eight joules."),
    ("rail 5 to ground reads 210 ohms", "Pass. Two hundred and ten ohms."),
    ("lid off", "Out: lid. Caution, static."),
    ("fitted U2", "Fitted: u two, regulator."),
    ("method soldering iron", "Caution, hot work."),
    ("which cautions apply", "Caution, mains. Line input."),
]  # what is said, and what is answered


def test_cautions_come_and_the_record_lists_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = replay(capsys, tmp_path, [("", said) for said, _ in REPAIR])
    assert ran.status == 0, ran.err
    at = 0
    for said, answer in REPAIR:  # each answer stands after the one before
        assert answer in ran.out[at:], said
        at = ran.out.index(answer, at) + len(answer)
    cautions = record(tmp_path)["cautions"]
    assert [row["hazard"] for row in cautions if row["acknowledged_at"]] == ["mains", "moving parts"]
    assert {row["hazard"] for row in cautions if not row["acknowledged_at"]} == {
        "high voltage", "powered measurement", "capacitor", "battery", "static", "hot work",
    }  # fmt: skip
    assert [read["point"] for read in record(tmp_path)["readings"]] == ["bulk rail", "rail 5 to ground"]
    page = (tmp_path / "a" / "record.html").read_text(encoding="utf-8")
    assert "37.6\u00a0J" in page
    assert "not acknowledged" in page


def test_a_bad_hazard_is_refused_with_its_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = tmp_path / "board.yaml"
    board.write_text(BOARD.replace("ref: C1, capacitance: 470 uF", "ref: C1, capacitance: 470 V"), encoding="utf-8")
    ran = run(capsys, "check", board)
    assert ran.status == 2
    assert "hazards[1].capacitance: V does not measure capacitance" in ran.err


TIMED = [
    ("00:00:00", "discharge timer ten seconds"),
    ("00:00:05", "soak test timer one minute"),
    ("00:00:40", "rail 5 reads 5.02 volts"),
    ("00:00:50", "time remaining"),
    ("00:02:00", "rail 5 reads 5.01 volts"),
]


def test_timers_ring_in_the_transcripts_time(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = replay(capsys, tmp_path, TIMED)
    told = [
        "Discharge timer, ten seconds.",
        "Soak test timer, one minute.",
        "Discharge timer was over thirty seconds ago.",
        "Five point zero two volts.",
        "Soak test timer, fifteen seconds left.",
        "Soak test timer was over fifty five seconds ago.",
        "Five point zero one volts.",
    ]
    places = [ran.out.index(text) for text in told]
    assert places == sorted(places)
    order = [event.kind for event in events(tmp_path) if isinstance(event, Reading | TimerOver)]
    assert order == ["timer over", "reading", "timer over", "reading"]
    assert [row["ended"] for row in record(tmp_path)["timers"]] == ["over", "over"]


def test_a_timer_runs_on_in_the_next_session(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    replay(capsys, tmp_path, [("", "soak test timer two hours")])
    assert [row["ended"] for row in record(tmp_path)["timers"]] == ["running"]
    ran = replay(capsys, tmp_path, [("", "time remaining"), ("", "stop the timer")])
    assert "Soak test timer, two hours left." in ran.out or "Soak test timer, one hour fifty nine minutes" in ran.out
    assert "Soak test timer stopped." in ran.out
    assert [row["ended"] for row in record(tmp_path)["timers"]] == ["stopped"]


# --- by sound -------------------------------------------------------------------------------------------------------
@pytest.mark.apt
def test_by_sound_a_caution_is_acknowledged_and_a_timer_rings(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    voice = next((each for each in voices() if each == "slt"), None)
    if voice is None:
        pytest.skip("the flite voices are not installed")
    said = ["unit powered up", "caution understood", "supply disconnected", "discharge timer ten seconds", "",
            "time remaining"]  # fmt: skip
    quiet = np.random.default_rng(5).normal(0, 8, 24_000).astype(np.int16)
    parts = [quiet]
    for sentence in said:
        parts += [say(sentence, voice, tmp_path / "speech") if sentence else np.tile(quiet, 6), quiet]
    soundfile.write(tmp_path / "said.flac", np.concatenate(parts), 16_000)
    board = tmp_path / "board.yaml"
    board.write_text(BOARD, encoding="utf-8")
    ran = run(capsys, "hear", board, tmp_path / "said.flac", "--jobs", tmp_path, "--job", "a")
    assert ran.status == 0, ran.err
    kept = events(tmp_path)
    assert [event.hazard for event in kept if isinstance(event, Caution)] == [
        "mains", "moving parts", "capacitor", "battery",
    ]  # fmt: skip
    assert [event.kind for event in kept].count("acknowledged") == 1
    assert [event.name for event in kept if isinstance(event, TimerOver)] == ["discharge timer"]
    answers = [event.text for event in kept if isinstance(event, Said)]
    assert answers[0].startswith("Unit powered. Caution, mains.")
    assert "Discharge timer, ten seconds." in answers
    assert any(text.startswith("Discharge timer ") and (" over" in text) for text in answers)

"""`benchvoice score` on real sound: each way a recording can end; bad labels end it before anything is heard."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from benchvoice.commands.corpus import Meant
from benchvoice.commands.score_hearing import _result_of
from benchvoice.hear.panel import Panel
from tests.commands.running import Ran, demo, run
from tests.hear.sounds import quiet_around, speak

FOLDER = demo("failed_regulator")
READING = {"text": "input reads twenty four point one volts", "point": "input", "value": "24.1", "unit": "V"}


@pytest.fixture
def corpus(tmp_path: Path) -> Path:
    """A folder with a reading, a whole session with a note, and silence; the corpus file is to be written."""
    sound, rate_hz = soundfile.read(FOLDER / "session.flac", dtype="int16")
    soundfile.write(tmp_path / "input.wav", sound[: int(4.4 * rate_hz)], rate_hz)
    soundfile.write(tmp_path / "silence.wav", np.zeros(16000, np.int16), 16000)
    start, end = _note_s()
    soundfile.write(tmp_path / "note.wav", sound[int((start - 0.5) * rate_hz) : int((end + 0.8) * rate_hz)], rate_hz)
    return tmp_path / "corpus.jsonl"


def _note_s() -> tuple[float, float]:
    """From when to when the session's note is said, in seconds, by its transcript."""
    cues = (FOLDER / "transcript.vtt").read_text(encoding="utf-8").split("\n\n")
    times = next(cue for cue in cues if "\nnote " in cue).splitlines()[0].split(" --> ")
    start, end = (sum(60**power * float(part) for power, part in enumerate(reversed(t.split(":")))) for t in times)
    return start, end


def score(capsys: pytest.CaptureFixture[str], corpus: Path, *lines: dict[str, Any], rest: tuple[str, ...] = ()) -> Ran:
    corpus.write_text("\n".join(json.dumps(line) for line in lines), encoding="utf-8")
    board, meter = FOLDER / "board.yaml", FOLDER / "meter.yaml"
    return run(capsys, "score", corpus, "--board", board, "--meter", meter, *rest)


def test_each_way_a_recording_can_end(corpus: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = (FOLDER / "transcript.vtt").read_text(encoding="utf-8")
    note = next(line for line in said.splitlines() if line.startswith("note "))
    lines = [
        {"audio": "input.wav", **READING},
        {"audio": "input.wav", "text": READING["text"], "value": "24.1", "unit": "V"},
        {"audio": "input.wav", "text": "input reads forty two point one volts", "value": "42.1", "unit": "V"},
        {"audio": "input.wav", "text": "the kettle is on"},
        {"audio": "input.wav", "text": "strike that", "command": "strike"},
        {"audio": "silence.wav", "text": ""},
        {"audio": "silence.wav", **READING},
        {"audio": "note.wav", "text": note},
        {"audio": "note.wav", "text": "the kettle is on"},  # a note that was imagined
        {"audio": "note.wav", **READING},
    ]
    ran = score(capsys, corpus, *lines, rest=("--json",))
    assert ran.status == 0, ran.err
    scored = json.loads(ran.out)
    wrong = "accepted wrong"
    assert [item["result"] for item in scored["each"]] == [
        "right", "right", wrong, wrong, wrong, "right", "ignored", "right", wrong, wrong
    ]  # fmt: skip
    assert {key: scored[key] for key in ("recordings", "right", wrong, "asked", "ignored")} == {
        "recordings": 10, "right": 4, wrong: 5, "asked": 0, "ignored": 1
    }  # fmt: skip


@pytest.mark.parametrize(
    ("taken", "meant", "result"),
    [
        ("4.00", "4.00", "right"),
        ("4.0", "4.00", "fewer digits"),
        ("4", "4.00", "fewer digits"),
        ("4.00", "4.0", "accepted wrong"),  # claims a digit that was not said
        ("40", "400", "accepted wrong"),
        ("4", "40.0", "accepted wrong"),
        ("4.1", "4.10", "fewer digits"),
        ("4.1", "4.01", "accepted wrong"),
    ],
)
def test_a_number_with_noughts_left_off_is_neither_right_nor_wrong(taken: str, meant: str, result: str) -> None:
    said = Meant(point="input", value=meant, unit="V")
    assert _result_of([Meant(point="input", value=taken, unit="V")], [said]) == result
    assert _result_of([Meant(point="rail 5", value=taken, unit="V")], [said]) == "accepted wrong"
    assert _result_of([said, said], [said]) == "accepted wrong"


@pytest.mark.parametrize("taken", ["01", "010"])
def test_bare_digits_are_right_or_wrong(taken: str) -> None:
    assert _result_of([Meant(point="code", value=taken)], [Meant(point="code", value="0100")]) == "accepted wrong"


@pytest.mark.long
@pytest.mark.apt
@pytest.mark.parametrize(("text", "command"), [("strike that", "strike"), ("what is left", "left")])
def test_commands_one_of_which_an_empty_session_refuses(
    text: str, command: str, corpus: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """There is nothing to strike, yet it was heard: what is scored is hearing."""
    soundfile.write(corpus.parent / "command.wav", quiet_around(speak(text, corpus.parent), 1.0), 16000)
    label = {"audio": "command.wav", "text": text, "command": command}
    ran = score(capsys, corpus, label, {"audio": "command.wav", **READING}, rest=("--json",))
    assert [item["result"] for item in json.loads(ran.out)["each"]] == ["right", "accepted wrong"]


def test_bad_labels_end_it_before_anything_is_heard(
    corpus: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    heard = []
    monkeypatch.setattr(Panel, "hear", lambda *_: heard.append(1))
    ran = score(capsys, corpus, {"audio": "input.wav", **READING}, {"audio": "gone.wav", **READING})
    assert (ran.status, ran.out, heard) == (2, "", [])
    assert f"{corpus}, line 2, audio: gone.wav: there is no such recording. Check the name." in ran.err


MIXED = (
    {"audio": "input.wav", **READING, "speaker": "a", "noise": "none"},
    {"audio": "input.wav", "text": "input reads forty two point one volts", "value": "42.1", "unit": "V"},
    {"audio": "silence.wav", "text": "", "speaker": "a"},
)


@pytest.mark.long
def test_several_processes_say_what_one_says_and_a_run_against_itself_changes_nothing(
    corpus: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = [corpus.parent / name for name in ("one.svg", "two.svg")]
    one, two = (
        score(capsys, corpus, *MIXED, rest=("--json", "--workers", str(n), "--sweep", str(file)))
        for n, file in enumerate(files, 1)
    )
    assert (one.status, two.status) == (0, 0), one.err + two.err
    documents = [json.loads(ran.out) for ran in (one, two)]
    assert all(document.pop("real_time_factor") > 0 for document in documents)
    assert documents[0] == documents[1]
    assert files[0].read_text(encoding="utf-8") == files[1].read_text(encoding="utf-8")
    document = documents[0]
    assert {name: tally["right"]["count"] for name, tally in document["by"]["kind"].items()} == {
        "reading": 1, "talk": 1
    }  # fmt: skip
    assert document["by"]["speaker"]["a"]["recordings"] == 2
    assert document["confusions"] == [
        {"result": "accepted wrong", "said": "42.1 V at 'input'", "heard": "24.1 V at 'input'", "count": 1}
    ]
    for point in document["sweep"]:
        if point["shift"] == 0:  # the thresholds as they are
            assert point["accepted wrong"]["count"] == document["accepted wrong"]
            assert point["asked"]["count"] == document["asked"]
    strictest = max(document["sweep"], key=lambda point: point["shift"])
    assert (strictest["accepted wrong"]["count"], strictest["asked"]["count"]) == (0, 2)
    before = corpus.parent / "before.json"
    before.write_text(one.out, encoding="utf-8")
    ran = score(capsys, corpus, *MIXED, rest=("--against", str(before), "--workers", "1"))
    assert ran.status == 0, ran.err
    assert "0 changed" in ran.out
    assert "42.1 V at 'input'" in ran.out


@pytest.mark.parametrize("workers", ["1", pytest.param("2", marks=pytest.mark.long)])
def test_a_recording_that_cannot_be_decoded_is_told_with_its_line(
    workers: str, corpus: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = corpus.parent / "whole.flac"
    soundfile.write(whole, np.random.default_rng(1).integers(-9000, 9000, 16000).astype(np.int16), 16000)
    data = whole.read_bytes()
    (corpus.parent / "broken.flac").write_bytes(data[:120] + b"\x55" * (len(data) - 120))
    ran = score(capsys, corpus, {"audio": "input.wav", **READING}, {"audio": "broken.flac", **READING},
                rest=("--workers", workers))  # fmt: skip
    assert (ran.status, ran.out) == (2, "")
    assert f"{corpus}, line 2, audio: broken.flac: nothing of the recording can be decoded. Record it again." in ran.err


@pytest.mark.parametrize(
    ("rest", "message"),
    [
        (("--against", "gone.json"), "gone.json: cannot be read (No such file or directory). Check the name."),
        (("--sweep", "gone/sweep.svg"), "there is no such folder for the picture."),
        (("--sweep", "."), "this is a folder, not a file for the picture."),
        (("--sweep", "s.svg", "--engine", "sphinx"), "what hears has no margin that a sweep could move."),
    ],
)
def test_bad_options_end_it_before_anything_is_heard(
    rest: tuple[str, ...], message: str, corpus: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    monkeypatch.chdir(corpus.parent)
    ran = score(capsys, corpus, {"audio": "input.wav", **READING}, rest=rest)
    assert (ran.status, ran.out) == (2, "")
    assert message in ran.err


def test_the_picture_replaces_nothing_that_is_read(corpus: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = score(capsys, corpus, {"audio": "input.wav", **READING}, rest=("--sweep", str(corpus)))
    assert (ran.status, ran.out) == (2, "")
    assert "the picture would replace what is to be read" in ran.err
    assert corpus.read_text(encoding="utf-8").startswith("{")


def test_asked_with_the_wrong_thing_first_is_a_confusion(corpus: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One engine alone asks rather than accepts."""
    wrong = {"audio": "input.wav", "text": "input reads forty two point one volts", "value": "42.1", "unit": "V"}
    lines = ({"audio": "input.wav", **READING}, wrong)
    ran = score(capsys, corpus, *lines, rest=("--json", "--engine", "sphinx", "--workers", "1"))
    document = json.loads(ran.out)
    assert [item["result"] for item in document["each"]] == ["asked", "asked"]
    assert document["confusions"] == [
        {"result": "asked", "said": "42.1 V at 'input'", "heard": "24.1 V at 'input'", "count": 1}
    ]

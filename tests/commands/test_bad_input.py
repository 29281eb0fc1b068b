"""Bad input: each a clear message on standard error, exit status 2, and nothing lost or left half done."""

from __future__ import annotations

import os
import re
import shutil
import struct
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchvoice.cli import main
from benchvoice.keep.journal import read_journal
from tests.commands.running import demo, run

BOARD = demo("failed_regulator") / "board.yaml"
METER = demo("failed_regulator") / "meter.yaml"


def _wav(path: Path, seconds: float, rate_hz: int = 16000) -> Path:
    soundfile.write(path, np.zeros(int(seconds * rate_hz), np.int16), rate_hz, subtype="PCM_16")
    return path


def _missing(folder: Path) -> Path:
    return folder / "missing.wav"


def _empty(folder: Path) -> Path:
    path = folder / "empty.wav"
    path.touch()
    return path


def _no_samples(folder: Path) -> Path:
    return _wav(folder / "none.wav", 0)


def _text(folder: Path) -> Path:
    path = folder / "text.wav"
    path.write_text("rail five reads five point one\n", encoding="utf-8")
    return path


def _header_only(folder: Path) -> Path:
    path = folder / "header.flac"
    path.write_bytes(b"fLaC" + struct.pack(">I", 34) + b"\0" * 8)
    return path


def _folder(folder: Path) -> Path:
    return folder


SOUNDS: list[tuple[Callable[[Path], Path], str]] = [
    (_missing, "there is no such recording"),
    (_empty, r"empty \(0 bytes\)"),
    (_no_samples, "holds no samples"),
    (_text, "this is not a recording"),
    (_header_only, "this FLAC file's header is cut short or damaged"),
    (_folder, "this is a folder, not a recording"),
]


@pytest.mark.parametrize(("make", "complaint"), SOUNDS)
def test_sound_that_cannot_be_used(
    make: Callable[[Path], Path], complaint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ran = run(capsys, "hear", BOARD, make(tmp_path), "--jobs", tmp_path / "jobs")
    assert ran.status == 2
    assert re.search(complaint, ran.err)
    assert "Traceback" not in ran.err
    assert not (tmp_path / "jobs").exists()  # nothing was begun


@pytest.mark.parametrize("name", ["session.flac", "session.wav"])
def test_board_and_recording_in_the_wrong_order(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Also where the sound is larger than any board file."""
    sound = tmp_path / name
    soundfile.write(sound, np.random.default_rng(1).uniform(-0.5, 0.5, 16000 * 60), 16000)
    assert sound.stat().st_size > 1_000_000
    ran = run(capsys, "hear", sound, BOARD, "--jobs", tmp_path / "jobs")
    assert ran.status == 2
    kind = sound.suffix.removeprefix(".").upper()
    cure = "The board comes first, the recordings after it: BOARD AUDIO."
    assert ran.err == f"benchvoice: {sound}: is a recording ({kind}), not text. {cure}\n"
    assert not (tmp_path / "jobs").exists()


REPLIES = [
    (".", "this is a folder, not a file for the spoken answers"),
    ("missing/replies.wav", "there is no such folder for the spoken answers"),
    ("lines.txt/replies.wav", "there is no such folder for the spoken answers"),
    ("lines.txt", "the spoken answers would replace what is to be read"),
    ("input.wav", "the spoken answers would replace what is to be read"),
    ("a" * 300, "the spoken answers cannot be written (File name too long)"),
]


@pytest.mark.parametrize(("replies", "complaint"), REPLIES)
def test_answers_that_cannot_be_written(
    replies: str, complaint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    sound = _wav(tmp_path / "input.wav", 1)
    (tmp_path / "lines.txt").write_text("rail five reads five\n", encoding="utf-8")
    before = sound.read_bytes()
    command, source = ("replay", "lines.txt") if replies == "lines.txt" else ("hear", "input.wav")
    ran = run(capsys, command, BOARD, source, "--replies", replies)
    assert ran.status == 2
    assert complaint in ran.err
    assert "--replies" in ran.err
    assert not (tmp_path / "jobs").exists()  # nothing was begun
    assert sound.read_bytes() == before


BOARDS = [
    ("board: X\npoints:\n\t- name: a\n", "line 3"),
    ("board: X\npoints:\n  - {name: a, nominal: 5 V, tolerence: 5 %}\n", r"points\[0\].*tolerence"),
    ("board: X\npoints:\n  - {name: a, limits: {low: 5 V, high: 4 V}}\n", "lies above the high limit"),
    ("board: X\npoints:\n  - {name: a, quantity: voltage, nominal: 5 ohm}\n", "ohm"),
    ("board: X\npoints:\n  - {name: a, nominal: 5 V}\n  - {name: a, nominal: 3 V}\n", "given twice"),
    ("board: X\npoints:\n  - {name: a, say: [rail five]}\n  - {name: b, say: [rail five]}\n", "rail five"),
    ("board: X\npoints: []\n", "points"),
    ("a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nboard: X\n", "alias"),
    ("", "board"),
    ("board: \x00\n", "line 1"),
]


@pytest.mark.parametrize(("text", "complaint"), BOARDS)
@pytest.mark.parametrize("command", ["check", "hear", "replay"])
def test_boards_that_cannot_be_used(
    command: str, text: str, complaint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = tmp_path / "board.yaml"
    board.write_text(text, encoding="utf-8")
    rest: list[str | Path] = (
        [] if command == "check" else [demo("failed_regulator") / "transcript.vtt", "--jobs", tmp_path / "jobs"]
    )
    ran = run(capsys, command, board, *rest)
    assert ran.status == 2
    assert "board.yaml" in ran.err
    assert re.search(complaint, ran.err)
    assert "Traceback" not in ran.err
    assert not (tmp_path / "jobs").exists()


@pytest.mark.parametrize(
    ("content", "complaint"),
    [
        (b"", "the transcript is empty"),
        (b"WEBVTT\n\n", "holds nothing that was said"),
        (b"WEBVTT\n\n00:00:05.000 --> banana\nfive\n", "line 3"),
        (b"\xff\xfe\x00rail", "is not UTF-8 text"),
        (b"rail five\x00\x01\x02reads", "line 1"),
    ],
)
def test_transcripts_that_cannot_be_read(
    content: bytes, complaint: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "lines.vtt"
    path.write_bytes(content)
    ran = run(capsys, "replay", BOARD, path, "--jobs", tmp_path / "jobs")
    assert ran.status == 2
    assert complaint in ran.err
    assert "Traceback" not in ran.err


def test_a_bad_line_late_in_a_transcript_leaves_no_half_done_job(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "lines.vtt"
    path.write_text(
        "WEBVTT\n\n00:01.000 --> 00:02.000\nrail five reads five point zero two\n\n00:0x.000 --> 00:04.000\nyes\n",
        encoding="utf-8",
    )
    ran = run(capsys, "replay", BOARD, path, "--jobs", tmp_path / "jobs", "--job", "a")
    assert ran.status == 2
    assert "line 6" in ran.err
    assert not (tmp_path / "jobs").exists()  # else a second try would have every reading twice


def test_names_that_would_leave_the_jobs_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("", "../out", "/abs", ".hidden", "a/b"):
        ran = run(
            capsys, "replay", BOARD, demo("failed_regulator") / "transcript.vtt", "--jobs", tmp_path, "--job", name
        )
        assert ran.status == 2
        assert "cannot be a job's name" in ran.err


@pytest.mark.parametrize("options", [[], ["--customer"]])
def test_a_journal_without_a_line_has_no_record(
    options: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "fan-3").mkdir()
    (tmp_path / "fan-3" / "journal.jsonl").touch()
    ran = run(capsys, "record", "fan-3", "--jobs", tmp_path, *options)
    assert (ran.status, ran.out) == (2, "")
    assert "journal.jsonl: is empty: nothing was kept of this job. Name another job." in ran.err
    assert [path.name for path in (tmp_path / "fan-3").iterdir()] == ["journal.jsonl"]


def test_a_job_that_does_not_exist_is_named_with_those_that_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(capsys, "replay", BOARD, demo("failed_regulator") / "transcript.vtt", "--jobs", tmp_path, "--job", "fan-1")
    ran = run(capsys, "record", "fan-2", "--jobs", tmp_path)
    assert ran.status == 2
    assert "there is no job 'fan-2'. Name one of: fan-1." in ran.err


def test_a_job_may_be_named_by_its_journal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(capsys, "replay", BOARD, demo("failed_regulator") / "transcript.vtt", "--jobs", tmp_path, "--job", "fan-1")
    ran = run(capsys, "record", tmp_path / "fan-1" / "journal.jsonl")
    assert ran.status == 0
    assert str(tmp_path / "fan-1" / "record.html") in ran.out
    (tmp_path / "copy.jsonl").write_bytes((tmp_path / "fan-1" / "journal.jsonl").read_bytes())
    ran = run(capsys, "record", tmp_path / "copy.jsonl")
    assert ran.status == 2
    assert "copy.jsonl: is a file, not a job. Name a job's folder, or the journal.jsonl in it" in ran.err


def test_a_damaged_journal_is_reported_with_its_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(capsys, "replay", BOARD, demo("failed_regulator") / "transcript.vtt", "--jobs", tmp_path, "--job", "a")
    journal = tmp_path / "a" / "journal.jsonl"
    changed = journal.read_bytes().replace(b'"value":"4.0"', b'"value":"3.3"')
    journal.write_bytes(changed)
    for arguments in (("record", "a"), ("replay", BOARD, demo("failed_regulator") / "transcript.vtt", "--job", "a")):
        ran = run(capsys, *arguments, "--jobs", tmp_path)
        assert ran.status == 2
        assert "journal.jsonl, line " in ran.err
    assert journal.read_bytes() == changed


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="needs root, to mount a small disk")
def test_a_full_disk_loses_nothing_that_was_confirmed(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(disk)], capture_output=True, check=False
    )
    if mounted.returncode != 0:
        pytest.skip("this machine does not let a disk be mounted")
    try:
        lines = tmp_path / "lines.txt"
        lines.write_text("rail five reads five point zero two\n" * 2000, encoding="utf-8")
        ran = subprocess.run(
            [
                sys.executable,
                "-m",
                "benchvoice.cli",
                "replay",
                str(BOARD),
                str(lines),
                "--jobs",
                str(disk),
                "--job",
                "a",
            ],
            capture_output=True,
            text=True,
            check=False,
        )
        assert ran.returncode == 2, ran.stderr
        assert "the disk is full" in ran.stderr
        assert "Traceback" not in ran.stderr
        kept = read_journal(disk / "a").events
        answered = ran.stdout.count("Pass. Five point zero two.")
        assert sum(event.kind == "reading" for event in kept) >= answered > 0
    finally:
        subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="needs root, to become another user")
def test_a_folder_without_permission(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    transcript = demo("failed_regulator") / "transcript.vtt"
    run(capsys, "replay", BOARD, transcript, "--jobs", tmp_path)  # all that is imported is imported now
    closed = Path(tempfile.mkdtemp())  # entered by all, written by its owner alone
    closed.chmod(0o755)
    board_text = BOARD.read_text(encoding="utf-8")
    for name, text in (("board.yaml", board_text), ("lines.txt", "rail five reads five\n")):
        (closed / name).write_text(text, encoding="utf-8")
        (closed / name).chmod(0o644)
    said = tmp_path / "said.txt"
    child = os.fork()
    if child == 0:
        os.dup2(os.open(said, os.O_WRONLY | os.O_CREAT), 2)
        sys.stderr = os.fdopen(2, "w")
        os.setuid(65534)
        status = main(["replay", str(closed / "board.yaml"), str(closed / "lines.txt"), "--jobs", str(closed / "jobs")])
        sys.stderr.flush()
        os._exit(status)
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    assert status == 2
    assert "no permission to write here" in said.read_text(encoding="utf-8")
    assert "--jobs" in said.read_text(encoding="utf-8")
    shutil.rmtree(closed)


# --- the command line itself --------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("listen", "x.yaml", "--plian"), "unrecognized arguments: --plian. Did you mean '--plain'?"),
        (("replay", "a", "b", "--metre=x"), "unrecognized arguments: --metre=x. Did you mean '--meter'?"),
        (("check", "x.yaml", "--quux"), "benchvoice check: error: unrecognized arguments: --quux\n"),
        (("models", "list", "more"), "benchvoice models: error: unrecognized arguments: more\n"),
    ],
)
def test_an_unknown_option_is_told_by_its_own_command(
    arguments: tuple[str, ...], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(arguments)
    err = capsys.readouterr().err
    assert told in err
    assert err.startswith(f"usage: benchvoice {arguments[0]} ")

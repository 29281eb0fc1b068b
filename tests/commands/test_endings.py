"""How a session ends from outside: by a signal, or because nobody reads on. The journal is whole each time."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import soundfile

from benchvoice.cli import main
from benchvoice.commands import interrupts
from benchvoice.commands.finish import write_record
from benchvoice.commands.interrupts import Interrupted, held, taken, watched
from benchvoice.events import Closed, Event, Reading
from benchvoice.keep.journal import Journal, read_journal
from tests.commands.records import stable
from tests.commands.running import demo

FOLDER = demo("failed_regulator")
BOARD = str(FOLDER / "board.yaml")
POSIX = pytest.mark.skipif(os.name != "posix", reason="signals and pipes as POSIX has them")


def start(*arguments: str, stdout: int, stdin: int | None = None) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "benchvoice.cli", *arguments]
    return subprocess.Popen(command, stdin=stdin, stdout=stdout, stderr=subprocess.PIPE)


def patiently(found: Callable[[], bool]) -> None:
    """Waits until something is so; a minute is more than any machine needs."""
    until = time.monotonic() + 60
    while not found():
        assert time.monotonic() < until
        time.sleep(0.02)


def kinds(job: Path) -> list[str]:
    return [event.kind for event in read_journal(job).events]


def long_transcript(folder: Path, n_lines: int = 20_000) -> str:
    path = folder / "lines.txt"
    path.write_text("rail five reads five point zero two\n" * n_lines, encoding="utf-8")
    return str(path)


# --- signals ------------------------------------------------------------------------------------------------------
@POSIX
@pytest.mark.parametrize(("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)])
def test_a_signal_closes_the_job_while_sound_is_awaited(number: signal.Signals, status: int, tmp_path: Path) -> None:
    sound, _ = soundfile.read(FOLDER / "session.flac", dtype="int16")
    process = start("hear", BOARD, "-", "--jobs", str(tmp_path), "--job", "a", stdin=subprocess.PIPE,
                    stdout=subprocess.DEVNULL)  # fmt: skip
    assert process.stdin is not None
    assert process.stderr is not None
    process.stdin.write(sound[: 9 * 16000].tobytes())
    process.stdin.flush()  # and it stays open: more sound might come
    journal = tmp_path / "a" / "journal.jsonl"
    patiently(lambda: journal.exists() and journal.read_bytes().count(b'"kind":"reading"') == 2)
    process.send_signal(number)
    told = process.stderr.read().decode()
    assert process.wait(60) == status
    assert f"benchvoice: interrupted; what was confirmed is in {journal}" in told
    assert "Traceback" not in told
    closed = read_journal(tmp_path / "a").events[-1]
    assert isinstance(closed, Closed)
    assert closed.why == "interrupted"
    assert main(["record", "a", "--jobs", str(tmp_path)]) == 0
    process.stdin.close()


@POSIX
@pytest.mark.parametrize("after_s", [0.0, 0.03, 0.2])
def test_a_signal_in_the_middle_of_a_replay_loses_nothing(after_s: float, tmp_path: Path) -> None:
    process = start("replay", BOARD, long_transcript(tmp_path), "--jobs", str(tmp_path), "--job", "a", "--quiet",
                    stdout=subprocess.DEVNULL)  # fmt: skip
    journal = tmp_path / "a" / "journal.jsonl"
    patiently(lambda: journal.exists() and journal.read_bytes().count(b"\n") > 1)
    time.sleep(after_s)
    process.send_signal(signal.SIGTERM)
    _, told = process.communicate(timeout=60)
    assert (process.returncode, b"Traceback" in told) == (143, False)
    assert str(journal).encode() in told
    found = kinds(tmp_path / "a")
    assert found[-1] == "closed"
    assert 0 < found.count("reading") < 20_000
    assert found.count("heard") == found.count("reading")
    read = json.loads(journal.read_text(encoding="utf-8").splitlines()[-1])
    assert read["seq"] == len(found)


@POSIX
def test_a_signal_while_the_record_is_made_says_how_to_make_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def signalled(*arguments: Any, **more: Any) -> Any:
        os.kill(os.getpid(), signal.SIGINT)  # a real signal, at the very moment when the record is begun
        return write_record(*arguments, **more)

    said = tmp_path / "said.txt"
    said.write_text("rail five reads five point zero two\n", encoding="utf-8")
    with monkeypatch.context() as meanwhile:
        meanwhile.setattr("benchvoice.commands.finish.write_record", signalled)
        assert main(["replay", str(BOARD), str(said), "--jobs", str(tmp_path), "--job", "a"]) == 130
    job = tmp_path / "a"
    assert capsys.readouterr().err == (
        f"benchvoice: interrupted; what was confirmed is in {job / 'journal.jsonl'}; make its record with: "
        f"benchvoice record {job}\n"
    )
    assert main(["record", str(job)]) == 0


@POSIX
def test_a_signal_between_the_write_and_the_state_is_taken_after_both(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    append = Journal.append

    def append_and_signal(self: Journal, events: tuple[Event, ...]) -> tuple[bytes, ...]:
        lines = append(self, events)
        if any(isinstance(event, Reading) for event in events):
            os.kill(os.getpid(), signal.SIGINT)  # a real signal, at the very moment when the line is on the disk
        return lines

    monkeypatch.setattr(Journal, "append", append_and_signal)
    status = main(["hear", BOARD, str(FOLDER / "session.flac"), "--jobs", str(tmp_path), "--job", "a"])
    assert status == 130
    assert kinds(tmp_path / "a") == ["opened", "heard", "reading", "closed"]
    assert f"what was confirmed is in {tmp_path / 'a' / 'journal.jsonl'}" in capsys.readouterr().err


@POSIX
def test_a_signal_before_a_job_is_open_names_no_journal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stop(*_: object) -> None:
        os.kill(os.getpid(), signal.SIGTERM)

    monkeypatch.setattr("benchvoice.commands.replay.load_board", stop)
    assert main(["replay", BOARD, str(FOLDER / "transcript.vtt"), "--jobs", str(tmp_path / "jobs")]) == 143
    assert capsys.readouterr().err == "benchvoice: interrupted\n"
    assert not (tmp_path / "jobs").exists()


@POSIX
def test_a_signal_waits_for_the_end_of_what_is_held() -> None:
    done = []

    def work() -> None:
        with held():
            with held():
                os.kill(os.getpid(), signal.SIGINT)
                done.append("inside")
            done.append("outside")
        done.append("never")

    with taken(), pytest.raises(Interrupted, match="SIGINT"):
        work()
    assert done == ["inside", "outside"]


@POSIX
def test_what_is_watched_is_told_of_a_signal_and_ends_of_itself() -> None:
    done = []

    def work() -> None:
        with watched() as told:
            assert not told()
            with held():
                os.kill(os.getpid(), signal.SIGTERM)
            assert told()
            done.append("ended")
        done.append("never")

    with taken(), pytest.raises(Interrupted, match="SIGTERM"):
        work()
    assert done == ["ended"]


@POSIX
def test_a_second_signal_does_not_wait_for_what_is_watched() -> None:
    done = []

    def work() -> None:
        with watched():
            os.kill(os.getpid(), signal.SIGINT)
            done.append("went on")
            os.kill(os.getpid(), signal.SIGINT)
            done.append("never")

    with taken(), pytest.raises(Interrupted, match="SIGINT"):
        work()
    assert done == ["went on"]


@POSIX
def test_a_failure_in_what_is_held_is_told_before_the_signal() -> None:
    def work() -> None:
        with held():
            os.kill(os.getpid(), signal.SIGINT)
            raise ValueError("the disk is full")

    with taken(), pytest.raises(ValueError, match="the disk is full"):
        work()
    with taken(), held():
        pass  # and the next session does not begin with the signal of the last


@POSIX
def test_handlers_are_put_back_and_an_ignored_signal_stays_ignored() -> None:
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with taken():
            assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
            assert signal.getsignal(signal.SIGTERM) is interrupts._interrupt
        assert signal.getsignal(signal.SIGTERM) is not interrupts._interrupt
    finally:
        signal.signal(signal.SIGHUP, before)


# --- nobody reads on ----------------------------------------------------------------------------------------------
def reads_little(process: subprocess.Popen[bytes], n_bytes: int) -> tuple[int, str]:
    """Reads so much of what a process prints, then goes away; its exit status and what it said on standard error."""
    assert process.stdout is not None
    assert process.stderr is not None
    assert len(process.stdout.read(n_bytes)) == n_bytes
    process.stdout.close()
    told = process.stderr.read().decode()
    return process.wait(120), told


@POSIX
@pytest.mark.parametrize("options", [[], ["--json"]])
def test_a_replay_is_finished_though_nobody_reads_on(options: list[str], tmp_path: Path) -> None:
    transcript = long_transcript(tmp_path, 1000)
    process = start("replay", BOARD, transcript, "--jobs", str(tmp_path), "--job", "a", *options,
                    stdout=subprocess.PIPE)  # fmt: skip
    assert reads_little(process, 10) == (0, "")
    found = kinds(tmp_path / "a")
    assert (found.count("reading"), found[-1]) == (1000, "closed")
    assert {"record.html", "record.csv", "record.json"} <= {path.name for path in (tmp_path / "a").iterdir()}


@pytest.mark.long
@POSIX
def test_hearing_is_finished_though_nobody_reads_at_all(tmp_path: Path) -> None:
    process = start("hear", BOARD, str(FOLDER / "session.flac"), "--meter", str(FOLDER / "meter.yaml"),
                    "--jobs", str(tmp_path), "--job", "a", stdout=subprocess.PIPE)  # fmt: skip
    assert reads_little(process, 0) == (0, "")
    assert kinds(tmp_path / "a")[-2:] == ["closed", "said"]  # by voice, which is answered
    record = json.loads((tmp_path / "a" / "record.json").read_text(encoding="utf-8"))
    assert stable(record) == json.loads((FOLDER / "expected_record.json").read_text(encoding="utf-8"))


@POSIX
@pytest.mark.parametrize("arguments", [("record", "a"), ("check", "--schema"), ("--help",)])
def test_other_commands_end_quietly(arguments: tuple[str, ...], tmp_path: Path) -> None:
    main(["replay", BOARD, str(FOLDER / "transcript.vtt"), "--jobs", str(tmp_path), "--job", "a"])
    options = ["--jobs", str(tmp_path)] if arguments[0] == "record" else []
    process = start(*arguments, *options, stdout=subprocess.PIPE)
    assert reads_little(process, 0) == (0, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_output_that_cannot_be_written_is_told_once_the_job_is_finished(tmp_path: Path) -> None:
    transcript = long_transcript(tmp_path, 1000)
    with Path("/dev/full").open("wb") as full:
        process = start("replay", BOARD, transcript, "--jobs", str(tmp_path), "--job", "a", stdout=full.fileno())
        _, told = process.communicate(timeout=120)
    assert (process.returncode, told) == (2, b"benchvoice: standard output: No space left on device\n")
    assert kinds(tmp_path / "a")[-1] == "closed"
    assert (tmp_path / "a" / "record.html").is_file()


def test_a_character_that_the_terminal_lacks_ends_nothing(tmp_path: Path) -> None:
    (tmp_path / "lines.txt").write_text("rail five reads five point one\n", encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "benchvoice.cli", "replay", BOARD, str(tmp_path / "lines.txt"), "--jobs", str(tmp_path),
         "--job", "a"],
        env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
        capture_output=True,
        check=False,
    )  # fmt: skip
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert b"fan controller \\xb7 job a" in ran.stdout


@POSIX
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_scoring_with_several_processes_ends_at_a_signal_and_leaves_none_behind(
    number: signal.Signals, tmp_path: Path
) -> None:
    corpus = tmp_path / "corpus.jsonl"
    line = {"audio": str(FOLDER / "session.flac"), "text": "the kettle is on"}
    corpus.write_text("\n".join([json.dumps(line)] * 50), encoding="utf-8")
    arguments = ["score", str(corpus), "--board", BOARD, "--workers", "2"]
    process = subprocess.Popen(
        [sys.executable, "-m", "benchvoice.cli", *arguments],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
    )  # fmt: skip
    patiently(lambda: len(members(process.pid)) >= 4 or process.poll() is not None)  # it, two workers, their tracker
    # Ctrl-C reaches the whole group at once, SIGTERM only the one it is sent to
    if number is signal.SIGINT:
        os.killpg(process.pid, number)
    else:
        process.send_signal(number)
    out, err = process.communicate(timeout=60)
    assert (process.returncode, out, err) == (128 + number, b"", b"benchvoice: interrupted\n")
    patiently(lambda: not members(process.pid))


def members(group: int) -> list[int]:
    """The processes of a group that have not ended."""
    listed = subprocess.run(["ps", "-e", "-o", "pid=,pgid=,stat="], capture_output=True, text=True, check=True)
    rows = [row.split() for row in listed.stdout.splitlines()]
    return [int(pid) for pid, of, state in rows if int(of) == group and not state.startswith("Z")]

"""`benchvoice type`: lines in, answers out, at a pipe and at a terminal; timers ring though nobody types."""

from __future__ import annotations

import json
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from benchvoice.events import Asked, Closed, Event, Heard, Lapsed, Opened, Reading, TimerOver
from benchvoice.keep.journal import read_journal
from tests.commands.running import demo
from tests.commands.test_endings import POSIX, patiently

FOLDER = demo("failed_regulator")
BOARD = str(FOLDER / "board.yaml")


def command(jobs: Path, *more: str) -> list[str]:
    return [sys.executable, "-m", "benchvoice.cli", "type", BOARD, "--jobs", str(jobs), "--job", "a", *more]


def type_in(jobs: Path, text: str, *more: str) -> subprocess.CompletedProcess[bytes]:
    """What it answers to lines that come through a pipe."""
    return subprocess.run(command(jobs, *more), input=text.encode(), capture_output=True, timeout=120, check=False)


def kept(jobs: Path) -> tuple[Event, ...]:
    return tuple(read_journal(jobs / "a").events)


def readings(jobs: Path) -> list[tuple[str, str, str]]:
    return [(event.point, event.value, event.unit) for event in kept(jobs) if isinstance(event, Reading)]


def test_every_line_is_answered_and_kept(tmp_path: Path) -> None:
    ran = type_in(tmp_path, "rail 3.3 reads 4.0 V\n\nthe weather is fine\r\ninput reads twenty four point one")
    assert (ran.returncode, ran.stderr) == (0, b"")
    told = ran.stdout.decode()
    assert [line.strip() for line in told.splitlines()][:6] == [
        "Ready. First: input.",
        "rail three point three reads four point zero volts",
        "!! Fail, high. Four point zero volts. Rail three point three. Limits three point one four to three point four"
        " seven volts.",
        "the weather is fine  (ignored: not a sentence of the bench)",
        "input reads twenty four point one",
        "ok Pass. Twenty four point one. Input. Limits twenty one point six to twenty six point four volts.",
    ]
    assert readings(tmp_path) == [("rail 3.3", "4.0", "V"), ("input", "24.1", "V")]
    assert [event.source for event in kept(tmp_path) if isinstance(event, Heard)] == ["keyboard"] * 3
    assert str(tmp_path / "a" / "record.html") in told
    assert kept(tmp_path)[-1] == Closed(seq=len(kept(tmp_path)), at=kept(tmp_path)[-1].at, why="end of what was typed")


def test_what_is_unlikely_is_asked_and_an_open_question_lapses_with_the_end(tmp_path: Path) -> None:
    ran = type_in(tmp_path, "rail 5 reads 50.2\nyes\ninput reads 241\n", "--terse")
    assert b"? Fifty point two volts on rail five? Say yes, or the value again." in ran.stdout
    assert [(point, value) for point, value, _ in readings(tmp_path)] == [("rail 5", "50.2")]
    assert [type(event) for event in kept(tmp_path) if isinstance(event, Asked | Lapsed)] == [Asked, Asked, Lapsed]


def test_a_job_is_taken_up_again_and_ends_when_it_is_closed(tmp_path: Path) -> None:
    type_in(tmp_path, "rail 5 reads 5.02\n")
    ran = type_in(tmp_path, "close the job\nrail 5 reads 4.98\n")
    assert b"Resumed. One reading. Next: input." in ran.stdout
    assert readings(tmp_path) == [("rail 5", "5.02", "V")]
    assert [event.why for event in kept(tmp_path) if isinstance(event, Closed)] == [
        "end of what was typed",
        "by voice",
    ]
    again = type_in(tmp_path, "rail 5 reads 4.98\n")
    assert again.returncode == 0
    assert [event.visit for event in kept(tmp_path) if isinstance(event, Opened)] == [1, 1, 2]


@pytest.mark.parametrize("line", [b"rail 5\x01", b"rail \xff 5", b"[later] rail 5", b"rail 5 " * 2000],
                         ids=["control", "no UTF-8", "time", "long"])  # fmt: skip
def test_what_is_no_line_of_text_is_refused_and_the_session_goes_on(line: bytes, tmp_path: Path) -> None:
    ran = subprocess.run(
        command(tmp_path), input=line + b"\nrail 5 reads 5.02\n", capture_output=True, timeout=120, check=False
    )
    assert ran.returncode == 0
    (told,) = ran.stderr.decode().splitlines()
    assert told.startswith("benchvoice: not taken: ")
    assert readings(tmp_path) == [("rail 5", "5.02", "V")]


def test_as_json_it_prints_the_journal_and_nothing_else(tmp_path: Path) -> None:
    ran = type_in(tmp_path, "rail 5 reads 5.02\n", "--json")
    lines = (tmp_path / "a" / "journal.jsonl").read_bytes().splitlines()
    assert ran.stdout.splitlines() == lines
    assert [json.loads(line)["kind"] for line in lines][-3:] == ["reading", "said", "closed"]


@POSIX
def test_a_closed_standard_input_is_said_and_no_job_is_made(tmp_path: Path) -> None:
    ran = subprocess.run(["/bin/sh", "-c", 'exec "$@" <&-', "sh", *command(tmp_path)],
                         capture_output=True, timeout=120, check=False)  # fmt: skip
    assert ran.returncode == 2
    assert ran.stderr == b"benchvoice: standard input: it is closed. Type into a terminal, or send lines.\n"
    assert not list(tmp_path.iterdir())


def test_a_timer_rings_though_nobody_types(tmp_path: Path) -> None:
    with subprocess.Popen(command(tmp_path), stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(b"timer two seconds\n")
        process.stdin.flush()
        for line in process.stdout:  # each as soon as it is said
            if b"Timer is over. Two seconds." in line:
                break
        process.stdin.close()
        process.stdout.read()
        assert process.wait(60) == 0
    set_at, over_at = (event.at for event in kept(tmp_path) if event.kind in ("timer started", "timer over"))
    assert 2.0 <= (over_at - set_at).total_seconds() < 60
    assert sum(isinstance(event, TimerOver) for event in kept(tmp_path)) == 1


class Terminal:
    """The other end of a terminal that a program has for its standard input and output."""

    def __init__(self, number: int) -> None:
        self.number = number
        self.shown = ""

    def wait_for(self, text: str) -> None:
        """Wait until `text` is shown, behind what was waited for before."""
        until_s = time.monotonic() + 60
        while text not in self.shown:
            assert time.monotonic() < until_s, self.shown
            if select.select([self.number], [], [], 0.1)[0]:
                self.shown += os.read(self.number, 4096).decode()
        self.shown = self.shown.split(text, 1)[1]

    def type(self, text: str) -> None:
        os.write(self.number, text.encode())


@contextmanager
def terminal(jobs: Path) -> Iterator[tuple[Terminal, subprocess.Popen[bytes]]]:
    ours, theirs = os.openpty()
    with subprocess.Popen(command(jobs), stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True) as process:
        os.close(theirs)
        try:
            yield Terminal(ours), process
        finally:
            process.kill()
            os.close(ours)


@POSIX
def test_at_a_terminal_it_prompts_and_ends_with_the_end_of_input(tmp_path: Path) -> None:
    with terminal(tmp_path) as (screen, process):
        screen.wait_for("Ready. First: input.\r\n> ")
        screen.type("timer one second\r")
        screen.wait_for("Timer, one second.\r\n> ")
        screen.wait_for("\r\n           Timer is over. One second.\r\n> ")  # in a line of its own, then it asks again
        screen.type("rail 5 reads 5.02\r")
        screen.wait_for("ok Pass. Five point zero two.")
        screen.wait_for("> ")
        screen.type("\x04")
        screen.wait_for("customer.html")
        assert process.wait(60) == 0


@POSIX
@pytest.mark.parametrize(("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)])
def test_a_signal_closes_the_job_and_makes_its_record(number: signal.Signals, status: int, tmp_path: Path) -> None:
    with terminal(tmp_path) as (screen, process):
        screen.wait_for("> ")
        screen.type("rail 5 reads 5.02\r")
        patiently(lambda: (tmp_path / "a" / "journal.jsonl").read_bytes().count(b'"kind":"said"') == 2)
        process.send_signal(number)
        screen.wait_for("benchvoice: interrupted; what was confirmed is in")
        assert process.wait(60) == status
    assert isinstance(kept(tmp_path)[-1], Closed)
    assert (tmp_path / "a" / "record.html").is_file()

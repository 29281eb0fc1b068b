"""`benchvoice type`: lines in, answers out, at a pipe and at a terminal; timers ring though nobody types.

Half a line is never taken: half a value may be missing.
"""

from __future__ import annotations

import codecs
import io
import json
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.commands.keyboard import Keyboard
from benchvoice.errors import TranscriptError
from benchvoice.events import Asked, Closed, Event, Heard, Lapsed, Opened, Reading, TimerOver
from benchvoice.keep.journal import read_journal
from tests.commands.running import demo
from tests.commands.test_endings import POSIX, patiently

FOLDER = demo("failed_regulator")
BOARD = str(FOLDER / "board.yaml")


def command(jobs: Path, *more: str) -> list[str]:
    return [sys.executable, "-m", "benchvoice.cli", "type", BOARD, "--jobs", str(jobs), "--job", "a", *more]


class Reader:
    """What a program prints, for those that have to wait for it."""

    def __init__(self, number: int) -> None:
        self.number = number
        self.shown = ""
        self._decoder = codecs.getincrementaldecoder("utf-8")()

    def wait_for(self, text: str) -> None:
        """Wait until `text` is shown, behind what was waited for before; a minute is more than any machine needs."""
        until_s = time.monotonic() + 60
        while text not in self.shown:
            assert time.monotonic() < until_s, self.shown
            if select.select([self.number], [], [], 0.1)[0]:
                self.shown += self._decoder.decode(os.read(self.number, 4096))
        self.shown = self.shown.split(text, 1)[1]


class Terminal(Reader):
    """The other end of a terminal that a program has for its standard input and output."""

    def type(self, text: str) -> None:
        os.write(self.number, text.encode())


def type_in(jobs: Path, text: str, *more: str) -> subprocess.CompletedProcess[bytes]:
    """What it answers to lines that come through a pipe."""
    return subprocess.run(command(jobs, *more), input=text.encode(), capture_output=True, timeout=120, check=False)


def kept(jobs: Path) -> tuple[Event, ...]:
    return tuple(read_journal(jobs / "a").events)


def readings(jobs: Path) -> list[tuple[str, str, str]]:
    return [(event.point, event.value, event.unit) for event in kept(jobs) if isinstance(event, Reading)]


def test_every_line_is_answered_and_kept(tmp_path: Path) -> None:
    ran = type_in(tmp_path, "rail 3.3 reads 4.0 V\n\nthe weather is fine\r\ninput reads twenty four point one\n")
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
    assert ran.stderr == b"benchvoice: not taken, the session has ended: rail 5 reads 4.98\n"
    assert readings(tmp_path) == [("rail 5", "5.02", "V")]
    assert [event.why for event in kept(tmp_path) if isinstance(event, Closed)] == [
        "end of what was typed",
        "by voice",
    ]
    again = type_in(tmp_path, "rail 5 reads 4.98\n")
    assert again.returncode == 0
    assert [event.visit for event in kept(tmp_path) if isinstance(event, Opened)] == [1, 1, 2]


@pytest.mark.parametrize("line", [b"rail 5\x01", b"rail \xff 5", b"rail 5\x1b[D", b"rail 5 " * 2000, b"5" * 200_000],
                         ids=["control", "no UTF-8", "arrow key", "long", "longer than a read"])  # fmt: skip
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
        Reader(process.stdout.fileno()).wait_for("Timer is over. Two seconds.")  # it does not wait for more lines
        process.stdin.close()
        process.stdout.read()
        assert process.wait(60) == 0
    set_at, over_at = (event.at for event in kept(tmp_path) if event.kind in ("timer started", "timer over"))
    assert 2.0 <= (over_at - set_at).total_seconds() < 60
    assert sum(isinstance(event, TimerOver) for event in kept(tmp_path)) == 1


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


def end_input(screen: Terminal, process: subprocess.Popen[bytes]) -> None:
    """Press Ctrl-D where it asks for the next line; it ends well, with its record."""
    screen.wait_for("> ")
    screen.type("\x04")
    screen.wait_for("customer.html")
    assert process.wait(60) == 0


@POSIX
def test_at_a_terminal_it_prompts_and_ends_with_the_end_of_input(tmp_path: Path) -> None:
    with terminal(tmp_path) as (screen, process):
        screen.wait_for("Ready. First: input.\r\nType what you would say. Ctrl-D stops, to go on later; ")
        screen.wait_for("\r\n> ")
        screen.type("timer one second\r")
        screen.wait_for("Timer, one second.\r\n> ")
        screen.wait_for("\a")
        screen.type("\r")
        screen.wait_for("\r\n           Timer is over. One second.\r\n> ")
        screen.type("rail 5 reads 5.02\r")
        screen.wait_for("ok Pass. Five point zero two.")
        end_input(screen, process)


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


# --- nothing is lost or half taken ----------------------------------------------------------------------------------
def test_a_line_that_a_pipe_does_not_end_is_not_taken(tmp_path: Path) -> None:
    ran = type_in(tmp_path, "rail 5 reads 5.02\nrail 5 reads 5")
    assert ran.stderr == b"benchvoice: not taken, its line was not ended: rail 5 reads 5\n"
    assert readings(tmp_path) == [("rail 5", "5.02", "V")]


def test_the_last_line_of_a_file_needs_no_end(tmp_path: Path) -> None:
    (tmp_path / "said.txt").write_text("rail 5 reads 5.02\nrail 5 reads 5.0", encoding="utf-8")
    with (tmp_path / "said.txt").open() as said:
        ran = subprocess.run(command(tmp_path), stdin=said, capture_output=True, timeout=120, check=False)
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert [value for _, value, _ in readings(tmp_path)] == ["5.02", "5.0"]


@POSIX
def test_a_line_that_is_not_ended_at_a_terminal_is_not_taken(tmp_path: Path) -> None:
    with terminal(tmp_path) as (screen, process):
        screen.wait_for("> ")
        screen.type("rail 5 reads 5\x04\x04")  # the first hands over the line as it is, the second ends the input
        screen.wait_for("benchvoice: not taken, its line was not ended: rail 5 reads 5\r\n")
        screen.wait_for("customer.html")
        assert process.wait(60) == 0
    assert readings(tmp_path) == []


@POSIX
def test_a_timer_that_ends_while_a_line_is_typed_rings_the_bell_and_is_told_after_it(tmp_path: Path) -> None:
    """Printed into the line, it would leave "1" typed where only "3.3 V" is seen: another point's reading."""
    with terminal(tmp_path) as (screen, process):
        screen.wait_for("> ")
        screen.type("timer two seconds\r")
        screen.wait_for("Timer, two seconds.\r\n> ")
        screen.type("rail 5 reads 1")
        screen.wait_for("rail 5 reads 1\a")
        screen.type("3.3 V\r")
        screen.wait_for("3.3 V\r\n           Timer is over. Two seconds.\r\n")
        screen.wait_for("thirteen point three volts")
        end_input(screen, process)
    texts = [event.text for event in kept(tmp_path) if isinstance(event, Heard)]
    assert texts == ["timer two seconds", "rail five reads thirteen point three volts"]


@POSIX
def test_after_a_stop_it_says_that_half_a_line_is_gone(tmp_path: Path) -> None:
    with terminal(tmp_path) as (screen, process):
        screen.wait_for("> ")
        process.send_signal(signal.SIGSTOP)
        process.send_signal(signal.SIGCONT)
        screen.wait_for("\r\nWhat was typed of that line is gone.\r\n> ")
        screen.type("rail 5 reads 5.02\r")
        screen.wait_for("ok Pass. Five point zero two.")


@POSIX
def test_on_a_full_disk_nothing_is_said_to_be_taken_that_is_not_kept(tmp_path: Path) -> None:
    lines = "rail 5 reads 5.02\n" * 40
    limited = ["/bin/sh", "-c", 'ulimit -f 24; exec "$@"', "sh", *command(tmp_path, "--terse")]  # 12,288 bytes
    ran = subprocess.run(limited, input=lines.encode(), capture_output=True, timeout=120, check=False)
    told = ran.stdout.decode()
    assert 3 < told.count("ok Pass, five point zero two.") == len(readings(tmp_path)) < 40
    assert told.count("Not kept.") >= 40 - len(readings(tmp_path))
    assert b"Traceback" not in ran.stderr
    assert ran.returncode == 2


@POSIX
def test_where_nobody_reads_the_answers_nothing_more_is_taken(tmp_path: Path) -> None:
    with subprocess.Popen(
        command(tmp_path), stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        assert process.stderr is not None
        Reader(process.stdout.fileno()).wait_for("Ready.")
        process.stdout.close()
        assert process.wait(60) == 128 + signal.SIGPIPE
        assert b"nobody reads on what is printed; what was confirmed is in" in process.stderr.read()
    assert isinstance(kept(tmp_path)[-1], Closed)


# --- the keyboard ---------------------------------------------------------------------------------------------------
def lines_of(keyboard: Keyboard) -> list[str]:
    found = []
    with suppress(EOFError):
        while True:
            line = keyboard.line(60)
            assert line is not None
            found.append(line)
    return found


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\n\r"), max_size=20)),
       st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\n\r"), max_size=5), st.data())  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_lines_come_whole_however_the_pipe_cuts_them(lines: list[str], rest: str, data: st.DataObject) -> None:
    sent = ("".join(f"{line}\n" for line in lines) + rest).encode()
    cuts = sorted(data.draw(st.lists(st.integers(0, len(sent)), max_size=5)))
    reads, writes = os.pipe()
    with os.fdopen(reads, encoding="utf-8") as stream:
        keyboard = Keyboard(stream)
        for start, end in zip([0, *cuts], [*cuts, len(sent)], strict=True):
            os.write(writes, sent[start:end])
        os.close(writes)
        assert lines_of(keyboard) == lines
        assert keyboard.unfinished == rest


@POSIX
def test_an_input_that_does_not_wait_is_waited_for() -> None:
    """Another program may have left the terminal so (O_NONBLOCK, POSIX.1-2017, open; from memory)."""
    reads, writes = os.pipe()
    os.set_blocking(reads, False)
    with os.fdopen(reads, encoding="utf-8") as stream:
        keyboard = Keyboard(stream)
        assert keyboard.line(0.2) is None
        os.write(writes, b"rail 5\n")
        assert keyboard.line(60) == "rail 5"
        os.close(writes)
        assert lines_of(keyboard) == []


@POSIX
def test_an_input_that_cannot_be_read_is_said(tmp_path: Path) -> None:
    number = os.open(tmp_path / "write only", os.O_WRONLY | os.O_CREAT)
    stream = io.TextIOWrapper(io.BufferedReader(io.FileIO(number, "r")), encoding="utf-8")
    with pytest.raises(TranscriptError, match=r"^standard input: it cannot be read \(Bad file descriptor\)"):
        Keyboard(stream).line(60)
    stream.close()

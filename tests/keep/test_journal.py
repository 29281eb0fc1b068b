"""The journal: what was confirmed is there, whatever happens, and what was changed is found with its line."""

from __future__ import annotations

import base64
import errno
import hashlib
import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchvoice.errors import JobBusyError, JournalError, StorageError
from benchvoice.events import Event, Heard, Said
from benchvoice.keep import disk
from benchvoice.keep.journal import Journal, read_journal
from tests.keep.builders import START, Story, kiln_job, utterances


def write_job(folder: Path, events: list[Event]) -> bytes:
    with Journal.open(folder) as journal:
        for group in utterances(events):
            journal.append(group)
    return (folder / "journal.jsonl").read_bytes()


@pytest.fixture
def job(tmp_path: Path) -> Path:
    write_job(tmp_path / "kiln-0007", kiln_job())
    return tmp_path / "kiln-0007"


@pytest.fixture
def in_memory(tmp_path: Path) -> Iterator[Path]:
    """A folder on a file system in memory where there is one: thousands of journals are written in these tests."""
    shm = Path("/dev/shm")  # noqa: S108
    with tempfile.TemporaryDirectory(dir=shm if os.access(shm, os.W_OK) else tmp_path) as name:
        yield Path(name)


def small_job() -> list[Event]:
    s = Story()
    s.heard("rail five reads five point oh")
    s.reading("rail 5", "5.0")
    s.said("Pass. Five point zero.")
    return s.events


# --- the format ---------------------------------------------------------------------------------------------------
def test_lines_are_compact_json_chained_by_sha256(job: Path) -> None:
    # the chain is computed here with hashlib and json alone, as any other program would
    prev = "0" * 64
    lines = (job / "journal.jsonl").read_bytes().split(b"\n")
    assert lines.pop() == b""
    for number, line in enumerate(lines, start=1):
        fields = json.loads(line)
        assert line == json.dumps(fields, ensure_ascii=False, separators=(",", ":")).encode()
        assert list(fields)[:3] == ["seq", "at", "kind"]
        assert list(fields)[-1] == "prev"
        assert fields["seq"] == number
        assert fields["prev"] == prev
        prev = hashlib.sha256(line).hexdigest()
    assert len(lines) == len(kiln_job())


def test_times_are_utc_and_numbers_keep_their_digits(job: Path) -> None:
    lines = [json.loads(line) for line in (job / "journal.jsonl").read_text(encoding="utf-8").splitlines()]
    assert lines[0]["at"] == "2026-03-02T09:15:00Z"
    reading = next(line for line in lines if line["kind"] == "reading" and line["point"] == "rail 3.3")
    assert reading["value"] == "4.0"
    assert reading["direction"] == "high"
    assert lines[2]["direction"] is None  # a field without a value is written as null, not left out


def test_what_was_appended_is_read_back(job: Path) -> None:
    read = read_journal(job)
    assert list(read.events) == kiln_job()
    assert read.torn is None
    assert read.integrity.seal == "holds"
    assert read.integrity.incomplete == ()
    assert read_journal(job / "journal.jsonl") == read


def test_a_time_elsewhere_is_written_as_utc(tmp_path: Path) -> None:
    at = datetime(2026, 3, 2, 11, 15, tzinfo=timezone(timedelta(hours=2)))
    with Journal.open(tmp_path) as journal:
        journal.append([Said(seq=1, at=at, text="Pass.")])
    assert b'"at":"2026-03-02T09:15:00Z"' in (tmp_path / "journal.jsonl").read_bytes()


@pytest.mark.parametrize(
    "text", ['"quotes"', "a\nb\r\n", "\u2028\u2029", "\u202egnp", "\x00\x07", "µΩ 🔧", "</script>"]
)
def test_any_text_stays_on_its_line(tmp_path: Path, text: str) -> None:
    with Journal.open(tmp_path) as journal:
        journal.append([Said(seq=1, at=START, text=text)])
    assert (tmp_path / "journal.jsonl").read_bytes().count(b"\n") == 1
    assert [event.text for event in read_journal(tmp_path).events if isinstance(event, Said)] == [text]


def test_a_session_goes_on_where_the_last_one_ended(tmp_path: Path) -> None:
    events = kiln_job()
    write_job(tmp_path, events[:4])
    seen: list[Event] = []
    with Journal.open(tmp_path, seen.append) as journal:
        assert seen == events[:4]
        assert journal.next_seq == 5
        journal.append(events[4:])
    read = read_journal(tmp_path)
    assert list(read.events) == events
    assert (
        read.integrity.last_sha256
        == hashlib.sha256((tmp_path / "journal.jsonl").read_bytes().splitlines()[-1]).hexdigest()
    )


def test_nothing_is_no_event(tmp_path: Path) -> None:
    with Journal.open(tmp_path) as journal:
        journal.append([])
    assert (tmp_path / "journal.jsonl").read_bytes() == b""
    assert read_journal(tmp_path).events == ()


# --- what is refused ----------------------------------------------------------------------------------------------
def test_events_must_continue_the_journal(tmp_path: Path) -> None:
    with Journal.open(tmp_path) as journal:
        journal.append(small_job())
        with pytest.raises(JournalError, match="event 1 does not follow 3"):
            journal.append(small_job())
    assert len(read_journal(tmp_path).events) == 3


def test_a_time_without_a_zone_is_refused(tmp_path: Path) -> None:
    with Journal.open(tmp_path) as journal, pytest.raises(JournalError, match="without a time zone"):
        journal.append([Said(seq=1, at=START.replace(tzinfo=None), text="Pass.")])


def test_an_event_that_would_not_come_back_is_refused(tmp_path: Path) -> None:
    s = Story()
    s.heard("rail five")
    s.events[-1] = s.events[-1].model_copy(update={"start_s": float("nan")})  # JSON has no such number
    with Journal.open(tmp_path) as journal, pytest.raises(JournalError, match="would not be read back"):
        journal.append(s.events)
    assert (tmp_path / "journal.jsonl").read_bytes() == b""


@pytest.mark.parametrize(
    "content", [b"RIFF\x24\x00\x00\x00WAVEfmt ", b"WEBVTT\n\n00:01.000 --> 00:02.000\nrail five\n", b"{}\n", b"[1]\n"]
)
def test_another_kind_of_file_is_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "journal.jsonl"
    path.write_bytes(content)
    with pytest.raises(JournalError, match="not a journal"):
        read_journal(path)
    with pytest.raises(JournalError, match="not a journal"):
        Journal.open(tmp_path)
    assert path.read_bytes() == content
    assert not (tmp_path / "journal.torn").exists()


def test_a_job_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match=r"journal\.jsonl: no journal here\. Name the folder of a job"):
        read_journal(tmp_path)


def test_a_file_in_the_way_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "kiln").write_text("a file")
    with pytest.raises(StorageError, match="a file is in the way"):
        Journal.open(tmp_path / "kiln")


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_a_folder_without_permission(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    was = os.geteuid()
    if was == 0:
        os.seteuid(65534)  # root may write everywhere; nobody may not
    try:
        with pytest.raises(StorageError, match="no permission to write here"):
            Journal.open(tmp_path / "kiln")
    finally:
        os.seteuid(was)


# --- an unfinished end --------------------------------------------------------------------------------------------
def without_seal(folder: Path) -> None:
    """As a copy of the journal alone, or as a journal whose seal was lost."""
    (folder / "journal.seal").unlink()


@pytest.mark.parametrize("sealed", [True, False])
def test_cut_at_every_byte_of_the_last_two_lines(in_memory: Path, sealed: bool) -> None:
    folder = in_memory
    events = small_job()
    whole = write_job(folder, events)
    seal = (folder / "journal.seal").read_bytes()
    ends = [0] + [i + 1 for i, byte in enumerate(whole) if byte == 0x0A]
    for cut in range(ends[-3], len(whole)):
        (folder / "journal.jsonl").write_bytes(whole[:cut])
        (folder / "journal.torn").unlink(missing_ok=True)
        if sealed:
            (folder / "journal.seal").write_bytes(seal)
        else:
            (folder / "journal.seal").unlink(missing_ok=True)
        n_whole = sum(end <= cut for end in ends) - 1
        n_torn = cut - ends[n_whole]
        read = read_journal(folder)
        assert list(read.events) == events[:n_whole]
        if sealed or n_torn:
            assert read.torn is not None
            assert (read.torn.line, read.torn.n_bytes) == (n_whole + 1, n_torn)
            assert read.torn.missing == (len(events) - n_whole if sealed else 0)
        else:
            assert read.torn is None
        with Journal.open(folder) as journal:
            assert journal.torn == read.torn
            journal.append(events[n_whole:])
        assert (folder / "journal.jsonl").read_bytes() == whole
        after = read_journal(folder)
        assert after.torn is None
        assert after.integrity.set_aside == (() if read.torn is None else (read.torn,))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(garbage=st.binary(min_size=1, max_size=200), sealed=st.booleans())
def test_garbage_after_the_end_is_set_aside_and_kept(job: Path, garbage: bytes, sealed: bool) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file in job.glob("journal.*"):
            (folder / file.name).write_bytes(file.read_bytes())
        if not sealed:
            without_seal(folder)
        whole = (folder / "journal.jsonl").read_bytes()
        (folder / "journal.jsonl").write_bytes(whole + garbage)
        seen: list[Event] = []
        with Journal.open(folder, seen.append) as journal:
            assert journal.torn is not None
            assert (journal.torn.line, journal.torn.n_bytes) == (len(kiln_job()) + 1, len(garbage))
            assert journal.torn.missing == 0
            assert seen == kiln_job()
        assert (folder / "journal.jsonl").read_bytes() == whole
        kept = json.loads((folder / "journal.torn").read_text())
        assert base64.b64decode(kept["data_base64"]) == garbage


def test_a_first_write_cut_short(tmp_path: Path) -> None:
    whole = write_job(tmp_path / "whole", small_job())
    for number, start in enumerate((whole[:1], whole[:7], whole[:40], b"\0" * 512)):
        folder = tmp_path / str(number)
        folder.mkdir()
        (folder / "journal.jsonl").write_bytes(start)
        with Journal.open(folder) as journal:
            assert journal.torn is not None
            assert journal.torn.line == 1
            journal.append(small_job())
        assert len(read_journal(folder).events) == 3


def test_setting_aside_is_itself_cut_short(tmp_path: Path) -> None:
    write_job(tmp_path, small_job())
    with (tmp_path / "journal.jsonl").open("ab") as file:
        file.write(b'{"seq":4')
    (tmp_path / "journal.torn").write_bytes(b'{"line":4,"n_by')
    Journal.open(tmp_path).close()
    aside = read_journal(tmp_path).integrity.set_aside
    assert [(torn.line, torn.n_bytes) for torn in aside] == [(4, 8)]


def test_an_utterance_kept_by_half_is_reported(tmp_path: Path) -> None:
    s = Story()
    s.heard("rail five reads five point oh")
    s.reading("rail 5", "5.0")
    s.heard("correction five point one")
    s.command("correction", value="5.1", unit="V")
    s.withdrawn(2, heard=3)
    s.reading("rail 5", "5.1", heard=3, corrects=2)
    for n_kept, incomplete in ((1, (1,)), (2, ()), (3, (3,)), (4, (3,)), (5, (3,)), (6, ())):
        folder = tmp_path / str(n_kept)
        write_job(folder, s.events[:n_kept])
        integrity = read_journal(folder).integrity
        assert integrity.incomplete == incomplete
        assert integrity.remarks() == tuple(
            f"line {seq}: what was said then was cut off before it was confirmed; say it again" for seq in incomplete
        )


# --- damage -------------------------------------------------------------------------------------------------------
def test_every_flipped_bit_is_found_with_its_line(in_memory: Path) -> None:
    whole = write_job(in_memory, small_job())
    line = 1
    for place, byte in enumerate(whole):
        for bit in range(8):
            flipped = whole[:place] + bytes([byte ^ (1 << bit)]) + whole[place + 1 :]
            (in_memory / "journal.jsonl").write_bytes(flipped)
            with pytest.raises(JournalError, match=f"journal.jsonl, line {line}: .*Restore the journal from a copy"):
                read_journal(in_memory)
        line += byte == 0x0A


def test_damage_is_never_mended_by_writing(job: Path) -> None:
    path = job / "journal.jsonl"
    damaged = path.read_bytes().replace(b'"value":"4.0"', b'"value":"3.3"')
    path.write_bytes(damaged)
    before = {file.name: file.read_bytes() for file in job.iterdir()}
    with pytest.raises(JournalError, match="line 8: the chain of hashes is broken here"):
        Journal.open(job)
    assert {file.name: file.read_bytes() for file in job.iterdir()} == before


@pytest.mark.parametrize("sealed", [True, False])
def test_a_line_taken_out_put_in_or_moved(job: Path, sealed: bool) -> None:
    path = job / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    if not sealed:
        without_seal(job)
    for changed in (
        lines[:4] + lines[5:],
        [*lines[:4], lines[3], *lines[4:]],
        [*lines[:4], lines[5], lines[4], *lines[6:]],
    ):
        path.write_bytes(b"".join(changed))
        with pytest.raises(JournalError, match=r"line 5: event \d stands where 5 belongs"):
            read_journal(job)


def test_without_a_seal_the_chain_still_finds_all_but_the_last_line(job: Path) -> None:
    without_seal(job)
    path = job / "journal.jsonl"
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b'"text":"so anyway"', b'"text":"so anyhow"', 1))
    with pytest.raises(JournalError, match="line 18: the chain"):
        read_journal(job)
    path.write_bytes(whole.replace(b"by voice", b"by noise"))
    assert read_journal(job).integrity.seal == "none"


def test_a_damaged_seal_is_no_seal(job: Path) -> None:
    seal = job / "journal.seal"
    seal.write_bytes(seal.read_bytes().replace(b"0", b"1", 1))
    assert read_journal(job).integrity.seal == "none"
    Journal.open(job).close()
    assert read_journal(job).integrity.seal == "holds"


def test_lines_that_vanished_from_the_end_are_counted(job: Path) -> None:
    path = job / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:-3]))
    with Journal.open(job) as journal:
        assert journal.torn is not None
        assert journal.torn.missing == 3
        assert str(journal.torn) == (
            "line 25: 3 lines that had been confirmed can no longer be read; check the last readings"
        )
        journal.append([Said(seq=25, at=START, text="Said again.")])
    assert [torn.missing for torn in read_journal(job).integrity.set_aside] == [3]


# --- other processes, and failing disks ---------------------------------------------------------------------------
WRITER = """
import sys, time
from pathlib import Path
from benchvoice.errors import BenchvoiceError
from benchvoice.keep import disk
from benchvoice.keep.journal import Journal
from tests.keep.builders import Story

folder, count, pad = Path(sys.argv[1]), int(sys.argv[2]), "x" * int(sys.argv[3])
story = Story()
try:
    journal = Journal.open(folder, story.events.append)
except BenchvoiceError as error:
    print(error, file=sys.stderr)
    sys.exit(2)
print("open", len(story.events), flush=True)
for _ in range(count):
    start = len(story.events)
    story.heard("rail five reads five point oh one" + pad)
    story.reading("rail 5", "5.01")
    try:
        journal.append(story.events[start:])
    except BenchvoiceError as error:
        print(error, file=sys.stderr)
        sys.exit(2)
    print("kept", len(story.events), flush=True)
time.sleep(60)
"""
ROOT = Path(__file__).parents[2]


def start_writer(folder: Path, count: int, pad: int = 0, limit: str = "") -> subprocess.Popen[str]:
    code = f"{limit}\n{WRITER}"
    command = [sys.executable, "-c", code, str(folder), str(count), str(pad)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT)


def test_two_processes_cannot_write_one_job(tmp_path: Path) -> None:
    first = start_writer(tmp_path, 1)
    try:
        assert first.stdout is not None
        assert first.stdout.readline() == "open 0\n"
        assert first.stdout.readline() == "kept 2\n"
        second = start_writer(tmp_path, 1)
        out, err = second.communicate(timeout=60)
        assert (second.returncode, out) == (2, "")
        assert err == (
            f"{tmp_path}: another benchvoice has this job open. "
            "Close it there first, or choose another job with --job.\n"
        )
        with pytest.raises(JobBusyError, match="another benchvoice has this job open"):
            Journal.open(tmp_path)
        assert len(read_journal(tmp_path).events) == 2  # reading needs no lock
    finally:
        first.kill()
        first.communicate()
    with Journal.open(tmp_path) as journal:  # a killed process leaves no lock behind
        assert journal.next_seq == 3


def test_one_process_cannot_open_a_job_twice(tmp_path: Path) -> None:
    with Journal.open(tmp_path), pytest.raises(JobBusyError, match="another benchvoice has this job open"):
        Journal.open(tmp_path)
    Journal.open(tmp_path).close()


def test_a_job_may_be_closed_by_another_thread(tmp_path: Path) -> None:
    journal = Journal.open(tmp_path)
    thread = threading.Thread(target=journal.close)
    thread.start()
    thread.join()
    Journal.open(tmp_path).close()


def test_whatever_was_confirmed_survives_a_kill(tmp_path: Path) -> None:
    confirmed = 0
    for round_number in range(12):
        writer = start_writer(tmp_path, 100_000, pad=3000)
        assert writer.stdout is not None
        assert writer.stdout.readline() == f"open {confirmed}\n"
        time.sleep(0.01 * round_number)
        writer.kill()
        out, _ = writer.communicate()
        told = [int(line.split()[1]) for line in out.splitlines() if line.startswith("kept ") and line[-1].isdigit()]
        read = read_journal(tmp_path)
        assert len(read.events) >= max(told, default=confirmed)
        assert read.integrity.seal == "holds"
        assert read.torn is None or read.torn.missing == 0
        confirmed = len(read.events)
    assert confirmed > 0
    with Journal.open(tmp_path) as journal:
        assert journal.next_seq == confirmed + 1


@pytest.mark.skipif(os.name == "nt", reason="Windows has no limit on the size of a process's files")
def test_a_write_that_does_not_fit_leaves_the_journal_as_before(tmp_path: Path) -> None:
    limit = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (9000, 9000))"
    writer = start_writer(tmp_path, 1000, pad=500, limit=limit)
    out, err = writer.communicate(timeout=60)
    assert writer.returncode == 2
    assert "the file would grow past the allowed size" in err
    kept = int(out.splitlines()[-1].split()[1])
    read = read_journal(tmp_path)
    assert len(read.events) == kept > 0
    assert read.torn is None


@pytest.fixture
def full_disk(tmp_path: Path) -> Iterator[Path]:
    """A folder on a file system of 64 KiB."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        pytest.skip("only root may mount a small file system")
    place = tmp_path / "small"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(place)]
    mounted = subprocess.run(mount, capture_output=True, text=True, check=False)
    if mounted.returncode != 0:
        pytest.skip(f"a small file system cannot be mounted here: {mounted.stderr.strip()}")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_full_disk(full_disk: Path) -> None:
    s = Story()

    def fill(journal: Journal) -> None:
        while len(s.events) < 1000:
            start = len(s.events)
            s.heard("rail five reads five point oh" + "x" * 700)
            s.reading("rail 5", "5.0")
            journal.append(s.events[start:])

    with Journal.open(full_disk / "job") as journal:
        with pytest.raises(StorageError, match=r"journal\.jsonl: the disk is full\. Free some space and say it again"):
            fill(journal)
        confirmed = journal.next_seq - 1
        assert 0 < confirmed < len(s.events)
        assert list(read_journal(full_disk / "job").events) == s.events[:confirmed]
        with pytest.raises(StorageError, match="the disk is full"):
            journal.append([_big(confirmed + 1)])
        subprocess.run(["mount", "-o", "remount,size=256k", str(full_disk)], check=True)
        journal.append([_big(confirmed + 1)])
    read = read_journal(full_disk / "job")
    assert len(read.events) == confirmed + 1
    assert read.torn is None


def _big(seq: int) -> Heard:
    return Heard(seq=seq, at=START, source="s", text="x" * 70_000, engine="panel", outcome="ignored")


def test_a_failed_write_that_cannot_be_undone_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(*_: object) -> None:
        raise OSError(errno.EIO, "Input/output error")

    with Journal.open(tmp_path) as journal:
        journal.append(small_job())
        # the real disk cannot be made to fail on demand: the two system calls fail instead
        monkeypatch.setattr("benchvoice.keep.journal.sync_file", gone)
        monkeypatch.setattr(os, "ftruncate", gone)
        with pytest.raises(StorageError, match="the unfinished write could not be undone"):
            journal.append([Said(seq=4, at=START, text="Pass.")])
        monkeypatch.undo()
        with pytest.raises(JournalError, match="could not be mended after a failed write"):
            journal.append([Said(seq=4, at=START, text="Pass.")])
    assert len(read_journal(tmp_path).events) >= 3


@pytest.mark.parametrize("after", ["write_all", "sync_file"])
def test_an_interrupt_leaves_the_journal_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, after: str) -> None:
    def interrupted_after(name: str) -> Callable[..., None]:
        real: Callable[..., None] = getattr(disk, name)
        calls = []

        def call(*arguments: object) -> None:
            real(*arguments)
            calls.append(name)
            if len(calls) == 1:
                raise KeyboardInterrupt("stop")

        return call

    with Journal.open(tmp_path) as journal:
        journal.append(small_job())
        with monkeypatch.context() as patch:
            patch.setattr(f"benchvoice.keep.journal.{after}", interrupted_after(after))
            with pytest.raises(KeyboardInterrupt, match="stop"):
                journal.append([Said(seq=4, at=START, text="Pass.")])
        journal.append([Said(seq=4, at=START, text="Fail.")])
    assert [event.text for event in read_journal(tmp_path).events if isinstance(event, Said)][-1] == "Fail."

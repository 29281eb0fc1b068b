"""The journal: what happened, one event a line, on the disk before it is spoken.

A job's folder holds `journal.jsonl` (the events), `journal.seal` (how far it was confirmed), `journal.lock` (held by
the one process that writes), `journal.torn` (unfinished ends that power cuts left; never deleted) and `clips/`.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Sequence
from datetime import UTC
from pathlib import Path
from types import TracebackType
from typing import Self

import filelock
from pydantic_core import PydanticSerializationError

from benchvoice.errors import JobBusyError, JournalError, StorageError
from benchvoice.events import Event
from benchvoice.keep.disk import BINARY, storage_error, sync_file, sync_folder, write_all
from benchvoice.keep.integrity import TornLine
from benchvoice.keep.journal_reader import (
    TORN_NAME,
    JournalRead,
    JournalReader,
    event_line,
    line_sha256,
    parse_line,
    read_journal,
    torn_entry,
)
from benchvoice.keep.seal import End, SealFile

__all__ = ["JOURNAL_NAME", "LOCK_NAME", "Journal", "JournalRead", "TornLine", "lock_job", "read_journal"]

JOURNAL_NAME = "journal.jsonl"
LOCK_NAME = "journal.lock"


def lock_job(folder: Path) -> filelock.BaseFileLock:
    """The lock of the job in `folder`, which is made where missing; held until it is released.

    Raises:
        JobBusyError: another process has the job open.
        StorageError: no permission, or a file is in the way.
    """
    lock = filelock.FileLock(folder / LOCK_NAME, timeout=0, thread_local=False)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        lock.acquire()
    except filelock.Timeout as busy:
        raise JobBusyError(
            "another benchvoice has this job open",
            file=folder,
            cure="Close it there first, or choose another job with --job",
        ) from busy
    except OSError as cause:
        raise storage_error(cause, folder) from cause
    return lock


class Journal:
    """A job's journal, open for writing by this process alone. Made by `Journal.open`.

    Attributes:
        folder: the job's folder.
        integrity: how whole it was when it was opened; an unfinished end has been moved to `journal.torn` since.
    """

    def __init__(
        self, folder: Path, lock: filelock.BaseFileLock, reader: JournalReader, see: Callable[[Event], None]
    ) -> None:
        self.folder = folder
        self._lock = lock
        self._broken = False
        if reader.path.exists():
            for event in reader:
                see(event)
        self.integrity = reader.integrity
        self._end = reader.end
        if self.integrity.torn is not None:
            self._set_aside(self.integrity.torn, reader.tail)
        self._descriptor = os.open(reader.path, os.O_RDWR | os.O_CREAT | os.O_APPEND | BINARY, 0o666)
        try:
            os.ftruncate(self._descriptor, self._end.n_bytes)
            sync_file(self._descriptor)
            self._seal = SealFile(reader.path)
            self._seal.write(self._end)
            sync_folder(folder)
        except OSError:
            os.close(self._descriptor)
            raise

    @classmethod
    def open(cls, folder: Path, see: Callable[[Event], None] = lambda _: None) -> Self:
        """Opens the journal of the job in `folder`, making both where missing, and locks it.

        An unfinished end is moved to `journal.torn`, and stands in `integrity`.

        Args:
            folder: the job's folder.
            see: is given every event that is in the journal, in order. Nothing was changed yet where it raises.

        Raises:
            JobBusyError: another process has the job open.
            JournalError: the journal is damaged, with the line; nothing is changed.
            StorageError: no permission, the disk is full, or a file is in the way.
        """
        lock = lock_job(folder)
        with contextlib.ExitStack() as undo:
            undo.callback(lock.release)
            try:
                journal = cls(folder, lock, JournalReader(folder / JOURNAL_NAME), see)
            except OSError as cause:
                raise storage_error(cause, folder) from cause
            undo.pop_all()
        return journal

    @property
    def torn(self) -> TornLine | None:
        """The unfinished end that was set aside when the journal was opened."""
        return self.integrity.torn

    @property
    def next_seq(self) -> int:
        """The `seq` that the next event must have."""
        return self._end.lines + 1

    @property
    def last_sha256(self) -> str:
        """SHA-256 of the last line, hexadecimal."""
        return self._end.sha256

    def append(self, events: Sequence[Event]) -> tuple[bytes, ...]:
        """Keeps all events of one utterance: one write, and on the disk before this returns. All of them or none.

        Returns:
            The events as they stand in the journal, each line with its end.

        Raises:
            JournalError: they do not continue the journal, an event would not be read back as it is, or an earlier
                failure could not be undone.
            StorageError: the disk is full or gone; the journal is as before.
        """
        if not events:
            return ()
        if self._broken:
            raise JournalError("the journal could not be mended after a failed write", file=self._path, cure=_REOPEN)
        end, lines = self._lines(events)
        before = self._end
        try:
            write_all(self._descriptor, b"".join(lines))
            sync_file(self._descriptor)
            self._seal.write(end)
            self._end = end
        except OSError as cause:
            failed = storage_error(cause, self._path)
            raise self._roll_back(before, failed) from cause
        except BaseException as interrupt:
            interrupt.add_note("what was said last was not kept")
            # an interrupt may come after the write: without this the next event would follow lines nobody knows of
            self._roll_back(before)
            raise
        return lines

    def close(self) -> None:
        """Closes the files and gives the job free. The journal is whole at any time, closed or not."""
        if self._lock.is_locked:
            os.close(self._descriptor)
            self._seal.close()
            self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    @property
    def _path(self) -> Path:
        return self.folder / JOURNAL_NAME

    def _lines(self, events: Sequence[Event]) -> tuple[End, tuple[bytes, ...]]:
        end, lines = self._end, list[bytes]()
        for event in events:
            if event.seq != end.lines + 1:
                raise JournalError(f"event {event.seq} does not follow {end.lines}", file=self._path)
            if event.at.tzinfo is None:
                raise JournalError(f"event {event.seq} has a time without a time zone", file=self._path)
            in_utc = event.model_copy(update={"at": event.at.astimezone(UTC)})
            line = self._checked_line(in_utc, end.sha256)
            lines.append(line + b"\n")
            end = End(event.seq, end.n_bytes + len(line) + 1, line_sha256(line))
        return end, tuple(lines)

    def _checked_line(self, event: Event, prev: str) -> bytes:
        try:
            line = event_line(event, prev)
            same = parse_line(line + b"\n") == (event, prev)
        except PydanticSerializationError as cause:
            raise JournalError(f"event {event.seq} cannot be written ({cause})", file=self._path) from cause
        if not same:
            raise JournalError(f"event {event.seq} would not be read back as it is", file=self._path)
        return line

    def _roll_back(self, before: End, failed: StorageError | None = None) -> StorageError:
        """Makes the files what they were before a write that failed; the error to raise."""
        self._end = before
        try:
            os.ftruncate(self._descriptor, before.n_bytes)
            self._seal.write(before)
            sync_file(self._descriptor)
        except OSError as again:
            self._broken = True
            what = f"{failed.what if failed else 'interrupted'}, and the unfinished write could not be undone ({again})"
            return StorageError(what, file=self._path, cure=_REOPEN)
        return failed or StorageError("interrupted", file=self._path)

    def _set_aside(self, torn: TornLine, tail: bytes) -> None:
        path = self.folder / TORN_NAME
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND | BINARY, 0o666)
        try:
            n_bytes = os.lseek(descriptor, 0, os.SEEK_END)
            os.lseek(descriptor, max(0, n_bytes - 1), os.SEEK_SET)
            whole = os.read(descriptor, 1) in (b"", b"\n")
            write_all(descriptor, (b"" if whole else b"\n") + torn_entry(torn, self._end.sha256, tail))
            sync_file(descriptor)
        finally:
            os.close(descriptor)
        sync_folder(self.folder)


_REOPEN = "Start benchvoice again on this job: the unfinished end is then set aside"

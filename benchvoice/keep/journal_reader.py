"""Reading a journal: every line verified, an unfinished end told from damage.

A line is one event as compact JSON in UTF-8 with `prev`, the SHA-256 of the line before without its newline. Line n
holds the event with `seq` n. What does not verify is either the unfinished end that a power cut leaves (reported as a
`TornLine`) or damage (`JournalError` with the line).
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, NamedTuple

from pydantic import BaseModel, ConfigDict, ValidationError

from benchvoice.errors import JournalError, StorageError
from benchvoice.events import EVENTS, Asked, Command, Event, Heard, Reading, Withdrawn
from benchvoice.keep.integrity import Integrity, TornLine
from benchvoice.keep.seal import End, read_seal

__all__ = [
    "TORN_NAME",
    "JournalRead",
    "JournalReader",
    "event_line",
    "line_sha256",
    "parse_line",
    "read_journal",
    "torn_entry",
]

TORN_NAME = "journal.torn"

_COPY = "Restore the journal from a copy; nothing was changed"
_START = b'{"seq":1,"at":"'


def event_line(event: Event, prev: str) -> bytes:
    """The journal's line for `event`, without its newline: keys in model order, `prev` last."""
    return EVENTS.dump_json(event)[:-1] + f',"prev":"{prev}"}}'.encode()


def line_sha256(line: bytes) -> str:
    """SHA-256 of a line without its newline, hexadecimal."""
    return hashlib.sha256(line).hexdigest()


class _Line(NamedTuple):
    event: Event
    prev: str


def parse_line(raw: bytes) -> _Line | str:
    """A line with its newline; or what is wrong with it, as a phrase."""
    if not raw.endswith(b"\n"):
        return "the line has no end"
    try:
        fields = json.loads(raw)
    except (ValueError, RecursionError):
        return "not a line of JSON"
    if not isinstance(fields, dict) or not re.fullmatch(r"[0-9a-f]{64}", str(fields.get("prev"))):
        return "not an event with the hash of the line before it"
    prev = str(fields.pop("prev"))
    try:
        return _Line(EVENTS.validate_python(fields), prev)
    except ValidationError as wrong:
        first = wrong.errors()[0]
        field = ".".join(str(part) for part in first["loc"]) or "the line"
        return f"not an event benchvoice knows ({field}: {first['msg']})"


class _Followers:
    """Finds utterances whose outcome is there but not all that had to follow it."""

    def __init__(self) -> None:
        self.incomplete: list[int] = []
        self._open: Heard | None = None
        self._waits = False
        self._corrects = False

    def see(self, event: Event | None) -> None:
        """The next event, or None at the end."""
        if event is None or event.kind in ("heard", "opened", "said", "closed"):
            if self._open is not None and self._waits:
                self.incomplete.append(self._open.seq)
            self._open, self._waits, self._corrects = None, False, False
        if isinstance(event, Heard):
            self._open, self._waits = event, event.outcome != "ignored"
        elif self._open is not None and self._waits and event is not None:
            self._waits = not self._fulfils(event, self._open)

    def _fulfils(self, event: Event, opened: Heard) -> bool:
        """Whether nothing more has to follow a question, or what was taken; of a correction its value has to."""
        if opened.outcome == "asked":
            return isinstance(event, Asked)
        if isinstance(event, Command) and event.name == "correction":
            self._corrects = True
            return False
        if self._corrects:
            return isinstance(event, Reading)
        return getattr(event, "heard", None) == opened.seq and not isinstance(event, Withdrawn | Asked)


class _TornEntry(BaseModel):
    """A line of `journal.torn`."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    line: int
    n_bytes: int
    missing: int
    after_sha256: str
    data_base64: str


def torn_entry(torn: TornLine, after_sha256: str, data: bytes) -> bytes:
    """The line for `journal.torn` that keeps an unfinished end, with its newline."""
    entry = _TornEntry(
        line=torn.line,
        n_bytes=torn.n_bytes,
        missing=torn.missing,
        after_sha256=after_sha256,
        data_base64=base64.b64encode(data).decode(),
    )
    return entry.model_dump_json().encode() + b"\n"


def _set_aside(journal: Path) -> tuple[TornLine, ...]:
    path = journal.with_name(TORN_NAME)
    if not path.exists():
        return ()
    kept = []
    for raw in path.read_bytes().splitlines():
        try:
            entry = _TornEntry.model_validate_json(raw)
        except ValidationError:
            continue  # a power cut while setting aside: the end is still in the journal and is set aside again
        kept.append(TornLine(line=entry.line, n_bytes=entry.n_bytes, missing=entry.missing))
    return tuple(kept)


class JournalReader:
    """Iterates over a journal's events in flat memory, without a lock, each time from its beginning.

    Attributes:
        integrity: how whole the journal is, as the last iteration that came to its end has shown.
        end: the last whole line.
        tail: the bytes of its unfinished end, b"" where there is none.

    Raises (while iterating):
        JournalError: damage, with the line; or not a journal.
        StorageError: it cannot be read.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.integrity = Integrity()
        self.end = End()
        self.tail = b""

    def __iter__(self) -> Iterator[Event]:
        followers = _Followers()
        self.end, self.tail = End(), b""
        try:
            seal = read_seal(self.path)
            with self.path.open("rb") as file:
                for event in self._events(file, seal):
                    followers.see(event)
                    yield event
            aside = _set_aside(self.path)
        except FileNotFoundError as cause:
            raise JournalError(
                "no journal here", file=self.path, cure="Name the folder of a job, or its journal"
            ) from cause
        except OSError as cause:
            raise StorageError(
                f"cannot be read ({cause.strerror})", file=self.path, cure="Check its permissions"
            ) from cause
        followers.see(None)
        self.integrity = Integrity(
            lines=self.end.lines,
            last_sha256=self.end.sha256,
            seal="none" if seal is None else "holds",
            torn=self._torn(seal),
            set_aside=aside,
            incomplete=tuple(followers.incomplete),
        )

    def _events(self, file: BinaryIO, seal: End | None) -> Iterator[Event]:
        for raw in file:
            number = self.end.lines + 1
            line = parse_line(raw)
            if isinstance(line, str):
                self.tail = self._unfinished(raw, line, file, seal)
                return
            if line.event.seq != number:
                what = f"event {line.event.seq} stands where {number} belongs: lines were changed, removed or added"
                raise JournalError(what, file=self.path, line=number, cure=_COPY)
            if line.prev != self.end.sha256:
                raise self._broken(number, raw, file, seal)
            self.end = End(number, self.end.n_bytes + len(raw), line_sha256(raw[:-1]))
            if seal is not None and seal.lines == number and seal != self.end:
                what = "the line is not as it was confirmed: it was changed afterwards"
                raise JournalError(what, file=self.path, line=number, cure=_COPY)
            yield line.event

    def _broken(self, number: int, raw: bytes, file: BinaryIO, seal: End | None) -> JournalError:
        """The chain does not hold between lines number - 1 and number: names the one that was changed."""
        sha256 = line_sha256(raw[:-1])
        following = parse_line(file.readline())
        intact = sha256 in (None if isinstance(following, str) else following.prev, None if seal is None else seal[2])
        line = number - 1 if intact and number > 1 else number
        what = "the chain of hashes is broken here: this line was changed after it was written"
        return JournalError(what, file=self.path, line=line, cure=_COPY)

    def _unfinished(self, raw: bytes, wrong: str, file: BinaryIO, seal: End | None) -> bytes:
        """The bytes from a bad line to the end, if they can be the unfinished end of a write.

        Raises:
            JournalError: they cannot: good lines follow, or they were confirmed, or this never was a journal.
        """
        number = self.end.lines + 1
        tail = bytearray(raw)
        for later in file:
            if not isinstance(parse_line(later), str):
                raise JournalError(wrong, file=self.path, line=number, cure=_COPY)
            tail += later
        if seal is not None and self.end.n_bytes < seal.n_bytes <= self.end.n_bytes + len(tail):
            what = f"{wrong}, though it had been confirmed: it was damaged afterwards"
            raise JournalError(what, file=self.path, line=number, cure=_COPY)
        # a first write cut short is the beginning of a line, or the zeros of a block that was never filled
        started = bytes(tail[: len(_START)])
        if number == 1 and not _START.startswith(started) and started != _START and tail.strip(b"\0"):
            raise JournalError("this is not a journal of benchvoice", file=self.path, line=1)
        return bytes(tail)

    def _torn(self, seal: End | None) -> TornLine | None:
        missing = 0 if seal is None else max(0, seal.lines - self.end.lines)
        if not self.tail and not missing:
            return None
        return TornLine(line=self.end.lines + 1, n_bytes=len(self.tail), missing=missing)


@dataclass(frozen=True)
class JournalRead:
    """A journal that was read whole.

    Attributes:
        events: its events in order.
        integrity: how whole it is.
    """

    events: tuple[Event, ...]
    integrity: Integrity

    @property
    def torn(self) -> TornLine | None:
        """The unfinished end that is still in the file."""
        return self.integrity.torn


def read_journal(path: Path) -> JournalRead:
    """Reads a journal, or the journal in a job's folder, without a lock and without changing anything.

    Raises:
        JournalError: damage, with the line; not a journal; or none there.
        StorageError: it cannot be read.
    """
    reader = JournalReader(path / "journal.jsonl" if path.is_dir() else path)
    events = tuple(reader)
    return JournalRead(events, reader.integrity)

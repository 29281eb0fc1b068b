"""The seal: how far a journal was last confirmed, in a small file beside it.

The chain of hashes protects every line but the last, and cannot tell that lines vanished from the end. The seal can.
It is written after the journal is on the disk, so it may lag behind after a power cut but never runs ahead: what it
covers was confirmed, and a fault there is damage, not an unfinished write.
"""

from __future__ import annotations

import hashlib
import os
import re
from pathlib import Path
from typing import NamedTuple

from benchvoice.keep.disk import BINARY, write_all
from benchvoice.keep.integrity import FIRST_PREV

__all__ = ["SEAL_NAME", "End", "SealFile", "read_seal"]

SEAL_NAME = "journal.seal"

_LINE = re.compile(rb"(?P<told>(?P<lines>\d{12}) (?P<size>\d{15}) (?P<sha256>[0-9a-f]{64})) (?P<check>[0-9a-f]{16})\n")


class End(NamedTuple):
    """The end of a journal: its number of lines, its size in bytes, and the SHA-256 of its last line."""

    lines: int = 0
    n_bytes: int = 0
    sha256: str = FIRST_PREV


def _check(told: bytes) -> bytes:
    return hashlib.sha256(told).hexdigest()[:16].encode()


def read_seal(journal: Path) -> End | None:
    """The seal beside `journal`; None where there is none or it is itself damaged.

    Raises:
        OSError: it cannot be read.
    """
    path = journal.with_name(SEAL_NAME)
    if not path.exists():
        return None
    match = _LINE.fullmatch(path.read_bytes())
    if match is None or _check(match["told"]) != match["check"]:
        return None
    return End(int(match["lines"]), int(match["size"]), match["sha256"].decode())


class SealFile:
    """The seal of an open journal, always the same 109 bytes, overwritten in place.

    Raises:
        OSError: it cannot be opened or written.
    """

    def __init__(self, journal: Path) -> None:
        flags = os.O_RDWR | os.O_CREAT | BINARY
        self._descriptor = os.open(journal.with_name(SEAL_NAME), flags, 0o666)

    def write(self, end: End) -> None:
        told = f"{end.lines:012d} {end.n_bytes:015d} {end.sha256}".encode()
        line = told + b" " + _check(told) + b"\n"
        os.lseek(self._descriptor, 0, os.SEEK_SET)
        write_all(self._descriptor, line)
        os.ftruncate(self._descriptor, len(line))

    def close(self) -> None:
        os.close(self._descriptor)

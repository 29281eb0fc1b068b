"""Writing that survives a power cut: whole or not at all, and on the disk before it returns."""

from __future__ import annotations

import errno
import os
import secrets
from pathlib import Path
from types import TracebackType
from typing import Self

from benchvoice.errors import StorageError

__all__ = ["BINARY", "WholeFile", "storage_error", "sync_file", "sync_folder", "write_all", "write_whole"]


BINARY = getattr(os, "O_BINARY", 0)
"""For `os.open`: Windows would change line ends otherwise."""


def storage_error(cause: OSError, path: Path) -> StorageError:
    """What the operating system refused at `path`, as a sentence with its cure."""
    if cause.errno in (errno.ENOSPC, errno.EDQUOT):
        what, cure = "the disk is full", "Free some space and say it again, or choose another folder with --jobs"
    elif cause.errno == errno.EFBIG:
        what, cure = (
            "the file would grow past the allowed size",
            "Raise the limit, or choose another folder with --jobs",
        )
    elif cause.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        what, cure = "no permission to write here", "Choose another folder with --jobs, or change its permissions"
    elif cause.errno in (errno.EEXIST, errno.ENOTDIR):
        what, cure = "a file is in the way of this folder", "Choose another folder with --jobs"
    else:
        what, cure = f"cannot be written ({cause.strerror or cause})", "Choose another folder with --jobs"
    return StorageError(what, file=path, cure=cure)


def write_all(descriptor: int, data: bytes | bytearray) -> None:
    """Writes all of `data`: one system call, unless the system takes less at a time.

    Raises:
        OSError: the system refused; part of `data` may have been written.
    """
    with memoryview(data) as view:
        written = 0
        while written < len(view):
            written += os.write(descriptor, view[written:])


def sync_file(descriptor: int) -> None:
    """Returns once what was written is on the disk itself."""
    full_sync = None
    if os.name == "posix":
        import fcntl

        full_sync = getattr(fcntl, "F_FULLFSYNC", None)  # macOS: fsync alone stops at the drive's cache
    if full_sync is None:
        os.fsync(descriptor)
    else:
        fcntl.fcntl(descriptor, full_sync)


def sync_folder(folder: Path) -> None:
    """Returns once the names in `folder` are on the disk (Windows keeps them without being asked)."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


class WholeFile:
    """A file written piece by piece, of which there is never a half under its name; its folder is made where missing.

    It takes its name by `finish`; without it, nothing is left behind. A file of that name is replaced.

    Raises:
        StorageError: no permission, the disk is full, or a file is in the way of the folder. So do all methods.
    """

    _AT_ONCE = 1 << 16  # bytes

    def __init__(self, path: Path) -> None:
        self.path = path
        self._unfinished = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
        self._waiting = bytearray()
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._descriptor = os.open(self._unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL | BINARY, 0o666)
        except OSError as cause:
            raise storage_error(cause, path.parent) from cause
        self._open = True

    def write(self, data: bytes) -> None:
        """The next piece."""
        self._waiting += data
        if len(self._waiting) >= self._AT_ONCE:
            self._flush()

    def finish(self) -> None:
        """Returns once the file is on the disk under its name."""
        self._flush()
        try:
            sync_file(self._descriptor)
            self._close()
            self._unfinished.replace(self.path)
            sync_folder(self.path.parent)
        except OSError as cause:
            raise storage_error(cause, self.path) from cause

    def _flush(self) -> None:
        try:
            write_all(self._descriptor, self._waiting)
        except OSError as cause:
            raise storage_error(cause, self.path) from cause
        self._waiting.clear()

    def _close(self) -> None:
        if self._open:
            self._open = False
            os.close(self._descriptor)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, at: TracebackType | None) -> None:
        self._close()
        self._unfinished.unlink(missing_ok=True)  # there is none any more once it is finished


def write_whole(path: Path, data: bytes) -> None:
    """Writes a file so that there is never a half of it under its name; its folder is made where missing.

    Raises:
        StorageError: no permission, the disk is full, or a file is in the way of the folder.
    """
    with WholeFile(path) as file:
        file.write(data)
        file.finish()

"""Writing that survives a power cut: whole or not at all, and on the disk before it returns."""

from __future__ import annotations

import errno
import os
import secrets
from pathlib import Path

from benchvoice.errors import StorageError

__all__ = ["BINARY", "storage_error", "sync_file", "sync_folder", "write_all", "write_whole"]


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


def write_all(descriptor: int, data: bytes) -> None:
    """Writes all of `data`: one system call, unless the system takes less at a time.

    Raises:
        OSError: the system refused; part of `data` may have been written.
    """
    view = memoryview(data)
    while view:
        view = view[os.write(descriptor, view) :]


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


def write_whole(path: Path, data: bytes) -> None:
    """Writes a file so that there is never a half of it under its name; its folder is made where missing.

    Raises:
        StorageError: no permission, the disk is full, or a file is in the way of the folder.
    """
    unfinished = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL | BINARY, 0o666)
    except OSError as cause:
        raise storage_error(cause, path.parent) from cause
    try:
        try:
            write_all(descriptor, data)
            sync_file(descriptor)
        finally:
            os.close(descriptor)
        unfinished.replace(path)
        sync_folder(path.parent)
    except OSError as cause:
        unfinished.unlink(missing_ok=True)
        raise storage_error(cause, path) from cause

"""A job's journal copied into a folder of its own, with what lies beside it."""

from __future__ import annotations

import filecmp
import shutil
from pathlib import Path

from benchvoice.errors import JournalError
from benchvoice.keep.disk import WholeFile, storage_error
from benchvoice.keep.journal import JOURNAL_NAME, lock_job
from benchvoice.keep.journal_reader import TORN_NAME
from benchvoice.keep.seal import SEAL_NAME

__all__ = ["copy_job", "copy_whole"]


def copy_job(journal: Path, folder: Path) -> Path:
    """Makes `folder` hold a copy of a journal, of its clips, and of what tells how whole it is.

    A copy that is there already is left as it is; so is the journal itself, where it lies in `folder`.

    Returns:
        The journal in `folder`.

    Raises:
        JobBusyError: another process has the job in `folder` open.
        JournalError: `folder` holds another journal, or a record without its journal; nothing was changed.
        StorageError: something cannot be read or written.
    """
    copy = folder / JOURNAL_NAME
    try:
        if copy.exists() and copy.samefile(journal):
            return copy
        lock = lock_job(folder)
        try:
            if _holds_another(folder, journal):
                what = f"would overwrite the record of the job in {folder}"
                raise JournalError(what, file=journal, cure="Name another --job")
            clips = sorted(journal.parent.glob("clips/*.flac"))
            beside = (journal.with_name(name) for name in (SEAL_NAME, TORN_NAME))  # before it: a journal may grow
            for source in (*clips, *(path for path in beside if path.exists()), journal):
                name = JOURNAL_NAME if source == journal else str(source.relative_to(journal.parent))
                copy_whole(source, folder / name)
        finally:
            lock.release()
    except OSError as cause:
        raise storage_error(cause, Path(cause.filename or folder)) from cause
    return copy


def _holds_another(folder: Path, journal: Path) -> bool:
    copy = folder / JOURNAL_NAME
    if copy.exists():
        return not filecmp.cmp(copy, journal, shallow=False)
    return any(folder.glob("record.*"))


def copy_whole(source: Path, to: Path) -> None:
    """Make `to` hold what `source` holds; it is there whole, or as it was.

    Raises:
        OSError: the source cannot be read.
        StorageError: the copy cannot be written.
    """
    with source.open("rb") as file, WholeFile(to) as copy:
        shutil.copyfileobj(file, copy)
        copy.finish()

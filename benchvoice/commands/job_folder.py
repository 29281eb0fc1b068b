"""Where a job lies that was named on the command line."""

from __future__ import annotations

from pathlib import Path

from benchvoice.errors import JournalError
from benchvoice.keep.journal import JOURNAL_NAME

__all__ = ["job_folder"]


def job_folder(job: str | None, jobs: Path) -> Path:
    """The folder of the job of that name, or in that place.

    Raises:
        JournalError: there is none, or it cannot be read.
    """
    known = sorted(path.parent.name for path in jobs.glob(f"*/{JOURNAL_NAME}"))
    listed = (
        f"Name one of: {', '.join(known)}" if known else f"There is no job in {jobs}; name its folder or give --jobs"
    )
    if job is None:
        raise JournalError("no job was named", cure=listed)
    for folder in (Path(job), jobs / job):
        try:
            if (folder / JOURNAL_NAME).is_file():
                return folder
            if folder.name == JOURNAL_NAME and folder.is_file():
                return folder.parent
        except OSError as cause:
            what = f"cannot be read ({cause.strerror})"
            raise JournalError(what, file=folder, cure="Check its permissions") from None
    if Path(job).is_file():
        cure = f"Name a job's folder, or the {JOURNAL_NAME} in it; replay takes a journal of any name"
        raise JournalError("is a file, not a job", file=job, cure=cure)
    raise JournalError(f"there is no job '{job}'", cure=listed)

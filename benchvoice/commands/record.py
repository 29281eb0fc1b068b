"""`benchvoice record`: a job's record written from its journal."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from benchvoice.commands.console import print_paths, print_record, warn
from benchvoice.commands.finish import write_record
from benchvoice.errors import JournalError
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.keep.record import record_schema

__all__ = ["run"]


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    if arguments.schema:
        print(json.dumps(record_schema(), indent=2, ensure_ascii=False))
        return 0
    folder = _folder(arguments.job, arguments.jobs)
    kinds = tuple(arguments.format or ("html", "csv", "json"))
    record, paths = write_record(folder / JOURNAL_NAME, folder, kinds)
    for remark in record.integrity.remarks() if record.integrity else ():
        warn(remark)
    print_record(record)
    print_paths(paths)
    return 0


def _folder(job: str | None, jobs: Path) -> Path:
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
        except OSError as cause:
            what = f"cannot be read ({cause.strerror})"
            raise JournalError(what, file=folder, cure="Check its permissions") from None
    raise JournalError(f"there is no job '{job}'", cure=listed)

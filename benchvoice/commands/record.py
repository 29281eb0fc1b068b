"""`benchvoice record`: a job's record written from its journal."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from benchvoice.commands.console import RecordPrinter, print_paths, warn
from benchvoice.commands.finish import write_record
from benchvoice.errors import JournalError
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.keep.record import record_schema
from benchvoice.keep.report import KINDS
from benchvoice.keep.report_customer import CustomerRows, customer_text

__all__ = ["run"]


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    if arguments.schema:
        print(json.dumps(record_schema(), indent=2, ensure_ascii=False))
        return 0
    folder = _folder(arguments.job, arguments.jobs)
    if arguments.customer:
        _print_customers_page(folder / JOURNAL_NAME)
        return 0
    kinds = tuple(arguments.format or KINDS)
    printer = RecordPrinter()
    summary, paths = write_record(folder / JOURNAL_NAME, printer, kinds)
    for remark in summary.integrity.remarks() if summary.integrity else ():
        warn(remark)
    printer.print(summary)
    print_paths(paths)
    return 0


def _print_customers_page(journal: Path) -> None:
    """The customer's page as text, and nothing else, so that it can be sent on as it is."""
    rows = CustomerRows()
    summary, _ = write_record(journal, rows, ())
    print(customer_text(rows.page(summary)), end="")


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
            if folder.name == JOURNAL_NAME and folder.is_file():
                return folder.parent
        except OSError as cause:
            what = f"cannot be read ({cause.strerror})"
            raise JournalError(what, file=folder, cure="Check its permissions") from None
    if Path(job).is_file():
        cure = f"Name a job's folder, or the {JOURNAL_NAME} in it; replay takes a journal of any name"
        raise JournalError("is a file, not a job", file=job, cure=cure)
    raise JournalError(f"there is no job '{job}'", cure=listed)

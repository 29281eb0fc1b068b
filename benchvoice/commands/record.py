"""`benchvoice record`: a job's record written from its journal."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from benchvoice.commands.console import RecordPrinter, print_paths, warn
from benchvoice.commands.finish import write_record
from benchvoice.commands.job_folder import job_folder
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
    folder = job_folder(arguments.job, arguments.jobs)
    journal = folder / JOURNAL_NAME
    if not journal.stat().st_size:
        raise JournalError("is empty: nothing was kept of this job", file=journal, cure="Name another job")
    if arguments.customer:
        _print_customers_page(journal)
        return 0
    kinds = tuple(arguments.format or KINDS)
    printer = RecordPrinter()
    summary, paths = write_record(journal, printer, kinds)
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

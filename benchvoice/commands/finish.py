"""What several commands end with: the record made from the journal, and its files."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path
from typing import Protocol

from benchvoice.commands.console import RecordPrinter, print_paths
from benchvoice.commands.interrupts import Interrupted
from benchvoice.commands.settings import replies_file
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.keep.journal_reader import JournalReader
from benchvoice.keep.record import JobFold, with_integrity
from benchvoice.keep.record_models import JobSummary, Row
from benchvoice.keep.report import KINDS, Reports

__all__ = ["TakesRows", "finish_job", "write_record"]


class TakesRows(Protocol):
    """What prints a record."""

    def take(self, row: Row) -> None:
        """The next row of the record."""
        ...


def finish_job(arguments: argparse.Namespace, folder: Path) -> None:
    """Write the record of the job in `folder`, and print it with where everything lies, as the options say."""
    journal = folder / JOURNAL_NAME
    printer = RecordPrinter()
    try:
        summary, paths = write_record(journal, printer)
    except Interrupted as interrupt:  # a second signal, for whom this took too long
        interrupt.journal, interrupt.record_is_older = journal, True
        raise
    if not arguments.json:
        printer.print(summary)
        spoken = replies_file(arguments, folder)
        print_paths([journal, *paths, *([spoken] if spoken else [])])


def write_record(
    journal: Path, printer: TakesRows, kinds: Iterable[str] = KINDS
) -> tuple[JobSummary, tuple[Path, ...]]:
    """Fold a journal and write the record's files beside it; what prints it is given every row.

    Raises:
        JournalError: the journal is damaged; the message names the line.
        StorageError: the folder cannot be written.
    """
    reader = JournalReader(journal)
    folding = JobFold(reader)
    with Reports(journal.parent, folding.job, kinds) as reports:
        for row in folding.rows():
            reports.take(row)
            printer.take(row)
        summary = with_integrity(folding.summary(), reader.integrity)
        return summary, reports.finish(summary)

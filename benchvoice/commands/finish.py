"""What several commands end with: the record made from the journal, and its files."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

from benchvoice.commands.console import RecordPrinter, print_paths, warn
from benchvoice.commands.interrupts import Interrupted
from benchvoice.commands.settings import replies_file
from benchvoice.errors import BenchvoiceError
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.keep.journal_reader import JournalReader
from benchvoice.keep.record import JobFold, with_integrity
from benchvoice.keep.record_models import JobSummary, Row
from benchvoice.keep.report import KINDS, Reports

__all__ = ["TakesRows", "finish_job", "finished", "write_record"]


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


@contextmanager
def finished(arguments: argparse.Namespace, folder: Path, close: Callable[[str], object]) -> Iterator[None]:
    """A session by hand or voice: however it ends, its record is written. An error of its own is the one that is told.

    Args:
        arguments: the options.
        folder: the job's.
        close: ends the session, given the reason; a session that has ended already stays as it is.
    """
    try:
        yield
    except Exception:
        try:
            close("an error ended it")
            finish_job(arguments, folder)
        except (BenchvoiceError, OSError) as error:
            warn(f"{error} Make the record with: benchvoice record {folder}")
        raise
    except KeyboardInterrupt:  # by then it is closed
        finish_job(arguments, folder)
        raise
    finish_job(arguments, folder)


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

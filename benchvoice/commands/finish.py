"""What several commands end with: the record made from the journal, and its files."""

from __future__ import annotations

import argparse
from pathlib import Path

from benchvoice.commands.console import print_paths, print_record
from benchvoice.commands.settings import replies_file
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.keep.journal_reader import JournalReader
from benchvoice.keep.record import fold, with_integrity
from benchvoice.keep.record_models import JobRecord
from benchvoice.keep.report import write_reports

__all__ = ["finish_job", "fold_journal", "write_record"]


def fold_journal(journal: Path) -> JobRecord:
    """The record that a journal's events make.

    Raises:
        JournalError: the journal is damaged; the message names the line.
    """
    reader = JournalReader(journal)
    record = fold(reader)
    return with_integrity(record, reader.integrity)


def finish_job(arguments: argparse.Namespace, folder: Path) -> None:
    """Write the record of the job in `folder`, and print it with where everything lies, as the options say."""
    journal = folder / JOURNAL_NAME
    record, paths = write_record(journal, folder)
    if not arguments.json:
        print_record(record)
        spoken = replies_file(arguments, folder)
        print_paths([journal, *paths, *([spoken] if spoken else [])])


def write_record(
    journal: Path, folder: Path, kinds: tuple[str, ...] = ("html", "csv", "json")
) -> tuple[JobRecord, tuple[Path, ...]]:
    """Fold a journal and write the record's files into `folder`."""
    record = fold_journal(journal)
    return record, write_reports(record, folder, kinds)

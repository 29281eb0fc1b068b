"""What several commands end with: the record made from the journal, and its files."""

from __future__ import annotations

from pathlib import Path

from benchvoice.keep.journal_reader import JournalReader
from benchvoice.keep.record import fold, with_integrity
from benchvoice.keep.record_models import JobRecord
from benchvoice.keep.report import write_reports

__all__ = ["fold_journal", "write_record"]


def fold_journal(journal: Path) -> JobRecord:
    """The record that a journal's events make.

    Raises:
        JournalError: the journal is damaged; the message names the line.
    """
    reader = JournalReader(journal)
    record = fold(reader)
    return with_integrity(record, reader.integrity)


def write_record(
    journal: Path, folder: Path, kinds: tuple[str, ...] = ("html", "csv", "json")
) -> tuple[JobRecord, tuple[Path, ...]]:
    """Fold a journal and write the record's files into `folder`."""
    record = fold_journal(journal)
    return record, write_reports(record, folder, kinds)

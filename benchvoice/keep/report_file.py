"""What the files of a record have in common: each takes the rows as they come, and is finished with the summary."""

from __future__ import annotations

from typing import Protocol

from benchvoice.keep.record_models import JobSummary, Row

__all__ = ["Report", "Sink"]


class Sink(Protocol):
    """What takes a file's bytes."""

    def write(self, data: bytes, /) -> object: ...


class Report(Protocol):
    """One file of a record in the making."""

    def take(self, row: Row) -> None:
        """The next row of the record."""
        ...

    def finish(self, summary: JobSummary) -> None:
        """All rows were taken: the rest of the file."""
        ...

"""The record as JSON, a row to a line; `record_schema` describes it."""

from __future__ import annotations

import shutil
import tempfile
from contextlib import ExitStack
from pathlib import Path
from types import TracebackType
from typing import IO, Self

from benchvoice.keep.disk import storage_error
from benchvoice.keep.record_models import ROW_FIELDS, JobSummary, Row
from benchvoice.keep.report_file import Sink

__all__ = ["JsonReport"]

_IN_MEMORY = 1 << 18
"""Bytes of each list that are held before they go to the disk."""


class JsonReport:
    """The whole record as JSON.

    The lists grow side by side but stand in the file one after the other: until then each waits in a file without a
    name, in the folder of the record.

    Args:
        file: takes the text.
        folder: where there is room for what waits.

    Raises:
        StorageError: there is no room; so do the methods.
    """

    def __init__(self, file: Sink, folder: Path) -> None:
        self._file = file
        self._folder = folder
        self._lists: dict[str, IO[bytes]] = {}
        with ExitStack() as opened:
            for name in ROW_FIELDS.values():
                self._lists[name] = opened.enter_context(tempfile.SpooledTemporaryFile(_IN_MEMORY, dir=str(folder)))
            self._opened = opened.pop_all()

    def take(self, row: Row) -> None:
        """The next row of the record."""
        waiting = self._lists[ROW_FIELDS[type(row)]]
        try:
            waiting.write((b",\n    " if waiting.tell() else b"\n    ") + row.model_dump_json().encode())
        except OSError as cause:
            raise storage_error(cause, self._folder) from cause

    def finish(self, summary: JobSummary) -> None:
        """The summary, then the lists."""
        self._file.write(summary.model_dump_json(indent=2).removesuffix("\n}").encode())
        for name, waiting in self._lists.items():
            end = b"\n  ]" if waiting.tell() else b"]"
            self._file.write(f',\n  "{name}": ['.encode())
            try:
                waiting.seek(0)
                shutil.copyfileobj(waiting, self._file)
            except OSError as cause:
                raise storage_error(cause, self._folder) from cause
            self._file.write(end)
        self._file.write(b"\n}\n")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, at: TracebackType | None) -> None:
        self._opened.close()

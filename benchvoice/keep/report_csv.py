"""The readings as a table for a spreadsheet: CSV (RFC 4180) in UTF-8, one row per reading, withdrawn ones included."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import UTC

from benchvoice.keep.record_models import JobSummary, ReadingRecord, Row
from benchvoice.keep.record_points import number
from benchvoice.keep.report_file import Sink
from benchvoice.keep.wording import plain_amount, visible

__all__ = ["COLUMNS", "CsvReport"]

COLUMNS = (
    "job",
    "board",
    "serial",
    "seq",
    "at",
    "stage",
    "point",
    "quantity",
    "value",
    "unit",
    "waveform",
    "low",
    "high",
    "nominal",
    "uncertainty",
    "deviation",
    "deviation_percent",
    "probability",
    "statement",
    "direction",
    "basis",
    "status",
    "ended_by",
    "heard_text",
    "source",
    "clip",
    "visit",
    "follows_from",
    "responds",
    "shape",
    "known_good",
)

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def _cell(content: object) -> str:
    """A cell that a spreadsheet takes for what it is: numbers stay numbers, no text becomes a formula."""
    if content is None:
        return ""
    text = visible(str(content))
    if number(text) is not None:
        return text
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA) else text


class CsvReport:
    """The job's readings as CSV with a header, a row at a time.

    Text that a spreadsheet would run as a formula has an apostrophe before it; numbers below zero have none.

    Args:
        file: takes the table.
        job: the job, as far as it is known before its readings.
    """

    def __init__(self, file: Sink, job: JobSummary) -> None:
        self._file = file
        self._job = {name: getattr(job, name) for name in ("job", "board", "serial")}
        self._write(COLUMNS)

    def take(self, row: Row) -> None:
        """The next row of the record; only readings are rows of the table."""
        if isinstance(row, ReadingRecord):
            fields = vars(row) | self._job | {"at": row.at.astimezone(UTC).isoformat().replace("+00:00", "Z")}
            good = row.known_good
            percent = "" if good is None or good.percent is None else f", {good.percent} %"
            told = "" if good is None else f"{plain_amount(good.value, good.unit)}{percent}"
            fields["known_good"] = told + (", unlike" if good is not None and good.unlike else "")
            fields["follows_from"] = " ".join(map(str, row.follows_from))
            self._write([_cell(fields[name]) for name in COLUMNS])

    def finish(self, summary: JobSummary) -> None:
        """There is nothing to add at the end."""

    def _write(self, cells: Sequence[str]) -> None:
        line = io.StringIO(newline="")
        csv.writer(line, lineterminator="\r\n").writerow(cells)
        self._file.write(line.getvalue().encode())

"""The readings as a table for a spreadsheet: CSV (RFC 4180) in UTF-8, one row per reading, withdrawn ones included."""

from __future__ import annotations

import csv
import io
from datetime import UTC

from benchvoice.keep.record_models import JobRecord, ReadingRecord
from benchvoice.keep.record_points import number
from benchvoice.keep.wording import visible

__all__ = ["COLUMNS", "render_csv"]

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


def _row(record: JobRecord, reading: ReadingRecord) -> list[str]:
    fields = reading.model_dump() | {"job": record.job, "board": record.board, "serial": record.serial}
    fields["at"] = reading.at.astimezone(UTC).isoformat().replace("+00:00", "Z")
    return [_cell(fields[name]) for name in COLUMNS]


def render_csv(record: JobRecord) -> str:
    """The job's readings as CSV with a header.

    Text that a spreadsheet would run as a formula has an apostrophe before it; numbers below zero have none.
    """
    table = io.StringIO(newline="")
    writer = csv.writer(table, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows(_row(record, reading) for reading in record.readings)
    return table.getvalue()

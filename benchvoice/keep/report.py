"""The job record as a page to print, a table and JSON."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import ExitStack
from pathlib import Path
from types import TracebackType
from typing import Self

from benchvoice.keep import wording
from benchvoice.keep.disk import WholeFile
from benchvoice.keep.record import Rows
from benchvoice.keep.record_models import (
    ROW_FIELDS,
    JobRecord,
    JobSummary,
    PointRecord,
    ReadingRecord,
    Row,
)
from benchvoice.keep.report_csv import CsvReport
from benchvoice.keep.report_customer import CustomerReport
from benchvoice.keep.report_file import Report, Sink
from benchvoice.keep.report_json import JsonReport
from benchvoice.keep.report_pages import template_environment

__all__ = ["KINDS", "HtmlReport", "Reports", "render_html"]


def _in_board_order(record: JobRecord, stage: str) -> list[ReadingRecord]:
    found = (point.before if stage == "before" else point.after for point in record.points)
    return [reading for reading in found if reading is not None]


_OUTSIDE = ("fail", "conditional fail")


_COUNTED = ("current", "earlier visit")
"""The statuses of readings that count, or counted at the end of a visit; those of an earlier visit have their place."""


def _compared(record: JobRecord) -> list[PointRecord]:
    """The points to show before beside after: none where nothing is to be proven."""
    if len(record.stages) < 2 and not any(point.lacks for point in record.points):
        return []
    read = (point for point in record.points if point.before or point.after or point.name in record.measure_again)
    return list(read)


def _mended(point: PointRecord) -> bool:
    before, after = point.before, point.after
    judged = before is not None and after is not None and after.statement in ("pass", "conditional pass")
    return judged and before is not None and before.statement in _OUTSIDE


def render_html(
    record: JobRecord,
    *,
    left_out: Mapping[str, int] | None = None,
    has_clip: Callable[[str], bool] = lambda _: True,
) -> str:
    """The record as one page of HTML: nothing is loaded from elsewhere, nothing in it runs, and it prints well.

    Args:
        record: what stands on the page. Of its readings those that do not count; the others are taken from its points.
        left_out: how many earlier rows of each of the record's lists it does not hold.
        has_clip: whether the clip of that name is there; only then is it linked.
    """
    current = sorted(
        (reading for stage in record.stages for reading in _in_board_order(record, stage)),
        key=lambda reading: reading.seq,
    )

    def linked(clip: str | None) -> str | None:
        link = wording.clip_link(clip)
        return link if link is not None and has_clip(link) else None

    return (
        template_environment()
        .get_template("report.html.j2")
        .render(
            record=record,
            by_stage=[(stage, _in_board_order(record, stage)) for stage in record.stages],
            ended=[reading for reading in record.readings if reading.status not in _COUNTED],
            compared=_compared(record),
            failed=[reading for reading in current if reading.statement in _OUTSIDE],
            mended=[point.name for point in record.points if _mended(point)],
            sources={point.name: point.source for point in record.points if point.source},
            formulas={point.name: point.computed for point in record.points if point.computed},
            bases=sorted({reading.basis for reading in current if reading.basis}),
            left_out=dict.fromkeys(ROW_FIELDS.values(), 0) | dict(left_out or {}),
            linked=linked,
        )
    )


class HtmlReport:
    """The page: the result, every reading that counts, and of what else happened the latest.

    Args:
        file: takes the page.
        folder: the record's folder, in which the clips are looked for.
    """

    MOST_ROWS = 500
    """Of each list of the record; the rest is in the other two files. More is no page that anybody reads or prints."""

    def __init__(self, file: Sink, folder: Path) -> None:
        self._file = file
        self._folder = folder
        self._rows = Rows(self.MOST_ROWS)

    def take(self, row: Row) -> None:
        """The next row of the record."""
        if not (isinstance(row, ReadingRecord) and row.status in _COUNTED):
            self._rows.take(row)

    def finish(self, summary: JobSummary) -> None:
        """The page itself."""
        page = render_html(
            self._rows.record(summary),
            left_out=self._rows.left_out(),
            has_clip=lambda clip: (self._folder / clip).is_file(),
        )
        self._file.write(page.encode())


KINDS = ("html", "csv", "json", "customer")
_NAMES = {kind: f"record.{kind}" for kind in KINDS} | {"customer": "customer.html"}


class Reports:
    """`record.html`, `record.csv`, `record.json` and `customer.html` of a job's folder, each whole or not at all.

    Args:
        folder: where they are to lie.
        job: the job, as far as it is known before its rows.
        kinds: which of them.

    Raises:
        StorageError: no permission, or the disk is full; so do the methods.
        ValueError: a kind that is not among `KINDS`.
    """

    def __init__(self, folder: Path, job: JobSummary, kinds: Iterable[str] = KINDS) -> None:
        self._reports: list[tuple[Report, WholeFile]] = []
        with ExitStack() as opened:
            for kind in kinds:
                if kind not in KINDS:
                    raise ValueError(f"a record is written as {', '.join(KINDS)}, not as {kind!r}")
                file = opened.enter_context(WholeFile(folder / _NAMES[kind]))
                report: Report
                if kind == "html":
                    report = HtmlReport(file, folder)
                elif kind == "csv":
                    report = CsvReport(file, job)
                elif kind == "customer":
                    report = CustomerReport(file)
                else:
                    report = opened.enter_context(JsonReport(file, folder))
                self._reports.append((report, file))
            self._opened = opened.pop_all()

    def take(self, row: Row) -> None:
        """The next row of the record."""
        for report, _ in self._reports:
            report.take(row)

    def finish(self, summary: JobSummary) -> tuple[Path, ...]:
        """The files, in the order of their kinds, now on the disk."""
        for report, file in self._reports:
            report.finish(summary)
            file.finish()
        return tuple(file.path for _, file in self._reports)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, at: TracebackType | None) -> None:
        self._opened.close()

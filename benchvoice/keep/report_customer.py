"""The customer's page as HTML that prints on one sheet, and as plain text for a terminal or a letter."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from benchvoice.keep import wording
from benchvoice.keep.record_customer import CustomerPage, customer_page
from benchvoice.keep.record_handover import Stage
from benchvoice.keep.record_models import JobSummary, RecordedNote, Row
from benchvoice.keep.report_file import Sink
from benchvoice.keep.report_pages import template_environment

__all__ = ["CustomerReport", "CustomerRows", "customer_html", "customer_text"]

_WIDTH = 78


class CustomerRows:
    """What the customer's page takes from a record's rows: the latest notes that were heard beyond doubt."""

    MOST = 12

    def __init__(self) -> None:
        self._notes: list[tuple[int, Stage, str]] = []

    def take(self, row: Row) -> None:
        """The next row of the record."""
        if isinstance(row, RecordedNote) and row.verified and row.status == "counts":
            self._notes = [*self._notes[1 - self.MOST :], (row.visit, row.stage, row.text)]

    def page(self, summary: JobSummary) -> CustomerPage:
        """The page, once all rows were taken."""
        return customer_page(summary, [(stage, text) for visit, stage, text in self._notes if visit == summary.visit])


class CustomerReport(CustomerRows):
    """The page as a file of the record.

    Args:
        file: takes the page.
    """

    def __init__(self, file: Sink) -> None:
        super().__init__()
        self._file = file

    def finish(self, summary: JobSummary) -> None:
        """The page itself."""
        self._file.write(customer_html(self.page(summary)).encode())


def customer_html(page: CustomerPage) -> str:
    """The page as HTML: nothing is loaded from elsewhere, nothing in it runs, and it prints on one sheet."""
    return template_environment().get_template("customer.html.j2").render(page=page)


def customer_text(page: CustomerPage) -> str:
    """The page as text, at most 78 characters wide."""
    return wording.visible("\n".join(_lines(page))).replace("\u00a0", " ") + "\n"


def _lines(page: CustomerPage) -> Iterator[str]:
    yield from _wrapped(f"Repair summary: {page.board or 'unit'}")
    yield ""
    width = max((len(name) for name, _ in page.facts), default=0)
    for name, text in page.facts:
        yield from _wrapped(text, f"{name:<{width}}  ")
    yield from _wrapped(page.complaint or "None was written down.", f"{'Complaint':<{width}}  ")
    if page.received:
        yield from _wrapped(page.received, f"{'Received':<{width}}  ")
    if page.warning:
        yield ""
        yield from _wrapped(page.warning, "! ")
    for section in page.sections:
        yield from ("", section.title, "-" * len(section.title))
        for line in section.lines:
            yield from _wrapped(line, "- ")
        if section.more:
            yield f"- And {section.more} more: see the technician's record."
    yield ""
    for line in page.ending:
        yield from _wrapped(line)


def _wrapped(text: str, before: str = "") -> list[str]:
    return textwrap.wrap(
        text, _WIDTH, initial_indent=before, subsequent_indent=" " * len(before), break_on_hyphens=False
    ) or [before.rstrip()]

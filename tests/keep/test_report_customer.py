"""The customer's page as it is printed and sent: one sheet, nothing loaded, and text stays text."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.events import Event, OpenedPoint, Undone
from benchvoice.keep.record import JobFold, fold
from benchvoice.keep.record_customer import CustomerPage, customer_page
from benchvoice.keep.record_handover import CheckRecord, Stage
from benchvoice.keep.report_customer import CustomerReport, CustomerRows, customer_html, customer_text
from tests.keep.builders import kiln_job
from tests.keep.test_record_compare import Repair
from tests.keep.test_record_visits import came_back
from tests.keep.test_report import HOSTILE, Page


def dictated(text: str) -> CustomerPage:
    """A page in which every text that a person can give is `text`."""
    s = Repair()
    limits: dict[str, Any] = {"quantity": "voltage", "unit": "V", "low": "4.75", "high": "5.25"}
    points = (OpenedPoint(name=text, **limits), OpenedPoint(name=f"{text}2", **limits))
    s.opened(job=text, board=text, revision=text, serial=text, complaint=text, technician=text, points=points)
    s.reading(text, "6.0", "fail", direction="high", **limits)
    s.reading(f"{text}2", "6.0", "fail", direction="high", **limits)
    s.told("damage", text, ref=text)
    s.fitted(text, what=text, again=(f"{text}2",))
    s.told("mended", text, ref=text)
    s.reading(text, "5.0", stage="after", **limits)
    s.closed(text)
    record = fold(s.events)
    check = CheckRecord(proof="safety check", part=text, step=text, status="failed", outcome=text)
    return customer_page(record.model_copy(update={"checks": (check,)}), [("before", text)])


@pytest.mark.parametrize("text", HOSTILE)
def test_text_stays_text(text: str) -> None:
    plain, page = Page(customer_html(dictated("plain"))), Page(customer_html(dictated(text)))
    assert [tag for tag, _ in page.elements] == [tag for tag, _ in plain.elements]
    assert [sorted(attributes) for _, attributes in page.elements] == [sorted(a) for _, a in plain.elements]


@settings(max_examples=60, deadline=None)
@given(st.text(min_size=1, max_size=60))
def test_any_text_leaves_page_and_letter_as_they_are(text: str) -> None:
    page = Page(customer_html(dictated(text)))
    assert [tag for tag, _ in page.elements] == [tag for tag, _ in Page(customer_html(dictated("plain"))).elements]
    letter = customer_text(dictated(text))
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", letter)


def test_nothing_is_loaded_and_nothing_runs() -> None:
    html = customer_html(dictated("plain"))
    page = Page(html)
    assert not {tag for tag, _ in page.elements} & {"script", "link", "img", "iframe", "object", "embed", "form", "a"}
    assert not any(name.startswith("on") for _, attributes in page.elements for name in attributes)
    assert "http" not in html.replace("http-equiv", "")
    assert "url(" not in html


def test_the_letter_has_all_that_the_page_has() -> None:
    page = customer_page(fold(came_back().events))
    letter = customer_text(page)
    assert max(map(len, letter.splitlines())) <= 78
    printed = Page(customer_html(page)).text.replace("\u00a0", " ")
    joined = " ".join(letter.split())
    for section in page.sections:
        for line in section.lines:
            assert line.replace("\u00a0", " ") in printed
            assert " ".join(line.replace("\u00a0", " ").split()) in joined
    for text in ("KC4-00112", "smells burnt", "visit 2", "no certificate of safety"):
        assert text in joined
        assert text in printed


def test_only_notes_that_were_heard_for_sure_and_in_this_visit_are_on_it() -> None:
    s = came_back()
    s.events[-1] = s.events[-1].model_copy(update={"text": "fan is quiet"})
    s.heard("note whatever")
    s.note("mumbled", verified=False)
    events = [*s.events]
    events.insert(2, s.events[-3].model_copy(update={"seq": 3}))  # a note of the first visit
    page = page_of(renumbered(events))
    assert "Noted: fan is quiet." in page.sections[0].lines
    assert not any("mumbled" in line for section in page.sections for line in section.lines)


def test_a_note_that_was_struck_is_not_on_it_and_the_record_says_so() -> None:
    s = came_back()
    s.heard("note whatever")
    struck = s.note("fuse is blown")
    s.heard("strike that")
    s.events.append(Undone(seq=len(s.events) + 1, at=s.events[-1].at, heard=len(s.events), undoes=(struck,)))
    assert not any("fuse" in line for section in page_of(s.events).sections for line in section.lines)
    kept = {note.text: (note.status, note.struck_by) for note in fold(s.events).notes}
    assert kept["fuse is blown"] == ("struck", len(s.events))
    assert [status for text, (status, _) in kept.items() if text != "fuse is blown"] == ["counts"] * (len(kept) - 1)


def renumbered(events: list[Event]) -> list[Event]:
    return [event.model_copy(update={"seq": number}) for number, event in enumerate(events, 1)]


def page_of(events: list[Event]) -> CustomerPage:
    folding, rows = JobFold(events), CustomerRows()
    for row in folding.rows():
        rows.take(row)
    return rows.page(folding.summary())


def test_of_many_notes_the_latest_are_taken() -> None:
    s = Repair()
    s.opened()
    for number in range(50):
        s.heard("note")
        s.note(f"n{number}")
    (line,) = [line for line in page_of(s.events).sections[0].lines if line.startswith("Noted")]
    assert line == "Noted: " + "; ".join(f"n{number}" for number in range(38, 50)) + "."


def test_the_report_writes_the_page() -> None:
    file, folding = io.BytesIO(), JobFold(kiln_job())
    report = CustomerReport(file)
    for row in folding.rows():
        report.take(row)
    report.finish(folding.summary())
    assert file.getvalue().decode() == customer_html(customer_page(fold(kiln_job())))


# --- one sheet ----------------------------------------------------------------------------------------------------
def longest() -> CustomerPage:
    """As much as can be on it: long names, many faults, many parts, many checks, a complaint without end."""
    name = "supply of the second auxiliary amplifier behind the panel number"
    limits: dict[str, Any] = {"quantity": "voltage", "unit": "V", "low": "4.75", "high": "5.25"}
    points = tuple(OpenedPoint(name=f"{name} {n}", **limits) for n in range(40))
    s = Repair()
    papers = {"complaint": "It hums and smells. " * 40, "serial": "W" * 70, "technician": "the night shift " * 9}
    s.opened(points=points, meter=None, board="WIDE MODULE " * 9, **papers)
    for point in points:
        s.reading(point.name, "6.012345", "fail", direction="high", **limits)
    for n in range(30):
        s.fitted(f"U{n}", what="3.3 V regulator of the newer kind with a heat sink and " * 3)
    for point in points[:20]:
        s.reading(point.name, "5.012345", stage="after", **limits)
    record = fold(s.events)
    checks = tuple(
        CheckRecord(
            proof=proof, part="run", step=f"{name} {n}", status=status, outcome="dark", reason="it is glued " * 9
        )
        for proof in ("function test", "safety check")
        for status in ("passed", "failed", "noted", "not done", "skipped")
        for n in range(9)
    )
    notes: list[tuple[Stage, str]] = [("before", f"{name} is burnt"), ("after", name)]
    return customer_page(came_back_to(record).model_copy(update={"checks": checks}), notes)


def came_back_to(record: Any) -> Any:
    """The record as that of a second visit."""
    earlier = fold(came_back().events).earlier
    return record.model_copy(update={"earlier": earlier})


@pytest.mark.apt
def test_the_page_prints_on_one_sheet_of_either_paper(tmp_path: Path) -> None:
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None or shutil.which("pdftotext") is None:
        pytest.skip("needs the packages chromium and poppler-utils")
    html = customer_html(longest())
    for size, width in (("A4", "594.96"), ("letter", "612")):
        page, printed = tmp_path / f"{size}.html", tmp_path / f"{size}.pdf"
        page.write_text(html.replace("@page { margin", f"@page {{ size: {size}; margin"), encoding="utf-8")
        command = [browser, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
        command += [f"--user-data-dir={tmp_path / 'profile'}", f"--print-to-pdf={printed}", page.as_uri()]
        subprocess.run(command, check=True, capture_output=True, timeout=120)
        facts = subprocess.run(["pdfinfo", str(printed)], check=True, capture_output=True, text=True).stdout
        assert f"Page size:       {width} x" in facts
        assert re.search(r"Pages: +1\n", facts), facts
        text = subprocess.run(
            ["pdftotext", "-layout", str(printed), "-"], check=True, capture_output=True, text=True
        ).stdout
        assert "Still open" in text
        assert "what the law and local rules ask for" in text

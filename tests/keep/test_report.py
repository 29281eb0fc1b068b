"""The printed record: everything is on it, nothing on it runs or is loaded, and no text can pretend to be page."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
from collections.abc import Sequence
from html.parser import HTMLParser
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.errors import StorageError
from benchvoice.events import Event
from benchvoice.keep.integrity import Integrity, TornLine
from benchvoice.keep.record import JobFold, JobRecord, fold, record_schema, with_integrity
from benchvoice.keep.record_models import ROW_FIELDS, JobSummary, Row
from benchvoice.keep.report import KINDS, HtmlReport, Reports, render_html
from benchvoice.keep.report_csv import COLUMNS, CsvReport
from benchvoice.keep.report_json import JsonReport
from tests.keep.builders import Story, kiln_job

VOID = {"meta", "br", "rect", "circle", "line", "path"}


class Page(HTMLParser):
    """What a browser would make of a page: its elements, its text, and whether every element is closed."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.open: list[str] = []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"style", "title"} & set(self.open):
            self.texts.append(data)

    @property
    def text(self) -> str:
        return re.sub(r"[ \t\n]+", " ", "".join(self.texts))

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.elements if name == tag]


def kiln_record() -> JobRecord:
    return with_integrity(fold(kiln_job()), Integrity(lines=27, last_sha256="12" * 32, seal="holds"))


def dictated(text: str) -> JobRecord:
    """A record in which every text that a person can give is `text`."""
    s = Story()
    s.opened(job=text, complaint=text, serial=text, technician=text, board=text, revision=text)
    s.heard(text, source=text, why=text)
    s.reading(text, "5.0", basis=text, low="4.75", high="5.25")
    s.heard(text, "asked", clip=text)
    s.asked(text, why=text)
    s.heard(text)
    s.note(text, verified=False, clip=text)
    s.closed(text)
    return fold(s.events)


def rows_of(record: JobRecord) -> list[Row]:
    return [row for kind in ROW_FIELDS.values() for row in getattr(record, kind)]


def summary_of(record: JobRecord) -> JobSummary:
    return JobSummary(**{name: getattr(record, name) for name in JobSummary.model_fields})


def csv_of(record: JobRecord) -> str:
    file = io.BytesIO()
    report = CsvReport(file, record)
    for row in rows_of(record):
        report.take(row)
    return file.getvalue().decode()


def json_of(record: JobRecord, folder: Path) -> str:
    file = io.BytesIO()
    with JsonReport(file, folder) as report:
        for row in rows_of(record):
            report.take(row)
        report.finish(summary_of(record))
    return file.getvalue().decode()


def write_reports(record: JobRecord, folder: Path, kinds: Sequence[str] = KINDS) -> tuple[Path, ...]:
    with Reports(folder, record, kinds) as reports:
        for row in rows_of(record):
            reports.take(row)
        return reports.finish(summary_of(record))


# --- what is on the page ------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    "text",
    [
        "kiln-0007",
        "KC-4 kiln controller, revision B",
        "KC4-00112",
        "kiln stays cold, lamp flickers",
        "bench meter, 6000 counts",
        "2026-03-02 09:15:00",
        "1 of 5 readings lies outside the limits: rail 3.3: 4.0\u00a0V (fail, high, before the repair).",
        "Not read before the repair: rail 3.3 to ground, thermocouple",
        "3.14 to 3.47\u00a0V",
        "as published by the board's maker",
        "at least 200\u00a0Ω",
        "± 0.075\u00a0V",
        "✗\u00a0fail, high",
        "p < 0.0001",
        "+0.7\u00a0V",
        "+21.21\u00a0%",
        "\u22120.69\u00a0V",
        "the regulator runs hot",
        "unverified: listen to the sound",
        "Fifteen or fifty?",
        "without an answer",
        "superseded",
        "corrected",
        "Taken up again, after the repair",
        "ILAC-G8:09/2019, 4.2.3",
        "12" * 32,
    ],
)
def test_the_page_says(text: str) -> None:
    assert text in Page(render_html(kiln_record())).text


def test_every_reading_with_limits_has_its_strip_with_a_title() -> None:
    html = render_html(kiln_record())
    titles = re.findall(r'<svg class="strip"[^>]*role="img"><title>([^<]+)</title>', html)
    assert titles == [
        "input; 24.1\u00a0V; pass; 21.6 to 26.4\u00a0V; U = 0.16\u00a0V",
        "rail 5; 5.01\u00a0V; pass; 4.75 to 5.25\u00a0V; U = 0.052\u00a0V",
        "rail 3.3; 4.0\u00a0V; fail, high; 3.14 to 3.47\u00a0V; U = 0.075\u00a0V",
        "rail 3.3; 3.31\u00a0V; pass; 3.14 to 3.47\u00a0V; U = 0.043\u00a0V",
        "rail 3.3 to ground; over range; pass; at least 200\u00a0Ω",
    ]


def test_clips_are_linked_relative_to_the_job() -> None:
    links = [a["href"] for a in Page(render_html(kiln_record())).all("a")]
    assert links == ["clips/000002.flac", "clips/000007.flac", "clips/000019.flac", "clips/000009.flac"]


@pytest.mark.parametrize(
    "clip", ["javascript:alert(1)", "../../secret.flac", "http://x.example/a.flac", "clips/a b.flac"]
)
def test_what_is_not_a_clip_is_never_linked(clip: str) -> None:
    s = Story()
    s.opened()
    s.heard("note hot", clip=clip)
    s.note("hot", clip=clip)
    page = Page(render_html(fold(s.events)))
    assert page.all("a") == []
    assert clip in page.text


def test_a_clip_that_is_not_there_is_named_and_not_linked(tmp_path: Path) -> None:
    (tmp_path / "clips").mkdir()
    (tmp_path / "clips" / "000007.flac").touch()
    [path] = write_reports(kiln_record(), tmp_path, ["html"])
    page = Page(path.read_text(encoding="utf-8"))
    assert [a["href"] for a in page.all("a")] == ["clips/000007.flac"]
    assert "clips/000019.flac" in page.text


def long_job(n_rows: int) -> list[Event]:
    s = Story()
    s.opened()
    for number in range(n_rows):
        s.heard(f"heard {number}")
        s.reading("rail 5", f"5.{number:05}")
        s.heard(f"note {number}")
        s.note(f"seen {number}")
        s.heard(f"about {number}", "asked")
        s.asked(f"Question {number}?")
    s.closed()
    return s.events


def test_of_a_long_job_the_page_shows_the_latest_and_says_where_the_rest_is() -> None:
    file = io.BytesIO()
    report, folding = HtmlReport(file, Path()), JobFold(long_job(600))
    for row in folding.rows():
        report.take(row)
    report.finish(folding.summary())
    page = Page(file.getvalue().decode())
    for told in (
        "The latest are shown; 100 earlier notes are in record.json.",
        "The latest are shown; 100 earlier questions are in record.json.",
        "The latest are shown; 99 earlier readings are in record.csv.",  # one of the 600 counts
        "The latest are shown; 1302 earlier rows are in record.json.",  # 3 x 600 + opened + closed - 500
    ):
        assert told in page.text
    assert "5.00599" in page.text
    assert "seen 100" in page.text
    assert "seen 99 " not in page.text
    assert len(page.all("tr")) < 2100


def test_a_job_of_usual_length_is_on_the_page_whole() -> None:
    assert "The latest are shown" not in Page(render_html(kiln_record())).text


def test_without_a_meter_the_page_says_what_is_missing() -> None:
    s = Story()
    s.opened(meter=None)
    assert "No meter was given." in Page(render_html(fold(s.events))).text
    assert "No meter was given." not in Page(render_html(kiln_record())).text


def test_the_page_says_what_a_power_cut_left() -> None:
    integrity = Integrity(
        lines=9,
        torn=TornLine(line=10, n_bytes=17),
        set_aside=(TornLine(line=3, n_bytes=0, missing=2),),
        incomplete=(7,),
    )
    text = Page(render_html(with_integrity(fold(kiln_job()), integrity))).text
    assert "line 10: unfinished, 17 bytes, never confirmed; say the last thing again." in text
    assert "line 3: 2 lines that had been confirmed can no longer be read" in text
    assert "what was said in line 7 was cut off before it was confirmed" in text
    assert "The journal had no seal beside it" in text


def test_an_empty_record_has_a_page() -> None:
    assert "No reading counts in this job." in Page(render_html(fold([]))).text


# --- nothing runs, nothing is loaded ------------------------------------------------------------------------------
HOSTILE = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "</style><script>alert(1)</script>",
    "</title></svg><script>alert(1)</script>",
    "{{ 7 * 7 }}{% raw %}",
    "&lt;b&gt;",
    '"; } body { display: none } @page { content: "',
    "a\\",
    "\x00\x07\x1b[31m",
    "\u202egnp.exe",
    "w" * 5000,
    "日本 🔥 µΩ",
    "line\nline\ttab",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_dictated_text_stays_text(text: str) -> None:
    plain = Page(render_html(dictated("plain")))
    page = Page(render_html(dictated(text)))
    assert [tag for tag, _ in page.elements] == [tag for tag, _ in plain.elements]
    assert [sorted(attributes) for _, attributes in page.elements] == [sorted(a) for _, a in plain.elements]
    assert page.texts.count(text) >= 8 or not text.isprintable()


def test_characters_that_hide_or_reorder_are_shown() -> None:
    html = render_html(dictated("a\x00b\u202ec\x85"))
    assert "a⟨U+0000⟩b⟨U+202E⟩c⟨U+0085⟩" in html
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", html)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=60))
def test_any_text_leaves_the_page_as_it_is(text: str) -> None:
    page = Page(render_html(dictated(text or "x")))
    assert [tag for tag, _ in page.elements] == [tag for tag, _ in Page(render_html(dictated("plain"))).elements]


def test_style_holds_nothing_that_was_dictated_and_could_end_it() -> None:
    html = render_html(dictated('"; } </style> <b> @import url(x) \\'))
    [style] = re.findall(r"<style>(.*?)</style>", html, flags=re.DOTALL)
    assert "<b>" not in style
    [footer] = re.findall(r"@bottom-left \{ content: (.*?); font:", style)
    assert re.fullmatch(r'"[^"\\\n]*"', footer)


def test_nothing_is_loaded_and_nothing_runs() -> None:
    html = render_html(kiln_record())
    page = Page(html)
    tags = {tag for tag, _ in page.elements}
    assert not tags & {"script", "link", "img", "iframe", "object", "embed", "video", "audio", "form", "base"}
    for _, attributes in page.elements:
        assert not any(name.startswith("on") for name in attributes)
        assert "src" not in attributes
    assert "http:" not in html
    assert "https:" not in html
    assert "@import" not in html
    assert set(re.findall(r"url\(([^)]*)\)", html)) == {"#guard", "#outside"}


def test_it_is_made_to_be_printed() -> None:
    html = render_html(kiln_record())
    assert "size:" not in re.findall(r"@page \{.*?\}", html, flags=re.DOTALL)[0]  # A4 or Letter: the printer decides
    assert "display: table-header-group" in html
    assert "tr { break-inside: avoid; }" in html
    assert html.count("<thead>") == html.count("<table")


@pytest.mark.apt
def test_the_page_prints_on_both_papers(tmp_path: Path) -> None:
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None or shutil.which("pdftotext") is None:
        pytest.skip("needs the packages chromium and poppler-utils")
    s = Story()
    s.opened(job="kiln-0008")
    for _ in range(60):
        s.heard("rail five reads five point three one")
        s.reading("rail 5", "5.31", "fail", direction="high", uncertainty="0.05")
    html = render_html(fold(s.events))
    for size, width in (("A4", "594.96"), ("letter", "612")):
        page, printed = tmp_path / f"{size}.html", tmp_path / f"{size}.pdf"
        page.write_text(html.replace("@page { margin", f"@page {{ size: {size}; margin"), encoding="utf-8")
        command = [browser, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
        command += [f"--user-data-dir={tmp_path / 'profile'}", f"--print-to-pdf={printed}", page.as_uri()]
        subprocess.run(command, check=True, capture_output=True, timeout=120)
        facts = subprocess.run(["pdfinfo", str(printed)], check=True, capture_output=True, text=True).stdout
        assert f"Page size:       {width} x" in facts
        text = subprocess.run(
            ["pdftotext", "-layout", str(printed), "-"],
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        assert re.search(r"Job record kiln-0008 +page 1 of \d", text)
        assert len(re.findall(r"Line +Time \(UTC\) +What", text)) >= 2  # the timeline's header, on each of its pages
        assert "fail, high" in text


# --- CSV and JSON -------------------------------------------------------------------------------------------------
def rows(record: JobRecord) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(csv_of(record), newline="")))


def test_csv_holds_every_reading_with_what_became_of_it() -> None:
    table = rows(kiln_record())
    assert tuple(table[0]) == COLUMNS
    assert [(row["point"], row["value"], row["unit"], row["status"]) for row in table] == [
        ("input", "24.1", "V", "current"),
        ("rail 5", "5.02", "V", "superseded"),
        ("rail 3.3", "4.0", "V", "current"),
        ("rail 5", "5.03", "V", "corrected"),
        ("rail 5", "5.01", "V", "current"),
        ("rail 3.3", "3.31", "V", "current"),
        ("rail 3.3 to ground", "over range", "ohm", "current"),
    ]
    assert table[2]["at"] == "2026-03-02T09:15:28Z"
    assert table[2]["uncertainty"] == "0.075"


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        # the characters that start a formula: OWASP, "CSV injection" (from memory)
        ("=1+1", "'=1+1"),
        ("+12V rail", "'+12V rail"),
        ("-rail", "'-rail"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("  =1+1", "'  =1+1"),
        ("\t=1+1", "'\t=1+1"),
        ("\r=1+1", "⟨U+000D⟩=1+1"),
        ("＝1+1", "'＝1+1"),
        ("rail = 5", "rail = 5"),
        ('say "five", then stop', 'say "five", then stop'),
        ("two\nlines", "two\nlines"),
        ("-12", "-12"),
    ],
)
def test_csv_cells_that_look_like_formulas_are_text(text: str, cell: str) -> None:
    [row] = rows(dictated(text))
    assert row["point"] == cell
    assert row["heard_text"] == cell


def test_csv_numbers_below_zero_stay_numbers() -> None:
    s = Story()
    s.opened()
    s.heard("minus twelve rail reads minus eleven point five")
    s.reading("minus 12", "-11.50", low="-13.20", high="-10.80", nominal="-12", deviation="0.50")
    [row] = rows(fold(s.events))
    assert (row["value"], row["low"], row["high"], row["nominal"]) == ("-11.50", "-13.20", "-10.80", "-12")


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=40))
def test_csv_reads_back_as_one_row(text: str) -> None:
    assert len(rows(dictated(text))) == 1


def test_json_meets_the_published_schema_and_reads_back(tmp_path: Path) -> None:
    text = json_of(kiln_record(), tmp_path)
    jsonschema.Draft202012Validator(record_schema()).validate(json.loads(text))
    assert JobRecord.model_validate_json(text) == kiln_record()


# --- files --------------------------------------------------------------------------------------------------------
def test_reports_are_written_beside_the_journal_and_over_older_ones(tmp_path: Path) -> None:
    (tmp_path / "record.html").write_text("older")
    (tmp_path / "clips").mkdir()
    for name in ("000002", "000007", "000009", "000019"):
        (tmp_path / "clips" / f"{name}.flac").touch()
    written = write_reports(kiln_record(), tmp_path)
    names = ("record.html", "record.csv", "record.json", "customer.html")
    assert written == tuple(tmp_path / name for name in names)
    assert written[0].read_text(encoding="utf-8") == render_html(kiln_record())
    assert written[1].read_bytes().decode("utf-8") == csv_of(kiln_record())
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(["clips", *names])
    assert write_reports(kiln_record(), tmp_path / "new", ["csv"]) == (tmp_path / "new" / "record.csv",)


def test_a_report_that_is_not_finished_leaves_the_older_one(tmp_path: Path) -> None:
    write_reports(kiln_record(), tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    with Reports(tmp_path, fold([])) as reports:
        reports.take(kiln_record().readings[0])
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="written as html, csv, json, customer, not as 'pdf'"):
        write_reports(kiln_record(), tmp_path, ["pdf"])


def test_a_file_in_the_way_of_the_reports(tmp_path: Path) -> None:
    (tmp_path / "job").write_text("a file")
    with pytest.raises(StorageError, match="job: a file is in the way of this folder"):
        write_reports(kiln_record(), tmp_path / "job")

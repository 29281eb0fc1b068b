"""The intake in the record, on the technician's page and on the customer's."""

from __future__ import annotations

import jsonschema
import pytest

from benchvoice.keep.record import fold, record_schema
from benchvoice.keep.record_customer import customer_page
from benchvoice.keep.record_intake import accessories_text
from benchvoice.keep.record_models import IntakeRecord
from benchvoice.keep.report import render_html
from benchvoice.keep.report_customer import customer_text
from benchvoice.records import Trust
from tests.decide.builders import START, answer, command, reading
from tests.decide.test_intake import Talk, lamp, told


def taken_in() -> Talk:
    talk = Talk(serial="X1")
    for said in (
        told("complaint", "no output"), told("came with", "power cable"), told("came with", "manual"),
        told("came with", "battery"), command("strike"), told("arrived", "wet"),
        told("serial", "AB12"), answer("yes"), lamp("5 short, red"), answer("yes"), lamp("4 short, red"), answer("no"),
        told("complaint follows"),
    ):  # fmt: skip
        talk.say(said)
    talk.say(trust=Trust.UNRELATED)
    talk.say(reading("rail 5", "5.02"))
    return talk


def test_the_record_holds_what_counts() -> None:
    record = fold(taken_in().journal)
    assert [(row.what, row.text, row.means) for row in record.intake] == [
        ("complaint", "no output", ""),
        ("accessory", "power cable", ""),
        ("accessory", "manual", ""),
        ("arrived", "wet", ""),
        ("serial", "AB12", ""),
        ("indicator", "5 short, red", "supply too low"),
        ("indicator", "4 short, red", ""),
        ("complaint", "", ""),
    ]
    assert (record.serial, record.complaint) == ("AB12", "no output")  # the sound alone is no text
    jsonschema.validate(record.model_dump(mode="json"), record_schema())


def test_the_timeline_tells_of_it() -> None:
    told_rows = [row.what for row in fold(taken_in().journal).timeline if row.kind == "intake"]
    assert told_rows[0] == "Complaint: no output"
    assert told_rows[-3:] == [
        "front lamp: 5 short, red (supply too low)",
        "front lamp: 4 short, red (not in the table)",
        "Complaint: in the words of the sound",
    ]
    questions = fold(taken_in().journal).questions
    assert [(row.ended, row.answer) for row in questions] == [
        ("answered", "Serial number: AB12"),
        ("answered", "front lamp: 5 short, red (supply too low)"),
        ("answered", "front lamp: 4 short, red (not in the table)"),
    ]


def test_the_technician_s_page_shows_it() -> None:
    page = render_html(fold(taken_in().journal))
    for text in (
        "<h2>Intake</h2>",
        "supply too low",
        "not in the board&#39;s table",
        "unverified",
        "clips/000001.flac",
    ):
        assert text in page
    assert "battery" not in page.partition("<h2>Intake</h2>")[2].partition("</table>")[0]


def test_the_customer_reads_what_goes_back_and_what_the_lamp_did() -> None:
    page = customer_page(fold(taken_in().journal))
    assert page.received == "Arrived wet. Came with power cable and manual, to go back with it."
    assert "Front lamp: 5 short, red, which means: supply too low." in page.sections[0].lines
    assert dict(page.facts)["Serial number"] == "AB12"
    text = customer_text(page)
    assert "no output" in text
    assert "Came with power cable and manual" in text


def test_a_job_without_an_intake_has_no_such_section() -> None:
    record = fold(Talk().journal)
    assert record.intake == ()
    assert "<h2>Intake</h2>" not in render_html(record)
    assert customer_page(record).received == ""


def test_papers_and_what_was_said_are_put_together_visit_by_visit() -> None:
    talk = Talk()
    talk.say(told("complaint", "dead"))
    talk.say(told("serial", "AB1"))
    talk.say(answer("yes"))
    assert fold(talk.journal).serial == "AB1"
    talk.again(serial="AB2")
    assert fold(talk.journal).serial == "AB2"
    talk.again(visit=2)
    talk.say(told("complaint", "noisy"))
    record = fold(talk.journal)
    assert (record.serial, record.complaint, record.earlier[0].complaint) == ("AB2", "noisy", "dead")
    assert [row.text for row in record.earlier[0].intake] == ["dead", "AB1"]


@pytest.mark.parametrize(
    ("told_of", "text"),
    [
        ([], ""),
        (["nothing"], "nothing"),
        (["nothing", "manual"], "manual"),
        (["manual"], "manual"),
        (["manual", "battery"], "manual and battery"),
        (["manual", "battery", "bag"], "manual, battery and bag"),
    ],
)
def test_accessories_in_a_row(told_of: list[str], text: str) -> None:
    rows = [IntakeRecord(seq=at, at=START, what="accessory", text=name) for at, name in enumerate(told_of, 1)]
    assert accessories_text(rows) == text


def test_a_board_without_a_table_is_not_said_to_lack_the_pattern() -> None:
    """Nobody looked it up: there is nothing to look it up in."""
    talk = Talk()
    for said in (told("indicator", "2 short", "beeper"), answer("yes"), lamp("4 short, red"), answer("no")):
        talk.say(said)
    record = fold(talk.journal)
    assert [(row.name, row.unlisted) for row in record.intake] == [("beeper", False), ("front lamp", True)]
    assert [row.what for row in record.timeline if row.kind == "intake"] == [
        "beeper: 2 short",
        "front lamp: 4 short, red (not in the table)",
    ]
    lines = customer_page(record).sections[0].lines
    assert "Beeper: 2 short." in lines
    assert "Front lamp: 4 short, red, which is not in the maker's table." in lines
    assert render_html(record).count("not in the board&#39;s table") == 1

"""Suspects in the record: folded from the journal alone, as a suggestion with its reasons."""

from __future__ import annotations

from typing import Any

import jsonschema
import pytest

from benchvoice.events import OpenedPart, OpenedPoint, OpenedSupply
from benchvoice.keep.record import JobRecord, fold, record_schema
from benchvoice.keep.record_models import SuspectsRecord
from benchvoice.keep.report import render_html
from tests.keep.builders import Story
from tests.keep.test_report import Page

POINTS = tuple(
    OpenedPoint(name=name, quantity="voltage", unit="V", nominal=volts, low=volts, high=volts)
    for name, volts in (("input", "24"), ("rail 5", "5"), ("rail 3.3", "3.3"))
)
SUPPLIES = (
    OpenedSupply(point="rail 5", fed_by="input", through=("U3",)),
    OpenedSupply(point="rail 3.3", fed_by="rail 5", through=("U4",), loads=("C7",)),
)
PARTS = (OpenedPart(ref="U4", what="3.3 V regulator"), OpenedPart(ref="C7", what="buffer", fails="seldom"))


def record(*readings: tuple[str, str, str], stage: str = "before", **opened: Any) -> JobRecord:
    story = Story()
    story.opened(**{"points": POINTS, "supplies": SUPPLIES, "parts": PARTS, **opened})
    for point, statement, direction in readings:
        story.heard(point)
        story.reading(point, "1", statement, direction=direction or None, stage=stage)  # type: ignore[arg-type]
    return fold(story.events)


def only(found: JobRecord) -> SuspectsRecord:
    (suspects,) = found.suspects
    return suspects


FAILING = (("rail 5", "pass", ""), ("rail 3.3", "fail", "low"))


def test_who_is_suspected_and_why() -> None:
    found = only(record(*FAILING))
    assert (found.stage, found.certain, found.n_sets, found.complete) == ("before", True, 3, True)
    assert [(each.name, each.what, each.share) for each in found.suspects] == [
        ("U4", "3.3 V regulator", "0.6061"),  # odds of 20, 8 and 5
        ("something that rail 3.3 feeds and that pulls it down", "", "0.2424"),
        ("C7", "buffer", "0.1515"),
    ]
    assert found.sets[0].suspects == ("U4, 3.3 V regulator",)
    assert found.reasons == ("rail 3.3 fails and rail 5, which feeds it, passes.",)
    assert (found.next_point, found.next_bits) == (None, None)


@pytest.mark.parametrize(
    ("readings", "reason"),
    [
        ([("rail 3.3", "fail", "low")], "rail 3.3 fails; whether rail 5, which feeds it, is right is not known."),
        ([("input", "fail", "low")], "input fails, and nothing on the board feeds it."),
        (
            [("rail 5", "fail", "low"), ("rail 3.3", "fail", "low")],
            "rail 3.3 fails only as a consequence: rail 5, which feeds it, fails.",
        ),
        (
            [("rail 5", "fail", "low"), ("rail 3.3", "fail", "high")],
            "rail 3.3 fails too high; rail 5, which feeds it and fails, is not too high and cannot have done that.",
        ),
        (
            [("rail 5", "fail", "low"), ("rail 3.3", "pass", "")],
            "rail 3.3 passes though rail 5, which feeds it, fails. Both readings are taken as they are; read them "
            "again.",
        ),
        (
            [("rail 5", "conditional fail", "low")],
            "rail 5 is conditional: it convicts and clears nothing, but weighs by how probably it conforms.",
        ),
    ],
)
def test_reasons(readings: list[tuple[str, str, str]], reason: str) -> None:
    assert reason in only(record(*readings)).reasons


def test_without_a_failing_point_there_are_none() -> None:
    assert record(("rail 5", "pass", "")).suspects == ()
    assert record(("rail 5", "conditional pass", "low")).suspects == ()


def test_a_journal_that_tells_no_supplies_has_none() -> None:
    assert record(*FAILING, supplies=()).suspects == ()


@pytest.mark.parametrize(
    "supply",
    [
        OpenedSupply(point="input", fed_by="rail 3.3"),
        OpenedSupply(point="input", fed_by="nowhere"),
        OpenedSupply(point="input", load_of="nowhere"),
    ],
)
def test_supplies_that_no_board_can_have_make_no_suspects_and_no_error(supply: OpenedSupply) -> None:
    assert record(*FAILING, supplies=(*SUPPLIES, supply)).suspects == ()


def test_each_stage_has_its_own() -> None:
    assert only(record(*FAILING, stage="after")).stage == "after"


def test_it_meets_the_schema() -> None:
    found = record(*FAILING)
    jsonschema.Draft202012Validator(record_schema()).validate(found.model_dump(mode="json"))


def test_the_page_has_it_as_a_suggestion() -> None:
    text = Page(render_html(record(*FAILING))).text
    assert "Suspects before the repair" in text
    assert "A suggestion from the readings" in text
    assert "3 sets of parts explain all readings" in text
    assert "U4, 3.3 V regulator61\u00a0%" in text
    assert "rail 3.3 fails and rail 5, which feeds it, passes." in text
    assert "No point that is not read yet tells more." in text
    assert "Suspects" not in Page(render_html(record(("rail 5", "pass", "")))).text


def test_the_page_names_the_next_point_and_what_is_uncertain() -> None:
    text = Page(render_html(record(("rail 3.3", "conditional fail", "low")))).text
    assert "No point of the supplies fails for certain." in text
    assert "Measure next: rail 5, which tells most (" in text


def test_names_on_the_page_are_no_markup() -> None:
    parts = (OpenedPart(ref="U4", what="<script>alert(1)</script>"),)
    page = Page(render_html(record(*FAILING, parts=parts)))
    assert not page.all("script")
    assert "<script>alert(1)</script>" in page.text

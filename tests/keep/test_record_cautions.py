"""Cautions in the record: each with its numbers and its acknowledgement, or without one."""

from __future__ import annotations

import jsonschema

from benchvoice.keep.record import fold, record_schema
from benchvoice.keep.report import render_html
from tests.decide.builders import reading
from tests.decide.test_cautions import LID, OFF, ON, UNDERSTOOD, Bench


def worked() -> Bench:
    """Powered and understood, read, switched off and opened without an answer."""
    bench = Bench()
    for said in (ON, UNDERSTOOD, reading("probe", "61.5"), OFF, LID):
        bench.hear(said)
    return bench


def test_every_caution_with_its_acknowledgement() -> None:
    bench = worked()
    rows = fold(bench.journal).cautions
    assert [(row.hazard, row.about, row.acknowledged_at is not None) for row in rows] == [
        ("mains", "line input", True),
        ("moving parts", "fan", True),
        ("high voltage", "probe", False),
        ("capacitor", "C1", False),
        ("battery", "lithium pack", False),
        ("static", "", False),
    ]
    assert rows[2].details == "61.5\u00a0V"
    # 470 uF, 10 kohm, 400 V to 50 V: 37.6 J and 9.8 s (a resistor maker's design sheet); three digits are kept
    assert rows[3].details == "400\u00a0V, 37.6\u00a0J, 9.77\u00a0s to 50\u00a0V by its bleeder, if whole"
    assert rows[3].why == "the supply was disconnected"


def test_the_timeline_tells_of_them() -> None:
    told = [row.what for row in fold(worked().journal).timeline if row.kind in ("caution", "acknowledged")]
    assert told[:3] == [
        "Caution: mains, line input (the unit was powered)",
        "Caution: moving parts, fan (the unit was powered)",
        "Acknowledged: caution of line 4, 5",
    ]


def test_the_page_lists_them_and_the_record_meets_its_schema() -> None:
    record = fold(worked().journal)
    jsonschema.validate(record.model_dump(mode="json"), record_schema())
    page = render_html(record)
    assert page.count("not acknowledged") == 4
    assert "<h2>Cautions</h2>" in page
    assert "<h2>Cautions</h2>" not in render_html(fold(Bench().journal))


def test_every_prefix_has_a_record() -> None:
    journal = worked().journal
    for length in range(len(journal) + 1):
        assert len(fold(journal[:length]).cautions) == sum(event.kind == "caution" for event in journal[:length])

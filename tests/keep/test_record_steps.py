"""The checklist in the record: every step with its outcome, the skipped ones with the reason, undone ones as such."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings

from benchvoice.decide.checklist_steps import Checklist
from benchvoice.decide.session import resume
from benchvoice.keep.record import fold
from benchvoice.keep.report import render_html
from tests.decide.builders import command, reading
from tests.decide.checklists import BOARD_READ, CHECKLISTS
from tests.decide.test_guide import TALK, Guided, conversation, reason, to_the_rails


def told(bench: Guided) -> list[tuple[str, str, str, str]]:
    return [(row.step, row.outcome, row.reason, row.status) for row in fold(bench.journal).steps]


def test_every_step_has_its_outcome() -> None:
    bench = to_the_rails()
    bench.hear(reading(None, "5.02"))
    bench.hear(command("skip"))
    bench.hear(reason())
    assert told(bench) == [
        ("Disconnect the supply.", "done", "", "counts"),
        ("No charge left in the input capacitor", "unpowered", "", "counts"),
        ("No charge left in the input capacitor", "pass", "", "counts"),
        ("measure rail 3.3 to ground", "pass", "", "counts"),
        ("Connect 24 V, limited to half an amp.", "done", "", "counts"),
        ("measure rail 5", "powered", "", "counts"),
        ("measure rail 5", "pass", "", "counts"),
        ("What does the lamp do?", "skipped", "it is not fitted", "counts"),
    ]


def test_a_step_that_was_undone_stays_and_says_so() -> None:
    bench = to_the_rails()
    bench.hear(reading(None, "6.1"))
    bench.hear(command("strike"))
    record = fold(bench.journal)
    undone = record.steps[-1]
    assert (undone.step, undone.outcome, undone.status) == ("measure rail 5", "fail, high", "undone")
    back = next(row for row in record.timeline if row.seq == undone.undone_by)
    assert (back.kind, back.what) == ("step", "Step back to: measure rail 5")
    assert record.checklist is not None
    assert (record.checklist.name, record.checklist.at_hand) == ("First look", "measure rail 5")


def test_what_was_passed_is_named() -> None:
    bench = to_the_rails()
    bench.hear(reading(None, "5.02"))
    bench.type(command("skip"))
    bench.type(reason("of the lid"))
    assert bench.at() == "Electrolytic capacitors"
    bench.type(command("skip"))
    bench.type(reason("of the lid"))
    (row,) = [row for row in fold(bench.journal).steps if row.passed]
    assert row.passed == ("Does the fan turn?: does not apply",)


def test_the_page_shows_the_checklist() -> None:
    bench = to_the_rails()
    bench.type(command("skip"))
    bench.type(reason("<b>lid</b>"))
    page = render_html(fold(bench.journal))
    assert "<h2>Checklist</h2>" in page
    assert "It stands at: <strong><bdi>Turn the trimmer a little.</bdi></strong>" in page
    assert "&lt;b&gt;lid&lt;/b&gt;" in page
    assert "<b>lid" not in page


def test_a_job_without_a_checklist_has_none_in_its_record() -> None:
    record = fold([event for event in Guided().journal if event.kind != "step"])
    assert (record.checklist, record.steps) == (None, ())
    assert "<h2>Checklist</h2>" not in render_html(record)


@given(CHECKLISTS, TALK)
@settings(max_examples=100, deadline=None)
def test_the_steps_that_count_are_those_of_the_session(checklist: Checklist, talk: list[Any]) -> None:
    journal, _ = conversation(checklist, talk)
    progress = resume(BOARD_READ, None, journal, checklist).progress
    assert progress is not None
    record = fold(journal)
    counting = [(row.step, row.reason, row.reading) for row in record.steps if row.status == "counts"]
    steps = checklist.steps
    expected = [
        (steps[done.number].label if done.number < len(steps) else "", done.act.reason, done.act.reading)
        for done in progress.past
    ]
    assert counting == expected
    assert record.checklist is not None
    assert record.checklist.at_hand == ("" if progress.step is None else progress.step.label)

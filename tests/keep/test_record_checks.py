"""Function tests and safety checks: what was not done, skipped or struck is never shown as passed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.decide.checklist_steps import Checklist, CheckStep, Proof
from benchvoice.decide.session import resume
from benchvoice.events import Removed, Replaced, Reworked, ThingSaid
from benchvoice.keep.record import JobRecord, fold, record_schema
from benchvoice.keep.record_models import CheckRecord
from benchvoice.keep.report import render_html
from benchvoice.records import CommandIntent
from tests.decide.builders import START, command, reading
from tests.decide.checklists import BOARD_READ, CHECKLISTS, read
from tests.decide.test_guide import NEXT, NO, SKIP, TALK, YES, Guided, choice, conversation, reason

LIST = """\
checklist: Proof
steps:
  - name: look
    say: Look at it
  - name: run
    proof: function test
    measure: rail 5
    needs: powered
  - ask: What does the lamp do?
    choices: [dark, steady light]
    expected: steady light
  - ask: Does it hum?
  - wait: 30 s
    why: Let it warm up
  - name: safe
    proof: safety check
    do: final look
lists:
  final look:
    - inspect: Earth lead is fitted
    - inspect: Lid has all its screws
      only: after
"""


def checks(bench: Guided) -> dict[str, CheckRecord]:
    return {check.step: check for check in fold(bench.journal).checks}


def told(bench: Guided) -> list[tuple[str, str, str]]:
    return [(check.status, check.outcome, check.reason) for check in fold(bench.journal).checks]


def at(*said: Any) -> Guided:
    bench = Guided(read(LIST))
    for each in (NEXT, YES, *said):
        bench.type(each)
    return bench


NOT_DONE = ("not done", "", "")
LAMP, HUM = choice("steady light"), NO


def test_the_list_is_there_before_any_of_it_was_done() -> None:
    bench = Guided(read(LIST))
    record = fold(bench.journal)
    assert [(check.proof, check.part, check.step, check.expected) for check in record.checks] == [
        ("function test", "run", "measure rail 5", ""),
        ("function test", "run", "What does the lamp do?", "steady light"),
        ("function test", "run", "Does it hum?", ""),
        ("function test", "run", "wait 30 s: Let it warm up", ""),
        ("safety check", "safe", "Earth lead is fitted", ""),
        ("safety check", "safe", "Lid has all its screws", ""),
    ]
    assert {check.status for check in record.checks} == {"not done"}
    assert not any(check.proven for check in record.checks)


def test_what_came_of_each() -> None:
    bench = at(reading(None, "5.02"), LAMP, HUM)
    bench.hear(NEXT, pause_s=40)  # the wait is over
    bench.type(YES)
    assert told(bench) == [
        ("passed", "5.02 V, pass", ""),
        ("passed", "steady light", ""),
        ("noted", "no", ""),
        ("noted", "done", ""),
        ("passed", "pass", ""),
        ("does not apply", "", ""),  # it is before the repair
    ]


@pytest.mark.parametrize(
    ("said", "row", "expected"),
    [
        ((reading(None, "6.1"),), 0, ("failed", "6.1 V, fail, high", "")),
        ((reading(None, "5.02"), choice("dark")), 1, ("failed", "dark", "")),
        ((reading(None, "5.02"), SKIP, reason()), 1, ("skipped", "", "it is not fitted")),
        ((reading(None, "5.02"), LAMP, HUM, NEXT, YES, NO), 4, ("failed", "fail", "")),
        ((reading(None, "5.02"), LAMP, HUM, NEXT, YES), 3, ("not done", "", "the wait was cut short")),
        ((reading(None, "5.02"), LAMP, command("back")), 1, NOT_DONE),
        ((reading(None, "5.02"), LAMP, HUM, NEXT, YES, YES, command("back")), 4, NOT_DONE),
        ((reading(None, "5.02"), CommandIntent("jump", detail="safe")), 1, NOT_DONE),
    ],
)
def test_what_is_not_right_is_told_as_it_is(said: tuple[Any, ...], row: int, expected: tuple[str, str, str]) -> None:
    assert told(at(*said))[row] == expected


def test_a_value_that_was_struck_proves_nothing() -> None:
    bench = at(reading(None, "5.02"), LAMP)
    bench.type(command("strike"))
    bench.type(YES)  # the lamp was told of since
    assert told(bench)[0] == ("not done", "", "the reading was struck")


def test_a_value_that_was_read_again_is_what_it_was_read_as_last() -> None:
    bench = at(reading(None, "5.02"), LAMP)
    bench.type(reading("rail 5", "6.1"))
    assert told(bench)[0] == ("failed", "6.1 V, fail, high", "")
    bench.type(command("strike"))  # then the one of the step counts again
    assert told(bench)[0] == ("passed", "5.02 V, pass", "")


LID = ThingSaid(kind="cover", name="lid")


@pytest.mark.parametrize(
    ("event", "outdated"),
    [
        (Replaced(seq=1, at=START, heard=1, ref="U4"), True),
        (Removed(seq=1, at=START, heard=1, thing=LID), True),
        (Reworked(seq=1, at=START, heard=1, ref="U4", act="method", text="iron"), True),
        (Reworked(seq=1, at=START, heard=1, ref="U4", act="inspected", text="passed"), False),
        (Reworked(seq=1, at=START, heard=1, ref="U4", act="part number", text="LM1117"), False),
    ],
)
def test_what_was_proven_before_the_last_work_is_proven_no_more(event: Any, outdated: bool) -> None:
    bench = at(reading(None, "5.02"))
    worked = event.model_copy(update={"seq": len(bench.journal) + 1})
    check = fold([*bench.journal, worked]).checks[0]
    assert check.outdated == ("done before the last work on the unit" if outdated else "")
    assert check.proven != outdated
    assert ("<strong>done before the last work" in render_html(fold([*bench.journal, worked]))) == outdated


def test_what_was_proven_before_the_repair_is_no_proof_after_it() -> None:
    bench = at(reading(None, "5.02"), command("after"))
    assert checks(bench)["measure rail 5"].outdated == "done before the repair"


def test_what_was_come_to_too_early_is_not_done_once_it_applies() -> None:
    bench = at(reading(None, "5.02"), LAMP, HUM)
    bench.hear(NEXT, pause_s=40)
    bench.type(YES)
    assert checks(bench)["Lid has all its screws"].status == "does not apply"
    bench.type(command("after"))
    late = checks(bench)["Lid has all its screws"]
    assert (late.status, late.reason, late.proven) == ("not done", "it was come to before the repair", False)


def test_the_page_says_what_was_checked_and_promises_nothing() -> None:
    page = render_html(fold(at(reading(None, "5.02"), choice("dark")).journal))
    for text in (
        "<h2>Function tests</h2>",
        "<h2>Final safety checks</h2>",
        "3 of 4 function tests not passed:",
        "is for local rules, and for those who are qualified and licensed, to decide.",
    ):
        assert text in page
    assert "safe to use" not in page


def test_another_list_takes_the_place_of_the_first() -> None:
    bench = at(reading(None, "5.02"))
    other = Guided(read("checklist: b\nsteps: [{name: c, ask: d, proof: function test}]\n"))
    moved = [event.model_copy(update={"seq": len(bench.journal) + event.seq}) for event in other.journal]
    record = fold([*bench.journal, *moved])
    assert [(check.step, check.status) for check in record.checks] == [("d", "not done")]
    assert "1 of 1 function test not passed:" in render_html(record)


# --- any checklist ------------------------------------------------------------------------------------------------
@st.composite
def marked(draw: st.DrawFn) -> Checklist:
    """A random checklist, some of whose parts are proof, and some of whose questions have a right answer."""
    checklist = draw(CHECKLISTS)
    marks: st.SearchStrategy[Proof | None] = st.sampled_from([None, "function test", "safety check"])

    def mark(step: CheckStep) -> CheckStep:
        expected = draw(st.sampled_from(["", *step.answers])) if step.kind == "ask" else ""
        return replace(step, proof=draw(marks) if step.name and not step.part else None, expected=expected)

    return replace(checklist, steps=tuple(mark(step) for step in checklist.steps))


@settings(max_examples=40, deadline=None)
@given(marked(), TALK)
def test_a_check_is_passed_only_where_the_session_has_it_done_and_right(checklist: Checklist, talk: list[Any]) -> None:
    journal, _ = conversation(checklist, talk)
    progress = resume(BOARD_READ, None, journal, checklist).progress
    assert progress is not None
    record = fold(journal)
    assert [check.step for check in record.checks] == [step.label for step, _ in checklist.checks]
    counting = {reading.seq: reading for reading in record.readings if reading.status == "current"}
    for (step, proof), check in zip(checklist.checks, record.checks, strict=True):
        assert (check.proof, check.expected) == (proof, step.expected)
        acts = [done.act for done in progress.past if done.number == step.number]
        acts = [act for act in acts if act.action in ("done", "answered", "measured", "skipped")]
        if not acts:
            assert check.status in ("not done", "does not apply")
        elif acts[-1].action == "skipped":
            assert (check.status, check.reason) == ("skipped", acts[-1].reason)
        elif acts[-1].action == "measured":
            shown = counting.get(check.reading or 0)
            assert (check.status == "not done") == (shown is None)
            if shown is not None:
                assert acts[-1].reading is not None
                assert shown.seq >= acts[-1].reading
                assert (check.status == "passed") == (shown.statement in ("pass", "conditional pass"))
        else:
            right = check.expected or ("pass" if step.kind == "inspect" else "")
            if acts[-1].outcome == "cut short":
                assert (check.status, check.reason) == ("not done", "the wait was cut short")
                continue
            status = "noted" if not right else "passed" if acts[-1].outcome == right else "failed"
            assert check.status == status
    jsonschema.Draft202012Validator(record_schema()).validate(record.model_dump(mode="json"))
    assert JobRecord.model_validate_json(record.model_dump_json()) == record

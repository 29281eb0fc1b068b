"""Strip-down and rework in the record: the order, what is still out, what has to be measured again."""

from __future__ import annotations

from collections import deque
from typing import Any

import jsonschema
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.decide.stripdown import written_thing
from benchvoice.events import (
    Asked,
    Event,
    Heard,
    OpenedSupply,
    ReadingCandidate,
    Refitted,
    Removed,
    Replaced,
    Reworked,
    Substituted,
    Undone,
    WorkSaid,
)
from benchvoice.keep.record import JobRecord, fold, record_schema
from benchvoice.keep.report import render_html
from tests.decide.test_stripdown import _ACTS, LID, LONG, U4, Unit, work
from tests.keep.builders import START, Story


def stripped() -> Unit:
    """Screws and lid out, a part replaced, and the lid and two screws back."""
    unit = Unit()
    unit.careful("cable under the lid", "lid")
    unit.out(LONG, LID, U4)
    unit.take(Replaced(**unit._next(), ref="U4", what="3.3 V regulator", removed=4, value="3.3", unit="V", again=AGAIN))
    unit.take(Reworked(**unit._next(), ref="U4", act="method", text="hot air"))
    unit.back(LID)
    unit.take(Refitted(**unit._next(), removed=2, count=2))
    return unit


AGAIN = ("rail 3.3",)
SUPPLIES = (OpenedSupply(point="rail 3.3", fed_by="rail 5", through=("U4",)), OpenedSupply(point="rail 5"))


def test_what_came_out_and_what_became_of_it() -> None:
    record = fold(stripped().journal)
    rows = [(row.order, row.name, row.back, row.count, row.status) for row in record.strip_down]
    assert rows == [(1, "screw", 2, 4, "still out"), (2, "lid", 1, 1, "back"), (3, "U4", 0, 1, "replaced")]
    assert record.strip_down[1].careful == ("cable under the lid",)
    assert record.unit_closed_at is None
    acts = [(row.ref, row.act, row.text, row.code) for row in record.rework]
    assert acts == [("U4", "removed", "", ""), ("U4", "fitted", "", "3V3"), ("U4", "method", "hot air", "")]
    assert [row.what for row in record.timeline][:5] == [
        "Careful: cable under the lid",
        "Out: 4 × screw, M3 by 8, long, top edge",
        "Out: lid",
        "Out: U4, 3.3 V regulator",
        "Fitted: U4, 3.3 V regulator, 3.3 V",
    ]


def test_a_point_is_measured_again_after_the_repair_and_not_before_it() -> None:
    def left(*readings: str) -> tuple[str, ...]:
        story = Story()
        story.opened()
        seq = len(story.events) + 1
        story.events.append(Replaced(seq=seq, at=START, heard=1, ref="U4", again=AGAIN))
        for stage in readings:
            story.reading("rail 3.3", "3.31", stage=stage)
        return fold(story.events).measure_again

    assert left() == AGAIN
    assert left("before") == AGAIN
    assert left("after") == ()


def test_a_reading_of_before_the_replacement_does_not_count() -> None:
    story = Story()
    story.opened()
    story.reading("rail 3.3", "3.31", stage="after")
    story.events.append(Replaced(seq=len(story.events) + 1, at=START, heard=1, ref="U4", again=AGAIN))
    assert fold(story.events).measure_again == AGAIN


def test_what_was_struck_stands_in_the_timeline_alone() -> None:
    unit = Unit()
    unit.out(LONG)
    unit.strike()
    record = fold(unit.journal)
    assert record.strip_down == ()
    assert [row.kind for row in record.timeline] == ["removed", "undone"]


def test_what_was_tried_before_the_repair_goes_on_speaking_for_it() -> None:
    """The part is fitted before "after the repair" is said: its trial is still why it was suspected."""
    story = Story()
    story.opened(supplies=SUPPLIES)
    story.reading("rail 3.3", "4.0", statement="fail", direction="high")
    told: dict[str, Any] = {"at": START, "heard": 1, "ref": "U4"}
    story.events.append(
        Substituted(seq=len(story.events) + 1, what="regulator", outcome="works", stage="before", **told)
    )
    tried_only = fold(story.events).suspects
    story.events.append(Replaced(seq=len(story.events) + 1, again=AGAIN, **told))
    record = fold(story.events)
    assert [row.speaks for row in record.substitutions] == ["for it"]
    assert record.suspects == tried_only


def test_what_was_tried_speaks_for_or_against_its_cause() -> None:
    story = Story()
    story.opened(supplies=SUPPLIES)
    story.reading("rail 3.3", "4.0", statement="fail", direction="high")

    def tried(outcome: str, stage: str = "before", **what: str) -> None:
        seq = len(story.events) + 1
        told: dict[str, Any] = {"outcome": outcome, "stage": stage} | what
        story.events.append(Substituted(seq=seq, at=START, heard=1, **told))

    tried("no change", what="supply")
    tried("works", what="regulator", ref="U4")
    tried("different", what="cable")
    tried("no change", what="cable")
    record = fold(story.events)
    rows = [(row.ref or row.what, row.outcome, row.speaks) for row in record.substitutions]
    assert rows == [
        ("supply", "no change", "against it"),
        ("U4", "works", "for it"),
        ("cable", "different", "outdated"),
        ("cable", "no change", "against it"),
    ]
    assert record.timeline[-1].what == "With another cable: no change"
    jsonschema.Draft202012Validator(record_schema()).validate(record.model_dump(mode="json"))
    (found,) = record.suspects
    assert found.reasons[-1] == (
        "With another U4 the fault was gone: it is likelier the cause, though its connection may be."
    )
    page = render_html(record)
    assert "Tried with another" in page
    assert "<td>against it</td>" in page


def test_a_question_about_work_is_answered_by_the_work() -> None:
    said = WorkSaid(act="out", thing=written_thing(LID))
    heard: dict[str, Any] = {"at": START, "source": "bench", "engine": "panel", "text": "lid off"}
    events: list[Event] = [
        Heard(seq=1, outcome="asked", **heard),
        Asked(seq=2, at=START, heard=1, question="Out lid?", why="x", candidates=(ReadingCandidate(work=said),)),
        Heard(seq=3, outcome="accepted", **heard | {"text": "yes"}),
        Removed(seq=4, at=START, heard=3, thing=written_thing(LID)),
    ]
    (question,) = fold(events).questions
    assert (question.offered, question.ended, question.answer) == (("out lid",), "answered", "Out: lid")


def test_what_undoes_nothing_is_told_all_the_same() -> None:
    record = fold([Undone(seq=1, at=START, heard=1, undoes=(9,))])
    assert [row.what for row in record.timeline] == ["Struck: line 9"]


@settings(max_examples=40, deadline=None)
@given(st.lists(_ACTS, max_size=15))
def test_any_work_has_a_record_that_agrees_with_the_session(acts: list[Any]) -> None:
    unit = deque(work(acts), maxlen=1).pop() if acts else Unit()
    record = fold(unit.journal)
    jsonschema.Draft202012Validator(record_schema()).validate(record.model_dump(mode="json"))
    assert JobRecord.model_validate_json(record.model_dump_json()) == record
    items = unit.state.items
    assert [(row.seq, row.count - row.back) for row in record.strip_down] == [(item.seq, item.out) for item in items]
    assert [row.order for row in record.strip_down] == list(range(1, len(items) + 1))
    still = {row.seq for row in record.strip_down if row.status == "still out"}
    assert still == {item.seq for item in unit.state.to_go_back}
    assert ("Still out of the unit" in render_html(record)) == bool(still)

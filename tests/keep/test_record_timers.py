"""Timers in the record: each with how it ended."""

from __future__ import annotations

import jsonschema
import pytest

from benchvoice.keep.record import fold, record_schema
from benchvoice.keep.record_timers import seconds_text
from benchvoice.keep.report import render_html
from tests.decide.builders import answer
from tests.decide.test_timers import Bench, stop, timer


def worked() -> Bench:
    """One that rang late, one stopped, one replaced and its follower still running."""
    bench = Bench()
    bench.hear(timer(20, "discharge timer"))
    bench.hear(timer(90))
    bench.hear(stop())
    bench.ring(30)
    bench.hear(timer(600, "soak test timer"))
    bench.hear(timer(5400, "soak test timer"))
    bench.hear(answer("yes"))
    return bench


def test_every_timer_with_how_it_ended() -> None:
    rows = fold(worked().journal).timers
    assert [(row.name, row.seconds, row.ended, row.ended_at is None) for row in rows] == [
        ("discharge timer", 20, "over", False),
        ("timer", 90, "stopped", False),
        ("soak test timer", 600, "stopped", False),
        ("soak test timer", 5400, "running", True),
    ]


def test_the_timeline_tells_of_them() -> None:
    told = [row.what for row in fold(worked().journal).timeline if row.kind.startswith("timer")]
    assert told == [
        "Timer set: discharge timer, 20 s",
        "Timer set: timer, 1 min 30 s",
        "Timer stopped: timer, 1 min 30 s (by voice)",
        "Timer over: discharge timer, told 17 s later",
        "Timer set: soak test timer, 10 min",
        "Timer stopped: soak test timer, 10 min (another was set)",
        "Timer set: soak test timer, 1 h 30 min",
    ]


def test_a_question_about_a_timer_was_answered() -> None:
    (question,) = fold(worked().journal).questions
    assert question.ended == "answered"
    assert question.offered == ("timer, soak test timer, 5400 s",)


def test_the_page_lists_them_and_the_record_meets_its_schema() -> None:
    record = fold(worked().journal)
    jsonschema.validate(record.model_dump(mode="json"), record_schema())
    page = render_html(record)
    assert "<h2>Timers</h2>" in page
    assert "1 h 30 min" in page
    assert "<h2>Timers</h2>" not in render_html(fold(Bench().journal))


@pytest.mark.parametrize(("seconds", "text"), [(0, "0 s"), (59, "59 s"), (60, "1 min"), (86_400, "24 h")])
def test_a_time_as_it_is_written(seconds: int, text: str) -> None:
    assert seconds_text(seconds) == text

"""Advice is given when hearing goes badly twice for a reason that can be mended, and not again and again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.live.advice import Advice
from benchvoice.records import Outcome, Utterance

GOOD = Utterance(np.zeros(16000, dtype=np.int16), 0.0, 1.0, -20.0, -60.0)
LOUD = replace(GOOD, noise_dbfs=-30.0)
FAINT = replace(GOOD, level_dbfs=-50.0)
CLIPPED = replace(GOOD, clipped=True)
NARROW = replace(GOOD, narrow=True)
ASKED, IGNORED, ACCEPTED = Outcome.ASKED, Outcome.IGNORED, Outcome.ACCEPTED


@pytest.mark.parametrize(
    ("utterance", "notice"),
    [(LOUD, "too loud here"), (FAINT, "faint"), (CLIPPED, "clipped"), (NARROW, "narrow band"), (GOOD, "")],
)
@pytest.mark.parametrize("outcome", [ASKED, IGNORED])
def test_the_second_time_for_the_same_reason_it_is_said(utterance: Utterance, outcome: Outcome, notice: str) -> None:
    advice = Advice()
    assert advice.after(utterance, outcome, 0.0) == ""
    assert advice.after(utterance, outcome, 5.0) == notice


def test_what_was_taken_needs_no_advice_and_begins_the_count_anew() -> None:
    advice = Advice()
    said = [advice.after(LOUD, outcome, 0.0) for outcome in (ASKED, ACCEPTED, ASKED, ACCEPTED, ACCEPTED)]
    assert said == [""] * 5


def test_two_reasons_are_no_reason() -> None:
    advice = Advice()
    assert [advice.after(utterance, ASKED, 0.0) for utterance in (LOUD, FAINT, LOUD, CLIPPED)] == [""] * 4


def test_noise_that_is_not_known_is_not_blamed() -> None:
    advice = Advice()
    assert [advice.after(replace(GOOD, noise_dbfs=None), ASKED, 0.0) for _ in range(3)] == [""] * 3


@given(st.lists(st.tuples(st.sampled_from([GOOD, LOUD, FAINT, CLIPPED]), st.sampled_from([ASKED, IGNORED, ACCEPTED]),
                          st.floats(0, 60)), max_size=40))  # fmt: skip
def test_nothing_is_said_twice_within_two_minutes(talk: list[tuple[Utterance, Outcome, float]]) -> None:
    advice, now_s = Advice(), 0.0
    last: dict[str, float] = {}
    for utterance, outcome, later_s in talk:
        now_s += later_s
        notice = advice.after(utterance, outcome, now_s)
        if notice:
            assert now_s - last.get(notice, -1e9) >= 120
            last[notice] = now_s

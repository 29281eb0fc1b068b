"""Trying with another: kept as evidence for or against a cause, struck like other work, and weighed in the suspects."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.decide.stripdown import WorkEvent
from benchvoice.decide.substitution import counting_trials, trials_of
from benchvoice.decide.suspects import suspected
from benchvoice.events import Replaced, Substituted, Undone
from benchvoice.records import Outcome, Thing, Trust, WorkIntent
from benchvoice.suspicion import Cause
from tests.decide.builders import START, command, reading
from tests.decide.test_work import U4, Bench

SUPPLY = Thing("substitute", "supply")
WORKS, SAME = "works", "no change"


def tried(thing: Thing, outcome: str) -> WorkIntent:
    return WorkIntent("substituted", thing, outcome)


def shares(bench: Bench) -> dict[Cause, Decimal]:
    return {each.cause: each.share for each in suspected(bench.state).suspects}


FEED, REGULATOR = Cause("feed", "input"), Cause("part", "U2")


def test_a_trial_is_kept_with_its_stage_and_answered() -> None:
    bench = Bench()
    done = bench.hear(tried(SUPPLY, WORKS))
    assert done.decision.outcome is Outcome.ACCEPTED
    assert done.decision.about == "substituted"
    [kept] = bench.kept(Substituted)
    assert (kept.what, kept.ref, kept.outcome, kept.stage) == ("supply", "", "works", "before")


def test_a_part_of_the_board_is_kept_with_what_it_is() -> None:
    bench = Bench()
    bench.hear(tried(U4, SAME))
    [kept] = bench.kept(Substituted)
    assert (kept.ref, kept.what, kept.outcome) == ("U4", "3.3 V regulator", "no change")


def test_what_is_heard_in_doubt_is_asked_and_kept_on_yes_only() -> None:
    bench = Bench()
    asked = bench.hear(tried(SUPPLY, WORKS), trust=Trust.DOUBTFUL)
    assert (asked.decision.outcome, bench.kept(Substituted)) == (Outcome.ASKED, [])
    bench.hear(command("suspects"))  # something else was said: the question is over
    assert bench.kept(Substituted) == []


def test_a_trial_that_is_struck_speaks_for_nothing_any_more() -> None:
    bench = Bench()
    bench.hear(reading("rail 5", "0.1"))
    before = shares(bench)
    bench.hear(tried(SUPPLY, WORKS))
    assert shares(bench) != before
    bench.hear(command("strike"), trust=Trust.TYPED)
    assert shares(bench) == before
    assert [event.undoes for event in bench.kept(Undone)] == [(bench.kept(Substituted)[0].seq,)]


WEIGHED = [
    # (what was tried and what came of it, whether its cause grew likelier); common practice, no source
    (SUPPLY, "works", FEED, True),
    (SUPPLY, "different", FEED, True),
    (SUPPLY, "no change", FEED, False),
    (Thing("part", "U2"), "works", REGULATOR, True),
    (Thing("part", "u2"), "no change", REGULATOR, False),
]


@pytest.mark.parametrize(("thing", "outcome", "cause", "likelier"), WEIGHED)
def test_it_weighs_for_or_against_its_cause(thing: Thing, outcome: str, cause: Cause, likelier: bool) -> None:
    bench = Bench()
    bench.hear(reading("rail 5", "0.1"))
    before = shares(bench)
    bench.hear(tried(thing, outcome))
    after = shares(bench)
    assert set(after) == set(before)  # nothing is excluded by a trial
    assert (after[cause] > before[cause]) == likelier
    assert after[cause] != before[cause]


def test_what_has_no_place_on_the_board_changes_no_suspect() -> None:
    bench = Bench()
    bench.hear(reading("rail 5", "0.1"))
    before = shares(bench)
    bench.hear(tried(Thing("substitute", "cable"), WORKS))
    assert shares(bench) == before


def test_only_the_trials_of_this_stage_count() -> None:
    bench = Bench()
    bench.hear(tried(U4, SAME))
    bench.hear(command("after"), trust=Trust.TYPED)
    assert trials_of(bench.state.work.events, "after") == ()
    assert len(trials_of(bench.state.work.events, "before")) == 1


def test_a_trial_before_the_part_was_replaced_says_nothing_of_the_new_one() -> None:
    bench = Bench()
    bench.hear(tried(U4, SAME))
    bench.hear(tried(SUPPLY, SAME))
    bench.hear(WorkIntent("fitted", U4))
    assert [trial.what for trial in trials_of(bench.state.work.events, "before", so_far=True)] == ["supply"]
    # it was why the part was replaced, and goes on speaking of the time before
    assert [trial.what for trial in trials_of(bench.state.work.events, "before")] == ["U4", "supply"]
    bench.hear(tried(U4, WORKS))
    for so_far in (True, False):
        assert [
            (trial.what, trial.outcome) for trial in trials_of(bench.state.work.events, "before", so_far=so_far)
        ] == [("supply", "no change"), ("U4", "works")]


def test_after_the_repair_a_part_that_is_replaced_again_leaves_its_trial_behind() -> None:
    bench = Bench()
    bench.hear(command("after"), trust=Trust.TYPED)
    bench.hear(tried(U4, SAME))
    bench.hear(WorkIntent("fitted", U4))
    assert trials_of(bench.state.work.events, "after") == ()


def event(at: int, what: str, **fields: Any) -> WorkEvent:
    numbered: dict[str, Any] = {"seq": at + 2, "at": START + timedelta(seconds=at), "heard": at + 1}
    if what == "replaced":
        return Replaced(**numbered, ref="U4")
    ref = "U4" if what == "part" else ""
    return Substituted(**numbered, what="supply" if not ref else "regulator", ref=ref, stage="before", **fields)


ACTS = st.lists(st.tuples(st.sampled_from(["supply", "part", "replaced"]), st.sampled_from([WORKS, SAME, "different"])))


@given(ACTS, st.booleans())
def test_of_each_thing_the_latest_trial_counts(acts: list[tuple[str, str]], so_far: bool) -> None:
    """A model: a table that a trial writes and, as far as the unit as it is now goes, a new part clears."""
    model: dict[str, str] = {}
    events = []
    for at, (what, outcome) in enumerate(acts):
        events.append(event(at, what) if what == "replaced" else event(at, what, outcome=outcome))
        if what != "replaced":
            model.pop(what, None)
            model[what] = outcome
        elif so_far:
            model.pop("part", None)
    found = [
        ("part" if trial.ref else "supply", trial.outcome) for trial in counting_trials(events, "before", so_far=so_far)
    ]
    assert found == list(model.items())

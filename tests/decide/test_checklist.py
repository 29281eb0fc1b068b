"""Going through a checklist: what each act leads to, and what holds for every checklist and every way through it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.decide.checklist import Act, Passed, Place, Progress, after, applies, begin, left, why_not
from benchvoice.decide.checklist_steps import Checklist, Stage
from tests.decide.checklists import CHECKLISTS, acts, read

STAGES: st.SearchStrategy[Stage] = st.sampled_from(["before", "after"])


def gone(*what: Act | str, stage: Stage = "before") -> Progress:
    """The test checklist after these acts; a text is an answer, "done" and "skip" are what they say."""
    progress = begin(read(), stage)
    for each in what:
        progress = after(progress, _act(each), stage)
    return progress


def _act(what: Act | str) -> Act:
    if isinstance(what, Act):
        return what
    if what == "skip":
        return Act("skipped", reason="no access")
    if what in ("powered", "unpowered"):
        return Act("power", what)
    if what.split(",")[0] in ("passed", "failed"):
        return Act("measured", what.replace("passed", "pass").replace("failed", "fail"), reading=3)
    return Act("done") if what == "done" else Act("answered", what)


def at(progress: Progress) -> str:
    step = progress.step
    return "end" if step is None else f"{step.label}{' ?' if progress.place.asks_power else ''}"


SAFE = ("done", "unpowered", "pass")
UP = (*SAFE, "passed", "done", "powered")


@pytest.mark.parametrize(
    ("acts_done", "where"),
    [
        ((), "Disconnect the supply."),
        (("done",), "No charge left in the input capacitor ?"),
        (("done", "powered"), "No charge left in the input capacitor ?"),  # it waits until the supply is off
        (("done", "unpowered"), "No charge left in the input capacitor"),
        (SAFE, "measure rail 3.3 to ground"),  # told once, it is not asked again
        ((*SAFE, "failed, low"), "Do not connect the supply."),
        ((*SAFE, "failed, low", "done"), "end"),
        ((*SAFE, "passed"), "Connect 24 V, limited to half an amp."),
        ((*SAFE, "passed", "done"), "measure rail 5 ?"),
        (UP, "measure rail 5"),
        ((*UP, "failed, high"), "Turn the trimmer a little."),
        ((*UP, "conditional pass"), "What does the lamp do?"),
        ((*UP, "failed, high", "done", "failed, high", "done", "failed, low", "done"), "Write down what was found."),
        ((*UP, "passed", "dark"), "Write down what was found."),
        ((*UP, "passed", "blinking"), "Electrolytic capacitors"),
        ((*UP, "passed", "skip"), "Electrolytic capacitors"),  # skipped is none of the answers that "else" stands for
        ((*UP, "passed", "blinking", "pass"), "wait 30 s: Let it warm up"),
        ((*UP, "passed", "blinking", "pass", "done", "done"), "end"),
        ((Act("jumped", "lamp"),), "What does the lamp do?"),
        ((*UP, "passed", Act("jumped", "safety")), "Disconnect the supply."),
    ],
)
def test_where_acts_lead(acts_done: tuple[Any, ...], where: str) -> None:
    fixed = tuple(Act("measured", name, reading=3) if name in ("conditional pass",) else name for name in acts_done)
    assert at(gone(*fixed)) == where


def test_a_step_of_another_stage_is_passed() -> None:
    way = (*UP, "passed", "blinking", "pass")
    assert at(gone(*way, stage="after")) == "Does the fan turn?"
    progress = gone(*way)
    fan = next(step.number for step in progress.checklist.steps if step.text == "Does the fan turn?")
    assert progress.place.passed == (Passed(fan, "does not apply"),)


def test_a_limit_that_is_used_up_is_told() -> None:
    progress = gone(*UP, "failed, high", "done", "failed, high", "done", "failed, low", "done")
    assert [passed.why for passed in progress.place.passed] == ["often enough"]


def test_limits_of_a_sub_list_begin_anew_with_it() -> None:
    text = """\
checklist: twice
steps:
  - {name: errand, do: try, at most: 2, otherwise: end}
  - {ask: Once more?, if: {yes: errand, no: end}}
lists:
  try:
    - {name: press, ask: Does it click?, at most: 2, otherwise: end, if: {no: press}}
"""
    progress = begin(read(text), "before")
    for word in ("no", "no", "yes", "no"):
        progress = after(progress, Act("answered", word), "before")
    assert at(progress) == "Does it click?"  # the fourth time, but the second of this round
    for word in ("yes", "yes"):
        progress = after(progress, Act("answered", word), "before")
    assert progress.ended


@pytest.mark.parametrize(
    ("acts_done", "act", "why"),
    [
        ((), Act("back"), "nothing was done yet"),
        ((), Act("answered", "yes"), "that does not answer this step"),
        ((), Act("measured", "pass", reading=3), "this step measures nothing"),
        ((), Act("skipped"), "a reason is needed"),
        ((), Act("jumped", "attic"), "there is no such part"),
        ((), Act("power", "powered"), "nothing was asked"),
        ((), Act("passed"), "the step applies in both stages"),
        (("done",), Act("done"), "say first whether it is without power"),
        (("done",), Act("answered", "pass"), "say first whether it is without power"),
        (("done", "unpowered"), Act("done"), "this step waits for an answer"),
        (SAFE, Act("done"), "this step waits for a value"),
        ((*SAFE, "failed, low", "done"), Act("done"), "the checklist is done"),
        ((*SAFE, "failed, low", "done"), Act("skipped", reason="no access"), "the checklist is done"),
    ],
)
def test_what_cannot_be_done_is_refused_with_the_reason(acts_done: tuple[str, ...], act: Act, why: str) -> None:
    progress = gone(*acts_done)
    assert why_not(progress, act) == why
    with pytest.raises(ValueError, match=why):
        after(progress, act, "before")


def test_what_is_left_follows_the_way_without_branches() -> None:
    texts = [step.label for step in left(gone(), "before")]
    assert texts == [
        "Disconnect the supply.",
        "No charge left in the input capacitor",
        "measure rail 3.3 to ground",
        "Connect 24 V, limited to half an amp.",
        "measure rail 5",
        "Turn the trimmer a little.",
    ]  # a step that is gone back to is counted once
    assert left(gone(*SAFE, "failed, low", "done"), "before") == ()


def test_named_parts() -> None:
    checklist = read()
    assert set(checklist.named) == {"safety", "power up", "rails", "adjust", "lamp", "give up", "dead short"}
    assert checklist.section(2) == "safety"
    assert checklist.section(checklist.named["rails"]) == "rails"


# --- whatever the checklist, whatever is done ---------------------------------------------------------------------


@given(CHECKLISTS, STAGES, st.randoms(use_true_random=False))
@settings(max_examples=150, deadline=None)
def test_every_path_ends(checklist: Checklist, stage: Stage, rng: Any) -> None:
    progress = begin(checklist, stage)
    # each of at most six steps is come to three times, and each time each of three of a sub-list three times; told
    # power is asked once more each time
    for _ in range(6 * 3 * (1 + 3 * 3) * 2):
        if progress.ended:
            break
        progress = after(progress, rng.choice(acts(progress)), stage)
    assert progress.ended


def without_supply(progress: Progress) -> Progress:
    """All but how the supply stands, which no step back can change."""

    def unknown(place: Place) -> Place:
        return replace(place, power=None, asks_power=False)

    past = tuple(replace(done, before=unknown(done.before)) for done in progress.past)
    return replace(progress, place=unknown(progress.place), past=past)


SUPPLY = """\
checklist: switching
steps:
  - say: Plug it in.
    needs: powered
  - say: Unplug it.
    needs: unpowered
  - say: Look at it.
    needs: powered
"""


def test_a_step_back_switches_nothing() -> None:
    """The unit stays as it is: where that is wrong for the step gone back to, the supply is asked again."""
    there = ("powered", "done", "unpowered", "done", "powered")
    progress = begin(read(SUPPLY), "before")
    for act in there:
        progress = after(progress, Act("done") if act == "done" else Act("power", act), "before")
    assert (at(progress), progress.place.power) == ("Look at it.", "powered")
    progress = after(progress, Act("back"), "before")  # what was told of the supply was a slip
    assert (at(progress), progress.place.power) == ("Look at it. ?", None)
    progress = after(progress, Act("power", "powered"), "before")
    progress = after(after(progress, Act("done"), "before"), Act("back"), "before")
    assert (at(progress), progress.place.power) == ("Look at it.", "powered")
    progress = after(after(progress, Act("back"), "before"), Act("back"), "before")
    assert (at(progress), progress.place.power) == ("Unplug it. ?", None)


@given(CHECKLISTS, st.lists(st.tuples(st.integers(0, 1000), STAGES), max_size=40))
@settings(max_examples=120, deadline=None)
def test_back_undoes_exactly(checklist: Checklist, choices: list[tuple[int, Stage]]) -> None:
    before = [begin(checklist, "before")]
    for choice, stage in choices:
        possible = [*acts(before[-1]), *(Act("jumped", name) for name in checklist.named)]
        before.append(after(before[-1], possible[choice % len(possible)], stage))
    progress = before.pop()
    while before:
        progress = after(progress, Act("back"), "before")
        assert without_supply(progress) == without_supply(before.pop())
        step = progress.step
        assert step is None or progress.place.asks_power or step.power in (None, progress.place.power)
    assert why_not(progress, Act("back")) == "nothing was done yet"


@given(CHECKLISTS, st.lists(st.integers(0, 1000), max_size=40), STAGES)
@settings(max_examples=200, deadline=None)
def test_no_step_is_at_hand_in_a_state_in_which_it_does_not_apply(
    checklist: Checklist, choices: list[int], stage: Stage
) -> None:
    progress = begin(checklist, stage)
    for choice in choices:
        step = progress.step
        if step is None:
            break
        assert applies(step, progress.place, stage)
        assert progress.place.asks_power or step.power in (None, progress.place.power)
        assert progress.place.asks_power or step.kind != "do"
        possible = acts(progress)
        for act in possible:
            assert why_not(progress, act) == ""
        progress = after(progress, possible[choice % len(possible)], stage)


@given(CHECKLISTS, st.lists(st.integers(0, 1000), max_size=40), STAGES)
@settings(max_examples=100, deadline=None)
def test_limits_hold(checklist: Checklist, choices: list[int], stage: Stage) -> None:
    progress = begin(checklist, stage)
    for choice in choices:
        if progress.ended:
            break
        for number, times in progress.place.visits:
            most = checklist.steps[number].most
            assert most is not None
            assert times <= most
        possible = acts(progress)
        progress = after(progress, possible[choice % len(possible)], stage)

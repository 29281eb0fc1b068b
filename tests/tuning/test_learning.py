"""What follows from the prompts: limits within their bounds, and pairs that only ever add questions."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.hear.person import NETWORK_GAP, STRANGER_GAP, Alike, Pair
from benchvoice.tuning.learning import LEAST_TAKES, differences, network_gap, pairs_alike, stranger_gap
from tests.tuning.measured import measured
from tests.understand.boards import english

USUAL, USUAL_STRANGER = 0.28, 2.5

ASK, LEAD = Alike.ASK, Alike.LEAD


# --- gaps ---------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("greatest", "limit"),
    [(0.02, 0.24), (0.15, 0.25), (0.18, None), (0.2, None), (0.26, None), (0.27, 0.29), (0.29, 0.31), (0.39, 0.32)],
)
def test_the_limit_follows_the_greatest_gap_within_its_bounds(greatest: float, limit: float | None) -> None:
    prompts = [measured(gap=0.01 * number) for number in range(LEAST_TAKES)] + [measured(gap=greatest)]
    expected = limit if greatest > 0.07 else 0.24
    assert network_gap(prompts, USUAL) == expected


@given(st.lists(st.tuples(st.floats(0, 4), st.booleans()), max_size=12))
def test_whatever_is_measured_the_limits_keep_their_bounds(gaps: list[tuple[float, bool]]) -> None:
    prompts = [
        measured(gap=gap, arbiter_gap=gap * 3, network="" if right else "input is nine volts") for gap, right in gaps
    ]
    limit, strange = network_gap(prompts, USUAL), stranger_gap(prompts, USUAL_STRANGER)
    assert limit is None or NETWORK_GAP.least <= limit <= NETWORK_GAP.most
    assert strange is None or USUAL_STRANGER < strange <= STRANGER_GAP.most
    right = [gap for gap, heard in gaps if heard]
    if limit is not None and max(right) <= NETWORK_GAP.most - 0.02:
        assert limit >= max(right)  # no prompt is shut out that was not shut out before


def test_the_gap_of_an_error_widens_nothing() -> None:
    right = [measured(gap=0.2) for _ in range(LEAST_TAKES)]
    assert network_gap([*right, measured(gap=0.31, network="input is nine volts")], USUAL) is None
    assert network_gap([*right, measured(gap=0.31)], USUAL) == 0.32
    odd = measured(arbiter_gap=2.9, panel="input is nine volts", outcome="wrong")
    assert stranger_gap([*right, odd], USUAL_STRANGER) is None
    assert stranger_gap([*right, measured(arbiter_gap=2.9)], USUAL_STRANGER) == 3.0


def test_a_few_prompts_move_no_limit() -> None:
    few = [measured(gap=0.3, arbiter_gap=2.9) for _ in range(LEAST_TAKES - 1)]
    assert network_gap(few, USUAL) is None
    assert stranger_gap(few, USUAL_STRANGER) is None
    assert stranger_gap([measured(arbiter_gap=None) for _ in range(10)], USUAL_STRANGER) is None


# --- pairs --------------------------------------------------------------------------------------------------------
NINETEEN, NINETY = "fan speed is nineteen hertz", "fan speed is ninety hertz"


def test_what_one_recogniser_confused_needs_a_lead() -> None:
    assert pairs_alike([measured(NINETY, sphinx=NINETEEN)]) == (Pair("ninety", "nineteen", LEAD),)
    assert pairs_alike([measured(NINETY, network=NINETEEN, outcome="asked")]) == (Pair("ninety", "nineteen", LEAD),)


@pytest.mark.parametrize("wrong", ["everybody", "panel"])
def test_twins_that_everybody_confused_are_asked_and_so_are_all_their_kin(wrong: str) -> None:
    if wrong == "panel":  # together they took it, though one heard it right
        odd = measured(NINETEEN, sphinx=NINETY, panel=NINETY, outcome="wrong")
    else:
        odd = measured(NINETEEN, network=NINETY, sphinx=NINETY, panel=NINETY, outcome="asked")
    found = pairs_alike([measured(NINETY), odd])
    assert {pair.alike for pair in found} == {ASK}
    assert {frozenset(pair[:2]) for pair in found} >= {
        frozenset(("nineteen", "ninety")),
        frozenset(("sixteen", "sixty")),
    }
    assert len(found) == 7


def test_the_twins_are_words_of_the_bench() -> None:
    odd = measured(NINETEEN, network=NINETY, sphinx=NINETY, panel=NINETY, outcome="wrong")
    for teen, ten in (pair[:2] for pair in pairs_alike([odd])):
        assert english().teens[teen][1] == english().tens[ten][0]


def test_other_words_that_everybody_confused_are_asked_alone() -> None:
    odd = measured("input is five volts", network="input is nine volts", sphinx="input is nine volts", outcome="asked")
    assert pairs_alike([odd]) == (Pair("five", "nine", ASK),)


def test_a_question_is_never_weakened_by_what_comes_later() -> None:
    odd = measured(NINETEEN, network=NINETY, sphinx=NINETY, outcome="asked")
    for prompts in ([odd, measured(NINETY, sphinx=NINETEEN)], [measured(NINETY, sphinx=NINETEEN), odd]):
        assert {pair.alike for pair in pairs_alike(prompts)} == {ASK}


def test_what_was_heard_right_makes_no_pair() -> None:
    assert pairs_alike([measured(), measured(outcome="asked"), measured(NINETY)]) == ()


heard = st.sampled_from(["", NINETEEN, NINETY, "fan speed is nine hertz", "on fan speed", "strike that"])


@given(st.lists(st.builds(measured, st.sampled_from([NINETEEN, NINETY]), network=heard, sphinx=heard)))
def test_every_pair_stands_for_something_that_was_heard(prompts: list[object]) -> None:
    found = pairs_alike(prompts)  # type: ignore[arg-type]
    assert len({frozenset(pair[:2]) for pair in found}) == len(found)
    for pair in found:
        assert pair.one != pair.other
        assert all(0 < len(side.split()) <= 2 for side in pair[:2])


@pytest.mark.parametrize(
    ("prompt", "text", "pairs"),
    [
        ("a is thirteen point eight", "a is thirty point eight", [("thirteen", "thirty")]),
        ("five point oh two volts", "five point thirty volts", [("oh two", "thirty")]),
        ("five point oh two volts", "five point two volts", []),  # left out
        ("five point two volts", "five point two two volts", []),  # put in
        ("a is five volts", "b is nine volts", [("a", "b"), ("five", "nine")]),
        ("one two three four", "five six seven eight", []),  # another sentence altogether
        ("a is five", "a is five", []),
    ],
)
def test_differences_are_pairs_of_words(prompt: str, text: str, pairs: list[tuple[str, str]]) -> None:
    assert differences(prompt, text) == pairs

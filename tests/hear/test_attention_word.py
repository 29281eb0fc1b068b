"""Which words can call: long enough, and like none that is said anyhow."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.hear.attention_word import _nearly_same, caution, pronunciations, why_unfit
from benchvoice.hear.lexicon import dictionary

OTHERS = ("input", "rail", "computers", "okay")
PHONES = st.lists(st.sampled_from(("AA", "B", "K", "S")), max_size=6).map(tuple)


@pytest.fixture(autouse=True)
def _with_the_dictionary() -> None:
    if not dictionary().variants("echo"):
        pytest.skip("the dictionary comes with PocketSphinx, which is not installed")


@pytest.mark.parametrize("word", ["gadget", "workbench", "falcon", "amber"])
def test_words_that_can(word: str) -> None:
    assert why_unfit(word, OTHERS) == ""


@pytest.mark.parametrize(
    ("word", "why"),
    [
        ("echo", "has only 3 sounds (EH K OW): it would be missed, or heard where it was not said"),
        ("okay", "has only 3 sounds"),
        ("inputs", "sounds like 'input', which is said anyhow"),
        ("computer", "sounds like 'computers', which is said anyhow"),
    ],
)
def test_words_that_cannot(word: str, why: str) -> None:
    assert why_unfit(word, OTHERS).startswith(why)


def test_a_short_one_is_used_with_a_caution() -> None:
    assert caution("gadget").startswith(
        "the attention word 'gadget' has only 5 sounds: other words may be taken for it"
    )
    assert caution("computer") == ""
    assert caution("1234") == ""


def test_a_word_without_a_pronunciation_is_for_the_recognisers_to_refuse() -> None:
    assert pronunciations("1234") == ()
    assert why_unfit("1234", OTHERS) == ""


@given(one=PHONES, two=PHONES)
def test_nearly_the_same_is_one_edit_at_most(one: tuple[str, ...], two: tuple[str, ...]) -> None:
    edits = {one} | {one[:at] + put + one[at + 1 :] for at in range(len(one)) for put in [(), *((p,) for p in two)]}
    edits |= {(*one[:at], p, *one[at:]) for at in range(len(one) + 1) for p in two}
    assert _nearly_same(one, two) == (two in edits)

"""What is said to a checklist, of safety or to timers is far apart in sound from every other fixed sentence."""

from __future__ import annotations

import random

import pytest
from rapidfuzz.distance import Levenshtein

from benchvoice.hear.attention_word import pronunciations
from benchvoice.understand.templates import Alt, fill, phrase, read_template, sample, slots_in
from tests.understand.boards import english

FEWEST_APART = 5
"""Sounds that differ at least. Pairs that were there before are nearer: "next step" and "skip step" differ in 4."""


def _sentences(*kinds: str) -> dict[str, str]:
    """Every fixed sentence of those kinds with what it does; slots of a checklist are left out of them."""
    found: dict[str, str] = {}
    for (kind, name), texts in english().templates.items():
        for text in texts if kind in kinds else ():
            timer = Alt(tuple(map(phrase, english().timer_names)))
            node = fill(read_template(text), {"point": phrase(("input",)), "timer": timer})
            if not slots_in(node):
                found |= {sample(node, random.Random(seed)).text: f"{kind}/{name}" for seed in range(20)}
    found |= {" ".join(reason): "steps/reason" for reason in english().reasons}
    return found


def _sounds(sentence: str) -> tuple[str, ...]:
    return tuple(phone for word in sentence.split() for phone in pronunciations(word)[0])


NEW = _sentences("steps", "safety", "timers")
ALL = NEW | _sentences("commands", "answers", "note follows", "work")


@pytest.mark.parametrize("sentence", NEW)
def test_a_sentence_of_a_step_is_like_no_other(sentence: str) -> None:
    for other, does in ALL.items():
        if does.split("/")[1] != NEW[sentence].split("/")[1]:
            apart = Levenshtein.distance(_sounds(sentence), _sounds(other))
            assert apart >= FEWEST_APART, (sentence, other, apart)

"""Pronunciations are added where they mend a prompt and spoil none; with written hearings, and with real ones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.hear.choices import network_of
from benchvoice.hear.engines import open_engines
from benchvoice.hear.lexicon import Lexicon
from benchvoice.hear.recogniser import Unheard
from benchvoice.records import Alternative, Transcript, Utterance, WordNetwork
from benchvoice.tuning.measuring import Heard, Sheet, Take, heard_by
from benchvoice.tuning.profile import variants
from benchvoice.tuning.pronouncing import MOST_ADDED, Addition, lexicon_of, needed, worse
from tests.hear.sounds import speak, utterance
from tests.tuning.measured import SOUND

PROMPTS = ("input is five", "input is nine", "input is ohms")
SHEET = Sheet(PROMPTS, network_of([*PROMPTS, "input is other"]), network_of(["wait"]), lambda text: text or None)
KNOWN = Lexicon(
    {"five": (("F", "AY"), ("F", "OY")), "nine": (("N", "OY"), ("N", "AA")), "ohms": (("AO", "M"),), "is": (("IH",),)}
)


@dataclass
class Written:
    """Hears each prompt right with a margin, or wrong (None), as it is written down for the words that were added."""

    leads: Mapping[str, float | None]
    name: str = "network"

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:  # noqa: ARG002
        return ()

    def hear(self, sound: Utterance, network: WordNetwork) -> Transcript:
        assert network is SHEET.network
        prompt = next(each.prompt for each in TAKES if each.utterance is sound)
        lead = self.leads[prompt]
        ranked = [prompt, "input is other"] if lead is not None else ["input is other", prompt]
        return Transcript(
            self.name, (Alternative(ranked[0], 0.0), Alternative(ranked[1], -(lead or 1.0))), margin=lead or 1.0
        )


TAKES = [Take(prompt, Utterance(SOUND.samples.copy(), 0.0, 1.0, -20.0), 40.0) for prompt in PROMPTS]

Outcomes = Mapping[frozenset[Addition], Mapping[str, float | None]]


def added_of(lexicon: Lexicon) -> frozenset[Addition]:
    return frozenset((word, phones) for word, ways in lexicon.entries.items() for phones in ways)


def found(outcomes: Outcomes) -> tuple[Addition, ...]:
    """What is added where what is not written down is heard as without any addition."""

    def open_with(lexicon: Lexicon) -> Written:
        return Written(outcomes.get(added_of(lexicon), outcomes[frozenset()]))

    heard = [heard_by(open_with(Lexicon({})), take, SHEET) for take in TAKES]
    return needed(TAKES, heard, SHEET, KNOWN, open_with)


FIVE: Addition
FIVE, FIVE_TOO, NINE = ("five", ("F", "AY")), ("five", ("F", "OY")), ("nine", ("N", "OY"))
WRONG_FIVE: dict[str, float | None] = {PROMPTS[0]: None, PROMPTS[1]: 5.0, PROMPTS[2]: 5.0}
MENDED: dict[str, float | None] = {PROMPTS[0]: 3.0, PROMPTS[1]: 5.0, PROMPTS[2]: 5.0}


def test_what_mends_a_prompt_and_spoils_none_is_added() -> None:
    assert found({frozenset(): WRONG_FIVE, frozenset([FIVE]): MENDED}) == (FIVE,)
    assert found({frozenset(): WRONG_FIVE, frozenset([FIVE_TOO]): MENDED}) == (FIVE_TOO,)


def test_what_mends_nothing_is_not_added() -> None:
    assert found({frozenset(): WRONG_FIVE}) == ()


@pytest.mark.parametrize("other", [None, 4.9])
def test_what_makes_another_prompt_worse_is_not_added(other: float | None) -> None:
    spoilt = {**MENDED, PROMPTS[1]: other}
    assert found({frozenset(): WRONG_FIVE, frozenset([FIVE]): spoilt}) == ()
    assert found({frozenset(): WRONG_FIVE, frozenset([FIVE]): spoilt, frozenset([FIVE_TOO]): MENDED}) == (FIVE_TOO,)


def test_where_all_is_heard_right_nothing_is_tried() -> None:
    right = dict.fromkeys(PROMPTS, 5.0)
    better = dict.fromkeys(PROMPTS, 50.0)
    assert found({frozenset(): right, frozenset([FIVE]): better, frozenset([NINE]): better}) == ()


def test_additions_are_tried_together_with_those_before() -> None:
    wrong: dict[str, float | None] = {PROMPTS[0]: None, PROMPTS[1]: None, PROMPTS[2]: 5.0}
    half: dict[str, float | None] = {**wrong, PROMPTS[0]: 3.0}
    together: Outcomes = {frozenset(): wrong, frozenset([FIVE]): half, frozenset([FIVE, NINE]): MENDED}
    assert found(together) == (FIVE, NINE)
    assert found({**together, frozenset([FIVE, NINE]): {**MENDED, PROMPTS[0]: 1.0}}) == (FIVE,)


every = [(word, phones) for word, ways in KNOWN.entries.items() for phones in ways]
leads = st.dictionaries(st.sampled_from(PROMPTS), st.none() | st.floats(0.1, 9), min_size=3)
outcomes = st.dictionaries(st.frozensets(st.sampled_from(every), min_size=1), leads)


@given(before=leads, others=outcomes)
def test_whatever_is_heard_no_prompt_is_worse_with_what_is_added(
    before: dict[str, float | None], others: dict[frozenset[Addition], dict[str, float | None]]
) -> None:
    table: Outcomes = {**others, frozenset(): before}
    added = found(table)
    assert len(added) <= MOST_ADDED
    assert set(added) <= set(every)
    after = table.get(frozenset(added), before)
    for prompt in PROMPTS:
        was, now = before[prompt], after[prompt]
        assert was is None or (now is not None and now >= was - 0.05 * len(added))
    mended = [prompt for prompt in PROMPTS if before[prompt] is None and after[prompt] is not None]
    assert len(added) <= len(mended)


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        (Heard("a", True, 5.0), Heard("b", False, None), True),
        (Heard("b", False, None), Heard("a", True, 1.0), False),
        (Heard("a", True, 5.0), Heard("a", True, 4.9), True),
        (Heard("a", True, 5.0), Heard("a", True, None), True),
        (Heard("a", True, None), Heard("a", True, None), False),
        (Heard("b", False, -3.0), Heard("c", False, -9.0), False),
    ],
)
def test_worse(before: Heard, after: Heard, expected: bool) -> None:
    assert worse(before, after) is expected


@pytest.mark.apt
def test_a_voice_that_says_ninety_otherwise_is_heard_with_its_own_way(tmp_path: Path) -> None:
    """PocketSphinx takes this voice's "ninety" for "nineteen" until it knows how it is said; then both are right."""
    prompts = ("heat sink is ninety degrees", "heat sink is nineteen degrees")
    network = network_of([*prompts, "heat sink is nine degrees"])
    sheet = Sheet(prompts, network, network_of(["wait"]), lambda text: text or None)
    takes = [Take(text, utterance(speak(text, tmp_path), noise_dbfs=-80.0), 60.0) for text in prompts]

    def heard(lexicon: Lexicon) -> list[Heard]:
        known = {"sphinx": Lexicon.shipped().plus(lexicon)}
        with open_engines("sphinx", lexicons=known) as panel:
            return [heard_by(panel.recognisers[0], take, sheet) for take in takes]

    before = heard(Lexicon({}))
    assert [each.text for each in before] == ["heat sink is nineteen degrees"] * 2

    def open_with(lexicon: Lexicon) -> object:
        return open_engines("sphinx", lexicons={"sphinx": Lexicon.shipped().plus(lexicon)}).recognisers[0]

    added = needed(takes, before, sheet, variants(), open_with)  # type: ignore[arg-type]
    assert added == (("ninety", ("N", "AY", "N", "D", "IY")),)
    assert [each.text for each in heard(lexicon_of(added))] == list(prompts)

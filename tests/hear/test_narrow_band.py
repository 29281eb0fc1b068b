"""Where the sound has only a narrow band, more is asked: by an arbiter up to a wider lead, without one always."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import pytest

from benchvoice.hear.arbiter import Arbiter
from benchvoice.hear.choices import network_of
from benchvoice.hear.panel import Panel
from benchvoice.records import Alternative, Trust, Utterance
from tests.hear.test_panel import SOUND, meaning_of, plain, ranks

NARROW = replace(SOUND, narrow=True)
WORDS = network_of(["five", "nine"])


@dataclass
class _Weighing:
    """A scribe that weighs both words the same, so that the lead is the ranking voter's."""

    name: str = "scribe"

    def free(self, _: Utterance) -> Alternative:
        return Alternative("Five.", -3.0)

    def weigh(self, _: Utterance, texts: Sequence[str]) -> tuple[float, ...]:
        return (-3.0,) * len(texts)

    def length(self, text: str) -> float:
        return len(text.split())

    def probability(self, _: Utterance, __: str) -> float:
        return -3.0

    def prefer(self, _: Utterance, __: str, others: Sequence[str]) -> tuple[float, ...]:
        return (1.0,) * len(others)


WEIGHING: Any = _Weighing()


@pytest.mark.parametrize(
    ("sound", "lead", "trust"),
    [
        (SOUND, 4.5, Trust.AGREED),
        (NARROW, 4.5, Trust.DOUBTFUL),
        (NARROW, 11.9, Trust.DOUBTFUL),
        (NARROW, 12.1, Trust.AGREED),
    ],
)
def test_an_arbiter_wants_a_wider_lead(sound: Utterance, lead: float, trust: Trust) -> None:
    arbiter = Arbiter(WEIGHING, 4.0, 8.0, 6.0, gap_most=3.0, gap_stranger=2.5, gap_strange=6.5, lead_narrow=12.0)
    with Panel([ranks(("five", -10), ("nine", -10 - lead)), plain(("five", 3))], arbiter) as panel:
        assert panel.hear(sound, WORDS, meaning_of).trust is trust


@pytest.mark.parametrize(("sound", "trust"), [(SOUND, Trust.AGREED), (NARROW, Trust.DOUBTFUL)])
def test_without_an_arbiter_it_is_asked(sound: Utterance, trust: Trust) -> None:
    with Panel([ranks(("five", -10), ("nine", -20)), plain(("five", 3))]) as panel:
        heard = panel.hear(sound, WORDS, meaning_of)
    assert (heard.text, heard.trust) == ("five", trust)
    if trust is Trust.DOUBTFUL:
        assert heard.why == "the sound has only a narrow band"

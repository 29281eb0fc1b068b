"""What may be answered while speech may still go on: a reading with what follows from it, since both are taken back."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.loading import load_language
from benchvoice.commands.settings import SilentMouth, load_phrasebook
from benchvoice.live.early import Early, How
from benchvoice.live.parts import LiveSettings
from benchvoice.loop import Bench, Keeper, Speech
from benchvoice.records import RATE_HZ, Alternative, Transcript, Trust, Utterance
from tests.decide.builders import START
from tests.decide.test_computed import READ
from tests.decide.test_computed import Bench as Session

KEPT: list[Any] = []


def bench() -> Bench:
    keeper = cast(Keeper, SimpleNamespace(append=KEPT.append, keep_clip=str))
    return Bench(
        Session().state,
        understanding=BoardGrammar(READ, None, load_language()),
        phrases=load_phrasebook(READ),
        mouth=SilentMouth(),
        keeper=keeper,
        clock=lambda: START,
    )


def speech(at: Bench, text: str) -> Speech:
    utterance = Utterance(np.zeros(RATE_HZ, dtype=np.int16), 0.0, 1.0, -20.0)
    context = at.context_of(utterance, "microphone")
    transcript = Transcript("panel", (Alternative(text, 0.0),), Trust.AGREED)
    return Speech(utterance, context, transcript, (at.understanding.parse(text, context),))


@pytest.mark.parametrize(
    ("text", "how"),
    [
        ("shunt drop reads one hundred and twenty millivolts", How.OPEN),  # and the current that follows
        ("motor voltage reads twelve volts", How.OPEN),
        ("on shunt drop", How.NOT_YET),
    ],
)
def test_a_reading_with_what_follows_from_it_can_be_taken_back(text: str, how: How) -> None:
    at = bench()
    settings = LiveSettings(headset=True)
    early = Early(at, cast(Any, SimpleNamespace(name="microphone")), settings)
    found = early.how(speech(at, text), settings.end_wait_whole_s, went_on=False)
    assert found is how
    assert KEPT == []  # nothing is kept to find out


@pytest.mark.parametrize(
    ("text", "how"),
    [
        ("motor voltage reads twelve volts", How.ENDED),  # only "DC" could follow
        ("twelve volts", How.ENDED),
        ("motor voltage reads twelve", How.NOT_YET),  # "point one" could
        ("on shunt drop", How.NOT_YET),
    ],
)
def test_with_a_question_open_a_value_with_its_unit_is_soon_answered(text: str, how: How) -> None:
    at = bench()
    at.take_text("motor voltage reads 1200 volts", "microphone")
    assert at.state.question is not None
    KEPT.clear()
    settings = LiveSettings()
    early = Early(at, cast(Any, SimpleNamespace(name="microphone")), settings)
    assert early.how(speech(at, text), settings.end_wait_whole_s, went_on=False) is How.NOT_YET
    assert early.how(speech(at, text), settings.end_wait_sure_s, went_on=False) is how
    assert KEPT == []

"""A timer at the bench, over a kill of the program: on the software sound card."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from benchvoice.records import RATE_HZ
from tests.corpus.speech import say, voices
from tests.live.at_the_bench import listening
from tests.sound_card import SoundCard, sound_card

pytestmark = pytest.mark.apt


@pytest.fixture
def card() -> Iterator[SoundCard]:
    with sound_card() as made:
        yield made


@pytest.mark.long
def test_what_ran_out_while_it_was_gone_is_told_and_what_runs_still(card: SoundCard, tmp_path: Path) -> None:
    if "slt" not in voices():
        pytest.skip("the flite voices are not installed")
    with listening(card, tmp_path) as run:
        card.play(say("soak test timer two hours", "slt", tmp_path / "speech"), RATE_HZ)
        run.wait("timer started", count=1)
        time.sleep(4.0)  # while it speaks it does not listen
        card.play(say("timer ten seconds", "slt", tmp_path / "speech"), RATE_HZ)
        started = run.wait("timer started", count=2)[1]
        assert (started["name"], started["seconds"]) == ("timer", 10)
        run.process.kill()
    time.sleep(10.0)
    with listening(card, tmp_path) as again:
        greeting = again.kinds("said")[0]["text"]
        assert greeting.startswith("Resumed. No readings.")
        assert " Soak test timer, one hour fifty nine minutes" in greeting
        over = again.wait("timer over", count=1)[0]
        assert (over["name"], over["late_s"] > 0) == ("timer", True)
        told = again.wait("said", count=2)[1]["text"]
        assert told.startswith(("Timer was over ", "Timer is over."))
        assert again.end() == 130

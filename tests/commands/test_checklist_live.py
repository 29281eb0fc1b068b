"""A checklist gone through by sound, live at the bench: on the software sound card."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.live.at_the_bench import listening
from tests.sound_card import SoundCard, sound_card

pytestmark = pytest.mark.apt

LIST = """\
checklist: short
steps:
  - measure: input
    if: {fail: end}
  - measure: regulator body
  - say: Close the lid.
"""


@pytest.fixture
def card() -> Iterator[SoundCard]:
    with sound_card() as made:
        yield made


@pytest.mark.long
def test_the_steps_are_said_answered_and_kept_over_a_kill(card: SoundCard, tmp_path: Path) -> None:
    path = tmp_path / "list.yaml"
    path.write_text(LIST, encoding="utf-8")
    with listening(card, tmp_path, "--checklist", str(path)) as run:
        assert run.kinds("said")[0]["text"] == "Ready. Measure input."
        run.say("input reads twenty four point one volts")
        measured = run.wait("step", count=2)[1]
        assert (measured["action"], measured["outcome"], measured["to"]) == (
            "measured",
            "pass",
            "measure regulator body",
        )
        time.sleep(14.0)  # while it speaks it does not listen
        assert any(said["text"].endswith("Measure regulator body.") for said in run.kinds("said"))
        run.say("regulator body measures eighty one degrees")
        measured = run.wait("step", count=3)[2]
        assert (measured["outcome"], measured["to"]) == ("fail, high", "Close the lid.")
        run.process.kill()
    with listening(card, tmp_path, "--checklist", str(path)) as again:
        assert again.kinds("said")[0]["text"] == "Resumed. Two readings. Close the lid."
        assert again.end() == 130

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
  - ask: Is the fan quiet?
  - say: Close the lid.
"""


@pytest.fixture
def card() -> Iterator[SoundCard]:
    with sound_card() as made:
        yield made


def test_the_steps_are_said_answered_and_kept_over_a_kill(card: SoundCard, tmp_path: Path) -> None:
    path = tmp_path / "list.yaml"
    path.write_text(LIST, encoding="utf-8")
    with listening(card, tmp_path, "--checklist", str(path)) as run:
        assert run.kinds("said")[0]["text"] == "Ready. Measure input."
        run.say("input reads twenty four point one volts")
        measured = run.wait("step", 2)[1]
        assert (measured["action"], measured["outcome"], measured["to"]) == ("measured", "pass", "Is the fan quiet?")
        said = run.wait("said", 2)[1]["text"]
        assert said.endswith("Is the fan quiet?")
        # while it speaks it does not listen
        time.sleep(9.0)
        run.say("yes")
        assert run.wait("step", 3)[2]["outcome"] == "yes"
        run.process.kill()
    with listening(card, tmp_path, "--checklist", str(path)) as again:
        assert again.kinds("said")[0]["text"] == "Resumed. One reading. Close the lid."
        assert again.end() == 130

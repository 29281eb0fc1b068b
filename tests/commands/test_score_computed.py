"""Scoring counts what was said, not what is computed from it."""

from __future__ import annotations

from benchvoice.commands.corpus import Meant
from benchvoice.commands.score_hearing import _taken
from benchvoice.loop import Turn
from benchvoice.records import Reply
from tests.decide.builders import hearing, reading
from tests.decide.test_computed import Bench


def test_a_computed_value_was_not_said() -> None:
    said = reading("shunt drop", "120", "mV")
    done = Bench().hear(said)
    assert len(done.events) == 3
    turn = Turn(hearing(said), done.decision, Reply(""), done.events)
    assert list(_taken(turn)) == [Meant(point="shunt drop", value="120", unit="mV")]

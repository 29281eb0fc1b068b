"""Names that a point cannot have, since they mean something at the bench."""

from __future__ import annotations

import pytest

from benchvoice.understand.taken_names import taken_for
from tests.understand.boards import POINTS, english

TAKEN = [
    ("yes", "an answer"),
    ("first", "an answer"),
    ("the second", "an answer"),
    ("never mind", "an answer"),
    ("strike that", "a command"),
    ("next step", "a command"),
    ("left", "a command"),
    ("correction", "a command"),
    ("five", "a value"),
    ("point", "a value"),
    ("one hundred and five", "a value"),
    ("plus twelve volt", "a value"),
    ("volts", "a value"),
    ("k", "a value"),
    ("ac", "a value"),
    ("overload", "a value"),
    ("note", "a note"),
    ("note pin", "a note"),
    ("lid off", "work on the unit"),
    ("the heat sink is back on", "work on the unit"),
    ("out four screws", "work on the unit"),
    ("what is still out", "work on the unit"),
    ("removed u four", "work on the unit"),
    ("value five", "work on the unit"),
    ("step is done", "a step of a checklist"),
    ("where am i", "a step of a checklist"),
    ("because it is not safe", "a step of a checklist"),
]

FREE = ["rail five", "test point one", "v c c", "v in", "amp one", "r one", "left channel", "first stage", "ac inlet",
        "five volt rail", "a", "input", "heat sink", "lid switch", "fan", "screw terminal", "out of range pin",
        "it is lit"]  # fmt: skip


@pytest.mark.parametrize(("name", "what"), TAKEN)
def test_a_name_that_means_something_is_taken(name: str, what: str) -> None:
    assert taken_for(name, english()) == what


@pytest.mark.parametrize("name", [*FREE, *(name for point in POINTS for name in point.say)])
def test_a_name_of_its_own_is_free(name: str) -> None:
    assert taken_for(name, english()) == ""

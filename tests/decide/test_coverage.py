"""What a board asks for and its meter's file does not give."""

from __future__ import annotations

from benchvoice.decide.coverage import not_covered
from benchvoice.decide.profile import read_board, read_meter
from tests.decide.builders import BOARD, METER

KILN = """\
board: kiln controller
points:
  - {name: rail 5, nominal: 5 V, tolerance: 5 %}
  - {name: mains, nominal: 230 V, tolerance: 10 %}
  - {name: element, nominal: 20 V, waveform: AC}
  - {name: chamber, limits: {high: 1200 degC}}
  - {name: pull-up, limits: {low: 4.5 kohm, high: 5 kohm}}
  - {name: fault code, quantity: digits}
  - {name: bias, limits: {low: -75 V, high: -50 V}}
  - {name: clamp, quantity: diode drop}
"""


def test_every_point_that_is_not_covered_is_named() -> None:
    found = not_covered(read_board(KILN, "kiln.yaml"), read_meter(METER, "meter.yaml"))
    assert found == (
        "mains: the meter's largest range for voltage ends at 60 V, and 253 V is to be measured",
        "element: the meter gives no accuracy for AC voltage",
        "chamber: the meter gives no accuracy for temperature",
        "bias: the meter's largest range for voltage ends at 60 V, and -75 V is to be measured",
    )


def test_a_point_of_the_meters_own_waveform_is_covered() -> None:
    board = read_board(BOARD, "board.yaml")
    assert not_covered(board, read_meter(METER, "meter.yaml")) == (
        "fan current: the meter gives no accuracy for current",
    )

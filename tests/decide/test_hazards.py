"""Hazards in board files: what is read of them, and how each mistake is refused."""

from __future__ import annotations

from decimal import Decimal

import jsonschema
import pytest

from benchvoice.decide.board import Board
from benchvoice.decide.hazards import Capacitor, Hazard
from benchvoice.decide.profile import json_schema, read_board
from benchvoice.decide.yaml_text import load_document
from benchvoice.errors import BoardError

POINTS = """\
board: PS-9 bench supply
points:
  - {name: line input, nominal: 230 V, tolerance: 10 %, waveform: AC}
  - {name: bulk rail, nominal: 325 V, tolerance: 15 %}
  - {name: rail 5, nominal: 5 V, tolerance: 5 %}
  - {name: rail 5 to ground, nominal: 200 ohm, tolerance: 50 %}
hazards:
"""


def read(*hazards: str) -> Board:
    return read_board(POINTS + "".join(f"  - {hazard}\n" for hazard in hazards), "ps9.yaml")


def test_what_a_board_declares() -> None:
    board = read(
        "{is: mains, at: line input}",
        "{is: high voltage, at: [bulk rail]}",
        "{is: capacitor, ref: C1, capacitance: 470 uF, voltage: 400 V, bleeder: 10 kohm, safe: 50 V}",
        "{is: moving parts, what: fan behind the rear panel}",
        "{is: laser}",
        "{is: battery, what: lithium pack}",
    )
    capacitor = Capacitor("C1", Decimal("0.000470"), Decimal(400), Decimal(10_000), Decimal(50))
    assert board.hazards == (
        Hazard("mains", ("line input",)),
        Hazard("high voltage", ("bulk rail",)),
        Hazard("capacitor", capacitor=capacitor),
        Hazard("moving parts", what="fan behind the rear panel"),
        Hazard("laser"),
        Hazard("battery", what="lithium pack"),
    )
    assert capacitor.joules == Decimal("37.6")
    assert round(capacitor.seconds or 0, 1) == Decimal("9.8")


def test_a_capacitor_without_a_bleeder_or_below_the_common_limit_has_no_time() -> None:
    bare = read("{is: capacitor, ref: C1, capacitance: 1000 uF, voltage: 400 V}").hazards[0].capacitor
    low = read("{is: capacitor, ref: C2, capacitance: 10 mF, voltage: 35 V, bleeder: 1 kohm}").hazards[0].capacitor
    assert bare is not None
    assert low is not None
    assert (bare.joules, bare.safe_volts, bare.seconds) == (Decimal(80), Decimal(60), None)
    assert (low.safe_volts, low.seconds) == (None, None)


def test_points_above_the_common_limits_are_hazardous_and_some_must_not_be_measured_under_power() -> None:
    board = read("{is: laser}")
    assert [point.hazardous for point in board.points] == [True, True, False, False]
    assert [point.unpowered for point in board.points] == [False, False, False, True]


def test_a_ripple_is_measured_against_the_limit_of_ac() -> None:
    text = "board: a\npoints: [{name: a, quantity: ripple, limits: {high: 31 V}}, {name: b, limits: {high: 31 V}}]\n"
    assert [point.hazardous for point in read_board(text, "a.yaml").points] == [True, False]


def test_power_matters_where_something_depends_on_it() -> None:
    assert read("{is: laser}").minds_power
    assert not read_board("board: a\npoints: [{name: rail 5, nominal: 5 V}]\n", "a.yaml").minds_power
    assert read_board("board: a\npoints: [{name: rail 5, nominal: 5 V, state: powered}]\n", "a.yaml").minds_power
    assert read_board("board: a\npoints: [{name: fuse, nominal: 1 ohm}]\n", "a.yaml").minds_power


CAPACITOR = "is: capacitor, ref: C1, capacitance: 470 uF, voltage: 400 V"

MISTAKES = [
    ("{is: mians}", "line 8, hazards[0].is: 'mians' is not 'mains', 'high voltage', 'capacitor'"),
    ("{at: rail 5}", "line 8, hazards[0].is: 'is' is missing"),
    ("{is: mains, at: line inptu}", "hazards[0].at: there is no point 'line inptu'. Did you mean 'line input'?"),
    ("{is: laser, at: rail 5}", "hazards[0].at: at does not go with laser. Keep at for mains and high voltage"),
    ("{is: mains, ref: C1}", "hazards[0].ref: ref is for a capacitor only. Leave it out"),
    ("{is: mains, where: lid}", "hazards[0].where: unknown key 'where'"),
    ("{is: capacitor, capacitance: 1 uF, voltage: 400 V}", "hazards[0]: a capacitor needs its ref. Write ref: C1"),
    ("{is: capacitor, ref: C1, voltage: 400 V}", "a capacitor needs its capacitance. Write capacitance: 470 uF"),
    ("{is: capacitor, ref: C1, capacitance: 1 uF}", "a capacitor needs its voltage. Write voltage: 400 V"),
    (f"{{{CAPACITOR}, bleeder: none}}", "hazards[0].bleeder: 'none' is not a value"),
    (f"{{{CAPACITOR}, bleeder: 0 ohm}}", "hazards[0].bleeder: bleeder must be above zero"),
    (f"{{{CAPACITOR}, bleeder: 10 V}}", "hazards[0].bleeder: V does not measure resistance"),
    (f"{{{CAPACITOR}, safe: 400 V}}", "the safe voltage 400 V is not below the working voltage 400 V. Check both"),
    ("{is: capacitor, ref: C1, capacitance: 470, voltage: 4 V}", "hazards[0].capacitance: '470' has no unit"),
]


@pytest.mark.parametrize(("hazard", "told"), MISTAKES)
def test_a_mistake_is_named_with_its_place(hazard: str, told: str) -> None:
    with pytest.raises(BoardError, match=r"^ps9\.yaml, line 8, hazards\[0\]") as refused:
        read(hazard)
    assert told in str(refused.value)


def test_a_capacitor_given_twice_is_refused() -> None:
    with pytest.raises(BoardError, match=r"line 9, hazards\[1\].ref: 'c1' is given twice"):
        read(f"{{{CAPACITOR}}}", f"{{{CAPACITOR.replace('C1', 'c1')}}}")


def test_editors_know_the_fields() -> None:
    schema = json_schema()
    good = load_document(POINTS + f"  - {{{CAPACITOR}, bleeder: 10 kohm}}\n", "a.yaml").data
    jsonschema.validate(good, schema)
    bad = load_document(POINTS + "  - {is: dragon}\n", "a.yaml").data
    with pytest.raises(jsonschema.ValidationError, match="'dragon' is not one of"):
        jsonschema.validate(bad, schema)

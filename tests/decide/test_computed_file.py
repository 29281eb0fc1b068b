"""`computed:` in board files: what is read, and how each mistake is refused."""

from __future__ import annotations

import re
from decimal import Decimal

import jsonschema
import pytest
from ruamel.yaml import YAML

from benchvoice.decide.formulas import Constant
from benchvoice.decide.profile import Board, json_schema, read_board
from benchvoice.errors import BoardError

GIVEN = (
    "{name: u, quantity: voltage}",
    "{name: i, quantity: current}",
    "{name: t, quantity: temperature}",
    "{name: p, quantity: power}",
    "{name: mains, nominal: 230 V, waveform: AC}",
)


def board_with(*points: str) -> str:
    return "board: kiln\npoints:\n" + "".join(f"  - {point}\n" for point in (*GIVEN, *points))


def read(*points: str) -> Board:
    return read_board(board_with(*points), "kiln.yaml")


TAKEN = [
    ("{drop: u, across: 0.1 ohm}", "current", "u across 0.1 ohm (taken as exact)"),
    ("{drop: u, across: 100 mohm, tolerance: 1 %}", "current", "u across 100 mohm (1 %)"),
    ("{voltage: u, current: i}", "power", "u times i"),
    ("{voltage: mains, current: i, power factor: 0.95}", "power", "mains times i, power factor 0.95"),
    ("{temperature: t, over: cold}", "temperature rise", "t over cold"),
    ("{voltage: u, ratio to: mains}", "level", "u in ratio to mains"),
    ("{current: i, ratio to: 1 mA}", "level", "i in ratio to 1 mA"),
    ("{power: p, ratio to: 1 mW}", "level", "p in ratio to 1 mW"),
    (
        "{voltage: u, divided by: {upper: 10 kohm, lower: 3.3 kohm}}",
        "voltage",
        "u divided by 10 kohm and 3.3 kohm (taken as exact)",
    ),
]


@pytest.mark.parametrize(("computed", "quantity", "text"), TAKEN)
def test_a_form_tells_quantity_and_words(computed: str, quantity: str, text: str) -> None:
    written = board_with("{name: cold, quantity: temperature}", f"{{name: c, computed: {computed}}}")
    point = read_board(written, "kiln.yaml").point("c")
    assert point.computed is not None
    assert (point.quantity, point.computed.text) == (quantity, text)
    jsonschema.validate(YAML(typ="safe").load(written), json_schema())


def test_constants_are_in_base_units_with_their_half_width() -> None:
    formula = read("{name: c, computed: {drop: u, across: 100 mohm, tolerance: 1 %}}").point("c").computed
    assert formula is not None
    assert formula.constants == (Constant(Decimal("0.1"), Decimal("0.001")),)
    formula = read("{name: c, computed: {power: p, ratio to: 1 mW}}").point("c").computed
    assert formula is not None
    assert (formula.constants, formula.per_decade) == ((Constant(Decimal("0.001")),), 10)


def test_what_follows_from_something_computed_stands_behind_it() -> None:
    board = read("{name: w, computed: {voltage: u, current: a}}", "{name: a, computed: {drop: u, across: 1 ohm}}")
    assert [point.name for point in board.computed] == ["a", "w"]
    assert board.measured_for("w") == ("u",)


DIRECT = (
    "{name: direct, quantity: voltage, waveform: DC}",
    "{name: direct current, quantity: current, waveform: DC}",
    "{name: shunted, computed: {drop: direct, across: 1 ohm}}",
)
REFUSED = [
    ("computed: {drop: u}", r"computed: it does not follow what is computed from drop\. Write \{drop"),
    ("computed: {}", r"computed: it does not follow what is computed from nothing"),
    ("computed: {drop: u, current: i}", r"computed: it does not follow what is computed from current, drop"),
    ("computed: {voltage: u, ratio to: i, tolerance: 1 %}", r"computed: it does not follow what is computed from"),
    ("computed: {temperature: t, ratio to: u}", r"computed: it does not follow what is computed from"),
    ("computed: {drop: v, across: 1 ohm}", r"computed\.drop: there is no point 'v'"),
    ("computed: {drop: t, across: 1 ohm}", r"computed\.drop: 't' is temperature, and voltage is needed here\. Points"),
    ("computed: {voltage: u, current: u}", r"computed\.current: 'u' is voltage, and current is needed here"),
    ("computed: {temperature: t, over: u}", r"computed\.over: 'u' is voltage, and temperature is needed here"),
    ("computed: {voltage: u, ratio to: i}", r"computed\.ratio to: 'i' is current, and voltage is needed here"),
    ("computed: {voltage: u, ratio to: uu}", r"computed\.ratio to: there is no point 'uu'\. Did you mean 'u'\?"),
    (
        "computed: {voltage: mains, ratio to: direct}",
        r"computed\.ratio to: 'mains' is AC and 'direct' is DC\. Take both",
    ),
    ("computed: {voltage: u, ratio to: u}", r"computed\.ratio to: 'u' is compared with itself\. Name two points"),
    ("computed: {temperature: t, over: t}", r"computed\.over: 't' is compared with itself"),
    (
        "computed: {voltage: mains, current: direct current, power factor: 1}",
        r"computed\.current: 'mains' is AC and 'direct current' is DC",
    ),
    (
        "computed: {voltage: mains, current: shunted, power factor: 1}",
        r"computed\.current: 'mains' is AC and 'shunted' is DC",
    ),
    ("computed: {voltage: u, ratio to: 1 mA}", r"computed\.ratio to: mA does not measure voltage"),
    ("computed: {voltage: u, ratio to: 0 V}", r"computed\.ratio to: a level refers to a value above zero"),
    ("computed: {drop: u, across: 0 ohm}", r"computed\.across: a resistor has more than 0 ohm"),
    ("computed: {drop: u, across: 1 V}", r"computed\.across: V does not measure resistance"),
    ("computed: {drop: u, across: 1 ohm, tolerance: 5 ohm}", r"computed\.tolerance: '5 ohm' is not the tolerance of a"),
    ("computed: {drop: u, across: 1 ohm, tolerance: 100 %}", r"computed\.tolerance: '100 %' is not the tolerance"),
    ("computed: {voltage: u, current: i, power factor: 1.2}", r"computed\.power factor: '1\.2' is not a power factor"),
    ("computed: {voltage: u, current: i, power factor: 0}", r"computed\.power factor: '0' is not a power factor"),
    ("computed: {voltage: mains, current: i}", r"computed: volts times amps of AC are volt-amperes, not watts\. Add"),
    ("computed: {voltage: u, divided by: {upper: 1 ohm}}", r"computed\.divided by\.lower: 'lower' is missing"),
    ("computed: {dorp: u, across: 1 ohm}", r"computed\.dorp: unknown key 'dorp'\. Did you mean 'drop'\?"),
    ("computed: {drop: u, across: 1 ohm}, quantity: voltage", r"quantity: what is computed here is a current"),
    ("computed: {drop: u, across: 1 ohm}, nominal: 5 V", r"nominal: V does not measure current"),
    ("computed: {drop: u, across: 1 ohm}, state: powered", r"state: 'state' is for a point that is measured"),
    ("computed: {drop: u, across: 1 ohm}, waveform: AC", r"waveform: 'waveform' is for a point that is measured"),
    ("computed: {drop: u, across: 1 ohm}, fed_by: {point: u}", r"fed_by: 'fed_by' is for a point that is measured"),
    ("computed: {drop: u, across: 1 ohm}, alone: true", r"alone: a computed value is not said"),
    (
        "computed: {voltage: c, divided by: {upper: 1 ohm, lower: 1 ohm}}",
        r"computed: 'c' would follow from itself\. Name points that are measured",
    ),
]


@pytest.mark.parametrize(("keys", "message"), REFUSED, ids=[keys for keys, _ in REFUSED])
def test_a_mistake_is_refused_with_its_place(keys: str, message: str) -> None:
    with pytest.raises(BoardError, match=rf"^kiln\.yaml, line 8, points\[5\]\.{message}"):
        read(f"{{name: c, {keys}}}", *DIRECT)


def test_two_that_follow_from_each_other_are_refused() -> None:
    half = "divided by: {upper: 1 ohm, lower: 1 ohm}"
    with pytest.raises(BoardError, match=re.escape("points[5].computed: 'c' would follow from itself")):
        read(f"{{name: c, computed: {{voltage: d, {half}}}}}", f"{{name: d, computed: {{voltage: c, {half}}}}}")

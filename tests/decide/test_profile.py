"""Board files: what is read from them, and how each mistake is refused."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from io import StringIO
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from benchvoice.decide.profile import Board, json_schema, read_board, read_meter, unlisted_parts
from benchvoice.decide.yaml_text import load_document
from benchvoice.errors import BoardError
from tests.decide.builders import BOARD, METER


def board_with(*points: str) -> str:
    return "board: kiln controller\npoints:\n" + "".join(f"  - {point}\n" for point in points)


def read(*points: str) -> Board:
    return read_board(board_with(*points), "kiln.yaml")


def test_the_board_of_the_design() -> None:
    board = read_board(BOARD, "board.yaml")
    assert (board.name, board.revision) == ("GF-2 greenhouse fan controller", "C")
    rail = board.point("rail 3.3")
    assert rail.say == ("rail three point three", "logic rail")
    assert (rail.low, rail.nominal, rail.high, rail.unit) == (Decimal("3.14"), Decimal("3.3"), Decimal("3.47"), "V")
    assert rail.source == "as published by the board's maker"
    assert rail.fed_by is not None
    assert (rail.fed_by.point, rail.fed_by.parts) == ("rail 5", ("U4",))
    assert (rail.state, rail.alone) == ("powered", False)
    assert [(part.ref, part.what) for part in board.parts] == [("U4", "3.3 V regulator")]


def test_a_supply_through_several_parts_and_what_hangs_on_it() -> None:
    text = board_with(
        "{name: rail 24}",
        "{name: rail 5, fed_by: {point: rail 24, through: [F1, U3]}, loads: C7}",
        "{name: rail 3, fed_by: {point: rail 5}, loads: [C8, C9]}",
        "{name: rail 5 to ground, quantity: resistance, load_of: rail 5}",
    )
    board = read_board(text + "parts:\n  - {ref: F1, is: fuse, fails: often}\n", "kiln.yaml")
    fed = board.points[1].fed_by
    assert fed is not None
    assert fed.parts == ("F1", "U3")
    assert board.points[2].fed_by is not None
    assert board.points[2].fed_by.parts == ()
    assert [point.loads for point in board.points] == [(), ("C7",), ("C8", "C9"), ()]
    assert board.points[3].load_of == "rail 5"
    assert board.parts[0].fails == "often"


def test_parts_that_are_not_listed_are_told_with_their_place() -> None:
    text = (
        board_with("{name: a}", "{name: b, fed_by: {point: a, through: [U44, F1]}, loads: Q9}")
        + "parts:\n  - {ref: U4, is: regulator}\n  - {ref: F1, is: fuse}\n  - {ref: C1, is: reservoir}\n"
        + "hazards:\n  - {is: capacitor, ref: C1, capacitance: 1 uF, voltage: 9 V}\n"
        + "  - {is: capacitor, ref: C11, capacitance: 1 uF, voltage: 9 V}\n"
    )
    assert unlisted_parts(text, "kiln.yaml") == (
        "kiln.yaml, line 4, points[1].fed_by.through: 'U44' is not among the parts. Did you mean 'U4'?",
        "kiln.yaml, line 4, points[1].loads: 'Q9' is not among the parts. Add {ref: Q9, is: …} to parts.",
        "kiln.yaml, line 11, hazards[1].ref: 'C11' is not among the parts. Did you mean 'C1'?",
    )
    assert read_board(text, "kiln.yaml").points[1].loads == ("Q9",)


def test_tolerance_becomes_limits() -> None:
    # PC power supply, ATX specification 0.9 table 3: -12 V is -10.80 to -13.20
    board = read(
        "{name: rail -12, nominal: -12 V, tolerance: 10 %}",
        "{name: rail 5, nominal: 5 V, tolerance: 0.25 V}",
        "{name: trim, nominal: 1.5 V, tolerance: 50 mV}",
    )
    limits = [(point.low, point.high) for point in board.points]
    assert limits[0] == (Decimal("-13.2"), Decimal("-10.8"))
    assert limits[1] == (Decimal("4.75"), Decimal("5.25"))
    assert limits[2] == (Decimal("1.45"), Decimal("1.55"))


def test_values_are_kept_in_the_unit_of_the_nominal() -> None:
    board = read("{name: load, quantity: current, nominal: 330 mA, limits: {low: 0.3 A, high: 360 mA}}")
    point = board.points[0]
    assert (point.unit, point.nominal, point.low, point.high) == ("mA", Decimal(330), Decimal(300), Decimal(360))


@pytest.mark.parametrize(
    ("point", "quantity"),
    [
        ("{name: a, nominal: 47 ohm}", "resistance"),
        ("{name: a, limits: {high: 70 degC}}", "temperature"),
        ("{name: a, limits: {low: 10 kHz}}", "frequency"),
        ("{name: a, nominal: 5 mV}", "voltage"),  # ripple and diode drop have to be named
        ("{name: a, quantity: ripple, limits: {high: 5 mV}}", "ripple"),
        ("{name: a}", "voltage"),
    ],
)
def test_a_quantity_follows_from_its_unit(point: str, quantity: str) -> None:
    assert read(point).points[0].quantity == quantity


@pytest.mark.parametrize(
    ("point", "said"),
    [
        ("{name: rail 3.3, nominal: 3.3 V}", ("rail three point three",)),
        ("{name: logic rail, nominal: 3.3 V}", ("logic rail", "rail three point three")),
        ("{name: rail -12, nominal: -12 V}", ("rail minus twelve",)),
        ("{name: logic rail, nominal: 5.0 V}", ("logic rail", "rail five")),
        (
            "{name: rail 3.3 to ground, quantity: resistance, limits: {low: 200 ohm}}",
            ("rail three point three to ground",),
        ),
        ("{name: TP7}", ("test point seven",)),
        ("{name: +12V}", ("plus twelve volt",)),
        ("{name: fan-2}", ("fan two",)),
        ("{name: fan-drive/gate}", ("fan drive gate",)),
        ("{name: GND sense}", ("ground sense",)),
        ("{name: heater, say: [Heater  Element, element]}", ("heater element", "element", "heater")),
        # a written name stays away where it has a word of its own, which a recogniser may not know
        ("{name: snubber, say: [Heater  Element, element]}", ("heater element", "element")),
    ],
)
def test_spoken_names_follow_from_name_and_nominal(point: str, said: tuple[str, ...]) -> None:
    assert read(point).points[0].say == said


def test_a_name_by_nominal_gives_way() -> None:
    board = read("{name: logic rail, nominal: 5 V}", "{name: rail 5, nominal: 5 V}", "{name: fan rail, nominal: 5 V}")
    assert [point.say for point in board.points] == [("logic rail",), ("rail five",), ("fan rail",)]


def test_spoken_points_follow_the_meter() -> None:
    board = read(
        "{name: rail 5, nominal: 5 V}",
        "{name: rail 9, nominal: 9 V, decimals: 2}",
        "{name: rectifier, quantity: diode drop}",
        "{name: code, quantity: digits, alone: true}",
        "{name: clamp, quantity: diode drop, display: mV}",
    )
    rail, fixed, drop, code, clamp = board.spoken_points(read_meter(METER, "meter.yaml"))
    assert (rail.unit, rail.decimals, rail.volts_shown) == ("V", 3, None)
    assert fixed.decimals == 2
    assert (drop.decimals, drop.volts_shown) == (3, True)
    assert (code.unit, code.decimals, code.alone) == ("", 0, True)
    assert clamp.volts_shown is False
    assert [point.decimals for point in board.spoken_points(None)] == [4, 2, 4, 0, 4]


# each row: the file, the line and field of the mistake, what is said of it, and the cure
REFUSED = [
    (board_with("{name: a, nominal: 5 V, tolerence: 5 %}"), 3, "points[0].tolerence", "unknown key", "'tolerance'?"),
    (board_with("{name: a, zz: 5}"), 3, "points[0].zz", "unknown key 'zz'", "keys here are: name, say"),
    ("bord: x\npoints: []\n", 1, "bord", "unknown key 'bord'", "Did you mean 'board'?"),
    ("board: x\npoints: []\n", 2, "points", "at least one entry", None),
    ("board: x\n", 1, "points", "'points' is missing", None),
    ("board:\npoints: [{name: a}]\n", 1, "board", "empty", "leave the line out"),
    (board_with("{nominal: 5 V}"), 3, "points[0].name", "'name' is missing", None),
    (board_with("just words"), 3, "points[0]", "keys and values are expected", "keys here are: name"),
    ("board: x\npoints: {name: a}\n", 2, "points", "a list is expected", "'- '"),
    ("- a\n", 1, None, "not a list of keys and values", "key: value"),
    (
        board_with("{name: a, limits: {low: 3.47 V, high: 3.14 V}}"),
        *(3, "points[0].limits.low", "low limit 3.47 V lies above the high limit 3.14 V", "low: 3.14 V, high: 3.47 V"),
    ),
    (
        board_with("{name: a, limits: {low: -10.8 V, high: -13.2 V}}"),
        *(3, "points[0].limits.low", "-10.8 V lies above", "low: -13.2 V, high: -10.8 V; limits below zero"),
    ),
    (
        board_with("{name: a, nominal: 5 V, tolerance: 5 %, limits: {low: 4 V}}"),
        3,
        "points[0].tolerance",
        "both",
        "one",
    ),
    (board_with("{name: a, tolerance: 5 %}"), 3, "points[0].tolerance", "needs a nominal", "nominal too"),
    (board_with("{name: a, nominal: 5 V, tolerance: -5 %}"), 3, "points[0].tolerance", "below zero", "Write 5 %"),
    (board_with("{name: a, nominal: 5 V, tolerance: 500 %}"), 3, "points[0].tolerance", "above 100 %", "limits"),
    (board_with("{name: a, nominal: 5 V, limits: {source: x}}"), 3, "points[0].limits", "low or a high", None),
    (board_with("{name: a, nominal: 9 V, limits: {low: 4 V, high: 5 V}}"), 3, "points[0].nominal", "outside", "both"),
    (
        board_with("{name: a, quantity: voltage, nominal: 24 A}"),
        3,
        "points[0].nominal",
        "A does not measure voltage",
        "V, kV, mV, uV",
    ),
    (
        board_with("{name: a, nominal: 2 V, limits: {low: 1 A}}"),
        3,
        "points[0].limits.low",
        "A does not measure",
        "V, kV",
    ),
    (board_with("{name: a, nominal: 9 ohm, waveform: AC}"), 3, "points[0].waveform", "has no waveform", "Leave"),
    (board_with("{name: a, nominal: 24}"), 3, "points[0].nominal", "no unit", "Write 24 V"),
    (board_with("{name: a, nominal: 5 volts}"), 3, "points[0].nominal", "'volts' is not a unit", "Write one of"),
    (board_with("{name: a, nominal: '3,3 V'}"), 3, "points[0].nominal", "not a value", "3.3 V"),
    (board_with("{name: a, nominal: 4K7 ohm}"), 3, "points[0].nominal", "not a unit", "Write one of"),
    (
        board_with("{name: a, quantity: resistance, limits: {low: -5 ohm}}"),
        3,
        "points[0].limits.low",
        "below zero",
        None,
    ),
    (board_with("{name: a, quantity: digits, nominal: 5 V}"), 3, "points[0].nominal", "V does not measure", "alone"),
    (board_with("{name: a, quantity: volts}"), 3, "points[0].quantity", "not a quantity", "'voltage'?"),
    (board_with("{name: a, say: [rail 3.3]}"), 3, "points[0].say[0]", "not made of words", "rail three point three"),
    (board_with("{name: a, say: ['a*b']}"), 3, "points[0].say[0]", "not made of words", "letters and spaces only"),
    (board_with("{name: a, say: []}"), 3, "points[0].say", "at least one entry", None),
    (board_with("{name: 'a*b'}"), 3, "points[0].name", "cannot be said", "Add say"),
    (board_with("{name: a}", "{name: A}"), 4, "points[1].name", "'A' is given twice, first on line 3", "Rename"),
    (
        board_with("{name: a, say: [input, main]}", "{name: b, say: [Main]}"),
        *(4, "points[1].say[0]", "'main' is also a spoken name of points[0], line 3", "another name"),
    ),
    (
        board_with("{name: rail 5}", "{name: b, fed_by: {point: rial 5}}"),
        4,
        "points[1].fed_by.point",
        "no point",
        "'rail 5'?",
    ),
    (
        board_with("{name: a, fed_by: {point: b}}", "{name: b, fed_by: {point: a}}"),
        *(3, "points[0].fed_by.point", "feed itself", "supply"),
    ),
    (
        board_with("{name: rail 5}", "{name: b, quantity: resistance, load_of: rail 6}"),
        *(4, "points[1].load_of", "no point 'rail 6'", "'rail 5'?"),
    ),
    (board_with("{name: a, load_of: a}"), 3, "points[0].load_of", "show its own load", "rail"),
    (
        board_with("{name: a}", "{name: b, load_of: a, fed_by: {point: a}}"),
        *(4, "points[1].load_of", "both fed_by and load_of", "Keep load_of"),
    ),
    (board_with("{name: a, loads: []}"), 3, "points[0].loads", "at least one entry", None),
    (board_with("{name: a, loads: [{x: y}]}"), 3, "points[0].loads[0]", "string", None),
    (
        board_with("{name: a}", "{name: b, fed_by: {point: a, through: []}}"),
        *(4, "points[1].fed_by.through", "at least one entry", None),
    ),
    (
        "board: x\npoints: [{name: a}]\nparts:\n  - {ref: U4, is: regulator, fails: always}\n",
        *(4, "parts[0].fails", "'always' is not 'often' or 'seldom'", None),
    ),
    (board_with("{name: a, alone: yes}"), 3, "points[0].alone", "'yes' is not true or false", None),
    (
        board_with("{name: a, state: hot}"),
        3,
        "points[0].state",
        "'hot' is not 'powered', 'unpowered' or 'either'",
        None,
    ),
    (board_with("{name: a, decimals: -1}"), 3, "points[0].decimals", "not a whole number", None),
    (board_with("{name: a, display: V}"), 3, "points[0].display", "diode drop only", None),
    (
        "board: x\npoints: [{name: a}]\nparts:\n  - {ref: U4, is: regulator}\n  - {ref: U4, is: fan}\n",
        *(5, "parts[1].ref", "'U4' is given twice, first on line 4", "Rename"),
    ),
    ("", None, None, "empty", None),
    ("# nothing\n", None, None, "not a list of keys", None),
    ("board: x\n\tpoints: 1\n", 2, None, "not YAML", "spaces, not with tabs"),
    ("board: x\nboard: y\n", 2, "board", "given twice", "one of them"),
    ("board: &a x\npoints: *a\n", 1, "board", "anchors and aliases", "Write the values out"),
    ("board: !!python/name:os.system x\n", 1, "board", "tags", None),
    ("board: x\n---\nboard: y\n", 2, None, "more than one document", None),
    ("board: {x\n", 1, None, "not YAML", "Write '}'"),
    ("board: \x00\n", 1, None, "not YAML", "UTF-8"),
    ("board: " + "[" * 5000, 1, None, "nested too deeply", None),
    ("x" * 1_000_001, None, None, "too many", "1000000"),
]


@pytest.mark.parametrize(("text", "line", "field", "what", "cure"), REFUSED)
def test_mistakes_are_refused_with_their_place(
    text: str, line: int | None, field: str | None, what: str, cure: str | None
) -> None:
    with pytest.raises(BoardError, match=r"kiln\.yaml") as caught:
        read_board(text, "kiln.yaml")
    error = caught.value
    assert what in error.what
    assert (error.line, error.field) == (line, field)
    assert cure is None or (error.cure is not None and cure in error.cure)


def test_a_whole_message() -> None:
    message = (
        "kiln.yaml, line 3, points[0].limits.low: the low limit 5.25 V lies above the high limit 4.75 V. "
        "Write low: 4.75 V, high: 5.25 V."
    )
    with pytest.raises(BoardError, match=f"^{re.escape(message)}$"):
        read("{name: rail 5, nominal: 5 V, limits: {low: 5.25 V, high: 4.75 V}}")


def test_a_billion_laughs_is_refused_before_it_is_expanded() -> None:
    lines = ["a: &a [lol, lol, lol, lol, lol, lol, lol, lol, lol]"]
    for before, name in zip("abcdefgh", "bcdefghi", strict=True):
        lines.append(f"{name}: &{name} [{', '.join([f'*{before}'] * 9)}]")
    with pytest.raises(BoardError, match=r"line 1, a: anchors and aliases .* are not allowed"):
        read_board("\n".join(lines), "laughs.yaml")


def test_the_schema_is_draft_2020_12_and_takes_the_board() -> None:
    schema = json_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    validator.validate(YAML(typ="safe").load(StringIO(BOARD)))


@pytest.mark.parametrize(
    "change",
    [
        {"points": [{"name": "a", "tolerence": "5 %"}]},
        {"points": [{"name": "a", "quantity": "volts"}]},
        {"points": [{"name": "a", "nominal": "3,3 V"}]},
        {"points": [{"name": "a", "alone": "yes"}]},
        {"points": [{}]},
        {"points": []},
        {"colour": "green"},
    ],
)
def test_the_schema_refuses_what_the_reader_refuses(change: dict[str, Any]) -> None:
    data = {"board": "kiln", "points": [{"name": "a"}], **change}
    assert not jsonschema.Draft202012Validator(json_schema()).is_valid(data)


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_with_its_file(text: str) -> None:
    def message(read_it: Callable[[str, str], object]) -> str:
        try:
            read_it(text, "any.yaml")
        except BoardError as error:
            return str(error)
        return "any.yaml was read"

    assert message(read_board).startswith("any.yaml")
    assert message(read_meter).startswith("any.yaml")


_SCALARS = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), max_size=20)


@given(st.recursive(_SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_SCALARS, inner, max_size=3)))
def test_quoted_yaml_keeps_every_character(data: Any) -> None:
    def written(item: Any) -> str:
        if isinstance(item, str):
            return "'" + item.replace("'", "''") + "'"
        if isinstance(item, list):
            return "[" + ", ".join(written(entry) for entry in item) + "]"
        return "{" + ", ".join(f"? {written(key)} : {written(value)}" for key, value in item.items()) + "}"

    assert load_document(written(data), "any.yaml").data == data

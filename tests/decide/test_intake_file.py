"""A board file's own words for the intake, and its table of lamps and beepers."""

from __future__ import annotations

import jsonschema
import pytest
from ruamel.yaml import YAML

from benchvoice.decide.profile import json_schema, read_board
from benchvoice.errors import BoardError
from benchvoice.understand.taken_names import taken_for
from tests.understand.boards import english

HEAD = "board: PS-9 bench supply\npoints:\n  - {name: rail 5, nominal: 5 V, tolerance: 5 %}\n"
GOOD = (
    HEAD
    + """\
complaints: [fan does not turn]
accessories: [fan cable]
indicators:
  - name: LED 1
    say: [front lamp]
    patterns:
      - {shows: "2 short, 1 long", means: output overload}
      - {shows: "2 short, 1 long, red", means: sensor missing}
      - {shows: "steady, green", means: ready}
  - name: beeper
    patterns:
      - {shows: 3 long, means: battery low}
"""
)


def test_read() -> None:
    intake = read_board(GOOD, "board.yaml").intake
    assert intake.spoken.complaints == ("fan does not turn",)
    assert intake.spoken.accessories == ("fan cable",)
    assert intake.spoken.indicators == (("front lamp", "LED 1"), ("beeper", "beeper"))
    lamp = intake.indicator("LED 1")
    assert lamp is not None
    assert [str(entry.shows) for entry in lamp.patterns] == ["2 short, 1 long", "2 short, 1 long, red", "steady, green"]
    assert intake.indicator("front lamp") is None


def test_the_schema_knows_it() -> None:
    validator = jsonschema.Draft202012Validator(json_schema())
    data = YAML(typ="safe").load(GOOD)
    assert validator.is_valid(data)
    data["indicators"][0]["shows"] = "2 short"
    assert not validator.is_valid(data)


def row(shows: str, means: str = "ready") -> str:
    return HEAD + f"indicators:\n  - name: front lamp\n    patterns:\n      - {{shows: {shows}, means: {means}}}\n"


REFUSED = [
    (HEAD + "complaints: [dead, dead]\n", r"line 4, complaints\[1\]: 'dead' is given twice"),
    (HEAD + "complaints: [no 5 V]\n", r"line 4, complaints\[0\]: 'no 5 V' cannot be said as it is written"),
    (HEAD + "accessories: cable\n", r"line 4, accessories: "),
    (HEAD + "indicators:\n  - name: front lamp\n", r"line 5, indicators\[0\]\.patterns: 'patterns' is missing"),
    (HEAD + "indicators:\n  - {name: lamp >, patterns: [{shows: dark, means: off}]}\n", r"'lamp >' cannot be said"),
    (row("2 blinks"), r"line 7, indicators\[0\]\.patterns\[0\]\.shows: '2 blinks' is no pattern\. Write how"),
    (row("steady 2 short"), r"'steady 2 short' is no pattern"),
    (row("2 short") + "      - {shows: two short, means: other}\n", r"line 8, .*: '2 short' is listed twice"),
    (row("2 short").replace(", means: ready", ""), r"line 7, indicators\[0\]\.patterns\[0\]\.means: "),
    (row("2 short") + "  - name: front lamp\n    patterns:\n      - {shows: dark, means: off}\n",
     r"line 8, indicators\[1\]\.name: two indicators would be called 'front lamp'"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "complaint"), REFUSED)
def test_refused(text: str, complaint: str) -> None:
    with pytest.raises(BoardError, match=complaint):
        read_board(text, "board.yaml")


NAMED = [("five", "a value"), ("yes", "an answer"), ("strike that", "a command"), ("lid off", "work on the unit")]


@pytest.mark.parametrize(("name", "what"), NAMED)
@pytest.mark.parametrize("key", ["name", "say"])
def test_an_indicator_is_not_called_what_means_something_else(name: str, what: str, key: str) -> None:
    said = f"name: {name}" if key == "name" else f"name: LED 1\n    say: [{name}]"
    field = "name" if key == "name" else r"say\[0\]"
    text = HEAD + f"indicators:\n  - {said}\n    patterns:\n      - {{shows: dark, means: no power}}\n"
    with pytest.raises(BoardError, match=rf"indicators\[0\]\.{field}: '{name}' would be taken for {what}"):
        read_board(text, "board.yaml", taken_for=lambda words: taken_for(words, english()))


def test_what_lamps_are_called_is_free() -> None:
    read_board(GOOD, "board.yaml", taken_for=lambda words: taken_for(words, english()))
    for name in (" ".join(words) for words in english().intake.indicators):
        assert taken_for(name, english()) == ""

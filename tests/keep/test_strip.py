"""The tolerance strip: what is drawn stands where the numbers say."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.keep.record import fold
from benchvoice.keep.strip import HEIGHT, WIDTH, tolerance_strip
from tests.keep.builders import Story


def draw(value: str, **fields: str | None) -> ET.Element | None:
    s = Story()
    s.opened()
    s.heard("a reading")
    given_fields: dict[str, Any] = {"nominal": None, "low": None, "high": None, **fields}
    s.reading("rail <5>", value, unit="V", quantity="voltage", **given_fields)
    svg = tolerance_strip(fold(s.events).readings[0])
    return ET.fromstring(svg) if svg else None


def limit_places(svg: ET.Element) -> list[float]:
    return [float(line.attrib["x1"]) for line in svg.iter("line") if line.get("class") != "nominal"]


def value_place(svg: ET.Element) -> float:
    [path] = [path.attrib["d"] for path in svg.iter("path") if path.get("class") == "value"]
    match = re.match(r"M(-?[\d.]+)", path)
    assert match is not None
    return float(match[1]) + 4.5


def is_off(svg: ET.Element) -> str | None:
    paths = [path.attrib["d"] for path in svg.iter("path") if path.get("class") == "off"]
    return None if not paths else "left" if paths[0].startswith("M12 ") else "right"


def zones(svg: ET.Element) -> dict[str, tuple[float, float]]:
    found = {}
    for rect in svg.iter("rect"):
        start = float(rect.attrib["x"])
        found[rect.attrib["fill"]] = (start, start + float(rect.attrib["width"]))
    return found


def test_a_value_in_the_middle_of_its_limits_is_drawn_in_the_middle() -> None:
    svg = draw("5.00", low="4.75", high="5.25", nominal="5", uncertainty="0.05")
    assert svg is not None
    low, high = limit_places(svg)
    assert value_place(svg) == pytest.approx((low + high) / 2, abs=0.1)
    assert value_place(svg) == pytest.approx(WIDTH / 2, abs=0.1)
    per_volt = (high - low) / 0.5
    assert zones(svg)["#e2f1e6"] == pytest.approx((low + 0.05 * per_volt, high - 0.05 * per_volt), abs=0.2)
    assert zones(svg)["url(#guard)"] == pytest.approx((low - 0.05 * per_volt, high + 0.05 * per_volt), abs=0.2)


def test_negative_limits_order_by_value() -> None:
    # −12 V ± 10 %: −13.2 lies left of −10.8 (ATX specification 0.9, Table 3)
    svg = draw("-11.50", low="-13.20", high="-10.80", uncertainty="0.08")
    assert svg is not None
    low, high = limit_places(svg)
    assert low < value_place(svg) < high
    assert [text.text for text in svg.iter("text")] == ["−13.20", "−10.80"]


@pytest.mark.parametrize(("value", "side"), [("0.02", "left"), ("50", "right"), ("over range", "right")])
def test_far_values_are_arrows(value: str, side: str) -> None:
    svg = draw(value, low="4.75", high="5.25", uncertainty=None if value == "over range" else "0.01")
    assert svg is not None
    assert is_off(svg) == side


def test_a_value_not_too_far_is_brought_into_the_picture() -> None:
    svg = draw("4.0", low="3.14", high="3.47", uncertainty="0.075")
    assert svg is not None
    assert is_off(svg) is None
    assert limit_places(svg)[1] < value_place(svg) < WIDTH


@pytest.mark.parametrize(("fields", "n_limits"), [({"low": "200"}, 1), ({"high": "0.05"}, 1), ({"low": "0"}, 1)])
def test_one_limit_is_enough(fields: dict[str, str], n_limits: int) -> None:
    svg = draw("300", **fields)
    assert svg is not None
    assert len(limit_places(svg)) == n_limits


@pytest.mark.parametrize("value", ["812", "over range"])
def test_without_limits_there_is_no_strip(value: str) -> None:
    assert draw(value) is None


def test_the_title_is_escaped() -> None:
    svg = draw("5.0", low="4.75", high="5.25", uncertainty="0.05")
    assert svg is not None
    title = svg.find("title")
    assert title is not None
    assert title.text == "rail <5>; 5.0\u00a0V; pass; 4.75 to 5.25\u00a0V; U = 0.05\u00a0V"


number = st.decimals(-10_000, 10_000, places=3).map(str)


@given(
    value=number | st.just("over range"), limits=st.tuples(number, number), u=st.none() | st.decimals(0, 500, places=4)
)
def test_everything_stays_inside_the_picture(value: str, limits: tuple[str, str], u: object) -> None:
    low, high = sorted(limits, key=float)
    svg = draw(value, low=low, high=high, uncertainty=None if u is None else str(u))
    assert svg is not None
    for place in limit_places(svg):
        assert 0 <= place <= WIDTH
    for start, end in zones(svg).values():
        assert 0 <= start <= end <= WIDTH
    for text in svg.iter("text"):
        assert 0 <= float(text.attrib["x"]) <= WIDTH
        assert float(text.attrib["y"]) <= HEIGHT
    if is_off(svg) is None:
        assert 0 <= value_place(svg) <= WIDTH
        position = (float(value) > float(low)) - (float(value) < float(low))
        drawn = value_place(svg) - limit_places(svg)[0]
        assert drawn * position >= -0.11

"""Moved thresholds, and the picture of what they do."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import pytest

from benchvoice.hear.arbiter import Arbiter
from benchvoice.hear.votes import Voter
from benchvoice.scoring.bounds import Rate
from benchvoice.scoring.picture import picture
from benchvoice.scoring.sweep import SETTINGS, Point, Setting, arbiter_set_to, set_to, swept, varies
from tests.scoring.results import scored

ENGINE: Any = object()
RANKING = Voter(ENGINE, gap_most=0.28, margin_least=3.0, margin_split=4.0, alone_gap=0.2, alone_margin=7.0)
OTHER = Voter(ENGINE, gap_most=2.4, alone_gap=-0.8)
ARBITER = Arbiter(
    ENGINE, lead_backed=4.0, lead_unbacked=8.0, lead_near=6.0, gap_most=3.0, gap_stranger=2.5, gap_strange=6.5
)


def test_one_threshold_moves_and_only_where_scores_rank() -> None:
    margin, gap = Setting("margin", 2.0), Setting("gap", -0.08)
    assert set_to(RANKING, margin) == replace(RANKING, margin_least=5.0, margin_split=6.0, alone_margin=9.0)
    moved = set_to(RANKING, gap)
    assert (moved.gap_most, moved.alone_gap) == pytest.approx((0.20, 0.12))
    assert replace(moved, gap_most=0.28, alone_gap=0.2) == RANKING
    assert {set_to(OTHER, setting) for setting in SETTINGS} == {OTHER}
    assert (varies([OTHER, RANKING]), varies([OTHER])) == (True, False)


def test_an_arbiters_leads_move_with_the_margins_and_nothing_else_of_it() -> None:
    assert arbiter_set_to(ARBITER, Setting("margin", 2.0)) == replace(
        ARBITER, lead_backed=6.0, lead_unbacked=10.0, lead_near=8.0
    )
    assert arbiter_set_to(ARBITER, Setting("margin", -3.0)) == replace(
        ARBITER, lead_backed=1.0, lead_unbacked=5.0, lead_near=3.0
    )
    gaps = [setting for setting in SETTINGS if setting.threshold == "gap"]
    assert {arbiter_set_to(ARBITER, setting) for setting in gaps} == {ARBITER}
    assert arbiter_set_to(ARBITER, Setting("margin", 0.0)) == ARBITER
    assert {arbiter_set_to(None, setting) for setting in SETTINGS} == {None}


def test_each_threshold_is_tried_as_it_is_and_in_order() -> None:
    for threshold in ("margin", "gap"):
        shifts = [setting.shift for setting in SETTINGS if setting.threshold == threshold]
        assert shifts == sorted(shifts)
        assert 0 in shifts
        assert set_to(RANKING, Setting(threshold, 0.0)) == RANKING


def test_the_corpus_under_each_setting() -> None:
    settings = (Setting("margin", 0.0), Setting("margin", 3.0))
    items = [replace(scored(), sweep=("accepted wrong", "asked")), replace(scored(), sweep=("right", "ignored"))]
    first, second = swept(items, settings)
    assert (first.accepted_wrong, first.asked, first.ignored) == (Rate(1, 2), Rate(0, 2), Rate(0, 2))
    assert (second.accepted_wrong, second.asked, second.ignored) == (Rate(0, 2), Rate(1, 2), Rate(1, 2))
    with pytest.raises(ValueError, match="every utterance needs a result for every setting"):
        swept([scored()], settings)


def point(threshold: str, shift: float, wrong: int, asked: int) -> Point:
    return Point(Setting(threshold, shift), Rate(wrong, 1000), Rate(asked, 1000), Rate(0, 1000))


@pytest.mark.parametrize("most", [0, 1, 7, 430, 1000])
def test_every_mark_lies_between_the_axes(most: int) -> None:
    points = [point("margin", 0.0, 0, most), point("margin", 3.0, most, 0), point("gap", 0.0, most, most)]
    root = ElementTree.fromstring(picture(points, 1000))
    circles = [element for element in root.iter() if element.tag.endswith("circle")]
    assert len(circles) == len(points)
    places = [(float(circle.attrib["cx"]), float(circle.attrib["cy"])) for circle in circles]
    assert all(70 <= x <= 620 and 50 <= y <= 360 for x, y in places)
    if most:
        assert places[0][0] > places[1][0]  # asked more often lies further right
        assert places[0][1] > places[1][1]  # accepted wrong less often lies lower
    assert [circle.attrib.get("class") for circle in circles] == ["here", None, "here"]


def test_axes_have_units_and_both_grounds_are_seen_to() -> None:
    text = picture([point("margin", 0.0, 2, 40), point("gap", 0.04, 2, 44)], 1000)
    assert "asked (% of recordings)" in text
    assert "accepted wrong (% of recordings)" in text
    light, dark = text.split("@media (prefers-color-scheme: dark)")
    for name in ("text", ".ground, .here", ".rule", ".margin", ".gap"):
        colours = [re.search(rf"^ *{re.escape(name)} {{ [^}}]*(#\w+)|{re.escape(name)} {{ [^}}]*?(#\w+)", part, re.M)
                   for part in (light, dark)]  # fmt: skip
        found = [match.group(1) or match.group(2) for match in colours if match]
        assert len(set(found)) == 2, name


def test_shares_of_nothing_are_drawn() -> None:
    empty = Point(Setting("margin", 0.0), Rate(0, 0), Rate(0, 0), Rate(0, 0))
    assert not any(math.isnan(float(x)) for x in re.findall(r'c[xy]="([^"]+)"', picture([empty], 0)))

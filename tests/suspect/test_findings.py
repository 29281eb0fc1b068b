"""From a board's words and readings to suspects with reasons and the next point."""

from __future__ import annotations

import os
import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.suspect.findings import (
    MOST_SUSPECTS,
    SupplyPart,
    SupplyPoint,
    SupplyReading,
    Trial,
    away_from_zero,
    suspicion_of,
)
from benchvoice.suspicion import Cause, Reason, Suspicion

POINTS = (
    SupplyPoint("input", away="high"),
    SupplyPoint("rail 5", "input", ("F1", "U3"), away="high"),
    SupplyPoint("rail 3.3", "rail 5", ("U4",), loads=("C7",), away="high"),
    SupplyPoint("rail -12", "input", away="low"),
    SupplyPoint("ground test", load_of="rail 3.3"),
    SupplyPoint("fan"),
)
PARTS = (SupplyPart("U4", "3.3 V regulator"), SupplyPart("F1", "fuse", "often"), SupplyPart("U3", "regulator"))
PASS = SupplyReading("pass")
LOW, HIGH = SupplyReading("fail", "low"), SupplyReading("fail", "high")


def on_board(readings: dict[str, SupplyReading]) -> Suspicion:
    return suspicion_of(POINTS, PARTS, readings)


def names(suspicion: Suspicion) -> list[str]:
    return [each.cause.at for each in suspicion.suspects]


def test_a_rail_that_fails_while_its_feed_passes() -> None:
    seen = on_board({"rail 5": PASS, "rail 3.3": LOW})
    assert [(each.cause, each.what) for each in seen.suspects] == [
        (Cause("part", "U4"), "3.3 V regulator"),
        (Cause("part", "C7"), ""),
        (Cause("load", "rail 3.3"), ""),
    ]
    # the odds are 10, 10 and 4
    assert [each.share for each in seen.suspects] == [Decimal("0.4167"), Decimal("0.4167"), Decimal("0.1667")]
    assert (seen.certain, seen.n_suspects, seen.n_sets) == (True, 3, 3)
    assert seen.reasons == (Reason("feed right", "rail 3.3", "rail 5"),)
    assert seen.next_point == "ground test"


def test_what_was_tried_changes_the_odds_and_gives_its_reason() -> None:
    """The odds are 10, 10 and 4; a trial takes one of them times 20, times 3, or a twentieth (common practice)."""
    readings = {"rail 5": PASS, "rail 3.3": LOW}
    for outcome, odds, kind in (("works", 200, "tried, works"), ("different", 30, "tried, different"),
                                ("no change", Decimal("0.5"), "tried")):  # fmt: skip
        seen = suspicion_of(POINTS, PARTS, readings, [Trial("u4", outcome)])  # type: ignore[arg-type]
        share = {each.cause.at: each.share for each in seen.suspects}["U4"]
        assert share == (Decimal(odds) / (odds + 14)).quantize(Decimal("0.0001"))
        assert seen.reasons[-1] == Reason(kind, "u4")  # type: ignore[arg-type]


def test_another_supply_speaks_of_what_feeds_the_board() -> None:
    found = suspicion_of(POINTS, PARTS, {"input": LOW}, [Trial("supply", "works"), Trial("cable", "works")])
    assert found.suspects[0].cause == Cause("feed", "input")
    assert found.reasons == (Reason("fed from outside", "input"), Reason("tried, works", "supply"))


def test_a_trial_of_what_is_no_suspect_is_no_reason() -> None:
    seen = suspicion_of(POINTS, PARTS, {"rail 5": PASS, "rail 3.3": HIGH}, [Trial("supply", "no change")])
    assert all(reason.kind != "tried" for reason in seen.reasons)


def test_a_rail_that_is_too_high_convicts_its_part_alone() -> None:
    assert names(on_board({"rail 5": PASS, "rail 3.3": HIGH})) == ["U4"]


def test_a_negative_rail_is_too_high_where_its_value_is_too_low() -> None:
    """-14 V on a rail of -12 V is no missing supply, 0 V is."""
    assert [each.cause for each in on_board({"input": PASS, "rail -12": LOW}).suspects] == [Cause("way", "rail -12")]
    assert {each.cause for each in on_board({"input": PASS, "rail -12": HIGH}).suspects} == {
        Cause("way", "rail -12"),
        Cause("load", "rail -12"),
    }


@pytest.mark.parametrize(
    ("quantity", "low", "high", "away"),
    [
        ("voltage", "4.75", "5.25", "high"),
        ("voltage", "4.75", None, "high"),
        ("voltage", "-13.2", "-10.8", "low"),
        ("voltage", None, "-10.8", "low"),
        ("voltage", "-1", "1", None),
        ("voltage", None, "5", None),
        ("current", "1", "2", None),
    ],
)
def test_away_from_zero(quantity: str, low: str | None, high: str | None, away: str | None) -> None:
    limits = (None if limit is None else Decimal(limit) for limit in (low, high))
    assert away_from_zero(quantity, *limits) == away


def test_every_part_of_a_way_is_suspect_and_what_fails_often_comes_first() -> None:
    seen = on_board({"input": PASS, "rail 5": LOW, "rail 3.3": LOW})
    assert names(seen) == ["F1", "U3", "rail 5"]
    assert Reason("consequence", "rail 3.3", "rail 5") in seen.reasons


def test_of_a_point_that_is_fed_from_outside_its_feed_is_suspect() -> None:
    assert {each.cause for each in on_board({"input": LOW}).suspects} == {
        Cause("feed", "input"),
        Cause("load", "input"),
    }


def test_what_the_board_does_not_place_is_told() -> None:
    seen = on_board({"fan": LOW, "rail 3.3": PASS})
    assert seen.reasons == (Reason("apart", "fan"),)
    assert (seen.certain, seen.suspects) == (False, ())


def test_while_nothing_fails_there_is_no_suspect_but_a_next_point() -> None:
    seen = on_board({})
    assert (seen.certain, seen.suspects, seen.sets, seen.supplied) == (False, (), (), True)
    assert seen.next_point == "rail 5"


def test_a_conditional_fail_makes_suspects_but_nothing_certain() -> None:
    seen = on_board({"rail 3.3": SupplyReading("conditional fail", "low", Decimal("0.117"))})
    assert not seen.certain
    assert seen.suspects[0].cause == Cause("part", "F1")
    assert seen.reasons == (Reason("doubtful", "rail 3.3"),)
    assert on_board({"rail 3.3": SupplyReading("conditional pass", "low", Decimal("0.88"))}).suspects == ()


def test_a_recorded_reading_says_nothing() -> None:
    assert on_board({"rail 5": SupplyReading("recorded")}) == on_board({})


def test_a_board_that_says_nothing_of_supplies() -> None:
    seen = suspicion_of((SupplyPoint("fan"), SupplyPoint("lamp")), (), {"fan": LOW})
    assert (seen.supplied, seen.certain, seen.next_point) == (False, False, None)
    assert seen.reasons == (Reason("apart", "fan"),)


def test_of_very_many_suspects_the_likeliest_are_named() -> None:
    points = [SupplyPoint("p0"), *(SupplyPoint(f"p{at}", f"p{at - 1}", (f"U{at}",)) for at in range(1, 400))]
    seen = suspicion_of(points, [SupplyPart("U77", "fuse", "often"), SupplyPart("U3", "", "seldom")], {"p399": LOW})
    assert (len(seen.suspects), seen.n_suspects, seen.n_sets) == (MOST_SUSPECTS, 800, 800)
    assert seen.suspects[0].cause.at == "U77"
    assert abs(int(str(seen.next_point)[1:]) - 200) < 10


@given(
    st.lists(st.sampled_from([PASS, LOW, HIGH, SupplyReading("conditional fail", "low"), None]), min_size=6, max_size=6)
)
def test_any_readings_are_explained_or_told_to_contradict(readings: list[SupplyReading | None]) -> None:
    given_ = {point.name: each for point, each in zip(POINTS, readings, strict=True) if each is not None}
    seen = on_board(given_)
    placed = {name for name, each in given_.items() if each.statement == "fail" and name != "fan"}
    told = {reason.point for reason in seen.reasons} | {each.feed for each in seen.reasons if each.kind == "load"}
    assert placed <= told
    assert seen.next_point not in given_
    if seen.certain:
        assert seen.sets
        total = sum((each.share for each in seen.sets), Decimal(0))
        assert seen.n_sets > len(seen.sets) or abs(total - 1) < Decimal("0.001")


def test_a_part_that_many_rails_share_is_found_on_a_large_board_too() -> None:
    """One of 300 rails in ten groups; all rails of a group share a regulator, and each group's fail but for one."""
    points = [
        SupplyPoint("p0"),
        *(SupplyPoint(f"p{at}", "p0", (f"U{at % 10}", f"L{at}"), away="high") for at in range(1, 300)),
    ]
    readings = {point.name: LOW if point.name.endswith("7") else PASS for point in points}
    seen = suspicion_of(points, [], readings)
    assert seen.suspects[0].cause == Cause("part", "U7")
    assert seen.suspects[0].share > Decimal("0.99")
    assert seen.sets[0].causes == (Cause("part", "U7"),)


_SHARED = """
from benchvoice.suspect.findings import SupplyPoint, SupplyReading, suspicion_of
points = [SupplyPoint("p0"), *(SupplyPoint(f"p{n}", f"p{n // 3}", (f"U{n % 4}", f"L{n}")) for n in range(1, 30))]
print(suspicion_of(points, (), {f"p{n}": SupplyReading("fail", "low") for n in (14, 17, 20, 26)}))
"""


def test_the_same_readings_give_the_same_suspects_in_every_process() -> None:
    printed = {
        subprocess.run(
            [sys.executable, "-c", _SHARED],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(printed) == 1
    assert "U2" in printed.pop()

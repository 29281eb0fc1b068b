"""Results added up: groups, confusions, words, and the time taken."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.scoring.tallies import (
    RESULTS,
    SERIAL,
    Confusion,
    ReadBack,
    Scored,
    Tally,
    confusions,
    grouped,
    real_time_factor,
    words_wrong,
)
from tests.scoring.results import results, scored


@given(results())
def test_every_recording_is_counted_once_over_all_and_once_in_its_group(items: list[Scored]) -> None:
    total = Tally.of(items)
    assert sum(rate.count for rate in total.results.values()) == total.recordings == len(items)
    for group, tallies in grouped(items).items():
        labelled = [item for item in items if getattr(item, group)]
        assert sum(tally.recordings for tally in tallies.values()) == len(labelled)
        for result in RESULTS:
            counted = sum(tally.results[result].count for tally in tallies.values())
            assert counted == sum(item.result == result for item in labelled)


def test_confusions_worst_first() -> None:
    wrong, asked = "accepted wrong", "asked"
    items = [
        scored(asked, meant="5 V", taken="9 V"),
        scored(asked, meant="5 V", taken="9 V"),
        scored(asked, meant="5 V", taken="9 V"),
        scored(asked, meant="5 V", taken="5 V"),  # asked with the right thing first
        scored(asked, meant="5 V"),
        scored(wrong, text="the kettle is on", taken="6 V"),
        scored(wrong, meant="50 V", taken="15 V"),
        scored(wrong, meant="50 V", taken="15 V"),
        scored("ignored", meant="5 V"),
        scored(meant="5 V"),
    ]
    assert confusions(items) == [
        Confusion(wrong, "50 V", "15 V", 2),
        Confusion(wrong, "talk: the kettle is on", "6 V", 1),
        Confusion(asked, "5 V", "9 V", 3),
    ]


def test_serial_numbers_by_how_they_were_read_back() -> None:
    items = [
        scored("asked", meant="AB1", taken="AB1", kind=SERIAL),
        scored("asked", meant="AB1", taken="AB1", kind=SERIAL),
        scored("asked", meant="AB1", taken="AB", kind=SERIAL),
        scored("accepted wrong", meant="AB1", taken="5 V", kind=SERIAL),
        scored("asked", meant="AB1", kind=SERIAL),  # asked without offering anything
        scored("ignored", meant="AB1", kind=SERIAL),
        scored("asked", meant="5 V", taken="5 V", kind="reading"),
    ]
    found = ReadBack.of(items)
    assert (found.right.count, found.otherwise.count, found.not_understood.count) == (2, 2, 2)
    assert {rate["of"] for rate in found.as_json().values()} == {6}


@pytest.mark.parametrize(
    ("said", "heard", "found"),
    [
        ("input reads five", "input reads five", (0, 3)),
        ("Input  reads five", "input reads five", (0, 3)),
        ("input reads five", "input five volts", (2, 3)),
        ("five", "five point one", (2, 1)),
        ("input reads five", "", (3, 3)),
        ("", "input reads", (2, 0)),
        ("", "", (0, 0)),
    ],
)
def test_words_wrong(said: str, heard: str, found: tuple[int, int]) -> None:
    assert words_wrong(said, heard) == found


def test_the_time_it_took_is_a_factor_and_part_of_no_comparison() -> None:
    items = [replace(scored(), sound_s=2.0, took_s=0.5), replace(scored(), sound_s=3.0, took_s=2.0)]
    assert real_time_factor(items) == pytest.approx(0.5)
    assert real_time_factor([]) is None
    assert replace(items[0], took_s=9.0) == items[0]
    assert "took_s" not in items[0].as_json()


@given(st.text("ab ", max_size=12), st.text("ab ", max_size=12))
def test_words_wrong_are_none_only_where_the_words_are_the_same(said: str, heard: str) -> None:
    wrong, words = words_wrong(said, heard)
    assert words == len(said.split())
    assert (wrong == 0) == (said.split() == heard.split())
    assert abs(len(said.split()) - len(heard.split())) <= wrong <= max(len(said.split()), len(heard.split()))

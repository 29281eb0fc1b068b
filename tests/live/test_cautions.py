"""Cautions at the bench: what speech cuts off is said again, unless it was acknowledged meanwhile."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchvoice.events import Acknowledged, Caution
from benchvoice.live.parts import LiveSettings
from tests.live.bench import LiveBench, Span

STATIC = "Caution, static. Ground yourself before you touch the board."
HEADSET = LiveSettings(headset=True)


@pytest.mark.parametrize(("settings", "again"), [(HEADSET, [STATIC]), (LiveSettings(), [])])
def test_with_a_headset_speech_that_cuts_a_caution_off_does_not_lose_it(
    settings: LiveSettings, again: list[str], tmp_path: Path
) -> None:
    bench = LiveBench(
        tmp_path, Span(1.0, 2.0, "lid off"), Span(2.9, 5.0, "rail five reads five point oh volts"), settings=settings
    )
    bench.until(20.0)
    assert f"Out: lid. {STATIC}" in bench.said
    assert [said for said in bench.said if said == STATIC] == again
    assert sum(isinstance(event, Caution) for event in bench.keeper.kept) == 1


def test_what_was_acknowledged_meanwhile_is_not_said_again(tmp_path: Path) -> None:
    bench = LiveBench(
        tmp_path, Span(1.0, 2.0, "lid off"), Span(2.9, 4.0, "caution understood"), settings=HEADSET
    )  # fmt: skip
    bench.until(20.0)
    assert any(isinstance(event, Acknowledged) for event in bench.keeper.kept)
    assert STATIC not in bench.said

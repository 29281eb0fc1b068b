"""Timers at the bench: they ring by the clock, after what is being said, and again where speech cut them off."""

from __future__ import annotations

from pathlib import Path

from benchvoice.events import TimerOver
from benchvoice.live.parts import LiveSettings
from tests.live.bench import LiveBench, Span

TEN = Span(1.0, 2.0, "timer ten seconds")


def rung(bench: LiveBench) -> list[float]:
    """When it was said that a timer is over."""
    said = bench.speaker.said
    return [bench.said_at(at) for at, (_, reply) in enumerate(said) if reply.text.startswith("Timer is over")]


def test_a_timer_rings_though_nobody_speaks(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, TEN)
    bench.until(30.0)
    assert bench.kinds == ["heard", "timer started", "said", "timer over", "said"]
    (at_s,) = rung(bench)
    assert 12.0 <= at_s <= 12.8
    assert bench.watcher.notices == ["Timer is over. Ten seconds."]


def test_it_waits_until_the_technician_has_spoken(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, TEN, Span(11.0, 14.0, "rail five reads five point oh volts"))
    bench.until(30.0)
    assert bench.readings == [("rail 5", "5.0")]
    assert bench.said[-1] == "Timer is over. Ten seconds."
    (at_s,) = rung(bench)
    assert at_s > 14.0


def test_it_rings_by_the_clock_while_the_microphone_is_gone(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, TEN)
    bench.until(5.0)
    bench.room.why_deaf = "the microphone was unplugged"
    bench.until(30.0)
    (at_s,) = rung(bench)
    assert 12.0 <= at_s <= 12.8


def test_with_a_headset_speech_that_cuts_it_off_does_not_lose_it(tmp_path: Path) -> None:
    bench = LiveBench(
        tmp_path, TEN, Span(12.4, 14.5, "rail five reads five point oh volts"), settings=LiveSettings(headset=True)
    )
    bench.until(40.0)
    first_s, again_s = rung(bench)
    assert first_s < 12.8
    assert again_s > 14.5
    assert sum(isinstance(event, TimerOver) for event in bench.keeper.kept) == 1
    assert bench.readings == [("rail 5", "5.0")]


def test_a_full_disk_is_told_and_the_timer_rings_once_there_is_room(tmp_path: Path) -> None:
    bench = LiveBench(tmp_path, TEN)
    bench.until(5.0)
    bench.keeper.full = True
    bench.until(25.0)
    assert rung(bench) == []
    assert bench.watcher.notices == ["Not kept. The disk is full."]
    bench.keeper.full = False
    bench.until(40.0)
    assert bench.watcher.notices[1] == "I can write again."
    assert bench.watcher.notices[2].startswith("Timer was over ")

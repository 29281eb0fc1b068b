"""Zeros mean a silent microphone, unless it has shown that it gives them in every pause."""

from __future__ import annotations

from benchvoice.devices.zeros import ZeroWatch


def after(watch: ZeroWatch, *stretches: tuple[str, float]) -> list[bool]:
    """Whether it counts as silent at the end of each stretch of "zeros" or "sound", in seconds."""
    found = []
    for kind, length_s in stretches:
        for _ in range(round(length_s / 0.02)):
            watch.take(zeros=kind == "zeros", length_s=0.02)
        found.append(watch.silent)
    return found


def test_zeros_for_longer_than_two_seconds_are_silence() -> None:
    assert after(ZeroWatch(), ("sound", 5), ("zeros", 1.9), ("sound", 1), ("zeros", 2.2), ("sound", 0.02)) == [
        False, False, False, True, False,
    ]  # fmt: skip


def test_a_headset_that_gates_its_noise_is_believed_the_third_time() -> None:
    watch = ZeroWatch()
    assert after(watch, ("zeros", 3), ("sound", 2), ("zeros", 3), ("sound", 2)) == [True, False, True, False]
    assert watch.gated
    assert after(watch, ("zeros", 30), ("sound", 2), ("zeros", 61)) == [False, False, True]


def test_short_pauses_show_nothing() -> None:
    watch = ZeroWatch()
    after(watch, *[("zeros", 1.0), ("sound", 1.0)] * 5)
    assert not watch.gated


def test_a_microphone_that_is_opened_anew_is_another_one() -> None:
    watch = ZeroWatch()
    after(watch, *[("zeros", 3.0), ("sound", 1.0)] * 2)
    watch.take(zeros=True, length_s=0.02, opened=True)
    assert after(watch, ("zeros", 2.5)) == [True]

"""Blocks into utterances: nothing voiced is lost, nothing overlaps, and how it was cut into blocks does not matter."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.hear.segment import FRAME_SAMPLES, Segmenter, SegmentSettings
from benchvoice.records import RATE_HZ, AudioBlock, Samples, Utterance

FRAME_S = FRAME_SAMPLES / RATE_HZ
VOICE, QUIET = 8000, 10
USUAL = SegmentSettings()


class Loudness:
    """A detector that takes loud frames for speech."""

    def probability(self, frame: Samples) -> float:
        return 1.0 if np.abs(frame.astype(np.int32)).max() > 1000 else 0.0

    def reset(self) -> None:
        """It remembers nothing."""


def sound(*spans: tuple[float, int]) -> Samples:
    """Spans of (seconds, amplitude), a square wave each."""
    parts = [np.tile([level, -level], round(seconds * RATE_HZ) // 2) for seconds, level in spans]
    return np.concatenate(parts).astype(np.int16)


def cut(
    samples: Samples,
    settings: SegmentSettings = USUAL,
    *,
    block: int = 1600,
    muted: tuple[tuple[float, float], ...] = (),
) -> list[Utterance]:
    segmenter = Segmenter(Loudness(), settings)
    for span in muted:
        segmenter.mute(*span)
    found: list[Utterance] = []
    for at in range(0, len(samples), block):
        found += segmenter.feed(AudioBlock(samples[at : at + block], at / RATE_HZ))
    return found + segmenter.finish()


def test_speech_is_kept_with_three_tenths_of_a_second_around_it() -> None:
    (one,) = cut(sound((1.0, QUIET), (0.5, VOICE), (2.0, QUIET)))
    assert (one.start_s, one.end_s) == pytest.approx((0.7, 1.8), abs=1e-9)
    assert len(one.samples) == round(1.1 * RATE_HZ)
    assert not one.cut
    assert not one.clipped


def test_levels_are_relative_to_a_full_scale_square_wave() -> None:
    (one,) = cut(sound((1.0, 32), (0.5, 3277), (2.0, 32)))
    assert one.level_dbfs == pytest.approx(-20.0, abs=0.1)  # 3277 / 32768 is a tenth
    assert one.noise_dbfs == pytest.approx(-60.2, abs=0.1)  # 32 / 32768 is 2 to the power of -10


def test_a_pause_shorter_than_the_wait_does_not_end_it_and_a_longer_one_does() -> None:
    assert len(cut(sound((0.5, QUIET), (0.4, VOICE), (0.6, QUIET), (0.4, VOICE), (1.0, QUIET)))) == 1
    assert len(cut(sound((0.5, QUIET), (0.4, VOICE), (0.8, QUIET), (0.4, VOICE), (1.0, QUIET)))) == 2
    wait = SegmentSettings(end_wait_s=1.0)
    assert len(cut(sound((0.5, QUIET), (0.4, VOICE), (0.8, QUIET), (0.4, VOICE), (1.5, QUIET)), wait)) == 1


def test_a_click_is_no_utterance() -> None:
    assert cut(sound((1.0, QUIET), (0.1, VOICE), (1.0, QUIET))) == []


def test_what_is_too_long_is_cut_and_said_and_goes_on() -> None:
    found = cut(sound((0.5, QUIET), (40.0, VOICE), (1.0, QUIET)))
    assert [one.cut for one in found] == [True, True, False]
    assert all(one.end_s - one.start_s <= 15.0 + 1e-9 for one in found)
    assert [one.start_s for one in found[1:]] == pytest.approx([one.end_s for one in found[:-1]])


def test_the_end_of_the_stream_cuts() -> None:
    (one,) = cut(sound((0.5, QUIET), (0.5, VOICE)))
    assert one.cut
    assert one.end_s == pytest.approx(1.0)
    (ended,) = cut(sound((0.5, QUIET), (0.5, VOICE), (0.4, QUIET)))
    assert not ended.cut


def test_muted_spans_are_quiet() -> None:
    samples = sound((0.5, QUIET), (1.0, VOICE), (1.0, QUIET), (0.5, VOICE), (1.0, QUIET))
    (one,) = cut(samples, muted=((0.4, 1.6),))
    assert one.start_s == pytest.approx(2.2)
    (late,) = cut(sound((0.5, QUIET), (2.0, VOICE), (1.0, QUIET)), muted=((0.0, 1.5),))
    assert not late.samples[: round((1.5 - late.start_s) * RATE_HZ)].any()  # our own voice is not in the clip


def test_speech_that_began_in_a_muted_span_is_cut() -> None:
    """Of "input reads twenty four" only "four" may be left, which would be another value, or at another point."""
    (late,) = cut(sound((0.5, QUIET), (2.0, VOICE), (1.0, QUIET)), muted=((0.0, 1.5),))
    assert late.cut
    (after,) = cut(sound((0.5, VOICE), (0.4, QUIET), (1.0, VOICE), (1.0, QUIET)), muted=((0.0, 0.5),))
    assert not after.cut
    (pierced,) = cut(sound((0.5, QUIET), (2.0, VOICE), (1.0, QUIET)), muted=((1.0, 1.2),))
    assert pierced.cut


@given(st.integers(0, 60), st.integers(0, 60))
def test_so_far_is_what_the_end_would_give(voiced: int, quiet: int) -> None:
    """From the kept quiet on it holds the very samples of the utterance that quiet ends."""
    samples = sound((0.5, QUIET), (voiced * FRAME_S, VOICE), (quiet * FRAME_S, QUIET))
    segmenter = Segmenter(Loudness())
    ended = segmenter.feed(AudioBlock(samples, 0.0))
    so_far = segmenter.so_far()
    if ended or so_far is None:
        return
    assert segmenter.quiet_s == pytest.approx(quiet * FRAME_S)
    assert segmenter.voiced_s == pytest.approx(voiced * FRAME_S)
    assert segmenter.voiced_until_s == pytest.approx(0.5 + voiced * FRAME_S)
    (after,) = segmenter.feed(AudioBlock(sound((1.0, QUIET)), len(samples) / RATE_HZ))
    assert np.array_equal(after.samples[: len(so_far.samples)], so_far.samples)
    assert so_far.start_s == after.start_s
    if quiet * FRAME_S >= USUAL.keep_s:
        assert (so_far.end_s, so_far.cut) == (after.end_s, after.cut)


def test_an_utterance_ended_early_is_not_given_again() -> None:
    segmenter = Segmenter(Loudness())
    segmenter.feed(AudioBlock(sound((0.5, QUIET), (0.5, VOICE), (0.4, QUIET)), 0.0))
    (one,) = segmenter.end()
    assert (one.start_s, one.end_s) == pytest.approx((0.2, 1.3))
    assert segmenter.voiced_until_s is None
    assert segmenter.so_far() is None
    (two,) = segmenter.feed(AudioBlock(sound((0.3, QUIET), (0.5, VOICE), (1.0, QUIET)), 1.4))
    assert two.start_s == pytest.approx(1.4)
    segmenter.feed(AudioBlock(sound((0.5, VOICE), (0.1, QUIET)), 3.2))
    segmenter.drop()
    assert segmenter.end() == []
    assert segmenter.finish() == []


def test_clipping_is_noticed() -> None:
    (one,) = cut(sound((0.5, QUIET), (0.5, 32767), (1.0, QUIET)))
    assert one.clipped


@pytest.mark.parametrize("drift", [-0.001, 0.001])
def test_a_microphone_that_runs_fast_or_slow_leaves_no_holes(drift: float) -> None:
    """After 20 s its clock is a frame off the number of samples; that is no loss of sound."""
    samples = np.tile(sound((1.0, QUIET), (2.0, VOICE), (2.0, QUIET)), 12)
    segmenter = Segmenter(Loudness())
    found = []
    for at in range(0, len(samples), FRAME_SAMPLES):
        found += segmenter.feed(AudioBlock(samples[at : at + FRAME_SAMPLES], at / RATE_HZ * (1 + drift)))
    assert [one.cut for one in found] == [False] * 12
    assert found[-1].start_s == pytest.approx((55 + 0.7) * (1 + drift), abs=0.005)


def test_lost_sound_ends_what_was_open() -> None:
    """Words on both sides of a hole must not be joined to a number that nobody said."""
    segmenter = Segmenter(Loudness())
    voice = sound((0.5, VOICE))
    found = segmenter.feed(AudioBlock(voice, 0.0))
    found += segmenter.feed(AudioBlock(voice, 0.7, overflow=True))
    found += segmenter.finish()
    assert [(one.start_s, one.end_s, one.cut) for one in found] == [(0.0, 0.5, True), (0.7, 1.2, True)]


spans = st.lists(st.tuples(st.integers(1, 60), st.sampled_from([QUIET, VOICE])), min_size=1, max_size=12).map(
    lambda frames: sound(*((count * FRAME_S, level) for count, level in frames))
)
times = st.tuples(st.floats(0, 5), st.floats(0, 5)).map(sorted).map(tuple)


@given(spans, st.integers(1, 5000), st.lists(times, max_size=2))
def test_block_size_does_not_matter(samples: Samples, block: int, muted: list[tuple[float, float]]) -> None:
    def shape(found: list[Utterance]) -> list[tuple[object, ...]]:
        return [(u.start_s, u.end_s, u.level_dbfs, u.noise_dbfs, u.cut, u.samples.tobytes()) for u in found]

    spans_muted = tuple(sorted(muted))
    assert shape(cut(samples, block=block, muted=spans_muted)) == shape(cut(samples, block=1600, muted=spans_muted))


@given(spans, st.sampled_from([0.0, 0.06, 0.3]), st.sampled_from([0.1, 0.3, 0.7]), st.sampled_from([1.0, 15.0]))
def test_nothing_voiced_is_lost_and_nothing_overlaps(
    samples: Samples, keep_s: float, end_wait_s: float, longest_s: float
) -> None:
    settings = SegmentSettings(keep_s=keep_s, end_wait_s=end_wait_s, longest_s=longest_s, shortest_s=0.02)
    found = cut(samples, settings)
    covered = np.zeros(len(samples), dtype=int)
    for one in found:
        first = round(one.start_s * RATE_HZ)
        assert np.array_equal(samples[first : first + len(one.samples)], one.samples)
        assert one.end_s == pytest.approx(one.start_s + len(one.samples) / RATE_HZ)
        covered[first : first + len(one.samples)] += 1
    assert covered.max(initial=0) <= 1
    assert covered[np.abs(samples) == VOICE].all()

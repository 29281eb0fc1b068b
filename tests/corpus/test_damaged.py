"""Readings cut off, doubled and swallowed: shorter, longer, or fainter where they are said to be."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from benchvoice.records import RATE_HZ
from tests.corpus.damaged import DAMAGES, damage, spoken_s
from tests.corpus.planned import speaker_of
from tests.corpus.sentences import Sentence
from tests.corpus.speech import Floats
from tests.corpus.voices import VOICES, missing, say_as

pytestmark = pytest.mark.apt

READING = Sentence("thermocouple reads eleven point five millivolts", "reading")


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if why := missing(VOICES["rms"]):
        pytest.skip(why)
    return tmp_path_factory.mktemp("said")


def _made(how: str, cache: Path, seed: int = 1) -> Floats:
    return damage(how, READING, speaker_of(), ("rms", cache, 1.0, 1.0), seed)


def _said(text: str, cache: Path) -> Floats:
    made = say_as(text, "rms", cache).astype(np.float64)
    start_s, end_s = spoken_s(made)
    return made[int(start_s * RATE_HZ) : int(end_s * RATE_HZ)]


def test_cut_readings_are_the_beginning_of_the_whole(cache: Path) -> None:
    whole, unitless = _said(READING.text, cache), _said("thermocouple reads eleven point five", cache)
    for how in DAMAGES["cut"]:
        cut = _made(how, cache)
        np.testing.assert_array_equal(cut[: len(cut) - 200], whole[: len(cut) - 200])
        assert abs(cut[-1]) < 1
    assert len(_made("before the unit", cache)) == len(unitless)
    assert len(_made("in the value", cache)) <= len(unitless) <= len(_made("in the unit", cache)) <= len(whole)


def test_doubled_readings_are_longer(cache: Path) -> None:
    whole = len(_said(READING.text, cache))
    twice = _said("thermocouple reads eleven point five eleven point five millivolts", cache)
    np.testing.assert_array_equal(_made("value again", cache), twice)
    for how in ("stuttered value", "unit again"):
        assert len(_made(how, cache)) > whole + 0.1 * RATE_HZ


def test_swallowed_readings_are_as_long_and_fainter(cache: Path) -> None:
    whole = _said(READING.text, cache)
    for how in DAMAGES["swallowed"]:
        faint = _made(how, cache)
        assert len(faint) == len(whole)
        assert np.all(np.abs(faint) <= np.abs(whole) + 1e-9)
        assert (faint**2).sum() < 0.99 * (whole**2).sum()
    end = slice(-int(0.15 * RATE_HZ), None)
    for how in ("unit faint", "end faint"):
        assert (_made(how, cache)[end] ** 2).sum() < 0.002 * (whole[end] ** 2).sum()


def test_where_is_drawn_from_the_seed(cache: Path) -> None:
    np.testing.assert_array_equal(_made("in the value", cache, 3), _made("in the value", cache, 3))
    assert len({len(_made("in the value", cache, seed)) for seed in range(6)}) > 1

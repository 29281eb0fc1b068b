"""Clips: the same samples come back, and there is never a half of one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from benchvoice.errors import StorageError
from benchvoice.keep.clips import keep_clip
from benchvoice.records import Samples


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(samples=arrays(np.int16, st.integers(1, 5000)), seq=st.integers(1, 10**7))
def test_the_same_samples_come_back(tmp_path: Path, samples: Samples, seq: int) -> None:
    name = keep_clip(tmp_path, seq, samples)
    read, rate_hz = soundfile.read(tmp_path / name, dtype="int16")
    assert rate_hz == 16_000
    assert soundfile.info(tmp_path / name).format == "FLAC"
    np.testing.assert_array_equal(read, samples)


def test_named_by_its_utterance_and_alone_in_its_folder(tmp_path: Path) -> None:
    tone = np.arange(16_000, dtype=np.int16)
    assert keep_clip(tmp_path, 12, tone) == "clips/000012.flac"
    assert keep_clip(tmp_path, 12, tone[::-1]) == "clips/000012.flac"  # after a crash the number is used again
    assert [path.name for path in (tmp_path / "clips").iterdir()] == ["000012.flac"]
    assert soundfile.read(tmp_path / "clips/000012.flac", dtype="int16")[0][0] == 15_999


def test_a_file_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "clips").write_text("a file")
    with pytest.raises(StorageError, match="clips: a file is in the way of this folder"):
        keep_clip(tmp_path, 1, np.zeros(10, dtype=np.int16))

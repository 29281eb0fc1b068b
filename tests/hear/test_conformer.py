"""The phoneme network's layers, against the library of the hama package, which computes the same model."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from benchvoice.files import package_folder
from benchvoice.hear.conformer import Conformer
from benchvoice.hear.network_engine import why_unavailable
from benchvoice.hear.tensor_file import Tensors, read_tensors
from benchvoice.records import Samples
from tests.corpus.fixed import FIXED, labels
from tests.hear.sounds import load

pytestmark = pytest.mark.skipif(why_unavailable() is not None, reason=str(why_unavailable()))

Floats = npt.NDArray[np.float32]
NOISY = (7, 10)
"""Numbers of recordings of the fixed corpus with pink noise, at 20 and 10 dB."""


@cache
def tensors() -> Tensors:
    package = package_folder("hama")
    assert package is not None
    return read_tensors(package / "assets" / "asr_waveform.hama")


@cache
def model() -> Conformer:
    return Conformer(tensors())


@cache
def library() -> Any:
    import hama

    return hama.ASRModel()


def by_library(samples: Samples) -> Floats:
    session = library().session
    sound = samples.astype(np.float32)[np.newaxis] / 32768
    inputs = {"waveform": sound, "waveform_lengths": np.array([sound.size], dtype=np.int64)}
    found, frames = session.run(["log_probs", "out_lengths"], inputs)
    heard: Floats = found[0][: int(np.asarray(frames).reshape(-1)[0])]
    return heard


@pytest.mark.parametrize("number", range(0, 44, 4))
def test_it_gives_what_the_library_gives(number: int) -> None:
    """The library rounds on the way; where it is far off, in noise, the likeliest sounds are the same all the same."""
    sound = load(FIXED / labels()[number]["audio"])
    ours, theirs = model().log_probs(sound), by_library(sound)
    assert ours.dtype == np.float32
    assert ours.shape == theirs.shape
    likely = np.exp(ours)
    assert (likely * np.abs(ours - theirs)).sum(axis=1).mean() < 0.02  # of the logarithm, weighed by probability
    assert np.mean(ours.argmax(axis=1) == theirs.argmax(axis=1)) >= 0.98
    assert np.exp(ours).sum(axis=1) == pytest.approx(np.ones(len(ours)), abs=1e-4)


@pytest.mark.parametrize("number", NOISY)
def test_longer_numbers_change_nothing(number: int) -> None:
    """What differs from the library in noise is not our rounding."""
    sound = load(FIXED / labels()[number]["audio"])
    doubled: Any = {name: tensor.astype(np.float64) for name, tensor in tensors().items()}
    longer = Conformer(doubled)
    assert np.abs(model().log_probs(sound) - longer.log_probs(sound)).max() < 0.002


@pytest.mark.parametrize("samples", [800, 1599, 1600, 1601, 16000, 16159, 16160])
def test_sounds_of_any_length_have_as_many_frames_as_the_library_gives(samples: int) -> None:
    sound = (np.random.default_rng(samples).normal(size=samples) * 300).astype(np.int16)
    assert model().log_probs(sound).shape == by_library(sound).shape


def test_behind_30_seconds_the_model_hears_nothing_more() -> None:
    """So does the library: 1,500 frames of 480,000 samples, and of 490,000."""
    sound = (np.random.default_rng(1).normal(size=481_000) * 300).astype(np.int16)
    assert len(model().log_probs(sound)) == 1500


def test_silence_is_silence() -> None:
    """Power of nothing has no logarithm: it is cut."""
    found = model().log_probs(np.zeros(16000, np.int16))
    assert np.isfinite(found).all()


@pytest.mark.parametrize("name", ["mel_fb", "onnx::Conv_801", "acoustic_model.model.blocks.3.norm.bias"])
def test_a_model_that_lacks_something_is_none(name: str) -> None:
    with pytest.raises(KeyError, match=name):
        Conformer({other: tensor for other, tensor in tensors().items() if other != name})


def test_a_model_of_other_shapes_is_none() -> None:
    with pytest.raises(ValueError, match=r"shape|dimension|mismatch"):
        Conformer({**tensors(), "mel_fb": np.zeros((200, 80), np.float32)})

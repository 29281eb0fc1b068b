"""The phoneme network itself: what sounds each fiftieth of a second may be, computed with numpy.

hama's speech model is a conformer (Gulati et al., "Conformer: Convolution-augmented Transformer for Speech
Recognition", Interspeech 2020; from memory) of four blocks and 144 channels over 80 mel bands. Its package brings a
library that computes it on one core, some 70 ms a second of sound; matrix products of whole sentences take a sixth of
that. What the layers are was found by their names, and by computing what the library computes: see the tests.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from benchvoice.hear.tensor_file import Tensors
from benchvoice.records import Samples

__all__ = ["Conformer"]

Floats = npt.NDArray[np.float32]

_WINDOW, _HOP = 400, 160  # samples: 25 ms, every 10 ms
_MOST_BANDS = 3000  # spectra, which is 30 s; what comes after them the model does not hear
_QUIETEST = np.float32(1e-10)  # power below which the logarithm is cut
_BLOCKS, _HEADS, _TAPS = 4, 4, 31
_MODEL = "acoustic_model.model"
# how the exporter numbered the arrays that it did not name, from the first of each block on
_FIRST_MATRIX, _MATRICES = 829, 9
_FIRST_KERNEL, _KERNELS = 804, 3


class Conformer:
    """The model with its numbers.

    Args:
        tensors: as the package's file names them.

    Raises:
        KeyError: one is missing.
        ValueError: one has another shape.
    """

    def __init__(self, tensors: Tensors) -> None:
        self._real = np.ascontiguousarray(tensors["stft_real_kernel"].reshape(-1, _WINDOW).T)
        self._imaginary = np.ascontiguousarray(tensors["stft_imag_kernel"].reshape(-1, _WINDOW).T)
        self._bands = tensors["mel_fb"]
        stem = tensors["onnx::Conv_801"]
        self._stem = np.ascontiguousarray(stem.reshape(len(stem), -1).T), tensors["onnx::Conv_802"]
        self._blocks = [_Block(tensors, number) for number in range(_BLOCKS)]
        self._out = _across(tensors, f"{_MODEL}.proj")
        self.log_probs(np.zeros(_HOP * 10, np.int16))  # shapes that do not fit show here

    def log_probs(self, samples: Samples) -> Floats:
        """(frames, symbols) natural logarithms, 50 frames a second, of up to 30 s of sound at 16 kHz."""
        bands = self._mel(samples.astype(np.float32) / np.float32(32768))
        sound = _gelu(_windows(bands, 3, 2) @ self._stem[0] + self._stem[1])
        for block in self._blocks:
            sound = block.through(sound)
        found = sound @ self._out[0] + self._out[1]
        found -= found.max(axis=1, keepdims=True)
        logs: Floats = found - np.log(np.exp(found).sum(axis=1, keepdims=True))
        return logs

    def _mel(self, sound: Floats) -> Floats:
        """(spectra, bands) natural logarithms of power, 100 spectra a second."""
        padded = np.pad(sound, _WINDOW // 2)
        frames = np.lib.stride_tricks.sliding_window_view(padded, _WINDOW)[::_HOP][:_MOST_BANDS]
        frames = np.ascontiguousarray(frames)
        power = np.square(frames @ self._real) + np.square(frames @ self._imaginary)
        bands: Floats = np.log(np.maximum(power @ self._bands, _QUIETEST))
        return bands


class _Block:
    """One block: half a feed-forward layer, attention, convolution, the other half, each added to what came in."""

    def __init__(self, tensors: Tensors, number: int) -> None:
        name, matrix = f"{_MODEL}.blocks.{number}", _FIRST_MATRIX + _MATRICES * number
        kernel = f"onnx::Conv_{_FIRST_KERNEL + _KERNELS * number}"

        def given(part: str) -> Floats:
            return tensors[f"{name}.{part}"]

        def product(place: int) -> Floats:
            return tensors[f"onnx::MatMul_{matrix + place}"]

        self._before = _FeedForward(tensors, f"{name}.ffn1", product(0), product(1))
        self._after = _FeedForward(tensors, f"{name}.ffn2", product(7), product(8))
        self._heard = product(2), given("attn.in_proj_bias")
        self._attended = product(6), given("attn.out_proj.bias")
        self._gated, self._mixed = (
            _across(tensors, f"{name}.conv.pointwise1"),
            _across(tensors, f"{name}.conv.pointwise2"),
        )
        self._taps = np.ascontiguousarray(tensors[kernel].reshape(-1, _TAPS).T)
        self._taps_bias = tensors[f"onnx::Conv_{_FIRST_KERNEL + _KERNELS * number + 1}"]
        self._norms = {part: _Norm(tensors, f"{name}.{part}") for part in ("attn_norm", "conv.norm", "norm")}

    def through(self, sound: Floats) -> Floats:
        """(frames, channels) → the same."""
        sound = sound + self._before.half(sound)
        sound = sound + self._attention(self._norms["attn_norm"].of(sound))
        sound = sound + self._convolution(self._norms["conv.norm"].of(sound))
        return self._norms["norm"].of(sound + self._after.half(sound))

    def _attention(self, sound: Floats) -> Floats:
        frames, channels = sound.shape
        every = (sound @ self._heard[0] + self._heard[1]).reshape(frames, 3, _HEADS, -1)
        asks, keys, values = every.transpose(1, 2, 0, 3)  # each (heads, frames, channels of a head)
        scores = asks @ keys.transpose(0, 2, 1) / np.sqrt(np.float32(channels // _HEADS))
        scores = np.exp(scores - scores.max(axis=2, keepdims=True))
        scores /= scores.sum(axis=2, keepdims=True)
        attended: Floats = (scores @ values).transpose(1, 0, 2).reshape(frames, channels)
        return attended @ self._attended[0] + self._attended[1]

    def _convolution(self, sound: Floats) -> Floats:
        values, gates = np.split(sound @ self._gated[0] + self._gated[1], 2, axis=1)
        padded = np.pad(values * _sigmoid(gates), ((_TAPS // 2, _TAPS // 2), (0, 0)))
        mixed = np.zeros_like(values) + self._taps_bias
        for place, tap in enumerate(self._taps):
            mixed += padded[place : place + len(values)] * tap
        return _swish(mixed) @ self._mixed[0] + self._mixed[1]


class _FeedForward:
    def __init__(self, tensors: Tensors, name: str, wider: Floats, back: Floats) -> None:
        self._norm = _Norm(tensors, f"{name}.norm")
        self._wider = wider, tensors[f"{name}.fc1.bias"]
        self._back = back, tensors[f"{name}.fc2.bias"]

    def half(self, sound: Floats) -> Floats:
        """Half of what the layer makes of the sound, to be added to it."""
        wider = _swish(self._norm.of(sound) @ self._wider[0] + self._wider[1])
        return np.float32(0.5) * (wider @ self._back[0] + self._back[1])


class _Norm:
    """Each frame with mean 0 and variance 1 over its channels, then weighed."""

    def __init__(self, tensors: Tensors, name: str) -> None:
        self._weight, self._bias = tensors[f"{name}.weight"], tensors[f"{name}.bias"]

    def of(self, sound: Floats) -> Floats:
        centred = sound - sound.mean(axis=1, keepdims=True)
        spread = np.sqrt(np.square(centred).mean(axis=1, keepdims=True) + np.float32(1e-5))
        found: Floats = centred / spread * self._weight + self._bias
        return found


def _across(tensors: Tensors, name: str) -> tuple[Floats, Floats]:
    """A convolution over one frame, as a matrix (from, to) and a bias."""
    weight = tensors[f"{name}.weight"]
    return np.ascontiguousarray(weight.reshape(len(weight), -1).T), tensors[f"{name}.bias"]


def _windows(frames: Floats, width: int, step: int) -> Floats:
    """(windows, channels times width): every `step`-th frame with those beside it, zeros beyond the ends."""
    padded = np.pad(frames, ((width // 2, width // 2), (0, 0)))
    beside: Any = np.lib.stride_tricks.sliding_window_view(padded, width, axis=0)[::step]
    found: Floats = np.ascontiguousarray(beside).reshape(len(beside), -1)
    return found


def _sigmoid(values: Floats) -> Floats:
    found: Floats = np.float32(1) / (np.float32(1) + np.exp(-values))
    return found


def _swish(values: Floats) -> Floats:
    return values * _sigmoid(values)


def _gelu(values: Floats) -> Floats:
    """The value times the normal distribution's share below it, by Abramowitz and Stegun 7.1.26 (from memory)."""
    reach = np.abs(values) / np.sqrt(np.float32(2))
    t = 1 / (1 + np.float32(0.3275911) * reach)
    series = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    beyond = series * np.exp(-np.square(reach)) / 2  # the share farther out on one side
    found: Floats = values * np.where(values > 0, 1 - beyond, beyond).astype(np.float32)
    return found

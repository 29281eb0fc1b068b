"""Files of tensors: written here by the description, read back; and each way in which one can be no such file."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.errors import ModelError
from benchvoice.hear.tensor_file import read_tensors

TENSORS: dict[str, npt.NDArray[Any]] = {
    "a": np.arange(6, dtype=np.float32).reshape(2, 3),
    "half": np.array([0.5, -2.0, 65504.0], dtype=np.float16),
    "one number": np.array(7.25, dtype=np.float32),
}


def written(tensors: dict[str, npt.NDArray[Any]], version: int = 1) -> bytes:
    head = struct.pack("<6sBBI", b"HAMAPK", version, 2, len(tensors))
    numbers = b""
    for name, tensor in tensors.items():
        kind, raw = int(tensor.dtype == np.float16), tensor.tobytes()
        head += struct.pack(f"<H{len(name)}sBB", len(name), name.encode(), kind, tensor.ndim)
        head += struct.pack(f"<{tensor.ndim}IQQ", *tensor.shape, len(numbers), len(raw))
        numbers += raw
    return head.ljust(-(-len(head) // 16) * 16, b"\0") + numbers


def test_tensors_are_read_as_they_were_written(tmp_path: Path) -> None:
    path = tmp_path / "model"
    path.write_bytes(written(TENSORS))
    found = read_tensors(path)
    assert list(found) == list(TENSORS)
    for name, tensor in TENSORS.items():
        assert found[name].dtype == np.float32
        assert found[name].shape == tensor.shape
        assert np.array_equal(found[name], tensor.astype(np.float32))


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"HAMAPK",
        b"RIFF" + written(TENSORS)[4:],
        written(TENSORS, version=2),
        written(TENSORS)[:-1],
        written(TENSORS)[:40],
        written({"a": TENSORS["a"]}).replace(struct.pack("<Q", 24), struct.pack("<Q", 20)),  # another size
    ],
)
def test_what_is_no_such_file_is_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "model"
    path.write_bytes(data)
    with pytest.raises(ModelError, match="not a speech model as expected, or it is cut short"):
        read_tensors(path)


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="cannot be read"):
        read_tensors(tmp_path / "none")


@given(st.integers(0, len(written(TENSORS)) - 1))
def test_cut_short_anywhere_it_is_refused(tmp_path_factory: pytest.TempPathFactory, length: int) -> None:
    path = tmp_path_factory.mktemp("cut") / "model"
    path.write_bytes(written(TENSORS)[:length])
    with pytest.raises(ModelError, match="not a speech model as expected"):
        read_tensors(path)

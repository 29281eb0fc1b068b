"""The numbers of a speech model, read from the file in which the hama package keeps them.

The file begins with `HAMAPK`, one byte of version, one of kind, and the number of tensors. For each tensor stand its
name (length, bytes), its type (0 for 32, 1 for 16 bits a number), how many dimensions and how long each, and where its
numbers begin and how many bytes they take; behind all of that, at the next multiple of 16, the numbers. Everything is
little-endian.
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from benchvoice.errors import ModelError

__all__ = ["Tensors", "read_tensors"]

Tensors = dict[str, npt.NDArray[np.float32]]
"""Arrays by name."""

_MAGIC, _VERSION = b"HAMAPK", 1
_TYPES = (np.dtype("<f4"), np.dtype("<f2"))
_ALIGNED = 16  # bytes


def read_tensors(path: Path, *, cure: str | None = None) -> Tensors:
    """All arrays of a model file, as 32-bit numbers.

    Args:
        path: the file.
        cure: what to do where it cannot be used.

    Raises:
        ModelError: it cannot be read, or is not such a file.
    """
    try:
        return _read(path.read_bytes())
    except OSError as cause:
        raise ModelError(f"the speech model cannot be read ({cause.strerror})", file=path, cure=cure) from None
    except (ValueError, IndexError, struct.error):
        raise ModelError("this is not a speech model as expected, or it is cut short", file=path, cure=cure) from None


def _read(data: bytes) -> Tensors:
    if data[: len(_MAGIC)] != _MAGIC or data[len(_MAGIC)] != _VERSION:
        raise ValueError("another kind of file")
    at = len(_MAGIC) + 2
    (count,) = struct.unpack_from("<I", data, at)
    at += 4
    places: list[tuple[str, np.dtype[Any], tuple[int, ...], int]] = []
    for _ in range(count):
        (length,) = struct.unpack_from("<H", data, at)
        name = data[at + 2 : at + 2 + length].decode("utf-8")
        at += 2 + length
        kind, dimensions = struct.unpack_from("<BB", data, at)
        shape = struct.unpack_from(f"<{dimensions}I", data, at + 2)
        at += 2 + 4 * dimensions
        start, size = struct.unpack_from("<QQ", data, at)
        at += 16
        if size != int(np.prod(shape)) * _TYPES[kind].itemsize:
            raise ValueError("a tensor of another size")
        places.append((name, _TYPES[kind], shape, start))
    base = -(-at // _ALIGNED) * _ALIGNED
    return {
        name: np.frombuffer(data, kind, int(np.prod(shape)), base + start).reshape(shape).astype(np.float32)
        for name, kind, shape, start in places
    }

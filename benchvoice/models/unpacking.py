"""Archives unpacked without harm: no member leaves the folder, and none grows without bound."""

from __future__ import annotations

import lzma
import stat
import tarfile
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO

from benchvoice.errors import ModelError

__all__ = ["Limits", "unpack"]

_CHUNK = 1 << 20
_CURE = "Do not use this archive; download it again from its makers"
# what the libraries raise: gzip and bz2 some kinds of OSError, zipfile RuntimeError where a member is encrypted or
# packed in a way it does not know, tarfile ValueError on some headers
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    tarfile.TarError,
    EOFError,
    OSError,
    ValueError,
    RuntimeError,
)


@dataclass(frozen=True)
class Limits:
    """What an archive may hold.

    Attributes:
        members: the most files and folders.
        total_bytes: the most bytes when unpacked; the largest English model has about 4.5e9.
        ratio: the most bytes unpacked per byte of archive; models reach about 5.
    """

    members: int = 2_000
    total_bytes: int = 8_000_000_000
    ratio: int = 100


@dataclass(frozen=True)
class _Member:
    name: str
    kind: str  # "file", "folder" or what else it is
    size_bytes: int  # as the archive claims; what is written is counted
    open: Callable[[], IO[bytes]]


def unpack(
    archive: Path, target: Path, progress: Callable[[int, int], None] | None = None, limits: Limits = Limits()
) -> None:
    """Unpack a zip or tar archive (plain, gzip, bzip2 or xz) into the new folder `target`.

    Args:
        archive: the file.
        target: the folder to make; on an error it may hold a part, to be removed by the caller.
        progress: told the bytes written and the bytes in all.
        limits: what the archive may hold.

    Raises:
        ModelError: not such an archive, damaged, encrypted, a member that is no plain file or folder or that would
            lie outside the folder, or beyond the limits.
        OSError: the folder cannot be written.
    """
    with _members(archive) as members:
        if len(members) > limits.members:
            raise ModelError(f"the archive holds more than {limits.members} files", file=archive, cure=_CURE)
        places = {member.name: _place(member, target, archive) for member in members}
        if len(places) != len(members):
            raise ModelError("the archive holds one name twice", file=archive, cure=_CURE)
        most = min(limits.total_bytes, max(1, archive.stat().st_size) * limits.ratio)
        total = sum(member.size_bytes for member in members)
        if total > most:
            raise ModelError(f"the archive would unpack to {total} bytes, beyond {most}", file=archive, cure=_CURE)
        target.mkdir(parents=True)
        done = 0
        for member in members:
            place = places[member.name]
            if member.kind == "folder":
                place.mkdir(parents=True, exist_ok=True)
                continue
            place.parent.mkdir(parents=True, exist_ok=True)
            for chunk in _write(member, place, archive):
                done += chunk
                if done > most:
                    raise ModelError(f"the archive unpacks to more than {most} bytes", file=archive, cure=_CURE)
                if progress is not None:
                    progress(done, total)


def _write(member: _Member, place: Path, archive: Path) -> Iterator[int]:
    with place.open("xb") as out:
        for chunk in _read(member, archive):
            out.write(chunk)
            yield len(chunk)


def _read(member: _Member, archive: Path) -> Iterator[bytes]:
    try:
        with member.open() as source:
            while chunk := source.read(_CHUNK):
                yield chunk
    except _BROKEN as error:
        raise _damaged(archive, error) from None


def _damaged(archive: Path, error: Exception) -> ModelError:
    return ModelError(f"the archive cannot be unpacked ({error})", file=archive, cure="Download it again")


def _place(member: _Member, target: Path, archive: Path) -> Path:
    if member.kind not in ("file", "folder"):
        raise ModelError(f"the archive holds a {member.kind}, {member.name!r}", file=archive, cure=_CURE)
    path = PurePosixPath(member.name)
    unsafe = path.is_absolute() or ".." in path.parts or "\\" in member.name or ":" in member.name
    if unsafe or "\0" in member.name or not path.parts:
        if member.kind == "folder" and member.name in (".", "./"):
            return target
        raise ModelError(
            f"a member of the archive would lie outside the folder: {member.name!r}", file=archive, cure=_CURE
        )
    return target / path


@contextmanager
def _members(archive: Path) -> Iterator[list[_Member]]:
    with ExitStack() as stack:
        try:
            if zipfile.is_zipfile(archive):
                packed_zip = stack.enter_context(zipfile.ZipFile(archive))
                members = [_zip_member(packed_zip, info) for info in packed_zip.infolist()]
            else:
                packed_tar = stack.enter_context(tarfile.open(archive))
                members = [_tar_member(packed_tar, info) for info in packed_tar]
        except tarfile.ReadError as error:
            what = f"this is not a zip or tar archive ({str(error).splitlines()[0]})"
            raise ModelError(what, file=archive, cure="Give the file as it was downloaded") from None
        except _BROKEN as error:
            raise _damaged(archive, error) from None
        yield members


def _zip_member(packed: zipfile.ZipFile, info: zipfile.ZipInfo) -> _Member:
    mode = info.external_attr >> 16
    kind = "folder" if info.is_dir() else "file"
    if stat.S_ISLNK(mode):
        kind = "symbolic link"
    elif stat.S_IFMT(mode) not in (0, stat.S_IFREG, stat.S_IFDIR):
        kind = "special file"
    return _Member(info.filename, kind, info.file_size, lambda: packed.open(info))


def _tar_member(packed: tarfile.TarFile, info: tarfile.TarInfo) -> _Member:
    def open_member() -> IO[bytes]:
        file = packed.extractfile(info)
        if file is None:
            raise tarfile.ExtractError(f"{info.name} holds no data")
        return file

    if info.isdir():
        kind = "folder"
    elif info.isreg():
        kind = "file"
    elif info.issym():
        kind = "symbolic link"
    elif info.islnk():
        kind = "hard link"
    else:
        kind = "special file"
    return _Member(info.name, kind, info.size, open_member)

"""Whole or not at all: a file under its name is never a half."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest

from benchvoice.errors import StorageError
from benchvoice.keep.disk import WholeFile, storage_error, write_whole


@pytest.mark.parametrize(
    ("number", "sentence"),
    [
        (errno.ENOSPC, "x: the disk is full. Free some space and say it again, or choose another folder with --jobs."),
        (errno.EDQUOT, "x: the disk is full. Free some space and say it again, or choose another folder with --jobs."),
        (errno.EROFS, "x: no permission to write here. Choose another folder with --jobs, or change its permissions."),
        (errno.ENOTDIR, "x: a file is in the way of this folder. Choose another folder with --jobs."),
        (errno.EIO, "x: cannot be written (Input/output error). Choose another folder with --jobs."),
    ],
)
def test_each_refusal_has_a_sentence_with_its_cure(number: int, sentence: str) -> None:
    assert str(storage_error(OSError(number, os.strerror(number)), Path("x"))) == sentence


def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "record.json"
    write_whole(path, b"old")

    def full(*_: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)  # the real call cannot be made to fail on demand
    with pytest.raises(StorageError, match="the disk is full"):
        write_whole(path, b"new")
    monkeypatch.undo()
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_files_have_the_users_usual_permissions(tmp_path: Path) -> None:
    was = os.umask(0o027)
    try:
        write_whole(tmp_path / "record.json", b"{}")
    finally:
        os.umask(was)
    assert stat.S_IMODE((tmp_path / "record.json").stat().st_mode) == 0o640


def test_a_file_written_piece_by_piece_is_there_only_once_it_is_finished(tmp_path: Path) -> None:
    path = tmp_path / "new" / "file"
    with WholeFile(path) as file:
        for number in range(30_000):
            file.write(b"%06d\n" % number)
        assert not path.exists()
        file.finish()
    assert path.read_bytes() == b"".join(b"%06d\n" % number for number in range(30_000))
    assert [found.name for found in path.parent.iterdir()] == ["file"]


def test_a_file_that_is_not_finished_leaves_the_older_one_alone(tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.write_bytes(b"older")
    with WholeFile(path) as file:
        file.write(b"x" * 200_000)
    assert path.read_bytes() == b"older"
    assert [found.name for found in tmp_path.iterdir()] == ["file"]

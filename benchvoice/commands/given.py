"""The meter and the checklist that a job was opened with, kept in its folder: it is taken up again with the same."""

from __future__ import annotations

import argparse
import filecmp
from dataclasses import dataclass
from pathlib import Path

from benchvoice.commands.console import warn
from benchvoice.keep.copies import copy_whole
from benchvoice.keep.disk import storage_error

__all__ = ["GivenFiles", "given_files", "keep_given"]

_METER = "meter.yaml"
_CHECKLIST = "checklist.yaml"


@dataclass(frozen=True)
class GivenFiles:
    """The files beside the board's that a job is opened with; None where none is."""

    meter: Path | None = None
    checklist: Path | None = None


def given_files(arguments: argparse.Namespace) -> GivenFiles:
    """The files that --meter and --checklist name, else those that the job in --job was last opened with.

    The latter are said: uncertainties and steps come from them.
    """
    return GivenFiles(_given(arguments, "meter", _METER), _given(arguments, "checklist", _CHECKLIST))


def _given(arguments: argparse.Namespace, option: str, name: str) -> Path | None:
    chosen: Path | None = getattr(arguments, option, None)
    if chosen is not None or arguments.job is None:
        return chosen
    kept: Path = arguments.jobs / arguments.job / name
    if not kept.is_file():
        return None
    warn(f"the {option} is that of this job's last session; --{option} names another: {kept}")
    return kept


def keep_given(folder: Path, given: GivenFiles) -> None:
    """Keep a copy of each file in the job's folder.

    Raises:
        StorageError: one cannot be read or written.
    """
    for file, name in ((given.meter, _METER), (given.checklist, _CHECKLIST)):
        kept = folder / name
        try:
            if file is not None and not (kept.exists() and filecmp.cmp(file, kept, shallow=False)):
                copy_whole(file, kept)
        except OSError as cause:
            raise storage_error(cause, file or kept) from cause

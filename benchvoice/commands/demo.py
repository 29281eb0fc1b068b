"""`benchvoice demo`: a repair heard from recordings that come with benchvoice."""

from __future__ import annotations

import argparse

from benchvoice.commands.given import GivenFiles
from benchvoice.commands.hear import hear_recordings
from benchvoice.commands.settings import IN_THE_JOB
from benchvoice.errors import BenchvoiceError
from benchvoice.files import shipped

__all__ = ["run"]

DEFAULT = "failed_regulator"


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    sessions = {path.parent.name: path.parent for path in sorted(shipped("demo_sessions").glob("*/board.yaml"))}
    if arguments.list:
        for name in sessions:
            print(name)
        return 0
    name = arguments.session or DEFAULT
    folder = sessions.get(name)
    if folder is None:
        cure = (
            f"Name one of: {', '.join(sessions)}" if sessions else "Install benchvoice again: its sessions are missing"
        )
        raise BenchvoiceError(f"there is no demo session '{name}'", cure=cure)
    arguments.json = False
    if arguments.replies is None and not arguments.quiet:
        arguments.replies = IN_THE_JOB
    print(f"Hearing {name}: the sound is {folder.name}/session.flac, the board {folder.name}/board.yaml\n")
    return hear_recordings(
        arguments, folder / "board.yaml", GivenFiles(meter=folder / "meter.yaml"), [str(folder / "session.flac")]
    )

"""Running commands in this process as the command line would, and the demo sessions."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from benchvoice.cli import main
from benchvoice.files import shipped

__all__ = ["DEMOS", "Ran", "demo", "run"]

DEMOS = ("clean_board", "failed_regulator", "noisy_bench", "whole_repair")


@dataclass(frozen=True)
class Ran:
    """What a command left behind: its exit status and what it printed."""

    status: int
    out: str
    err: str


def run(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> Ran:
    """Run `benchvoice` with these arguments."""
    capsys.readouterr()
    status = main([str(argument) for argument in arguments])
    printed = capsys.readouterr()
    return Ran(status, printed.out, printed.err)


def demo(name: str) -> Path:
    """A demo session's folder."""
    return shipped("demo_sessions") / name

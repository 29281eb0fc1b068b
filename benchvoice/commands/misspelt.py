"""What is said where the command line holds something that its command does not know."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from typing import NoReturn

__all__ = ["refuse"]


def refuse(command: argparse.ArgumentParser, unknown: Sequence[str]) -> NoReturn:
    """End with the command's own usage, and with the option that the first of `unknown` may have been meant for."""
    from benchvoice.decide.fields import nearest  # takes a quarter of a second to load, and is needed here alone

    option = unknown[0].partition("=")[0]
    close = nearest(option, dict.fromkeys(re.findall(r"--[a-z][a-z-]*", command.format_help())))
    hint = f". Did you mean '{close}'?" if close and option.startswith("-") else ""
    command.error(f"unrecognized arguments: {' '.join(unknown)}{hint}")

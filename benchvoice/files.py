"""Where benchvoice finds the data that comes with it, and where it keeps the user's own."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

__all__ = ["shipped", "user_data"]

_PACKAGE = Path(__file__).parent


def shipped(name: str) -> Path:
    """The folder `grammars`, `demo_sessions` or `models_readme`.

    It lies inside an installed package, and beside the package in a checkout.
    """
    inside = _PACKAGE / "data" / name
    return inside if inside.is_dir() else _PACKAGE.parent / name


def user_data() -> Path:
    """The user's own folder for models and profiles; `BENCHVOICE_HOME` overrides the system's usual place."""
    chosen = os.environ.get("BENCHVOICE_HOME")
    return Path(chosen) if chosen else platformdirs.user_data_path("benchvoice", appauthor=False)

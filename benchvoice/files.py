"""Where benchvoice finds the data that comes with it or with another package, and where it keeps the user's own."""

from __future__ import annotations

import importlib.util
import os
from pathlib import Path

import platformdirs

__all__ = ["package_folder", "shipped", "user_data"]

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


def package_folder(name: str) -> Path | None:
    """Where an installed package lies, which is not imported for that; None where there is none of that name."""
    spec = importlib.util.find_spec(name)
    places = [] if spec is None else list(spec.submodule_search_locations or ())
    return Path(places[0]) if places else None

"""`benchvoice models`: the speech models for Vosk that are installed."""

from __future__ import annotations

import argparse

from benchvoice.commands.console import progress, warn
from benchvoice.files import shipped, user_data
from benchvoice.models import add_model, list_models, verify_model

__all__ = ["run"]


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    folder = user_data() / "models"
    if arguments.action == "add":
        with progress(f"adding {arguments.archive.name}") as show:
            added = add_model(arguments.archive, folder, expect_sha256=arguments.sha256, progress=show)
        print(f"added {added.name}")
        print(f"sha256 {added.sha256}")
        return 0
    if arguments.action == "verify":
        verify_model(arguments.name, folder)
        print(f"{arguments.name} is as it was added")
        return 0
    models = list_models(folder)
    if models == ((), ()):
        guide = shipped("models_readme") / "README.md"
        print(f"No models in {folder}. None is needed; {guide} says which can be added.")
    elif models.fit:
        print(f"In {folder}:")
    for model in models.fit:
        print(f"{model.name}  {model.size_bytes / 1e6:.0f} MB")
    for error in models.damaged:
        warn(str(error))
    return 0

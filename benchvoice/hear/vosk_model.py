"""What a folder must hold to be a Vosk model, and to be one that can be bound to a grammar.

A model whose graph is made on the run keeps `HCLr.fst` and `Gr.fst`; the recogniser can replace the second by a
grammar. One that was composed beforehand into `HCLG.fst` ignores grammars, so it is refused here rather than left to
hear anything at all. Where all three are there, Vosk 0.3.45 takes the fixed one (tried).
"""

from __future__ import annotations

from pathlib import Path

from benchvoice.errors import ModelError

__all__ = ["is_model", "require_model", "takes_grammar"]

_GRAMMAR_CURE = (
    "Use a model with the files HCLr.fst and Gr.fst and without HCLG.fst, such as the small English one; "
    "models_readme/README.md lists them"
)


def takes_grammar(model: Path) -> bool:
    """Whether the model's graph is made on the run, so that a grammar can replace its language model."""

    def holds(name: str) -> bool:
        return any((model / part / name).is_file() for part in ("graph", "."))

    return holds("HCLr.fst") and holds("Gr.fst") and not holds("HCLG.fst")


def require_model(model: Path, *, archive: Path | None = None) -> None:
    """Insist that the folder is a Vosk model that can be bound to a grammar.

    Args:
        model: the folder.
        archive: what it was just unpacked from, to be named instead of the folder.

    Raises:
        ModelError: it is missing, not a folder, no model, or has a fixed graph.
    """
    file = archive or model
    if not model.exists():
        raise ModelError("there is no such model", file=file, cure="Check the path, or see: benchvoice models list")
    if not model.is_dir():
        raise ModelError("this is not a model folder", file=file, cure="Add the archive with: benchvoice models add")
    if not is_model(model):
        raise ModelError(
            "this folder is not a Vosk model: it has no acoustic model (am/final.mdl)",
            file=file,
            cure="Name the folder that holds am, conf and graph",
        )
    if not takes_grammar(model):
        raise ModelError(
            f"model {model.name} cannot take a grammar: its graph is fixed (HCLG.fst)", file=file, cure=_GRAMMAR_CURE
        )


def is_model(folder: Path) -> bool:
    """Whether the folder holds an acoustic model where Vosk looks for it."""
    return (folder / "am" / "final.mdl").is_file() or (folder / "final.mdl").is_file()

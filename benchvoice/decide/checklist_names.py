"""Names in a checklist file: of steps and lists, each once and each to be said; and choices that can be told apart."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from benchvoice.decide.yaml_text import Document, Path
from benchvoice.spelling import name_in_words

__all__ = ["END", "NEXT", "check_choices", "check_names"]

NEXT = "next"
"""A target: the step that stands next in the same list."""
END = "end"
"""A target: the end of the same list."""


def check_names(document: Document, lists: Mapping[str, tuple[Path, Sequence[str | None]]]) -> None:
    """Refuses a name that is given twice, that cannot be said, or that already means something in a branch.

    Args:
        document: the file.
        lists: the name of each list ("" for the checklist itself) with its place and its steps' names.

    Raises:
        BoardError: naming the second of two, or the one that is unfit.
    """
    places: dict[str, Path] = {}
    for name, (path, steps) in lists.items():
        if name:
            _claim(document, name, path, places)
        for index, step in enumerate(steps):
            if step is not None:
                _claim(document, step, (*path, index, "name"), places)


def _claim(document: Document, name: str, path: Path, places: dict[str, Path]) -> None:
    words = name_in_words(name)
    if words is None:
        raise document.error(f"'{name}' cannot be said as it is written", path, "Write letters and spaces")
    if words in (NEXT, END):
        raise document.error(f"'{name}' means something else in a branch", path, "Give it another name")
    if words in places:
        line = document.lines.get(places[words])
        raise document.error(f"'{name}' is given twice, first on line {line}", path, "Rename one")
    places[words] = path


def check_choices(document: Document, choices: Sequence[str], path: Path, taken_for: Callable[[str], str]) -> None:
    """Refuses choices that are the same by ear, cannot be said, or mean something else at the bench.

    Raises:
        BoardError: naming the choice.
    """
    seen: dict[str, str] = {}
    for index, choice in enumerate(choices):
        place = (*path, index)
        words = name_in_words(choice)
        if words is None:
            raise document.error(f"'{choice}' cannot be said as it is written", place, "Write letters and spaces")
        taken = "a branch" if words in ("else", "skipped") else taken_for(words)
        if words in ("yes", "no"):
            cure = "Leave choices out: yes and no are the answers then"
            raise document.error(f"'{choice}' needs no choices", place, cure)
        if taken:
            raise document.error(f"'{choice}' would be taken for {taken}", place, "Use other words")
        if words in seen:
            raise document.error(f"'{choice}' is said like '{seen[words]}'", place, "Use other words")
        seen[words] = choice

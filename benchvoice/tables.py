"""A language's data files as tables: YAML that holds names and values, or an error that names file and line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from benchvoice.errors import GrammarError

__all__ = ["read_table"]


def read_table(texts: Mapping[str, str], file: str, *, files: tuple[str, ...], of: str) -> dict[str, Any]:
    """The table in one of a language folder's files.

    Args:
        texts: file name → content.
        file: the one that is wanted.
        files: all that are needed, for the message where it is missing.
        of: what the table is of, for the message where it is none ("words").

    Raises:
        GrammarError: missing, not YAML, or no table.
    """
    if file not in texts:
        raise GrammarError("is missing", file=file, cure="A language folder holds " + ", ".join(files))
    # imported late: it takes longer to load than all of this package
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    try:
        data = YAML(typ="safe", pure=True).load(texts[file])
    except YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = mark.line + 1 if mark else None
        raise GrammarError(f"is not YAML: {getattr(error, 'problem', error)}", file=file, line=line) from error
    if not isinstance(data, dict):
        raise GrammarError(f"holds no table of {of}", file=file)
    return data

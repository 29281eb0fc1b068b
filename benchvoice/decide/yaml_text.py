"""YAML text → plain data in which every scalar is still its text, with the line of each field.

Board and meter files are people's own typing, so nothing is converted behind their back (`revision: 1.10` stays
"1.10") and everything that could surprise is refused: tabs, duplicate keys, anchors, aliases, tags, several documents.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from benchvoice.decide.yaml_mistakes import Complaint, mistake
from benchvoice.errors import BoardError

__all__ = ["Document", "Path", "field_name", "load_document"]

Path = tuple[str | int, ...]
"""Where a field is: keys and positions from the top, `("points", 2, "limits", "low")`."""

_MOST_CHARACTERS = 1_000_000
_DEEPEST = 12
_EMPTY = ("", "~", "null", "Null", "NULL")


def field_name(path: Path) -> str:
    """A path as it is written in messages: `points[2].limits.low`."""
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else part
    return text


@dataclass(frozen=True)
class Document:
    """What a file says.

    Attributes:
        file: the file's name, for messages.
        data: dicts, lists and strings; None where a field was left empty.
        lines: the line of each field, counted from 1.
    """

    file: str
    data: Any
    lines: Mapping[Path, int]

    def error(self, what: str, path: Path = (), cure: str | None = None) -> BoardError:
        """An error at a field, with the line of that field or of the nearest one around it."""
        around = path
        while around not in self.lines and around:
            around = around[:-1]
        return BoardError(what, file=self.file, line=self.lines.get(around), field=field_name(path) or None, cure=cure)


def load_document(text: str, file: str) -> Document:
    """Reads one YAML document.

    Raises:
        BoardError: it is not YAML, too large, nested too deeply, or uses what is refused here.
    """
    if len(text) > _MOST_CHARACTERS:
        raise BoardError(
            f"{len(text)} characters are too many for such a file",
            file=file,
            cure=f"Keep it below {_MOST_CHARACTERS} characters",
        )
    if not text.strip():
        raise BoardError("the file is empty", file=file)
    from ruamel.yaml import YAML  # imported late: it takes longer to load than all of this package
    from ruamel.yaml.error import MarkedYAMLError, YAMLError

    try:
        return _walk(YAML(typ="safe", pure=True), text, file)
    except MarkedYAMLError as error:
        found = mistake(_complaint(error), text.splitlines())
        raise BoardError(f"this is not YAML: {found.what}", file=file, line=found.line, cure=found.cure) from error
    except YAMLError as error:
        position = getattr(error, "position", None)
        line = text.count("\n", 0, position) + 1 if isinstance(position, int) else None
        what = "a control character" if line is not None else " ".join(str(error).split())
        raise BoardError(
            f"this is not YAML: {what}", file=file, line=line, cure="Save it as plain UTF-8 text"
        ) from error


def _complaint(error: Any) -> Complaint:
    """What a marked YAML error says; its lines count from 0."""
    at, begun = (None if mark is None else mark.line + 1 for mark in (error.problem_mark, error.context_mark))
    return Complaint(" ".join(str(error.problem or "").split()), at or begun, str(error.context or ""), begun)


def _walk(yaml: Any, text: str, file: str) -> Document:
    """Builds the data from parser events, so that what is refused is refused before anything is expanded."""
    lines: dict[Path, int] = {}
    events = iter(yaml.parse(text))

    def refuse(what: str, event: Any, path: Path, cure: str) -> BoardError:
        return BoardError(what, file=file, line=event.start_mark.line + 1, field=field_name(path) or None, cure=cure)

    def build(event: Any, path: Path) -> Any:
        kind = type(event).__name__
        if kind == "AliasEvent" or getattr(event, "anchor", None):
            raise refuse("anchors and aliases (& and *) are not allowed", event, path, "Write the values out")
        tag = getattr(event, "tag", None)
        if tag is not None and str(tag) not in ("None", "!"):
            raise refuse(f"tags ({tag}) are not allowed", event, path, "Write the value alone")
        if len(path) > _DEEPEST:
            raise refuse("this is nested too deeply", event, (), "Lay it out as the guide shows")
        lines.setdefault(path, event.start_mark.line + 1)
        if kind == "ScalarEvent":
            return None if event.style is None and event.value in _EMPTY else event.value
        return mapping(path) if kind == "MappingStartEvent" else sequence(path)

    def mapping(path: Path) -> dict[str, Any]:
        found: dict[str, Any] = {}
        while type(key := next(events)).__name__ != "MappingEndEvent":
            if type(key).__name__ != "ScalarEvent" or key.anchor:
                raise refuse("a key must be a plain word", key, path, "Write key: value")
            name = str(key.value)
            if name in found:
                raise refuse(f"'{name}' is given twice", key, (*path, name), "Keep one of them")
            lines[(*path, name)] = key.start_mark.line + 1
            found[name] = build(next(events), (*path, name))
        return found

    def sequence(path: Path) -> list[Any]:
        found: list[Any] = []
        while type(item := next(events)).__name__ != "SequenceEndEvent":
            found.append(build(item, (*path, len(found))))
        return found

    data: Any = None
    documents = 0
    for event in events:
        if type(event).__name__ == "DocumentStartEvent":
            documents += 1
            if documents > 1:
                raise refuse("there is more than one document", event, (), "Keep one, and no '---' after it")
            data = build(next(events), ())
    return Document(file, data, lines)

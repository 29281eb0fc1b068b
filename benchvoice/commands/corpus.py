"""A labelled corpus: JSON lines, each held against the board and the grammar before anything is heard.

A line has `audio` (a path relative to the corpus file) and `text`, the words that are said in it (empty where nothing
is said); for a reading also `value`, `unit` and, if wished, `point`; for a command `command` and, where it has one,
`point`; for a point alone ("on rail five") `point`; for a serial number `serial`, its characters. A line with none of
these is talk that is not meant for the bench, or a note. What the text means is what should be heard, so a label
that says otherwise is a mistake in the corpus.

`after` is a list of sentences that were said before in the same session ("lid off"), as a transcript would say them:
what is listened for, and what a sentence means, can depend on them. Without it a recording is the first of its session.

`speaker`, `noise`, `kind` (of sentence) and `talk` (which one it comes from) are free text to group the results by.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from benchvoice.decide.fields import nearest
from benchvoice.errors import AudioError, CorpusError, UnitError
from benchvoice.hear.audio import Recording
from benchvoice.records import (
    CommandIntent,
    CommandName,
    Context,
    GoToIntent,
    Intent,
    NoteIntent,
    ReadingIntent,
    WorkIntent,
)
from benchvoice.scoring.tallies import GROUPS
from benchvoice.understand.parse import Parser
from benchvoice.understand.typed import normalise
from benchvoice.units import unit

__all__ = ["GO_TO", "CorpusLine", "Meant", "meant_by", "read_corpus", "read_labels"]

GO_TO = "go to"
"""The command by which a point alone is kept."""

_KEYS = ("audio", "text", "point", "value", "unit", "command", "serial", "after", *GROUPS)
_COMMANDS = (*get_args(CommandName), GO_TO, "note")


ContextAfter = Callable[[tuple[str, ...]], Context]


def _nothing_before(after: tuple[str, ...]) -> Context:
    """The context of a session's first sentence."""
    if after:
        raise ValueError("nothing can be said before a sentence here")
    return Context()


@dataclass(frozen=True)
class Meant:
    """One thing that a recording can mean; what does not apply is empty.

    Attributes:
        point: the point's name on the board file.
        value, unit: of a reading: the number with its spoken digits, or "over range"; the unit's symbol.
        command: a command's name.
        detail: what a command of a checklist names: the part of the list, the answer, the reason; it follows from the
            text alone and needs no label.
        note: an observation's words.
        serial: a serial number.
        work: work on the unit, as `WorkIntent.meaning` has it; it follows from the text alone and needs no label.
    """

    point: str = ""
    value: str = ""
    unit: str = ""
    command: str = ""
    note: str = ""
    serial: str = ""
    work: str = ""
    detail: str = ""

    def __str__(self) -> str:
        if self.serial:
            return f"the serial number {self.serial}"
        if self.work:
            return f"work: {self.work.partition('|')[2]}"
        if self.value:
            return f"{self.value} {self.unit}".rstrip() + f" at '{self.point}'"
        if self.note:
            return f"the note '{self.note}'"
        return f"the command '{self.command}' {self.point or self.detail}".rstrip()


@dataclass(frozen=True)
class CorpusLine:
    """One labelled recording.

    Attributes:
        recording: its sound, ready to be heard.
        audio: its name as the corpus gives it.
        text: the words said.
        meant: what may be understood, any of them right; empty for talk that is not meant for the bench.
        number: its line in the corpus file, counted from 1.
        words: the text in words as they are said, lower case, numbers written out.
        after: what was said before it in the same session.
        speaker, noise, talk: its labels; empty where it has none.
        kind: of sentence, as labelled, or else by what was meant: "reading", "command", "go to", "note", "work",
            "serial" or "talk".
    """

    recording: Recording
    audio: str
    text: str
    meant: tuple[Meant, ...]
    number: int
    words: str
    after: tuple[str, ...] = ()
    speaker: str = ""
    noise: str = ""
    kind: str = ""
    talk: str = ""


def read_labels(path: Path, *, cure: str) -> str:
    """The text of a corpus, or of what an earlier run printed of one.

    Args:
        path: the file, of any size.
        cure: what to do where it is no text.

    Raises:
        CorpusError: it cannot be read, or is not UTF-8.
    """
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as cause:
        raise CorpusError(f"cannot be read ({cause.strerror})", file=path, cure="Check the name") from None
    except UnicodeDecodeError:
        raise CorpusError("is not UTF-8 text", file=path, cure=cure) from None


def read_corpus(path: Path, parser: Parser, context_after: ContextAfter = _nothing_before) -> list[CorpusLine]:
    """The lines of a corpus, every one checked.

    Args:
        path: the corpus file.
        parser: of the board that the corpus was spoken for.
        context_after: what may be said after some sentences of a session; ValueError where one of them is not taken.

    Raises:
        CorpusError: missing, empty, or a line that cannot be right; names the file, line and field.
    """
    text = read_labels(path, cure="Name a file of JSON lines")
    numbered = enumerate(text.split("\n"), 1)
    lines = [_Line(path, number, parser, context_after).read(line) for number, line in numbered if line.strip()]
    if not lines:
        cure = 'Write one object a line: {"audio": "a.wav", "text": "..."}'
        raise CorpusError("holds no lines", file=path, cure=cure)
    return lines


def meant_by(intents: Iterable[Intent]) -> tuple[Meant, ...]:
    """The meanings that can be labelled; answers cannot, since a recording is heard before anything was asked."""
    found = []
    for intent in intents:
        match intent:
            case ReadingIntent(point=str(point), value=value):
                found.append(Meant(point=point, value=value.digits, unit=value.unit))
            case GoToIntent(point=point):
                found.append(Meant(point=point, command=GO_TO))
            case CommandIntent(name=name, point=point):
                found.append(Meant(point=point or "", command=name, detail=intent.detail))
            case NoteIntent(text=text):
                found.append(Meant(note=text) if text else Meant(command="note"))
            case WorkIntent(act="serial", text=text):
                found.append(Meant(serial=text))
            case WorkIntent():
                found.append(Meant(work=intent.meaning))
    return tuple(found)


def _kind(meant: tuple[Meant, ...]) -> str:
    if not meant:
        return "talk"
    first = meant[0]
    if first.value:
        return "reading"
    if first.note or first.command == "note":
        return "note"
    if first.work or first.serial:
        return "serial" if first.serial else "work"
    return GO_TO if first.command == GO_TO else "command"


class _Line:
    """One line of the corpus on its way to being believed."""

    def __init__(self, file: Path, number: int, parser: Parser, context_after: ContextAfter) -> None:
        self.context_after = context_after
        self.file = file
        self.number = number
        self.parser = parser

    def read(self, line: str) -> CorpusLine:
        label = self._label(line)
        after = tuple(label.pop("after", ()))
        audio, text = label.pop("audio"), label.pop("text")
        labels = {key: label.pop(key, "") for key in GROUPS}
        meant = self._meant(text, label, self._context(after))
        try:
            recording = Recording(self.file.parent / audio)
        except AudioError as error:
            raise self._error(f"{audio}: {error.what}", "audio", error.cure) from None
        labels["kind"] = labels["kind"] or _kind(meant)
        words = normalise(text, self.parser.language)
        return CorpusLine(recording, audio, text, meant, self.number, words, after, **labels)

    def _context(self, after: tuple[str, ...]) -> Context:
        try:
            return self.context_after(after)
        except ValueError as error:
            raise self._error(str(error), "after", "Write what is taken without a question") from None

    def _error(self, what: str, field: str | None = None, cure: str | None = None) -> CorpusError:
        return CorpusError(what, file=self.file, line=self.number, field=field, cure=cure)

    def _label(self, line: str) -> dict[str, Any]:
        """The line's fields; those that say nothing (null, or empty besides the text) are left out."""
        label = self._object(line)
        for key, value in label.items():
            if key not in _KEYS:
                near = nearest(key, _KEYS)
                cure = f"Did you mean '{near}'?" if near else f"A line has: {', '.join(_KEYS)}"
                raise self._error(f"there is no field '{key}'", key, cure)
            if isinstance(value, bool | int | float):
                raise self._error("is a bare number", key, "Write it in quotes, so that its digits are kept")
            if key == "after" and value is not None:
                if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
                    raise self._error("is no list of sentences", key, 'Write ["lid off", "took off U4"]')
                continue
            if value is not None and not isinstance(value, str):
                raise self._error("is not text", key, "Write it in quotes")
        for key in ("audio", "text"):
            if label.get(key) is None:
                raise self._error("is missing", key, 'A line is {"audio": "a.wav", "text": "..."} and what was meant')
        return {key: value for key, value in label.items() if value or key in ("audio", "text")}

    def _object(self, line: str) -> dict[str, Any]:
        def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
            keys = [key for key, _ in pairs]
            twice = next((key for key in keys if keys.count(key) > 1), None)
            if twice is not None:
                raise self._error("is given twice", twice, "Keep one of them")
            return dict(pairs)

        try:
            label = json.loads(line, object_pairs_hook=once)
        except (json.JSONDecodeError, RecursionError) as error:
            place = f": {error.msg} at column {error.colno}" if isinstance(error, json.JSONDecodeError) else ""
            raise self._error(f"this is not JSON{place}", cure="Write one object a line") from None
        if not isinstance(label, dict):
            raise self._error("this is not an object", cure='Write {"audio": "a.wav", "text": "..."}')
        return label

    def _meant(self, text: str, label: Mapping[str, str], context: Context) -> tuple[Meant, ...]:
        """What the text means as far as the label says the same."""
        label = self._known(label)
        if not text.strip():
            if label:
                raise self._error("is empty though something was meant", "text", "Write the words that are said")
            return ()
        parse = self.parser.parse(normalise(text, self.parser.language), context)
        meanings = meant_by(parse.intents)
        if not meanings and label:
            what = f"'{text}' cannot mean that, heard on its own: {parse.why or 'nothing was asked'}"
            raise self._error(what, "text", "Correct the text, or leave out what was meant")
        if meanings:
            self._whole(meanings[0], label)
        fitting = tuple(meaning for meaning in meanings if all(getattr(meaning, key) == label[key] for key in label))
        if meanings and not fitting:
            first = meanings[0]
            wrong = next(key for key in label if getattr(first, key) != label[key])
            what = f"'{text}' means {' or '.join(map(str, meanings))}; the label says '{label[wrong]}'"
            raise self._error(what, wrong, "Correct the label or the text")
        return fitting

    def _known(self, label: Mapping[str, str]) -> dict[str, str]:
        """The label with its unit's symbol as benchvoice writes it."""
        known = dict(label)
        for key, names in (("point", self.parser.grammar.by_name), ("command", _COMMANDS)):
            if key in known and known[key] not in names:
                where = "no point on this board" if key == "point" else "no command"
                near = nearest(known[key], names)
                cure = f"Did you mean '{near}'?" if near else f"Write one of: {', '.join(names)}"
                raise self._error(f"'{known[key]}' is {where}", key, cure)
        if "unit" in known:
            try:
                known["unit"] = unit(known["unit"]).symbol
            except UnitError as error:
                raise self._error(error.what, "unit", error.cure) from None
        return known

    def _whole(self, meaning: Meant, label: Mapping[str, str]) -> None:
        """Refuse a label that leaves out what the text plainly says."""
        if meaning.value:
            needed: tuple[str, ...] = ("value", "unit") if meaning.unit else ("value",)
        elif meaning.command:
            needed = ("point",) if meaning.command == GO_TO else ("command",)
        else:
            needed = ("serial",) if meaning.serial else ()
        for key in needed:
            if key not in label:
                raise self._error(f"is missing, though the text means {meaning}", key, "Write what was meant")

"""Every error that a user can meet: one base class, its children, and how each becomes a sentence.

A message says what was wrong, where (file, line, field) and what to do about it. The parts stay on the
exception as fields, so that a caller can use them and a test can assert them without taking a sentence apart.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

__all__ = [
    "AudioError",
    "BenchvoiceError",
    "BoardError",
    "CorpusError",
    "DeviceError",
    "GrammarError",
    "JobBusyError",
    "JournalError",
    "ModelError",
    "ProfileError",
    "SpeechError",
    "StorageError",
    "TranscriptError",
    "UnitError",
    "VocabularyError",
]


class BenchvoiceError(Exception):
    """Something the user can mend. The command line prints it and ends with exit status 2.

    Args:
        what: what was wrong, as a phrase without a full stop ("low limit 3.47 V lies above high limit 3.14 V").
        file: the file it was found in, if any.
        line: the line in that file, counted from 1.
        field: the field, written as a path ("points[2].limits.low").
        cure: what to do about it, as a sentence without a full stop.
    """

    def __init__(
        self,
        what: str,
        *,
        file: str | Path | None = None,
        line: int | None = None,
        field: str | None = None,
        cure: str | None = None,
    ) -> None:
        super().__init__(what)
        self.what = what
        self.file = None if file is None else str(file)
        self.line = line
        self.field = field
        self.cure = cure

    def __str__(self) -> str:
        place = "" if self.file is None else self.file
        if self.line is not None:
            place = f"{place}, line {self.line}" if place else f"line {self.line}"
        if self.field:
            place = f"{place}, {self.field}" if place else self.field
        sentence = f"{place}: {self.what}" if place else self.what
        if not sentence.endswith((".", "?", "!")):
            sentence += "."
        if self.cure:
            sentence += f" {self.cure}" + ("" if self.cure.endswith((".", "?", "!")) else ".")
        return sentence

    def __reduce__(self) -> tuple[Any, ...]:
        """For pickle: children take other arguments than the sentence that an exception keeps as its own."""
        return _again, (type(self), self.args, self.__dict__)


def _again(kind: type[BenchvoiceError], args: tuple[object, ...], fields: dict[str, object]) -> BenchvoiceError:
    error = kind.__new__(kind, *args)
    error.__dict__.update(fields)
    return error


class UnitError(BenchvoiceError):
    """A typed value or unit that cannot be read, or that belongs to another quantity."""


class BoardError(BenchvoiceError):
    """A board profile, meter file or checklist that cannot be used."""


class GrammarError(BenchvoiceError):
    """Word or phrase data under grammars/ that cannot be used."""


class VocabularyError(BenchvoiceError):
    """Words that a recogniser cannot hear, named.

    Args:
        words: the words, lower case, in the order in which they were met.
        engine: the recogniser's name.
    """

    def __init__(self, words: tuple[str, ...], engine: str, *, cure: str | None = None) -> None:
        self.words = words
        self.engine = engine
        super().__init__(f"{engine} cannot hear: {', '.join(words)}", cure=cure)


class AudioError(BenchvoiceError):
    """A recording that cannot be read."""


class DeviceError(BenchvoiceError):
    """A microphone or loudspeaker that is missing, busy or unfit."""


class ModelError(BenchvoiceError):
    """A speech model that is missing, damaged or unable to take a grammar."""


class ProfileError(BenchvoiceError):
    """A person's voice profile that is missing, damaged or made for other engines, or that cannot be made."""


class SpeechError(BenchvoiceError):
    """The speech synthesiser cannot be had or failed."""


class TranscriptError(BenchvoiceError):
    """A transcript that cannot be read."""


class CorpusError(BenchvoiceError):
    """A labelled corpus that cannot be read."""


class JournalError(BenchvoiceError):
    """A journal whose chain is broken, or that is not a journal."""


class JobBusyError(BenchvoiceError):
    """Another process has this job open."""


class StorageError(BenchvoiceError):
    """A folder that cannot be written: no permission, or the disk is full."""

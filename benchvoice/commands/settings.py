"""Options of the command line turned into rooms ready for use: ears, phrasebook, mouth, job."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from benchvoice.answer.phrases import FILES as REPLY_FILES
from benchvoice.answer.phrases import Phrasebook, read_phrasebook
from benchvoice.commands.opening import JobOptions, language_texts
from benchvoice.loop import Mouth
from benchvoice.records import Reply

__all__ = ["SilentMouth", "job_options", "load_phrasebook", "on_line", "open_mouth"]


class SilentMouth:
    """Says nothing: the replies are printed or read from the journal."""

    def say(self, reply: Reply) -> None:
        """Do nothing with the reply."""


def job_options(arguments: argparse.Namespace) -> JobOptions:
    """The job that the options name."""
    return JobOptions(
        jobs=arguments.jobs,
        job=arguments.job,
        complaint=getattr(arguments, "complaint", None),
        serial=getattr(arguments, "serial", None),
        technician=getattr(arguments, "technician", None),
    )


def load_phrasebook(language: str = "en") -> Phrasebook:
    """A shipped language's sentences."""
    return read_phrasebook(language_texts(language, REPLY_FILES))


def on_line(arguments: argparse.Namespace) -> Callable[[str], None] | None:
    """What is done with each journal line: printed for --json."""
    return print if arguments.json else None


@contextmanager
def open_mouth(path: Path | None) -> Iterator[Mouth]:
    """A mouth that speaks into the sound file `path`; a silent one where there is none.

    Raises:
        SpeechError: the synthesiser cannot be had.
        StorageError: the file cannot be written.
    """
    if path is None:
        yield SilentMouth()
        return
    from benchvoice.answer.voice import WaveVoice

    voice = WaveVoice(path)
    try:
        yield voice
    finally:
        voice.close()

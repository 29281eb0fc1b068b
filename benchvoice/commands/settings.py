"""Options of the command line turned into rooms ready for use: ears, phrasebook, mouth, job."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from benchvoice.answer.phrases import FILES as REPLY_FILES
from benchvoice.answer.phrases import Phrasebook, read_phrasebook
from benchvoice.answer.voice import WaveVoice
from benchvoice.commands.console import warn
from benchvoice.commands.opening import JobOptions, language_texts
from benchvoice.errors import BoardError, SpeechError
from benchvoice.files import user_data
from benchvoice.hear.engines import open_engines
from benchvoice.hear.panel import Panel, check_vocabulary
from benchvoice.loop import Mouth
from benchvoice.models import find_model
from benchvoice.records import Reply

__all__ = ["SilentMouth", "job_options", "load_phrasebook", "on_line", "open_ears", "open_mouth", "require_heard"]


class SilentMouth:
    """Says nothing: the replies are printed or read from the journal."""

    def say(self, reply: Reply) -> None:
        """Do nothing with the reply."""


class _WrittenMouth:
    """Speaks into a file. A synthesiser that fails costs the answer's words, never the session."""

    def __init__(self, voice: WaveVoice) -> None:
        self.voice = voice
        self.warned = False

    def say(self, reply: Reply) -> None:
        """Speak the reply, or its tone alone where there are no words to be had."""
        try:
            self.voice.say(reply)
        except SpeechError as error:
            if not self.warned:
                warn(f"{error} The answers are in the journal.")
            self.warned = True
            if reply.tone is not None:
                self.voice.say(Reply("", reply.tone))


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


def open_ears(arguments: argparse.Namespace) -> Panel:
    """What hears, as --engine and --model say; an installed Vosk model joins when it is named.

    Raises:
        ModelError: an engine or the model cannot be had.
    """
    model = None if arguments.model is None else find_model(arguments.model, user_data() / "models")
    ears = open_engines(arguments.engine, model)
    if ears.caution:
        warn(ears.caution)
    return ears


def require_heard(ears: Panel, words: Iterable[str], board: Path) -> None:
    """Insist that every word of the board and the grammar can be heard.

    Raises:
        BoardError: some cannot; they are named, with what to say instead.
    """
    unheard = check_vocabulary(ears.recognisers, words)
    if unheard:
        listed = "; ".join(str(item) for item in unheard)
        raise BoardError(listed, file=board, cure="Give the point another name under say")


@contextmanager
def open_mouth(path: Path | None) -> Iterator[Mouth]:
    """A mouth that speaks into the sound file `path`; a silent one where there is none.

    Raises:
        StorageError: the file cannot be written.
    """
    if path is None:
        yield SilentMouth()
        return
    with WaveVoice(path) as voice:
        yield _WrittenMouth(voice)

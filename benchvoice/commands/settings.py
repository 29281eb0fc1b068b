"""Options of the command line turned into rooms ready for use: ears, phrasebook, mouth, job."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from benchvoice.answer.phrases import FILES as REPLY_FILES
from benchvoice.answer.phrases import Phrasebook, read_phrasebook
from benchvoice.answer.voice import WaveVoice
from benchvoice.commands.console import warn
from benchvoice.commands.given import GivenFiles
from benchvoice.commands.interrupts import held
from benchvoice.commands.known_good import load_known_good
from benchvoice.commands.loading import language_texts, load_checklist
from benchvoice.commands.opening import JobOptions, OpenJob, utc_now
from benchvoice.decide.checklist_steps import Checklist
from benchvoice.decide.profile import Board
from benchvoice.errors import BoardError, ModelError, SpeechError, StorageError
from benchvoice.files import user_data
from benchvoice.hear.engines import open_engines
from benchvoice.hear.panel import Panel, check_vocabulary
from benchvoice.hear.person import Person, PersonalPanel, engine_versions
from benchvoice.loop import Bench, Ears, Keeper, Mouth, Understanding
from benchvoice.models import find_model, list_models
from benchvoice.records import Reply
from benchvoice.tuning.store import load_profile

__all__ = [
    "IN_THE_JOB",
    "SilentMouth",
    "check_output",
    "check_replies",
    "job_options",
    "load_phrasebook",
    "on_line",
    "open_bench",
    "open_checklist",
    "open_ears",
    "open_mouth",
    "replies_file",
    "voices",
]


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


def open_bench(
    arguments: argparse.Namespace,
    job: OpenJob,
    *,
    understanding: Understanding,
    phrases: Phrasebook,
    mouth: Mouth,
    ears: Ears | None = None,
    keeper: Keeper | None = None,
) -> Bench:
    """The bench that a job is worked on at, as the options say; `keeper` keeps its events in place of the job's own."""
    return Bench(
        job.state,
        understanding=understanding,
        phrases=phrases,
        mouth=mouth,
        keeper=keeper or job.keeper,
        clock=utc_now,
        ears=ears,
        terse=arguments.terse,
        private=getattr(arguments, "attention", None) is not None,  # not every command has the option
        whole=held,
    )


def open_checklist(
    arguments: argparse.Namespace, chosen: Path | None, board_file: Path, board: Board
) -> Checklist | None:
    """The checklist in the file `chosen`, else the one beside the board, which is then said; None for none."""
    loaded = load_checklist(chosen, board_file, board)
    if loaded is None:
        return None
    checklist, file = loaded
    if chosen is None:
        arguments.checklist = file
        warn(f"the checklist beside the board is gone through: {file}")
    return checklist


def job_options(arguments: argparse.Namespace, given: GivenFiles) -> JobOptions:
    """The job that the options name, with the files it is opened with and the known-good board's readings.

    Raises:
        JournalError: the known-good board's job is not there, or damaged.
    """
    known_good: str | None = getattr(arguments, "known_good", None)
    return JobOptions(
        jobs=arguments.jobs,
        job=arguments.job,
        complaint=getattr(arguments, "complaint", None),
        serial=getattr(arguments, "serial", None),
        technician=getattr(arguments, "technician", None),
        came_back=getattr(arguments, "came_back", False),
        given=given,
        known_good=None if known_good is None else load_known_good(known_good, arguments.jobs, warn),
    )


def load_phrasebook(board: Board, language: str = "en") -> Phrasebook:
    """A shipped language's sentences, with the board's points called as they are called at the bench."""
    return read_phrasebook(language_texts(language, REPLY_FILES), {point.name: point.say[0] for point in board.points})


def on_line(arguments: argparse.Namespace) -> Callable[[str], None] | None:
    """What is done with each journal line: printed for --json, at once, since a program may wait for it."""
    return partial(print, flush=True) if arguments.json else None


def open_ears(
    arguments: argparse.Namespace,
    words: Sequence[str],
    board: Path,
    *,
    apart: bool = False,
    person: Person | None = None,
) -> Panel:
    """What hears, as --engine and --model say, and can hear every one of `words`; to be closed after use.

    It is tuned to `person`, by default to whom --tuned-to names.

    Without --model, a model that was added joins the panel where it is the only one that takes a grammar and knows
    the words. With `apart`, each engine hears in a process of its own.

    Raises:
        ModelError: an engine or the model cannot be had. The default panel does without a model that cannot.
        BoardError: words cannot be heard; they are named, with what to say instead.
        ProfileError: there is no such voice profile, or it cannot be used.
    """
    person = person or _tuned_to(arguments)
    opened = partial(open_engines, apart=apart, lexicons={} if person is None else person.lexicons)
    folder = user_data() / "models"
    if arguments.model is None and arguments.engine in ("panel", "vosk"):
        ears = _with_added_model(arguments.engine, folder, words, opened)
    elif arguments.model is not None and arguments.engine not in ("panel", "vosk"):
        cure = "Leave --model out, or hear with --engine panel or vosk"
        raise ModelError(f"--engine {arguments.engine} takes no model; --model names one for Vosk", cure=cure)
    else:
        model = None if arguments.model is None else find_model(arguments.model, folder)
        ears = opened(arguments.engine, model)
    if ears.caution:
        warn(ears.caution)
    unheard = check_vocabulary(ears.recognisers, words)
    if unheard:
        ears.close()
        listed = "; ".join(str(item) for item in unheard)
        listed_too = getattr(arguments, "checklist", None) is not None
        cure = "Give the point another name under say" + (
            ", or the checklist's step or choice another name" if listed_too else ""
        )
        raise BoardError(listed, file=board, cure=cure)
    return ears if person is None else PersonalPanel(ears, person)


def voices() -> Path:
    """The user's own folder of voice profiles."""
    return user_data() / "voices"


def _tuned_to(arguments: argparse.Namespace) -> Person | None:
    name = getattr(arguments, "tuned_to", None)  # not every command that hears has the option
    return None if name is None else load_profile(name, voices(), engine_versions()).person


def _with_added_model(engine: str, folder: Path, words: Sequence[str], opened: Callable[..., Panel]) -> Panel:
    models = list_models(folder)
    for error in models.damaged:
        warn(f"a Vosk model is left out: {error}")
    if len(models.fit) != 1:
        if models.fit:
            names = ", ".join(model.name for model in models.fit)
            warn(f"{len(models.fit)} Vosk models are installed and none is used: name one with --model ({names})")
        return opened(engine)
    model = models.fit[0]
    if engine == "vosk":
        return opened(engine, model.path)
    try:
        ears = opened(engine, model.path)
    except ModelError as error:
        warn(f"the Vosk model {model.name} is left out: {error}")
        return opened(engine)
    unheard = [item.word for item in check_vocabulary(ears.recognisers, words) if item.engine == "vosk"]
    if not unheard:
        return ears
    warn(f"the Vosk model {model.name} is left out: it does not know {', '.join(unheard[:5])}")
    return ears.without("vosk")


IN_THE_JOB = Path("replies.wav")
"""This very object in place of a file's name: the answers are written beside the journal, under this name."""


def check_replies(arguments: argparse.Namespace, *inputs: str | Path | None) -> None:
    """Insist that the answers can be written where --replies says, before anything is begun.

    Args:
        arguments: the options.
        inputs: the files that the command reads; none of them is to be written over. What is no file does not matter.

    Raises:
        StorageError: the file cannot be written, or is one of `inputs`.
    """
    chosen: Path | None = arguments.replies
    if chosen is None or chosen is IN_THE_JOB:
        return
    cure = "Name a file that can be written with --replies, such as replies.wav"
    check_output(chosen, *inputs, what="the spoken answers", cure=cure)


def check_output(chosen: Path, *inputs: str | Path | None, what: str, cure: str) -> None:
    """Insist that a file can be written, before anything is begun.

    Args:
        chosen: the file.
        inputs: as `check_replies` takes them.
        what: what it is to hold, for the message ("the spoken answers").
        cure: what to do where it cannot be.

    Raises:
        StorageError: as `check_replies`.
    """
    try:
        if chosen.is_dir():
            raise StorageError(f"this is a folder, not a file for {what}", file=chosen, cure=cure)
        if not chosen.parent.is_dir():
            raise StorageError(f"there is no such folder for {what}", file=chosen.parent, cure=cure)
        if chosen.exists() and any(given is not None and _same_file(chosen, Path(given)) for given in inputs):
            raise StorageError(f"{what} would replace what is to be read", file=chosen, cure=cure)
        if not os.access(chosen if chosen.exists() else chosen.parent, os.W_OK):
            raise StorageError(f"there is no permission to write {what} here", file=chosen, cure=cure)
    except OSError as error:
        raise StorageError(f"{what} cannot be written ({error.strerror})", file=chosen, cure=cure) from None


def _same_file(one: Path, other: Path) -> bool:
    return other.exists() and one.samefile(other)


def replies_file(arguments: argparse.Namespace, job: Path) -> Path | None:
    """Where the spoken answers are to be written; None where nobody wants them."""
    chosen: Path | None = arguments.replies
    return job / IN_THE_JOB if chosen is IN_THE_JOB else chosen


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

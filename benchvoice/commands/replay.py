"""`benchvoice replay`: a transcript taken as if it had been spoken, or a journal folded anew."""

from __future__ import annotations

import argparse
import io
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager
from itertools import islice
from pathlib import Path
from typing import IO, TextIO

from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.console import print_turn, warn
from benchvoice.commands.finish import finish_job
from benchvoice.commands.first_step import first_step
from benchvoice.commands.given import GivenFiles, given_files
from benchvoice.commands.interrupts import closed_when_interrupted, held
from benchvoice.commands.loading import load_board, load_language, load_meter
from benchvoice.commands.opening import JobKeeper, checked_name, open_job
from benchvoice.commands.settings import (
    SilentMouth,
    check_replies,
    job_options,
    load_phrasebook,
    on_line,
    open_bench,
    open_checklist,
    open_mouth,
    replies_file,
)
from benchvoice.decide.profile import Board
from benchvoice.errors import BenchvoiceError, TranscriptError
from benchvoice.events import Event, Opened
from benchvoice.keep.copies import copy_job
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.keep.journal_reader import JournalReader
from benchvoice.loop import Bench, Mouth, Turn
from benchvoice.records import Reply, Samples
from benchvoice.understand.transcript import TranscriptLine, is_journal, read_transcript

__all__ = ["run"]

_AT_ONCE = 256
"""Lines of a transcript that are kept with one write: nobody waits for the answer to each."""

_LONGEST_BYTES = 1_000_000
"""Of a first line, for telling whether it is a journal's."""


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    board = load_board(arguments.board)
    source: Path = arguments.transcript
    check_replies(arguments, arguments.board, arguments.meter, arguments.checklist, source)
    with _opened(source) as file:
        if is_journal(file.buffer.readline(_LONGEST_BYTES).decode(errors="replace")):
            _fold_again(arguments, source, board.name)
            return 0
        _check(file, source)
        _take_all(arguments, board, file, given_files(arguments))
    return 0


def _check(file: TextIO, source: Path) -> None:
    """Reads the whole transcript before any of it is taken: a bad line late in it must not leave half a job.

    Raises:
        TranscriptError: it cannot be read to its end; names the line.
    """
    file.seek(0)
    for _ in read_transcript(_text_of(file, source), str(source)):
        pass
    file.seek(0)


def _take_all(arguments: argparse.Namespace, board: Board, file: TextIO, given: GivenFiles) -> None:
    """See every line of a transcript through to its answer, and the job to its end."""
    source: Path = arguments.transcript
    meter, checklist = load_meter(given.meter), open_checklist(arguments, given.checklist, arguments.board, board)
    grammar = BoardGrammar(board, meter, load_language(), checklist=checklist)
    phrases = load_phrasebook(board)
    with (
        open_job(
            board, meter, job_options(arguments, given), engine="text", on_line=on_line(arguments), checklist=checklist
        ) as job,
        open_mouth(replies_file(arguments, job.folder)) as mouth,
    ):
        batch = _Batch(job.keeper)
        bench = open_bench(arguments, job, understanding=grammar, phrases=phrases, mouth=SilentMouth(), keeper=batch)

        def close(why: str) -> None:
            batch.flush()
            bench.close(why)
            batch.flush()

        with closed_when_interrupted(close, job.folder / JOURNAL_NAME):
            for remark in job.remarks:
                warn(remark)
            shown = not (arguments.json or arguments.quiet)
            first = first_step(bench, phrases)
            batch.flush()
            _answer([] if first is None else [first], mouth, shown=shown)
            for turns in _batches(bench, batch, read_transcript(_text_of(file, source), str(source)), source.name):
                _answer(turns, mouth, shown=shown)
            close("end of the transcript")
            finish_job(arguments, job.folder)


def _batches(bench: Bench, batch: _Batch, lines: Iterator[TranscriptLine], source: str) -> Iterator[list[Turn | Reply]]:
    """The turns of the lines, some at a time, and on the disk before anything is answered; timers ring between them."""
    end_s = None
    while taken := list(islice(lines, _AT_ONCE)):
        turns: list[Turn | Reply] = []
        for line in taken:
            turns += bench.announce(source, line.start_s)
            turns.append(bench.take_text(line.text, source, start_s=line.start_s, end_s=line.end_s))
            end_s = line.start_s if line.end_s is None else line.end_s
        batch.flush()
        yield turns
    told: list[Turn | Reply] = [*bench.announce(source, end_s)]
    batch.flush()
    yield told


def _answer(turns: list[Turn | Reply], mouth: Mouth, *, shown: bool) -> None:
    for turn in turns:
        mouth.say(turn if isinstance(turn, Reply) else turn.reply)
        if shown:
            print_turn(turn)


def _text_of(file: TextIO, path: Path) -> Iterator[str]:
    """The file's lines; what is no text is an error that names the file."""
    try:
        yield from iter(file.readline, "")  # the file itself would be closed where reading ends early
    except UnicodeDecodeError:
        raise TranscriptError("is not UTF-8 text", file=path, cure="Save the transcript as UTF-8 text") from None


class _Batch:
    """Keeps events until they are written together."""

    def __init__(self, keeper: JobKeeper) -> None:
        self.keeper = keeper
        self.waiting: list[Event] = []

    def append(self, events: Iterable[Event]) -> None:
        self.waiting.extend(events)

    def keep_clip(self, seq: int, samples: Samples) -> str:
        return self.keeper.keep_clip(seq, samples)

    def flush(self) -> None:
        with held():
            self.keeper.append(tuple(self.waiting))
            self.waiting.clear()


@contextmanager
def _opened(path: Path) -> Iterator[TextIO]:
    """The transcript, open as text that can be read more than once; what comes through a pipe is kept meanwhile.

    Raises:
        TranscriptError: it is missing, a folder, or cannot be read.
    """
    with ExitStack() as opened:
        try:
            file: IO[bytes] = opened.enter_context(path.open("rb"))
            if not file.seekable():
                kept = opened.enter_context(tempfile.TemporaryFile())
                shutil.copyfileobj(file, kept)
                kept.seek(0)
                file = kept
        except FileNotFoundError:
            raise TranscriptError("is missing", file=path, cure="Check the name and the folder") from None
        except IsADirectoryError:
            raise TranscriptError("is a folder, not a file", file=path, cure="Name the transcript in it") from None
        except OSError as cause:
            what = f"cannot be read ({cause.strerror})"
            raise TranscriptError(what, file=path, cure="Check its permissions") from None
        yield opened.enter_context(io.TextIOWrapper(file, encoding="utf-8-sig", errors="strict", newline=None))


_OF_NO_USE = ("meter", "checklist", "complaint", "serial", "technician", "came_back", "known_good", "terse", "replies")
"""Options that a journal leaves nothing to do for: it is folded as it is, and nothing is answered."""


def _fold_again(arguments: argparse.Namespace, journal: Path, board: str) -> None:
    """A journal needs no understanding: a copy of it is folded as it is, beside its clips.

    Raises:
        JournalError: it is damaged, or its copy would stand in the place of another job.
        TranscriptError: it is another board's.
    """
    given = [f"--{name.replace('_', '-')}" for name in _OF_NO_USE if getattr(arguments, name)]
    if given:
        cure = f"Leave out {', '.join(given)}, or give a transcript"
        raise BenchvoiceError("a journal is folded as it is", file=journal, cure=cure)
    folder = arguments.jobs / checked_name(arguments.job or f"{journal.resolve().parent.name}-replayed")
    reader = JournalReader(journal)
    for event in reader:  # all of it: what is damaged is not copied
        if isinstance(event, Opened) and event.board != board:
            raise TranscriptError(
                f"is the journal of '{event.board}', not of '{board}'", file=journal, cure="Name that board's file"
            )
    copy = copy_job(journal, folder)
    if arguments.json:
        with copy.open("rb") as lines:
            for line in islice(lines, reader.end.lines):
                print(line.decode(), end="")
    finish_job(arguments, folder)

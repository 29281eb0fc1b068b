"""`benchvoice replay`: a transcript taken as if it had been spoken, or a journal folded anew."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import TextIO

from benchvoice.commands.console import print_paths, print_record, print_turn, warn
from benchvoice.commands.finish import finish_job, fold_journal, write_record
from benchvoice.commands.opening import (
    BoardGrammar,
    JobKeeper,
    checked_name,
    load_board,
    load_language,
    load_meter,
    open_job,
    utc_now,
)
from benchvoice.commands.settings import (
    SilentMouth,
    check_replies,
    job_options,
    load_phrasebook,
    on_line,
    open_mouth,
    replies_file,
)
from benchvoice.errors import TranscriptError
from benchvoice.events import Event
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.loop import Bench, Turn
from benchvoice.records import Samples
from benchvoice.understand.transcript import TranscriptLine, is_journal, read_transcript
from benchvoice.understand.typed import WrittenNames, normalise

__all__ = ["run"]

_AT_ONCE = 256
"""Lines of a transcript that are kept with one write: nobody waits for the answer to each."""


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    board = load_board(arguments.board)
    meter = load_meter(arguments.meter)
    source: Path = arguments.transcript
    check_replies(arguments, arguments.board, arguments.meter, source)
    with _opened(source) as file:
        if is_journal(next(_text_of(file, source), "")):
            return _fold_again(arguments, source, board.name)
    language = load_language()
    grammar = BoardGrammar(board, meter, language)
    names = WrittenNames(grammar.grammar.points)
    options = job_options(arguments)
    with (
        _opened(source) as file,
        open_job(board, meter, options, engine="text", on_line=on_line(arguments)) as job,
        open_mouth(replies_file(arguments, job.folder)) as mouth,
    ):
        for remark in job.remarks:
            warn(remark)
        batch = _Batch(job.keeper)
        bench = Bench(
            job.state,
            understanding=grammar,
            phrases=load_phrasebook(board),
            mouth=SilentMouth(),
            keeper=batch,
            clock=utc_now,
            terse=arguments.terse,
        )
        lines = (
            line._replace(text=normalise(line.text, language, names))
            for line in read_transcript(_text_of(file, source), str(source))
        )
        ended = False
        while not ended:
            turns: list[Turn] = []
            try:
                ended = _take(bench, lines, source.name, turns)
            finally:
                batch.flush()  # on the disk before anything is answered, and before a bad line ends it all
                for turn in turns:
                    mouth.say(turn.reply)
                    if not (arguments.json or arguments.quiet):
                        print_turn(turn)
        bench.close("end of the transcript")
        batch.flush()
        finish_job(arguments, job.folder)
    return 0


def _take(bench: Bench, lines: Iterator[TranscriptLine], source: str, turns: list[Turn]) -> bool:
    """See the next lines through to their answers, which are added to `turns`; whether that was the end."""
    for line in islice(lines, _AT_ONCE):
        turns.append(bench.take_text(line.text, source, start_s=line.start_s, end_s=line.end_s))
    return len(turns) < _AT_ONCE


def _text_of(file: TextIO, path: Path) -> Iterator[str]:
    """The file's lines; what is no text is an error that names the file."""
    try:
        yield from file
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
        self.keeper.append(tuple(self.waiting))
        self.waiting.clear()


def _opened(path: Path) -> TextIO:
    """The transcript, open as text.

    Raises:
        TranscriptError: it is missing, a folder, or cannot be read.
    """
    try:
        return path.open(encoding="utf-8-sig", errors="strict", newline=None)
    except FileNotFoundError:
        raise TranscriptError("is missing", file=path, cure="Check the name and the folder") from None
    except IsADirectoryError:
        raise TranscriptError("is a folder, not a file", file=path, cure="Name the transcript in it") from None
    except OSError as cause:
        raise TranscriptError(f"cannot be read ({cause.strerror})", file=path, cure="Check its permissions") from None


def _fold_again(arguments: argparse.Namespace, journal: Path, board: str) -> int:
    """A journal needs no understanding: its events are folded as they are."""
    folder = arguments.jobs / checked_name(arguments.job or f"{journal.resolve().parent.name}-replayed")
    board_there = fold_journal(journal).board
    if board_there != board:
        raise TranscriptError(
            f"is the journal of '{board_there}', not of '{board}'", file=journal, cure="Name that board's file"
        )
    other = folder / JOURNAL_NAME
    if other.exists() and not other.samefile(journal):
        raise TranscriptError(
            f"would overwrite the record of the job in {folder}", file=journal, cure="Name another --job"
        )
    record, paths = write_record(journal, folder)
    if arguments.json:
        print(journal.read_text(encoding="utf-8"), end="")
        return 0
    print_record(record)
    print_paths(paths)
    return 0

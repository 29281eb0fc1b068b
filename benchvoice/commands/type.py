"""`benchvoice type`: a session at the keyboard, for where nothing can be heard."""

from __future__ import annotations

import argparse
import sys

from benchvoice.answer.phrases import Phrasebook
from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.console import print_turn, warn
from benchvoice.commands.finish import finish_job
from benchvoice.commands.given import given_files
from benchvoice.commands.greeting import greeting
from benchvoice.commands.interrupts import closed_when_interrupted, held
from benchvoice.commands.keyboard import Keyboard
from benchvoice.commands.loading import load_board, load_language, load_meter
from benchvoice.commands.opening import open_job, utc_now
from benchvoice.commands.settings import SilentMouth, job_options, load_phrasebook, on_line, open_checklist
from benchvoice.errors import TranscriptError
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.loop import Bench, Turn
from benchvoice.records import Reply
from benchvoice.understand.transcript import read_transcript

__all__ = ["run"]

_SOURCE = "keyboard"
_LOOK_S = 0.2  # how often a timer is looked at while nobody types


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    board = load_board(arguments.board)
    given = given_files(arguments)
    meter = load_meter(given.meter)
    checklist = open_checklist(arguments, given.checklist, arguments.board, board)
    grammar = BoardGrammar(board, meter, load_language(), checklist=checklist)
    phrases = load_phrasebook(board)
    keyboard = Keyboard(sys.stdin)
    with open_job(
        board, meter, job_options(arguments, given), engine="text", on_line=on_line(arguments), checklist=checklist
    ) as job:
        for remark in job.remarks:
            warn(remark)
        bench = Bench(
            job.state,
            understanding=grammar,
            phrases=phrases,
            mouth=SilentMouth(),
            keeper=job.keeper,
            clock=utc_now,
            terse=arguments.terse,
            whole=held,
        )
        session = _Session(bench, phrases, keyboard, shown=not arguments.json)
        try:
            with closed_when_interrupted(bench.close, job.folder / JOURNAL_NAME):
                session.tell(greeting(bench, job, phrases))
                session.run()
                bench.close("end of what was typed")
        except Exception:
            bench.close("an error ended it")
            raise
        finally:
            finish_job(arguments, job.folder)
    return 0


class _Session:
    """Line by line: what was typed is seen through to its answer, and what falls due is told meanwhile.

    Args:
        bench: the job.
        phrases: words what is told.
        keyboard: where the lines come from.
        shown: whether answers are printed.
    """

    def __init__(self, bench: Bench, phrases: Phrasebook, keyboard: Keyboard, *, shown: bool) -> None:
        self._bench = bench
        self._phrases = phrases
        self._keyboard = keyboard
        self._shown = shown
        self._asking = False  # the prompt stands at the beginning of the line

    def run(self) -> None:
        """Take lines until the job is closed or there are no more."""
        while not self._bench.state.closed:
            self._ask()
            try:
                line = self._keyboard.line(_LOOK_S)
            except EOFError:
                self._new_line()
                return
            if line is not None:
                self._asking = False
            self._fall_due()
            if line is not None:
                self._take(line)

    def tell(self, reply: Reply) -> None:
        """Tell something on our own account."""
        self._bench.tell(reply)
        self._new_line()
        self._print(reply)

    def _take(self, line: str) -> None:
        if not line.strip():
            return
        try:
            (typed,) = read_transcript([line], _SOURCE)
        except TranscriptError as error:
            warn(f"not taken: {error.what}")
            return
        self._print(self._bench.take_text(typed.text, _SOURCE))

    def _fall_due(self) -> None:
        if self._bench.lapse(_SOURCE, None):
            self.tell(self._phrases.notice("no answer"))
        for reply in self._bench.ring(_SOURCE, None, by_clock=True):
            self.tell(reply)

    def _print(self, told: Turn | Reply) -> None:
        if self._shown:
            print_turn(told)
            sys.stdout.flush()  # a program at the other end of a pipe waits for it

    def _ask(self) -> None:
        if self._shown and self._keyboard.is_terminal and not self._asking:
            print("> ", end="", flush=True)
            self._asking = True

    def _new_line(self) -> None:
        if self._asking:
            print()
            self._asking = False

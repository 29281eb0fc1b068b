"""`benchvoice type`: a session at the keyboard, for where nothing can be heard.

At a terminal nothing is printed into a line that is being typed: nobody could tell what of it still counts. A timer
that is over rings the terminal's bell, and is told once the line is ended.
"""

from __future__ import annotations

import argparse
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.console import print_turn, warn
from benchvoice.commands.finish import finished
from benchvoice.commands.given import given_files
from benchvoice.commands.greeting import greeting
from benchvoice.commands.interrupts import closed_when_interrupted, nobody_reads, watched
from benchvoice.commands.keyboard import Keyboard
from benchvoice.commands.loading import load_board, load_language, load_meter
from benchvoice.commands.opening import open_job, utc_now
from benchvoice.commands.outlet import reader_left
from benchvoice.commands.settings import job_options, load_phrasebook, on_line, open_bench, open_checklist
from benchvoice.decide.timer_log import Now
from benchvoice.errors import StorageError, TranscriptError
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.live.due import Due
from benchvoice.live.mouth import LiveMouth
from benchvoice.live.teller import Teller
from benchvoice.loop import Bench, Turn
from benchvoice.records import Reply
from benchvoice.understand.transcript import checked_line

__all__ = ["run"]

_LOOK_S = 0.2  # how often a timer is looked at while nobody types
_BELL = "\a"
_HINT = "Type what you would say. Ctrl-D stops, to go on later; 'close the job' hands the unit back."
_STOPPED = "What was typed of that line is gone."  # so terminals do it


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
        mouth = LiveMouth(None, time.monotonic)
        bench = open_bench(arguments, job, understanding=grammar, phrases=phrases, mouth=mouth)
        shown = not arguments.json
        screen = _Screen(shown=shown, prompts=shown and keyboard.is_terminal)
        teller = Teller(bench, mouth, phrases.notice, screen.notice)
        with (
            finished(arguments, job.folder, bench.close),
            closed_when_interrupted(bench.close, job.folder / JOURNAL_NAME),
        ):
            with watched() as told_to_end:
                teller.say(greeting(bench, job, phrases))
                _Session(bench, teller, keyboard, screen).run(told_to_end)
            bench.close("end of what was typed")
    return 0


class _Screen:
    """Prints the session, and asks for the next line at a terminal."""

    def __init__(self, *, shown: bool, prompts: bool) -> None:
        self._shown = shown
        self._prompts = prompts
        self._asking = False  # the prompt stands at the beginning of the line

    def ask(self) -> None:
        """Show the prompt, where it is not shown yet."""
        if self._prompts and not self._asking:
            print("> ", end="", flush=True)
            self._asking = True

    def hint(self) -> None:
        """Say at a terminal what can be done there."""
        if self._prompts:
            print(_HINT)

    def typed(self) -> None:
        """A line was ended, and with it the one of the prompt."""
        self._asking = False

    def ring(self) -> None:
        """Ring the bell, which leaves alone what is being typed."""
        if self._asking:
            print(_BELL, end="", flush=True)

    def went_on(self) -> None:
        """The program was stopped (Ctrl-Z), and goes on."""
        if self._asking:
            self.clear()
            print(_STOPPED)

    def turn(self, turn: Turn) -> None:
        """Show what was typed and its answer."""
        self._print(turn)

    def notice(self, reply: Reply) -> None:
        """Show what is told on our own account."""
        self.clear()
        self._print(reply)

    def clear(self) -> None:
        """Leave the prompt's line."""
        if self._asking:
            print()
            self._asking = False

    def _print(self, told: Turn | Reply) -> None:
        if self._shown:
            print_turn(told)
            sys.stdout.flush()  # a program at the other end of a pipe waits for it


@contextmanager
def _continued() -> Iterator[Callable[[], bool]]:
    """A function that says whether the program was stopped and goes on, since it was asked last."""
    went_on = False

    def note(*_: object) -> None:
        nonlocal went_on
        went_on = True

    def asked() -> bool:
        nonlocal went_on
        told, went_on = went_on, False
        return told

    if not hasattr(signal, "SIGCONT") or threading.current_thread() is not threading.main_thread():  # Windows has none
        yield asked
        return
    before = signal.signal(signal.SIGCONT, note)
    try:
        yield asked
    finally:
        signal.signal(signal.SIGCONT, before)


class _Session:
    """Line by line: what was typed is seen through to its answer, and what falls due is told meanwhile."""

    def __init__(self, bench: Bench, teller: Teller, keyboard: Keyboard, screen: _Screen) -> None:
        self._bench = bench
        self._teller = teller
        self._keyboard = keyboard
        self._screen = screen
        self._due = Due(bench, keyboard, teller)
        self._rung = 0  # timers that the bell was rung for

    def run(self, told_to_end: Callable[[], bool]) -> None:
        """Take lines until the job is closed, there are no more, or it is told to end.

        Raises:
            Interrupted: nobody reads the answers.
        """
        self._screen.hint()
        with _continued() as went_on:
            while not self._bench.state.closed and not told_to_end():
                if reader_left(sys.stdout):
                    raise nobody_reads()
                self._screen.ask()
                try:
                    line = self._keyboard.line(_LOOK_S)
                except EOFError:
                    break
                if went_on():
                    self._screen.went_on()
                self._step(line)
        self._screen.clear()
        self._refuse_the_rest()

    def _step(self, line: str | None) -> None:
        """See to what falls due, then to a line, if there is one."""
        if line is not None:
            self._screen.typed()
        elif self._keyboard.is_terminal:
            self._ring()
            return
        self._due.end_what_is_due(time.monotonic(), None)
        self._rung = 0
        if line is not None:
            self._take(line)

    def _ring(self) -> None:
        over = len(self._bench.state.timers.over(Now(utc_now(), by_clock=True)))
        if over > self._rung:
            self._screen.ring()
        self._rung = over

    def _take(self, line: str) -> None:
        try:
            text = checked_line(line)
            turn = self._bench.decide_text(text, self._keyboard.name) if text else None
        except TranscriptError as error:
            warn(f"not taken: {error}")
            return
        except StorageError as error:
            self._teller.not_kept(error)
            return
        if turn is not None:
            self._screen.turn(turn)
            self._teller.say_answer(turn)

    def _refuse_the_rest(self) -> None:
        """Say what was typed and is not taken: behind the session's end, or half a line."""
        try:
            while (line := self._keyboard.line(0)) is not None:
                if line.strip():
                    warn(f"not taken, the session has ended: {line}")
        except EOFError:
            if self._keyboard.unfinished:
                warn(f"not taken, its line was not ended: {self._keyboard.unfinished}")

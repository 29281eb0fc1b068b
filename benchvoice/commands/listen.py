"""`benchvoice listen`: live at the bench, with a microphone and a voice."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from typing import NamedTuple

from rich.console import Console

from benchvoice.answer.phrases import Phrasebook
from benchvoice.answer.voice import open_speaker
from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.console import warn
from benchvoice.commands.finish import finished
from benchvoice.commands.given import given_files
from benchvoice.commands.greeting import greeting
from benchvoice.commands.interrupts import closed_when_interrupted, nobody_reads, watched
from benchvoice.commands.loading import load_board, load_language, load_meter
from benchvoice.commands.opening import OpenJob, open_job, utc_now
from benchvoice.commands.outlet import reader_left
from benchvoice.commands.settings import job_options, load_phrasebook, on_line, open_bench, open_checklist, open_ears
from benchvoice.decide.timer_log import Now
from benchvoice.hear.microphone import Microphone
from benchvoice.hear.segment import Segmenter, SegmentSettings
from benchvoice.hear.speech_detector import open_detector, takes_tones_for_speech
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.live.ahead import HearingThread
from benchvoice.live.mouth import LiveMouth
from benchvoice.live.parts import Ear, LiveSettings, Speaker, Timing, Watcher
from benchvoice.live.pipeline import Live
from benchvoice.live.watch import DeviceWatch
from benchvoice.loop import Bench, Turn
from benchvoice.records import Reply
from benchvoice.screen.paint import Painter
from benchvoice.screen.view import View, after_notice, after_turn, first_view, timers_line

__all__ = ["run"]

_LAST_WORDS_S = 5.0
_SURE_SOONER_S = LiveSettings.end_wait_s - LiveSettings.end_wait_sure_s


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status, which is 0 where the job was closed by voice."""
    board = load_board(arguments.board)
    given = given_files(arguments)
    meter = load_meter(given.meter)
    checklist = open_checklist(arguments, given.checklist, arguments.board, board)
    grammar = BoardGrammar(board, meter, load_language(), arguments.attention, checklist)
    if grammar.caution:
        warn(grammar.caution)
    phrases = load_phrasebook(board)
    with ExitStack() as stack:
        microphone = Microphone(arguments.input)
        stack.callback(microphone.close)
        voice = None if arguments.quiet else open_speaker(arguments.output)
        if voice is not None:
            stack.callback(voice.close)
        ears = stack.enter_context(open_ears(arguments, grammar.vocabulary(), arguments.board, apart=True))
        options = job_options(arguments, given)
        job = stack.enter_context(
            open_job(board, meter, options, engine=ears.name, on_line=on_line(arguments), checklist=checklist)
        )
        for remark in job.remarks:
            warn(remark)
        mouth = LiveMouth(voice, time.monotonic)
        bench = open_bench(arguments, job, understanding=grammar, phrases=phrases, mouth=mouth, ears=ears)
        parts = _Parts(bench, microphone, mouth, phrases, job)
        with (
            finished(arguments, job.folder, bench.close),
            _last_words(voice),
            closed_when_interrupted(bench.close, job.folder / JOURNAL_NAME),
        ):
            _listen(arguments, parts)
    return 0


class _Parts(NamedTuple):
    """What a session is made of."""

    bench: Bench
    microphone: Microphone
    mouth: LiveMouth
    phrases: Phrasebook
    job: OpenJob


def _listen(arguments: argparse.Namespace, parts: _Parts) -> None:
    detector = open_detector()
    settings = LiveSettings(
        end_wait_s=arguments.end_wait,
        end_wait_whole_s=min(LiveSettings.end_wait_whole_s, arguments.end_wait),
        end_wait_sure_s=max(LiveSettings.end_wait_sure_s, arguments.end_wait - _SURE_SOONER_S),
        headset=arguments.headset,
        tones_unheard=not takes_tones_for_speech(detector),
    )
    watch = DeviceWatch(parts.microphone, parts.mouth, time.monotonic, time.time)
    with watched() as told_to_end, HearingThread(parts.bench, time.monotonic) as hearing:
        hearing.get_ready()
        with _watcher(arguments, parts) as watcher:  # only now it listens, and may say so
            live = Live(
                parts.bench,
                parts.microphone,
                Segmenter(detector, SegmentSettings(end_wait_s=settings.end_wait_s)),
                parts.mouth,
                notices=parts.phrases.notice,
                watcher=watcher,
                hearing=hearing,
                watch=watch,
                monotonic=time.monotonic,
                settings=settings,
            )
            live.greet(greeting(parts.bench, parts.job, parts.phrases))
            live.run(lambda: told_to_end() or reader_left(sys.stdout))
    if reader_left(sys.stdout) and not parts.bench.state.closed:
        raise nobody_reads()


@contextmanager
def _last_words(voice: Speaker | None) -> Iterator[None]:
    """Let what is said last come to its end, but not for long: nobody may be kept waiting by a device."""
    try:
        yield
    finally:
        until_s = time.monotonic() + _LAST_WORDS_S
        while voice is not None and voice.speaking and time.monotonic() < until_s:
            time.sleep(0.02)
        if voice is not None:
            voice.stop()


# --- what is shown ------------------------------------------------------------------------------------------------
@contextmanager
def _watcher(arguments: argparse.Namespace, parts: _Parts) -> Iterator[Watcher]:
    if arguments.json:
        yield _Nobody()
        return
    with Painter(Console(file=sys.stdout), plain=arguments.plain) as painter:
        yield _Screen(painter, parts.bench, parts.job)


class _Nobody:
    """Shows nothing: the journal's lines are printed."""

    def turn(self, turn: Turn, timing: Timing) -> None:
        """Show nothing."""

    def notice(self, reply: Reply) -> None:
        """Show nothing."""

    def ear(self, ear: Ear) -> None:
        """Show nothing."""


class _Screen:
    """Shows the session on a terminal, or in lines."""

    def __init__(self, painter: Painter, bench: Bench, job: OpenJob) -> None:
        self._painter = painter
        self._bench = bench
        journal = job.folder / JOURNAL_NAME
        visit = f", visit {bench.state.visit}" if bench.state.visit > 1 else ""
        self._view = first_view(bench.state, job=f"{job.folder.name}{visit}", journal=str(journal))
        self._painter.show(self._view)

    def turn(self, turn: Turn, timing: Timing) -> None:  # noqa: ARG002
        """Show a turn."""
        self._show(after_turn(self._view, turn, self._bench.state))

    def notice(self, reply: Reply) -> None:
        """Show what was said on our own account."""
        self._show(after_notice(self._view, reply, self._bench.state))

    def ear(self, ear: Ear) -> None:
        """Show the state of the ears."""
        timers = timers_line(self._bench.state, Now(utc_now()))
        view = replace(self._view, ear=ear.state, why=ear.why, timers=timers)
        self._show(replace(view, level_dbfs=ear.level_dbfs, noise_dbfs=ear.noise_dbfs))

    def _show(self, view: View) -> None:
        self._view = view
        self._painter.show(view)

"""Hearing a corpus for `benchvoice score`: each recording through the path of `hear`, by several processes at once."""

from __future__ import annotations

import argparse
import multiprocessing
import signal
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, redirect_stderr
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import NamedTuple

from benchvoice import __version__
from benchvoice.answer.phrases import Phrasebook
from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.corpus import CorpusLine, Meant, meant_by
from benchvoice.commands.listening import utterances
from benchvoice.commands.loading import load_board, load_checklist, load_language, load_meter
from benchvoice.commands.opening import utc_now
from benchvoice.commands.settings import SilentMouth, load_phrasebook, open_ears
from benchvoice.decide import session
from benchvoice.decide.checklist_steps import Checklist
from benchvoice.decide.profile import Board, Meter
from benchvoice.errors import AudioError, CorpusError, ModelError
from benchvoice.events import Acknowledged, ChecklistStep, Command, Event, Note, Reading, TimerStarted
from benchvoice.hear.panel import Panel
from benchvoice.hear.person import panel_like
from benchvoice.hear.remembering import remembering
from benchvoice.loop import Bench, Turn
from benchvoice.records import (
    NOTHING_ASKED,
    CommandIntent,
    Context,
    Outcome,
    Samples,
    SpokenValue,
    Utterance,
    WorkIntent,
)
from benchvoice.scoring.sweep import SETTINGS, arbiter_set_to, set_to
from benchvoice.scoring.tallies import Scored, words_wrong
from benchvoice.spelling import name_in_words

__all__ = ["Rooms", "Scorer", "heard_apart", "read_rooms"]

_NARROW = "narrow band"
_BEFORE = "said before"
"""The source of what was said before a recording: another than the recording, whose seconds begin anew."""


class _Nowhere:
    """Keeps nothing: scoring leaves no job behind."""

    def append(self, events: tuple[Event, ...]) -> None:
        pass

    def keep_clip(self, seq: int, samples: Samples) -> str:  # noqa: ARG002
        raise ValueError("scoring keeps no clips")


class Rooms(NamedTuple):
    """What understands and answers about one board."""

    board: Board
    meter: Meter | None
    grammar: BoardGrammar
    phrases: Phrasebook
    checklist: Checklist | None = None

    def context_after(self, after: tuple[str, ...]) -> Context:
        """What may be said after some sentences of a session, which are typed.

        Raises:
            ValueError: one of them is not taken; names it.
        """
        return self.bench(None, after).context if after or self.checklist else Context()

    def bench(self, ears: Panel | None, after: tuple[str, ...] = ()) -> Bench:
        """A session of its own that keeps nothing, so that nothing but `after` changes what is said to it.

        Raises:
            ValueError: a sentence of `after` is not taken; names it.
        """
        engine = "text" if ears is None else ears.name
        state, _ = session.open_session(
            self.board,
            self.meter,
            at=utc_now(),
            job="score",
            engine=engine,
            version=__version__,
            checklist=self.checklist,
        )
        bench = Bench(
            state,
            understanding=self.grammar,
            phrases=self.phrases,
            mouth=SilentMouth(),
            keeper=_Nowhere(),
            clock=utc_now,
            ears=ears,
            clips=False,
        )
        for text in after:
            turn = bench.take_text(text, _BEFORE)
            if turn.decision.outcome is not Outcome.ACCEPTED:
                raise ValueError(f"'{text}' is {turn.decision.outcome.value}: {turn.decision.why}".rstrip(": "))
            if bench.state.closed:
                raise ValueError(f"'{text}' ends the session")
        return bench


def read_rooms(board_file: Path, meter_file: Path | None, checklist_file: Path | None = None) -> Rooms:
    """The rooms of a board, which go through a checklist only where one is named.

    Raises:
        BenchvoiceError: its files cannot be had.
    """
    board, meter = load_board(board_file), load_meter(meter_file)
    loaded = None if checklist_file is None else load_checklist(checklist_file, board_file, board)
    checklist = None if loaded is None else loaded[0]
    grammar = BoardGrammar(board, meter, load_language(), checklist=checklist)
    return Rooms(board, meter, grammar, load_phrasebook(board), checklist)


class Scorer:
    """Hears one recording after another; to be closed after use.

    Args:
        arguments: the command's options.
        rooms: of the board that the corpus was spoken for.
        ears: what hears; closed with this.
    """

    def __init__(self, arguments: argparse.Namespace, rooms: Rooms, ears: Panel) -> None:
        self._corpus = arguments.corpus
        self._rooms = rooms
        self._ears = ears
        self._panel, self._others = self._ears, []
        if arguments.sweep is not None:
            # every setting judges the same hearings; only what a setting alone needs to know is heard for it
            self._memory, voters, arbiter = remembering(self._ears.voters, self._ears.arbiter)
            self._panel = panel_like(self._ears, voters, arbiter)
            self._others = [
                panel_like(ears, [set_to(voter, setting) for voter in voters], arbiter_set_to(arbiter, setting))
                for setting in SETTINGS
            ]

    def close(self) -> None:
        for panel in self._others:
            panel.close()
        if self._panel is not self._ears:
            self._panel.close()
        self._ears.close()

    def score(self, line: CorpusLine) -> Scored:
        """One recording's result.

        Raises:
            CorpusError: nothing of the recording can be decoded; names the corpus and its line.
        """
        began = time.perf_counter()
        try:
            heard = list(utterances(line.recording, watched=False))
        except AudioError as error:
            what = f"{line.audio}: {error.what}"
            raise CorpusError(what, file=self._corpus, line=line.number, field="audio", cure=error.cure) from None
        turns = self._turns(self._panel, line, heard)
        scored = replace(_judge(line, turns), took_s=time.perf_counter() - began)
        if self._others:
            sweep = tuple(_judge(line, self._turns(panel, line, heard)).result for panel in self._others)
            scored = replace(scored, sweep=sweep)
            self._memory.clear()
        return scored

    def _turns(self, ears: Panel, line: CorpusLine, heard: Sequence[Utterance]) -> list[Turn]:
        bench = self._rooms.bench(ears, line.after)
        remarks = (_NARROW,) if line.recording.narrow_band else ()
        return [bench.take_utterance(utterance, line.audio, remarks) for utterance in heard]


# --- judging ------------------------------------------------------------------------------------------------------
def _judge(line: CorpusLine, turns: list[Turn]) -> Scored:
    texts = [turn.hearing.transcript.text for turn in turns if turn.hearing.transcript.text]
    taken = [meant for turn in turns for meant in _taken(turn)]
    offers = [offer for turn in turns if turn.decision.outcome is Outcome.ASKED for offer in _offered(turn)]
    named = ""
    if taken:
        result = _result_of(taken, line.meant)
        named = " and ".join(map(str, taken))
    elif any(turn.decision.outcome is Outcome.ASKED for turn in turns):
        result = "asked"
        named = _named(line, offers[0]) if offers else ""
    else:
        result = "ignored" if line.meant else "right"
    wrong, words = words_wrong(line.words, " ".join(texts)) if line.meant else (0, 0)
    return Scored(
        line.audio,
        line.text,
        " / ".join(texts),
        result,
        str(line.meant[0]) if line.meant else "",
        named if result != "right" else "",
        "" if result == "right" else _why(turns),
        line.speaker,
        line.noise,
        line.kind,
        line.talk,
        wrong,
        words,
        _remarks(line, turns),
        sound_s=line.recording.duration_s,
    )


def _result_of(taken: Sequence[Meant], meant: Sequence[Meant]) -> str:
    if len(taken) == 1 and taken[0] in meant:
        return "right"
    fewer = len(taken) == 1 and any(_fewer_digits(taken[0], right) for right in meant)
    return "fewer digits" if fewer else "accepted wrong"


def _fewer_digits(taken: Meant, meant: Meant) -> bool:
    """Whether a value is the one that was meant but for noughts that its decimals end with."""
    if replace(taken, value="") != replace(meant, value="") or not taken.unit:
        return False
    values = [SpokenValue(each.value, each.unit) for each in (taken, meant)]
    same = values[0].without_noughts == values[1].without_noughts
    return same and len(taken.value) < len(meant.value)


def _why(turns: list[Turn]) -> str:
    """Why it was not simply taken, by the first utterance that was not."""
    said = (turn.decision.why for turn in turns if turn.decision.outcome is not Outcome.ACCEPTED)
    return next(filter(None, said), "")


def _remarks(line: CorpusLine, turns: list[Turn]) -> tuple[str, ...]:
    """What is wrong with the recording; a narrow band is known by its rate, or heard."""
    heard = any(_NARROW in turn.hearing.remarks for turn in turns) and not line.recording.narrow_band
    return (*line.recording.remarks, _NARROW) if heard else line.recording.remarks


def _named(line: CorpusLine, offer: Meant) -> str:
    """The offer in words; where it is one of what may be right, in those of the first of them."""
    return str(line.meant[0] if offer in line.meant else offer)


def _taken(turn: Turn) -> Iterator[Meant]:
    """What one utterance was taken for without asking."""
    for event in turn.events:
        match event:
            case Reading(follows_from=()):  # what is computed from it was not said
                yield Meant(point=event.point, value=event.value, unit=event.unit)
            case Command() if turn.decision.work is None and not turn.decision.about.endswith("timers"):
                yield _commanded(turn, event)
            case ChecklistStep(action="answered") if _first_command(turn) == "choice":
                yield Meant(command="choice", detail=name_in_words(event.outcome) or "")
            case Note():
                yield Meant(note=event.text)
            case TimerStarted():
                value = SpokenValue(str(event.seconds), "s", unit_said=True)
                yield from meant_by([WorkIntent("timer", text=_named_as(event.name), value=value)])
            case Acknowledged():
                yield Meant(command="understood")
    of_timers = "timer stop", "timers", "no timers"  # these are told, and keep nothing that says what was heard
    if turn.decision.outcome is Outcome.ACCEPTED and turn.decision.about in of_timers:
        yield from meant_by(turn.hearing.parses[0].intents[:1])
    if turn.decision.outcome is Outcome.ACCEPTED and turn.decision.work is not None:
        yield from meant_by([_as_said(turn.decision.work.intent)])
    of_no_use = turn.decision.about in ("refused", "not closed") or turn.decision.why == NOTHING_ASKED
    if turn.decision.outcome is Outcome.IGNORED and of_no_use:
        # what cannot be carried out just now ("strike that", "because it is lost") was heard all the same
        heard = turn.hearing.parses[0].intents
        yield from meant_by(intent for intent in heard if isinstance(intent, CommandIntent | WorkIntent))


def _first_command(turn: Turn) -> str:
    """The name of the command that an utterance was understood as; "" for none."""
    intents = turn.hearing.parses[0].intents if turn.hearing.parses else ()
    return next((intent.name for intent in intents if isinstance(intent, CommandIntent)), "")


def _commanded(turn: Turn, event: Command) -> Meant:
    """A command as it was said, with what it names of a checklist: kept with the step that it led to."""
    name: str = "reason" if _first_command(turn) == "reason" else event.name
    steps = (step for step in turn.events if isinstance(step, ChecklistStep))
    detail = next((step.outcome if step.action == "jumped" else step.reason for step in steps), "")
    return Meant(point=event.point or "", command=name, detail=detail)


def _as_said(intent: WorkIntent) -> WorkIntent:
    """The work without what the board says of a part, and a part's value without the part that is in hand."""
    if intent.thing is None:
        return intent
    in_hand = intent.act in ("value", "part number")
    return replace(intent, thing=None if in_hand else replace(intent.thing, what=""))


def _named_as(name: str) -> str:
    """A timer's name as it is said: the one that is called just timer has none."""
    return "" if name == "timer" else name


def _offered(turn: Turn) -> tuple[Meant, ...]:
    """What a question puts first, in every way that its first words can be meant."""
    if turn.decision.candidates:
        first = turn.decision.candidates[0]
        if first.point is not None and first.value is not None:
            return (Meant(point=first.point, value=first.value.digits, unit=first.value.unit),)
        if first.work is not None and first.work.act == "serial":
            return (Meant(serial=first.work.text),)
    return meant_by(turn.hearing.parses[0].intents) if turn.hearing.parses else ()


# --- several processes --------------------------------------------------------------------------------------------
_worker: list[argparse.Namespace | Scorer] = []


def heard_apart(arguments: argparse.Namespace, lines: Sequence[CorpusLine], workers: int) -> Iterator[Scored]:
    """Every recording's result, in the corpus's order, heard by so many processes at once.

    What a recogniser heard before changes nothing, so the results are the same however many processes there are.

    Raises:
        BenchvoiceError: as a process met it; of several the first in the corpus's order.
        ModelError: a process died.
    """
    before = set(multiprocessing.active_children())
    # started anew, not forked: engines have threads
    pool = ProcessPoolExecutor(workers, multiprocessing.get_context("spawn"), _begin, (arguments,))
    finished = False
    try:
        with _no_signals():
            results = pool.map(_score, lines)
        yield from results
        finished = True
    except BrokenProcessPool:
        cure = "Try fewer with --workers; memory may have run out"
        raise ModelError("a process that was hearing ended by itself", cure=cure) from None
    finally:
        if not finished:  # whatever they are at, nobody waits for it
            for child in set(multiprocessing.active_children()) - before:
                child.terminate()
        pool.shutdown(cancel_futures=True)


def _begin(arguments: argparse.Namespace) -> None:
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # Ctrl-C reaches every process: this one ends without a word
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    _worker[:] = [arguments]


def _score(line: CorpusLine) -> Scored:
    scorer = _worker[0]
    if not isinstance(scorer, Scorer):  # here, where an error becomes the command's
        with redirect_stderr(StringIO()):  # the first process has said what there is to say
            rooms = read_rooms(scorer.board, scorer.meter, scorer.checklist)
            scorer = Scorer(scorer, rooms, open_ears(scorer, rooms.grammar.vocabulary(), scorer.board))
        _worker[:] = [scorer]
    return scorer.score(line)


@contextmanager
def _no_signals() -> Iterator[None]:
    """Processes started meanwhile know no Ctrl-C until they can end without a traceback."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)

"""`benchvoice hear`: recordings taken as if they came from the microphone."""

from __future__ import annotations

import argparse
from pathlib import Path

from benchvoice.commands.board_grammar import BoardGrammar
from benchvoice.commands.console import print_turn, warn
from benchvoice.commands.finish import finish_job
from benchvoice.commands.first_step import first_step
from benchvoice.commands.given import GivenFiles, given_files
from benchvoice.commands.interrupts import closed_when_interrupted
from benchvoice.commands.listening import check_recordings, hear_all
from benchvoice.commands.loading import load_board, load_language, load_meter
from benchvoice.commands.opening import open_job
from benchvoice.commands.settings import (
    check_replies,
    job_options,
    load_phrasebook,
    on_line,
    open_bench,
    open_checklist,
    open_ears,
    open_mouth,
    replies_file,
)
from benchvoice.keep.journal import JOURNAL_NAME

__all__ = ["hear_recordings", "run"]


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    return hear_recordings(arguments, arguments.board, given_files(arguments), arguments.audio)


def hear_recordings(arguments: argparse.Namespace, board_file: Path, given: GivenFiles, audio: list[str]) -> int:
    """Hear `audio` for the board in `board_file`, keep the job and print it as the options say."""
    board = load_board(board_file)
    meter = load_meter(given.meter)
    recordings = check_recordings(audio)
    check_replies(arguments, board_file, given.meter, given.checklist, *audio)
    checklist = open_checklist(arguments, given.checklist, board_file, board)
    grammar = BoardGrammar(board, meter, load_language(), arguments.attention, checklist)
    if grammar.caution:
        warn(grammar.caution)
    phrases = load_phrasebook(board)
    with (
        open_ears(arguments, grammar.vocabulary(), board_file) as ears,
        open_job(
            board,
            meter,
            job_options(arguments, given),
            engine=ears.name,
            on_line=on_line(arguments),
            checklist=checklist,
        ) as job,
        open_mouth(replies_file(arguments, job.folder)) as mouth,
    ):
        bench = open_bench(arguments, job, understanding=grammar, phrases=phrases, mouth=mouth, ears=ears)
        with closed_when_interrupted(bench.close, job.folder / JOURNAL_NAME):
            for remark in job.remarks:
                warn(remark)
            shown = not (arguments.json or arguments.quiet)
            first = first_step(bench, phrases)
            if shown and first is not None:
                print_turn(first)
            for turn in hear_all(bench, recordings):
                if shown:
                    print_turn(turn)
            bench.close("end of the recording")
            finish_job(arguments, job.folder)
    return 0

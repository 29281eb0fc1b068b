"""Recordings cut into utterances and seen through to their answers, with progress."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from benchvoice.commands.console import progress, warn
from benchvoice.hear.audio import Recording, raw_blocks
from benchvoice.hear.segment import Segmenter
from benchvoice.hear.speech_detector import open_detector
from benchvoice.loop import Bench, Turn
from benchvoice.records import AudioBlock, Outcome, Reply, Utterance

__all__ = ["STANDARD_INPUT", "check_recordings", "hear_all", "utterances"]

STANDARD_INPUT = "-"
"""The name under which raw sound is read from standard input."""


def check_recordings(names: list[str]) -> list[Recording | None]:
    """Every recording opened by its header, before any of them is heard; None stands for standard input.

    Raises:
        AudioError: one cannot be used; nothing was begun.
    """
    return [None if name == STANDARD_INPUT else Recording(Path(name)) for name in names]


def hear_all(bench: Bench, recordings: list[Recording | None]) -> Iterator[Turn | Reply]:
    """Every utterance of every recording, in order, seen through to its answer; and what is said of timers between."""
    for recording in recordings:
        source = "standard input" if recording is None else recording.path.name
        remarks = ("narrow band",) if recording is not None and recording.narrow_band else ()
        cut = False
        for utterance in utterances(recording):
            yield from bench.announce(source, utterance.start_s)
            turn = bench.take_utterance(utterance, source, remarks)
            cut = utterance.cut and turn.decision.outcome is Outcome.ASKED
            yield turn
        if cut:
            why = "what was said last is asked, since the sound ends with it"
            warn(f"{source}: {why}. Leave a second of quiet after it.")
        if recording is not None:
            yield from bench.announce(source, recording.duration_s)
        for remark in () if recording is None else recording.remarks:
            warn(f"{source}: {remark}")


def utterances(recording: Recording | None, *, watched: bool = True) -> Iterator[Utterance]:
    """The utterances of a recording, or of standard input; with a progress bar where `watched`."""
    segmenter = Segmenter(open_detector())
    for block in _blocks(recording, watched=watched):
        yield from segmenter.feed(block)
    yield from segmenter.finish()


def _blocks(recording: Recording | None, *, watched: bool) -> Iterator[AudioBlock]:
    if recording is None:
        return raw_blocks()
    return _watched(recording) if watched else recording.blocks()


def _watched(recording: Recording) -> Iterator[AudioBlock]:
    with progress(f"hearing {recording.path.name}") as show:
        for block in recording.blocks():
            show(block.start_s, recording.duration_s)
            yield block

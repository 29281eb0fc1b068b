"""What the commands print: one utterance after another, and a job's readings at the end."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from rich import box
from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table

from benchvoice.keep.record_models import JobRecord, ReadingRecord
from benchvoice.loop import Turn
from benchvoice.records import Outcome, Transcript
from benchvoice.screen.view import SIGNS

__all__ = ["clock", "limits_text", "print_paths", "print_record", "print_turn", "progress", "warn"]

_WIDTH = 100


def clock(seconds: float | None) -> str:
    """Seconds from the start as minutes and seconds, "1:05"; blank where not known."""
    return "" if seconds is None else f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def warn(text: str) -> None:
    """A line for the user on standard error, so that standard output holds only the result."""
    print(f"benchvoice: {text}", file=sys.stderr)


def print_turn(turn: Turn) -> None:
    """What was heard, what was answered, and the sign of its statement."""
    if turn.decision.outcome is Outcome.IGNORED and not turn.reply.text:
        print(f"{clock(turn.hearing.start_s):>6}     ({_ignored(turn.hearing.transcript, turn.decision.why)})")
        return
    verdict = turn.decision.verdict
    sign = "?" if turn.decision.outcome is Outcome.ASKED else SIGNS[verdict.statement] if verdict else ""
    print(f"{clock(turn.hearing.start_s):>6}     {turn.hearing.transcript.text}")
    print(f"{sign:>10} {turn.reply.text}")


def _ignored(transcript: Transcript, why: str) -> str:
    return f"ignored: {why}" if why else f"ignored: {transcript.why or 'not a sentence of the bench'}"


def print_record(record: JobRecord) -> None:
    """A table of the current readings, before beside after, and what is missing."""
    table = Table(box=box.SIMPLE_HEAD, title=escape(f"{record.board} · job {record.job}"), title_justify="left")
    for heading in ("point", "limits", "before the repair", "after the repair"):
        table.add_column(heading)
    for point in record.points:
        if point.before is None and point.after is None:
            continue
        limits = limits_text(point.low, point.high, point.unit)
        table.add_row(escape(point.name), limits, _reading(point.before), _reading(point.after))
    console = Console(width=_WIDTH, highlight=False, color_system=None)
    console.print(table)
    for missing in record.not_read:
        if missing.points:
            console.print(escape(f"Not read {missing.stage} the repair: {', '.join(missing.points)}"))
    for note in record.notes:
        console.print(escape(f"Note: {note.text}" + ("" if note.verified else " (unverified, hear the clip)")))


def limits_text(low: str | None, high: str | None, unit: str) -> str:
    if low is not None and high is not None:
        return f"{low} … {high} {unit}".rstrip()
    if low is not None:
        return f"at least {low} {unit}".rstrip()
    return "" if high is None else f"at most {high} {unit}".rstrip()


def _reading(reading: ReadingRecord | None) -> str:
    if reading is None:
        return ""
    value = f"{reading.value} {reading.unit}".rstrip()
    direction = f", {reading.direction}" if reading.direction else ""
    return f"{value}  {reading.statement}{direction}"


def print_paths(paths: Iterable[Path]) -> None:
    """Where the files lie that were written."""
    for path in paths:
        print(path)


@contextmanager
def progress(about: str) -> Iterator[Callable[[float, float], None]]:
    """A bar on standard error, moved by calling what it gives with how much is done of how much in all.

    Nothing is shown where nobody watches.
    """
    bar = Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        disable=not sys.stderr.isatty(),
        transient=True,
    )
    with bar:
        task = bar.add_task(about, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)

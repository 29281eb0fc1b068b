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

from benchvoice.answer.computed import worst_statement
from benchvoice.keep import wording
from benchvoice.keep.record_handover import CheckRecord
from benchvoice.keep.record_models import JobSummary, QuestionRecord, ReadingRecord, RecordedNote, Row, TakenOut
from benchvoice.loop import Turn
from benchvoice.records import Outcome, Reply, Transcript, Trust
from benchvoice.screen.view import SIGNS

__all__ = ["RecordPrinter", "clock", "limits_text", "print_paths", "print_table", "print_turn", "progress",
           "warn"]  # fmt: skip

_WIDTH = 100


def clock(seconds: float | None) -> str:
    """Seconds from the start as minutes and seconds, "1:05"; blank where not known."""
    return "" if seconds is None else f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def warn(text: str) -> None:
    """A line for the user on standard error, so that standard output holds only the result."""
    print(f"benchvoice: {text}", file=sys.stderr)


def print_turn(turn: Turn | Reply) -> None:
    """What was heard, what was answered, and the sign of its statement; or what was said on our own account."""
    if isinstance(turn, Reply):
        print(f"{'':>10} {turn.text}")
        return
    if turn.decision.outcome is Outcome.IGNORED and not turn.reply.text:
        transcript = turn.hearing.transcript
        typed = f"{transcript.free or transcript.text}  " if transcript.trust is Trust.TYPED else ""
        print(f"{clock(turn.hearing.start_s):>6}     {typed}({_ignored(transcript, turn.decision.why)})")
        return
    judged = turn.decision.verdict is not None
    sign = "?" if turn.decision.outcome is Outcome.ASKED else SIGNS[worst_statement(turn.decision)] if judged else ""
    print(f"{clock(turn.hearing.start_s):>6}     {turn.hearing.transcript.text}")
    print(f"{sign:>10} {turn.reply.text}")


def _ignored(transcript: Transcript, why: str) -> str:
    return f"ignored: {why}" if why else f"ignored: {transcript.why or 'not a sentence of the bench'}"


class RecordPrinter:
    """Prints a record: the current readings, what is missing, the notes, and the questions without an answer.

    It is given every row before the summary, and holds only what it will print.
    """

    MOST = 20
    """Notes, and questions, that are printed; the rest is in the record."""

    def __init__(self) -> None:
        self._notes: list[str] = []
        self._unanswered: list[str] = []
        self._n_notes = 0
        self._n_unanswered = 0

    def take(self, row: Row) -> None:
        """The next row of the record."""
        if isinstance(row, RecordedNote) and row.status == "counts":
            self._n_notes += 1
            if self._n_notes <= self.MOST:
                self._notes.append(row.text + ("" if row.verified else " (unverified, hear the clip)"))
        elif isinstance(row, QuestionRecord) and row.ended in ("lapsed", "open"):
            self._n_unanswered += 1
            if self._n_unanswered <= self.MOST:
                self._unanswered.append(f"{row.question} ({row.why_ended or 'still open'}; heard: {row.heard_text})")

    def print(self, summary: JobSummary) -> None:
        """A table of the current readings, before beside after, and what is missing."""
        table = Table(box=box.SIMPLE_HEAD, title=escape(_title(summary)), title_justify="left")
        for heading in ("point", "limits", "before the repair", "after the repair"):
            table.add_column(heading)
        for point in summary.points:
            if point.before is not None or point.after is not None:
                limits = point.expected or limits_text(point.low, point.high, point.unit)
                name = f"{point.name} (computed)" if point.computed else point.name
                table.add_row(escape(name), limits, _reading(point.before), _reading(point.after))
        console = _console(_WIDTH)
        console.print(table)
        lines = [f"Not read {gap.stage} the repair: {', '.join(gap.points)}" for gap in summary.not_read if gap.points]
        if summary.measure_again:
            lines.append(f"To measure again after the repair: {', '.join(summary.measure_again)}")
        lines += [f"Unlike: {wording.unlike_text(found)}" for found in summary.unlike]
        lines += [f"Still out: {_left(row)}" for row in summary.strip_down if row.status in ("still out", "left out")]
        lines += [f"Check not passed: {_unproven(check)}" for check in summary.checks if not _is_proven(check)]
        lines += [f"Note: {text}" for text in self._notes]
        if self._n_notes > self.MOST:
            lines.append(f"{self._n_notes - self.MOST} more notes are in the record.")
        if self._n_unanswered:
            lines.append(f"Questions without an answer: {self._n_unanswered}")
        lines += [f"  {text}" for text in self._unanswered]
        if self._n_unanswered > self.MOST:
            lines.append(f"  {self._n_unanswered - self.MOST} more are in the record.")
        for line in lines:
            console.print(escape(line))


def _title(summary: JobSummary) -> str:
    visit = f", visit {summary.visit}" if summary.visit > 1 else ""
    return f"{summary.board} · job {summary.job}{visit}"


def _is_proven(check: CheckRecord) -> bool:
    return check.proven or check.status == "does not apply"


def _unproven(check: CheckRecord) -> str:
    told = check.outdated if check.status in ("passed", "noted") else check.status
    return f"{check.step} ({', '.join(filter(None, (told, check.outcome, check.reason)))})"


def print_table(table: Table, width: int = _WIDTH) -> None:
    """A table on standard output, without colours, at most `width` characters wide."""
    _console(width).print(table)


def _console(width: int) -> Console:
    return Console(width=width, highlight=False, color_system=None)


def limits_text(low: str | None, high: str | None, unit: str) -> str:
    """A point's limits as plain text; blank where there are none."""
    return "" if low is None and high is None else wording.limits_text(low, high, unit, write=_plain)


def _plain(value: str, unit: str) -> str:
    """A number and its unit in characters that every terminal has, and that can be searched for."""
    return f"{value} {unit}".rstrip()


def _left(row: TakenOut) -> str:
    """What is still out of the unit, and why, where that was said."""
    out = row.count - row.back
    name = f"{out} of {row.count} x {row.name}" if row.kind == "fastener" else row.name
    return ", ".join(filter(None, (name, row.size, row.length, row.place, row.what, row.why)))


def _reading(reading: ReadingRecord | None) -> str:
    if reading is None:
        return ""
    over = reading.value == "over range"
    value = reading.value if over else " ".join(filter(None, (_plain(reading.value, reading.unit), reading.waveform)))
    return f"{value}  {wording.verdict_text(reading)}"


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

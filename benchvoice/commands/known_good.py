"""`--known-good`: the readings of a known-good board's job, with which those of this one are compared."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from benchvoice.commands.job_folder import job_folder
from benchvoice.errors import BenchvoiceError
from benchvoice.events import KnownGood, KnownGoodReading
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.keep.journal_reader import JournalReader
from benchvoice.keep.record import JobFold
from benchvoice.keep.record_compare import BEFORE_ONLY
from benchvoice.keep.record_models import JobSummary, PointRecord
from benchvoice.records import Statement

__all__ = ["load_known_good"]


_FAILS = (Statement.CONDITIONAL_FAIL, Statement.FAIL)
_CHANGES = ("mended", "method", "cleaned")
"""What of rework leaves the unit another than it was read before."""


def load_known_good(named: str, jobs: Path, warn: Callable[[str], None]) -> KnownGood:
    """What was read last at each point of the job that shows a good unit, in its latest visit.

    A unit that was repaired was good after that alone. What fails is left out, and so is what was read before the last
    repair of it.

    Args:
        named: the job's name, or its folder.
        jobs: the folder of all jobs.
        warn: told of points that are left out because they fail.

    Raises:
        JournalError: there is no such job, or its journal is damaged.
        BenchvoiceError: nothing was read in it that shows a good unit.
    """
    journal = job_folder(named, jobs) / JOURNAL_NAME
    folding = JobFold(JournalReader(journal))
    for _ in folding.rows():
        pass
    summary = folding.summary()
    repaired = _is_repaired(summary)
    standing = [(point, point.after if repaired else point.before) for point in summary.points]
    proven = [(point, read) for point, read in standing if read and not (repaired and _is_outdated(point))]
    failing = [point.name for point, read in proven if read.statement in _FAILS]
    if failing:
        warn(f"of the known-good job '{summary.job}' is left out what fails in it: {', '.join(failing)}")
    kept = tuple(
        KnownGoodReading(
            point=point.name,
            value=read.value,
            unit=read.unit,
            uncertainty=read.uncertainty,
            waveform=read.waveform,
        )
        for point, read in proven
        if read.statement not in _FAILS
    )
    if not kept:
        what = "no reading after the repair shows a good unit" if repaired else "no reading counts in it"
        raise BenchvoiceError(what, file=journal, cure="Name a job in which a good unit was read")
    return KnownGood(job=summary.job, board=summary.board, readings=kept)


def _is_repaired(summary: JobSummary) -> bool:
    reworked = any(each.act in _CHANGES for each in summary.rework)
    return bool(summary.parts_used) or "after" in summary.stages or reworked


def _is_outdated(point: PointRecord) -> bool:
    """Whether the unit was worked on since the reading."""
    return any(lack not in BEFORE_ONLY for lack in point.lacks)

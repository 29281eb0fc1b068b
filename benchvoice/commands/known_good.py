"""`--known-good`: the readings of a known-good board's job, with which those of this one are compared."""

from __future__ import annotations

from pathlib import Path

from benchvoice.commands.job_folder import job_folder
from benchvoice.errors import BenchvoiceError
from benchvoice.events import KnownGood, KnownGoodReading
from benchvoice.keep.journal import JOURNAL_NAME
from benchvoice.keep.journal_reader import JournalReader
from benchvoice.keep.record import JobFold

__all__ = ["load_known_good"]


def load_known_good(named: str, jobs: Path) -> KnownGood:
    """What was read last at each point of the job, in its latest visit.

    Args:
        named: the job's name, or its folder.
        jobs: the folder of all jobs.

    Raises:
        JournalError: there is no such job, or its journal is damaged.
        BenchvoiceError: nothing was read in it.
    """
    journal = job_folder(named, jobs) / JOURNAL_NAME
    folding = JobFold(JournalReader(journal))
    for _ in folding.rows():
        pass
    summary = folding.summary()
    readings = [(point.name, point.after or point.before) for point in summary.points]
    kept = tuple(
        KnownGoodReading(point=name, value=read.value, unit=read.unit, uncertainty=read.uncertainty)
        for name, read in readings
        if read is not None
    )
    if not kept:
        raise BenchvoiceError("no reading counts in it", file=journal, cure="Name a job in which a good unit was read")
    return KnownGood(job=summary.job, board=summary.board, readings=kept)

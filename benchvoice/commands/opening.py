"""Opening a job's folder: made, or taken up where its journal ends."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from benchvoice import __version__
from benchvoice.commands.given import GivenFiles, keep_given
from benchvoice.decide import session
from benchvoice.decide.checklist_steps import Checklist
from benchvoice.decide.intake_log import same_serial
from benchvoice.decide.profile import Board, Meter
from benchvoice.decide.visits import EarlierVisit, Visits
from benchvoice.errors import JournalError, StorageError
from benchvoice.events import ChecklistStep, Event, KnownGood, Opened
from benchvoice.keep.clips import keep_clip
from benchvoice.keep.journal import JOURNAL_NAME, Journal
from benchvoice.records import Samples

__all__ = ["JobOptions", "OpenJob", "checked_name", "open_job", "utc_now"]


def utc_now() -> datetime:
    """The present time, UTC."""
    return datetime.now(UTC)


def _utc_offset_min() -> int | None:
    """Minutes by which the clock on the wall is ahead of UTC; None where the system does not know."""
    offset = datetime.now().astimezone().utcoffset()
    return None if offset is None else round(offset.total_seconds() / 60)


@dataclass(frozen=True)
class JobOptions:
    """Which job, and what is known about the unit.

    Attributes:
        jobs: the folder that holds all jobs.
        job: the job's name; None makes one of date, time and board.
        came_back: whether the unit came back, so that a visit of its own begins; after a job that was closed by voice
            it does so without being told.
        given: the files that it is opened with; copies are kept with it.
        known_good: the readings of a known-good board.
    """

    jobs: Path
    job: str | None = None
    complaint: str | None = None
    serial: str | None = None
    technician: str | None = None
    came_back: bool = False
    given: GivenFiles = field(default_factory=GivenFiles)
    known_good: KnownGood | None = None


class JobKeeper:
    """A job's journal and clips; passes every line on as it stands in the journal."""

    def __init__(self, journal: Journal, folder: Path, on_line: Callable[[str], None] | None) -> None:
        self.journal = journal
        self.folder = folder
        self.on_line = on_line

    def append(self, events: tuple[Event, ...]) -> None:
        """Keep the events; they are on the disk when this returns."""
        lines = self.journal.append(events)
        if self.on_line is not None:
            for line in lines:
                self.on_line(line.decode().removesuffix("\n"))

    def keep_clip(self, seq: int, samples: Samples) -> str:
        """Keep the sound of the utterance whose `heard` event has that number."""
        return keep_clip(self.folder, seq, samples)


@dataclass
class OpenJob:
    """A job that this process has open.

    Attributes:
        folder: its folder.
        keeper: its journal and clips.
        state: the session as the journal leaves it.
        remarks: what was found on opening that the technician should know (a torn line).
        opened: the events that opened it just now.
        cut_off: whether the last thing said in an earlier session was not kept, or not wholly.
        asked_about: the point of the question that the last session left open; None for none.
        earlier: the visit before this one, where this opening has begun another.
    """

    folder: Path
    keeper: JobKeeper
    state: session.SessionState
    remarks: tuple[str, ...]
    opened: tuple[Event, ...] = ()
    cut_off: bool = False
    asked_about: str | None = None
    earlier: EarlierVisit | None = None


@contextmanager
def open_job(
    board: Board,
    meter: Meter | None,
    options: JobOptions,
    *,
    engine: str,
    on_line: Callable[[str], None] | None = None,
    checklist: Checklist | None = None,
) -> Iterator[OpenJob]:
    """A job's folder opened for writing: made, or taken up where its journal ends.

    Raises:
        JobBusyError: another process has it open.
        JournalError: its journal is damaged, or the known-good board is none of this kind.
        StorageError: the folder cannot be written, or a unit came back of which there is no job.
    """
    name = checked_name(
        f"{datetime.now().astimezone():%Y%m%d-%H%M%S}-{_slug(board.name)}" if options.job is None else options.job
    )
    folder = options.jobs / name
    known_good = _checked_good(options.known_good, board, name)
    past = _Past(board, meter, folder, checklist)
    with Journal.open(folder, past.see) as journal:
        keeper = JobKeeper(journal, folder, on_line)
        told: dict[str, Any] = {
            "at": utc_now(),
            "utc_offset_min": _utc_offset_min(),
            "job": name,
            "engine": engine,
            "version": __version__,
            "complaint": options.complaint,
            "serial": options.serial,
            "technician": options.technician,
            "known_good": known_good,
        }
        earlier = past.earlier(came_back=options.came_back)
        if past.state.next_seq == 1:
            state, opened = session.open_session(board, meter, checklist=checklist, **told)
        else:
            visit = None if earlier is None else earlier.visit + 1
            state, opened = session.reopen(past.state, visit=visit, **told)
        asked_about = None if past.state.question is None else past.state.question.point
        keeper.append(opened)
        keep_given(folder, options.given)
        remarks = journal.integrity.remarks()
        told_on_opening = (*remarks, *([] if earlier is None else [_told(earlier)]), *past.changes(opened))
        yield OpenJob(folder, keeper, state, told_on_opening, opened, bool(remarks), asked_about, earlier)


def _checked_good(known: KnownGood | None, board: Board, job: str) -> KnownGood | None:
    """A known-good board's readings, which are of another job and of a board of the same kind.

    Raises:
        JournalError: they are not.
    """
    if known is not None and known.board != board.name:
        cure = "Name the job of a board of this kind"
        raise JournalError(f"the known-good job '{known.job}' is about '{known.board}', not '{board.name}'", cure=cure)
    if known is not None and known.job == job:
        raise JournalError(f"the job '{job}' cannot be its own known-good board", cure="Name another job")
    return known


def _told(earlier: EarlierVisit) -> str:
    """An earlier visit in a line: "visit 2; visit 1 was closed on 2026-03-02; 9 readings; replaced: U4, regulator"."""
    closed = f"closed on {earlier.closed_at.astimezone():%Y-%m-%d}" if earlier.closed_at else "not closed"
    told = [f"visit {earlier.visit + 1}", f"visit {earlier.visit} was {closed}"]
    told.append(f"{earlier.readings} {'reading' if earlier.readings == 1 else 'readings'}")
    if earlier.replaced:
        told.append("replaced: " + ", ".join(f"{ref} ({what})" if what else ref for ref, what in earlier.replaced))
    if earlier.out:
        told.append("did not go back: " + ", ".join(f"{name} x {count}" for name, count in earlier.out))
    return "; ".join(told)


def checked_name(name: str) -> str:
    """A job's name that is safe as a folder's.

    Raises:
        StorageError: it could leave the folder of all jobs, or hide in it.
    """
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]*", name):
        raise StorageError(f"'{name}' cannot be a job's name", cure="Use letters, digits, dots, dashes and underscores")
    return name


class _Past:
    """What a job's earlier sessions leave, folded as its journal is read."""

    def __init__(self, board: Board, meter: Meter | None, folder: Path, checklist: Checklist | None = None) -> None:
        self.state = session.SessionState(board, meter, checklist=checklist)
        self.list_sha256 = ""
        self.opened: Opened | None = None
        self._board = board
        self._folder = folder
        self._visits = Visits()

    def see(self, event: Event) -> None:
        """The journal's next event.

        Raises:
            JournalError: the job is about another board, against whose limits its readings were judged.
        """
        if isinstance(event, Opened):
            if event.board != self._board.name:
                raise JournalError(
                    f"this job is about '{event.board}', not '{self._board.name}'",
                    file=self._folder / JOURNAL_NAME,
                    cure="Name that board's file, or another --job",
                )
            self.opened = event
        if isinstance(event, ChecklistStep) and event.action == "started":
            self.list_sha256 = event.sha256
        self._visits.see(event)
        self.state = session.apply(self.state, event)

    def earlier(self, *, came_back: bool) -> EarlierVisit | None:
        """The visit before, where the opening to come begins another.

        Raises:
            StorageError: a unit came back of which there is no job.
        """
        if self.opened is None:
            if came_back:
                cure = "Give --job the name of its earlier job, or leave --came-back out"
                raise StorageError("there is no earlier job of this unit", file=self._folder, cure=cure)
            return None
        again = self._visits.next(self.state, came_back=came_back) != self.state.visit
        return self._visits.earlier(self.state) if again else None

    def changes(self, opened: tuple[Event, ...]) -> tuple[str, ...]:
        """What is judged otherwise than in this job's last session, for the technician to know."""
        before = self.opened
        now = next(event for event in opened if isinstance(event, Opened))
        if before is None:
            return ()
        found = []
        if before.meter != now.meter:
            was = f"the meter '{before.meter.name}'" if before.meter else "no meter"
            given = f"'{now.meter.name}'" if now.meter else "none"
            found.append(
                f"this job's last session used {was}, this one {given} or another file: uncertainties will differ"
            )
        had, _ = self.state.intake.serial(self.state.work.events)
        if had and now.serial is not None and not same_serial(now.serial, had):
            found.append(f"this job had the serial number '{had}'; now it is '{now.serial}'")
        checklist = self.state.checklist
        if checklist is not None and self.list_sha256 not in ("", checklist.sha256):
            found.append("the checklist is another than in this job's last session: it begins anew")
        if before.board_sha256 != now.board_sha256:
            found.append("the board file has changed since this job's last session; each reading keeps its own limits")
        return tuple(found)


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40] or "job"

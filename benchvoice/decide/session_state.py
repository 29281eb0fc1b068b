"""The state of a session, which comes of its events and of nothing else, so that a journal brings it back exactly.

What each event does to it stands in `session_fold`.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

from benchvoice.decide.board import Board
from benchvoice.decide.caution_log import CautionLog
from benchvoice.decide.checklist import Progress
from benchvoice.decide.checklist_steps import Checklist, Power
from benchvoice.decide.intake_log import IntakeLog
from benchvoice.decide.meter import Meter
from benchvoice.decide.moment import Moment
from benchvoice.decide.reading_stack import ReadingStack
from benchvoice.decide.rework import fitted_last, part_in_hand
from benchvoice.decide.stripdown import WorkLog, due
from benchvoice.decide.timer_log import TimerLog
from benchvoice.events import (
    KnownGood,
    Note,
    Reading,
)
from benchvoice.part_values import part_quantity
from benchvoice.records import (
    SPELLED_ACTS,
    Candidate,
    Context,
    WorkIntent,
)
from benchvoice.spelling import name_in_words

__all__ = ["NO_ANSWER", "OpenQuestion", "SessionState", "Stage", "without_question"]

Stage = Literal["before", "after"]

NO_ANSWER = "there was no answer in time"


@dataclass(frozen=True)
class OpenQuestion:
    """A question that waits for its answer.

    Attributes:
        asked: `seq` of its event.
        moment: the utterance that led to it.
        why: what led to it.
        candidates: what it offers.
        tries: how often it had been asked before.
    """

    asked: int
    moment: Moment
    why: str
    candidates: tuple[Candidate, ...]
    tries: int = 0

    @property
    def of_part(self) -> WorkIntent | None:
        """The work that it asks about, where all that it offers are values of the part that was fitted."""
        told = [each.work for each in self.candidates if each.work is not None and each.work.part_value is not None]
        return told[0] if told and len(told) == len(self.candidates) else None

    @property
    def spelled(self) -> WorkIntent | None:
        """The serial or part number that it asks back, which may go on; None where it asks something else."""
        only = self.candidates[0].work if len(self.candidates) == 1 else None
        return only if only is not None and only.act in SPELLED_ACTS else None

    @property
    def points(self) -> set[str | None]:
        """The points to which the values that it offers belong."""
        return {each.point for each in self.candidates if each.command is None and each.work is None}

    @property
    def point(self) -> str | None:
        """The point to which all the values that it offers belong, if there is one."""
        points = {None if candidate.value is None else candidate.point for candidate in self.candidates}
        return points.pop() if len(points) == 1 else None


@dataclass(frozen=True)
class SessionState:
    """What the session knows. Changed by `session_fold.apply` alone.

    Attributes:
        board, meter: what is measured, and with what.
        next_seq: the `seq` of the next event.
        stage: before or after the repair.
        visit: how often the unit came in; readings, work and progress are of this visit alone.
        opened: `seq` of the event that opened this session; readings before it were made in an earlier one.
        staged: `seq` of the last change of the stage.
        current: the point to which a value alone belongs: the one that "on …" named, until another point is read.
        readings: those that count, the latest on top.
        computed: values that follow from readings and count, the latest on top.
        notes: those that count, the latest last.
        question: the open question.
        withdrawn: `seq` of the last event that withdrew a reading.
        dropped: `seq` of the last event that ended, unanswered, a question about another point than the last reading's.
        heard: the last utterance; `heard_seq` is its event's `seq`, `words` what was heard.
        note_opened: the utterance that announced a note whose words are still to come.
        listening: whether more than "start listening" is taken.
        closed: whether the job was closed.
        last_said: what was answered last, for "repeat that".
        checklist: the list that is gone through, like board and meter no part of what happened.
        progress: how far it has come; None where it was not begun.
        step_told: when the step at hand was said.
        step_asked: whether it was the last thing that was asked: a "yes" after another question is none to it.
        work: what was done to the unit: taken out, put back, replaced.
        power: how the unit stands, as far as it was told, by voice or to a checklist; the one place that answers this.
        marked: how it was told to stand last, though that is not certain any more (after a restart, or a step back).
        cautions: which cautions were given and acknowledged.
        timers: those that run.
        known_good: the readings of a known-good board, with which those without limits are compared.
        intake: whether the unit is being taken in, and its serial number.
        announced: what `note_opened` announced, by the command's name.
    """

    board: Board
    meter: Meter | None = None
    next_seq: int = 1
    stage: Stage = "before"
    visit: int = 1
    opened: int = 0
    staged: int = 0
    current: str | None = None
    readings: ReadingStack = field(default_factory=ReadingStack)
    computed: ReadingStack = field(default_factory=ReadingStack)
    notes: tuple[Note, ...] = ()
    question: OpenQuestion | None = None
    heard: Moment | None = None
    heard_seq: int = 0
    withdrawn: int = 0
    dropped: int = 0
    words: str = ""
    note_opened: Moment | None = None
    listening: bool = True
    closed: bool = False
    last_said: str = ""
    checklist: Checklist | None = None
    progress: Progress | None = None
    step_told: Moment | None = None
    step_asked: bool = False
    work: WorkLog = field(default_factory=WorkLog)
    power: Power | None = None
    marked: Power | None = None
    cautions: CautionLog = field(default_factory=CautionLog)
    timers: TimerLog = field(default_factory=TimerLog)
    known_good: KnownGood | None = None
    intake: IntakeLog = field(default_factory=IntakeLog)
    announced: str = "note"

    @property
    def context(self) -> Context:
        """What may be said next, for the grammar and the parser."""
        asked_about = self.question.point if self.question is not None else None
        top = self.readings.top
        last = asked_about or (None if top is None else top.point)  # "correction" alone corrects what was asked about
        answers = self.progress.answers if self.progress is not None else ()
        spelling = self.question is not None and self.question.spelled is not None
        return Context(
            current=None if spelling else asked_about or without_question(self).current,
            last=last if last in self.board.by_name else None,
            question_open=self.question is not None or self.note_opened is not None or bool(answers),
            listening=self.listening and not self.closed,
            choices=self.choices,
            taken_out=self.work.stripped.opened,
            reworked=bool(part_in_hand(self.work.at_hand)),
            fitted=part_quantity(fitted_last(self.work.at_hand)),
            part_fitted=bool(fitted_last(self.work.at_hand)),
            power=self.board.minds_power or (self.checklist is not None and self.checklist.minds_power),
            cautions=bool(self.board.hazards or self.cautions.given),
            unacknowledged=bool(self.cautions.waiting),
            timing=bool(self.timers.running),
            intake=self.intake.open,
            spelling=spelling,
        )

    @property
    def choices(self) -> tuple[str, ...]:
        """The answers that the checklist's step at hand offers beside yes and no, in words."""
        step = self.progress.step if self.progress is not None else None
        if step is None or self.progress is None or self.progress.place.asks_power:
            return ()
        return tuple(name_in_words(choice) or "" for choice in step.choices)

    @property
    def guided(self) -> bool:
        """Whether a value alone belongs to the current point because a step of the checklist measures it."""
        return self.progress is not None and self.current is not None and self.progress.point == self.current

    def context_at(self, moment: Moment) -> Context:
        """What may be said at that moment; a reading that ended just before it may still go on."""
        top = self.readings.top
        goes_on = top is not None and top.heard == self.heard_seq and self.question is None
        if not goes_on or self.heard is None or not self.heard.runs_into(moment):
            return self.context
        return replace(self.context, follows=self.words)

    def latest(self, point: str, stage: Stage | None = None) -> Reading | None:
        """The latest reading of a point that counts, in a stage (default: the present one)."""
        wanted = stage or self.stage
        known = self.board.by_name.get(point)
        among = self.readings if known is None or known.computed is None else self.computed
        return next((read for read in among if (read.point, read.stage) == (point, wanted)), None)

    def is_alone(self, point: str) -> bool:
        """Whether a point's value may be said at any time without naming it, so that reading it turns to no point."""
        return point in self.board.by_name and self.board.point(point).alone

    def left(self) -> tuple[str, ...]:
        """The points to measure without a reading in this stage, in the board's order."""
        read = {reading.point for reading in self.readings if reading.stage == self.stage}
        return tuple(point.name for point in self.board.points if point.computed is None and point.name not in read)

    def again(self) -> tuple[str, ...]:
        """The points to measure again: a part that feeds them was replaced and they were not read after that repair."""
        found = []
        for name, since in due(self.work.events).items():
            read = self.latest(name, "after")
            if name in self.board.by_name and (read is None or read.seq < since):
                found.append(name)
        return tuple(point.name for point in self.board.points if point.name in found)


def without_question(state: SessionState) -> SessionState:
    """The state once the open question has ended without an answer.

    Where it was about another point than the current one, neither is certain to be under the probe any more: a value
    alone then belongs to none until a point is said.
    """
    if state.question is None:
        return state
    current = state.current if state.question.points <= {state.current} else None
    return replace(state, question=None, current=current)

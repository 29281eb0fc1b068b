"""The state of a session: a fold of its events and of nothing else, so that a journal brings it back exactly."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal, cast

from benchvoice.decide.board import Board
from benchvoice.decide.caution_log import CautionLog
from benchvoice.decide.checklist import Progress, power_told
from benchvoice.decide.checklist_events import applied, reopened
from benchvoice.decide.checklist_steps import Checklist, Power
from benchvoice.decide.intake_log import IntakeLog
from benchvoice.decide.meter import Meter
from benchvoice.decide.moment import Moment
from benchvoice.decide.reading_stack import ReadingStack
from benchvoice.decide.rework import fitted_last, part_in_hand
from benchvoice.decide.stripdown import WorkChange, WorkLog, as_thing, due
from benchvoice.decide.timer_log import TimerLog
from benchvoice.events import (
    Acknowledged,
    Asked,
    Caution,
    ChecklistStep,
    Closed,
    Command,
    Event,
    Heard,
    KnownGood,
    Lapsed,
    Note,
    Opened,
    Reading,
    ReadingCandidate,
    Said,
    TimerOver,
    TimerStarted,
    TimerStopped,
    Undone,
    Withdrawn,
    WorkSaid,
)
from benchvoice.part_values import part_quantity
from benchvoice.records import (
    SPELLED_ACTS,
    Candidate,
    CommandIntent,
    CommandName,
    Context,
    SpokenValue,
    WorkAct,
    WorkIntent,
)
from benchvoice.spelling import name_in_words

__all__ = [
    "NO_ANSWER",
    "OpenQuestion",
    "SessionState",
    "Stage",
    "apply",
    "as_candidate",
    "resume",
    "without_question",
]

Stage = Literal["before", "after"]

NO_ANSWER = "there was no answer in time"

_WORK = Note | WorkChange
"""What is said of the unit beside readings."""


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
    """What the session knows. Changed by `apply` alone.

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


def resume(
    board: Board, meter: Meter | None, events: Iterable[Event], checklist: Checklist | None = None
) -> SessionState:
    """The state that a job's events lead to."""
    state = SessionState(board, meter, checklist=checklist)
    for event in events:
        state = apply(state, event)
    return state


def apply(state: SessionState, event: Event) -> SessionState:
    """The state after one more event."""
    intake = state.intake.after(event, state.work.events)
    return replace(_applied(state, event), next_seq=event.seq + 1, intake=intake)


def _applied(state: SessionState, event: Event) -> SessionState:
    new = state
    match event:
        case Opened():
            state = _of_visit(state, event.visit)
            # nobody can be certain what is under the probe after a restart: a value alone belongs to no point
            fresh = replace(without_question(state), note_opened=None, listening=True, closed=False, current=None)
            fresh = replace(fresh, work=replace(state.work, resumed_at=event.seq))
            new = replace(fresh, stage=event.stage, opened=event.seq, progress=reopened(state.progress, event))
            heard, told = (each and each.by_clock() for each in (state.heard, state.step_told))
            new = replace(new, heard=heard, step_told=told, known_good=event.known_good)
            new = replace(new, power=None, cautions=state.cautions.after(event), timers=state.timers.after(event))
        case Heard():
            new = _heard(state, event)
        case Reading():
            new = _read(state, event)
        case Withdrawn():
            measured = any(reading.seq == event.reading for reading in state.readings)
            new = replace(_withdrawn(state, event.reading), withdrawn=event.seq if measured else state.withdrawn)
        case Asked():
            new = _asked(state, event)
        case Lapsed() if state.question is not None and state.question.asked == event.asked:
            new = replace(without_question(state), dropped=event.seq if _elsewhere(state) else state.dropped)
        case Command():
            new = _command(state, event)
        case ChecklistStep():
            new = _step(state, event)
        case _ if isinstance(event, _WORK):
            new = replace(state, work=state.work.after(event), question=None, step_asked=False)
            new = replace(new, notes=_notes_after(state.notes, event))
        case Caution() | Acknowledged() | TimerStarted() | TimerStopped() | TimerOver():
            new = _of_safety(state, event)
        case Said() if event.text:
            new = replace(state, last_said=event.text)
        case Closed():
            new = replace(state, closed=True, question=None, note_opened=None)
    return new


def _notes_after(notes: tuple[Note, ...], event: Note | WorkChange) -> tuple[Note, ...]:
    if isinstance(event, Note):
        return (*notes, event)
    return tuple(note for note in notes if note.seq not in event.undoes) if isinstance(event, Undone) else notes


def _of_safety(
    state: SessionState, event: Caution | Acknowledged | TimerStarted | TimerStopped | TimerOver
) -> SessionState:
    """Cautions and timers. What is set or stopped answers a question about that; a timer that rings answers none."""
    heard = state.heard or Moment(event.at)
    timers = state.timers.after(event, heard.source, heard.until_s)
    question = None if isinstance(event, TimerStarted | TimerStopped) else state.question
    # a "yes" right after is none to the step; once a caution is acknowledged the step is said once more
    known = isinstance(event, Acknowledged)
    waits = known and state.progress is not None and bool(state.progress.answers)
    told = replace(state, step_told=state.heard) if waits else state
    return replace(told, timers=timers, cautions=state.cautions.after(event), question=question, step_asked=waits)


def _of_visit(state: SessionState, visit: int) -> SessionState:
    """A unit that came back is measured anew: of an earlier visit nothing counts but what is still out of the unit."""
    if visit == state.visit:
        return state
    anew = replace(
        state,
        visit=visit,
        readings=ReadingStack(),
        computed=ReadingStack(),
        work=state.work.carried_over,
        notes=(),
        progress=None,
    )
    return replace(anew, timers=TimerLog(), cautions=CautionLog(), marked=None)


def without_question(state: SessionState) -> SessionState:
    """The state once the open question has ended without an answer.

    Where it was about another point than the current one, neither is certain to be under the probe any more: a value
    alone then belongs to none until a point is said.
    """
    if state.question is None:
        return state
    current = state.current if state.question.points <= {state.current} else None
    return replace(state, question=None, current=current)


def _elsewhere(state: SessionState) -> bool:
    """Whether the open question offers values at another point than that of the last reading."""
    top = state.readings.top
    return state.question is not None and top is not None and bool(state.question.points - {top.point})


def _at(state: SessionState, point: str | None) -> SessionState:
    # a board file that was changed between two sessions may no longer have the point
    return replace(state, current=point) if point in state.board.by_name else state


def _read(state: SessionState, event: Reading) -> SessionState:
    if event.follows_from:  # nobody said it: it answers nothing, and the probe is where it was
        return replace(state, computed=state.computed.push(event))
    new = replace(_after_reading(state, event.point), readings=state.readings.push(event), question=None)
    return replace(new, step_asked=False)


def _withdrawn(state: SessionState, seq: int) -> SessionState:
    """The state without a reading, and without what follows from it: the journal may end before that is withdrawn."""
    computed = state.computed.without(seq)
    for each in tuple(computed):
        if seq in each.follows_from:
            computed = computed.without(each.seq)
    return replace(state, readings=state.readings.without(seq), computed=computed)


def _after_reading(state: SessionState, point: str) -> SessionState:
    """A reading at another point ends what "on …" began: where the probe goes next is not known."""
    return state if point == state.current or state.is_alone(point) else replace(state, current=None)


def _heard(state: SessionState, event: Heard) -> SessionState:
    if event.leaves_point:
        state = replace(state, current=None)
    if event.leaves_part:
        state = replace(state, work=state.work.left(event.seq))
    now = Moment(event.at, event.source, event.start_s, event.end_s)
    state = replace(state, heard=now, heard_seq=event.seq, words=event.text)
    opened = state.note_opened
    if opened is None or (event.outcome == "ignored" and not opened.outlived_by(now)):
        return state
    return replace(state, note_opened=None)


def _asked(state: SessionState, event: Asked) -> SessionState:
    candidates = tuple(as_candidate(candidate) for candidate in event.candidates)
    question = OpenQuestion(event.seq, state.heard or Moment(event.at), event.why, candidates, event.tries)
    return replace(state, question=question, step_asked=False)


def _step(state: SessionState, event: ChecklistStep) -> SessionState:
    """The step that came to hand is said: a value alone is then that of the point which it measures, or of none."""
    progress = applied(state.checklist, state.progress, event, state.stage)
    new = replace(state, progress=progress, step_told=state.heard or Moment(event.at), step_asked=True)
    if state.progress is not None and progress is not None and progress.place.power != state.progress.place.power:
        new = _powered(new, progress.place.power)
    left = state.progress.point if state.progress is not None else None
    if progress is not None and progress.point is not None:
        return _at(new, progress.point)
    return replace(new, current=None) if left is not None and left == state.current else new


def _powered(state: SessionState, power: Power | None) -> SessionState:
    """The state once it is known how the unit stands, or that nobody can be sure any more."""
    again = power == "powered" and state.power != "powered"
    cautions = state.cautions.powered_again() if again else state.cautions
    return replace(state, power=power, marked=power or state.marked, cautions=cautions)


def _switched(state: SessionState, power: Power) -> SessionState:
    """The same where it was told beside the checklist, whose step at hand may not be due any more."""
    new = _powered(state, power)
    if state.progress is None:
        return new
    progress = power_told(state.progress, power)
    if progress.place != state.progress.place:
        new = replace(new, step_told=state.heard, step_asked=True)
    lost = progress.point != state.progress.point and state.current == state.progress.point
    return replace(new, progress=progress, current=None if lost else new.current)


def _command(state: SessionState, event: Command) -> SessionState:
    if state.question is not None and any(
        event.name in (candidate.command and candidate.command.name, candidate.work and candidate.work.act)
        for candidate in state.question.candidates
    ):
        state = replace(state, question=None)
    told_now = event.name == "repeat" or state.step_told == state.heard
    new = state = replace(state, step_asked=state.step_asked and told_now)
    match event.name:
        case "go to":
            new = replace(_at(state, event.point), question=None)
        case "before" | "after":
            stage: Stage = "before" if event.name == "before" else "after"
            new = state if stage == state.stage else replace(state, stage=stage, staged=event.seq)
        case "stop listening" | "start listening":
            new = replace(state, listening=event.name == "start listening")
        case "note" | "complaint follows":
            new = replace(state, note_opened=state.heard or Moment(event.at), announced=event.name)
        case "powered" | "unpowered":
            new = _switched(state, "powered" if event.name == "powered" else "unpowered")
        case "where":  # the step is said once more
            told = replace(state, step_told=state.heard or Moment(event.at), step_asked=True)
            new = _at(told, state.progress.point if state.progress is not None else None)
    return new


def as_candidate(written: ReadingCandidate) -> Candidate:
    """A question's candidate as it stands in the journal, for the session."""
    value = None
    if written.work is not None:
        return Candidate(None, None, work=_as_work(written.work))
    if written.value is not None:
        value = SpokenValue(written.value, written.unit or "", written.unit_said, written.waveform)
    if written.command in (None, "go to"):
        return Candidate(written.point, value)
    command = CommandIntent(cast(CommandName, written.command), written.point, value, detail=written.detail)
    return Candidate(written.point, value, command)


def _as_work(written: WorkSaid) -> WorkIntent:
    value = None if written.value is None else SpokenValue(written.value, written.unit or "", unit_said=True)
    thing = None if written.thing is None else as_thing(written.thing)
    return WorkIntent(cast(WorkAct, written.act), thing, written.text, value, written.name, written.means)

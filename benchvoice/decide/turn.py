"""One utterance's turn: its events in order, numbered and folded into the state as they are written.

The first event is `heard` with its one outcome; what follows from it comes after. What the state is, is what the
events say, since nothing else changes it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from benchvoice.decide.checklist import Act, answered_last
from benchvoice.decide.checklist_events import event_of
from benchvoice.decide.compare import against_known_good, likeness_told
from benchvoice.decide.computed import Place, absurdly_made, computed_after, following
from benchvoice.decide.intake_log import told_before
from benchvoice.decide.moment import Moment
from benchvoice.decide.session_fold import apply
from benchvoice.decide.session_state import NO_ANSWER, OpenQuestion, SessionState, without_question
from benchvoice.decide.stripdown import WorkEvent, written_thing
from benchvoice.decide.undoing import note_undone_by, read_as, taken_from_talk, undone_by, work_undone_by
from benchvoice.decide.verdict import judge
from benchvoice.decide.written import written_verdict
from benchvoice.events import (
    Asked,
    Closed,
    Command,
    Event,
    Heard,
    HeardAlternative,
    Lapsed,
    Note,
    Reading,
    ReadingCandidate,
    Undone,
    Withdrawn,
    WorkSaid,
)
from benchvoice.records import (
    Candidate,
    CommandIntent,
    ComputedTold,
    Decision,
    Hearing,
    LikenessTold,
    Outcome,
    SpokenValue,
    Trust,
    Verdict,
    WorkDone,
    WorkIntent,
)

__all__ = ["Step", "Turn", "written"]


@dataclass(frozen=True)
class Step:
    """What came of one utterance: the state after it, the decision to answer, the events to keep."""

    state: SessionState
    decision: Decision
    events: tuple[Event, ...]


class Turn:
    """Collects what one utterance leads to.

    Args:
        state: the state before it.
        hearing: the utterance.
        word_question: puts a decision's question into words, for the journal.
    """

    def __init__(self, state: SessionState, hearing: Hearing, word_question: Callable[[Decision], str]) -> None:
        self.state = state
        self.hearing = hearing
        self._word_question = word_question
        self._events: list[Event] = []
        self._places: set[Place] = set()  # where readings were taken or withdrawn
        self._lost: set[Place] = set()  # where computed values were withdrawn with them
        self.computed: tuple[ComputedTold, ...] = ()
        self.likeness: tuple[LikenessTold, ...] = ()

    def step(self, decision: Decision) -> Step:
        """The finished turn."""
        return Step(self.state, decision, tuple(self._events))

    @property
    def moment(self) -> Moment:
        """When this utterance was."""
        return Moment(self.hearing.at, self.hearing.source, self.hearing.start_s, self.hearing.end_s)

    @property
    def question(self) -> OpenQuestion | None:
        """The question that this utterance may answer; one that waited too long is no longer answered."""
        question = self.state.question
        return None if question is None or question.moment.outlived_by(self.moment) else question

    @property
    def current(self) -> str | None:
        """The point to which a value alone belongs: the one that is asked about, else the current one."""
        question = self.question
        if question is None:
            return without_question(self.state).current
        return question.point or without_question(self.state).current

    def tries(self, *, answering: bool) -> int:
        """How often the open question was put, where what is asked now comes of another answer to it; else 0."""
        question = self.question
        return question.tries + 1 if answering and question is not None else 0

    def overheard(self, command: CommandIntent | None) -> str:
        """Why a command that ears heard is asked first: it may be talk. A phrase; empty where it is not asked."""
        if self.hearing.transcript.trust is Trust.TYPED:
            return ""
        return taken_from_talk(self.state, command, self.moment)

    # --- outcomes: exactly one of them, first -------------------------------------------------------------------
    def accept(self, why: str = "") -> None:
        """The utterance is acted upon; a reading, command or note follows."""
        self._heard(Outcome.ACCEPTED, why or self.hearing.transcript.why)

    def begin(self, why: str = "", *, answering: bool) -> None:
        """Accepts what is now done; an open question lapses unless this is what answers it."""
        self.accept(why)
        if not answering:
            self.lapse("something else was said")

    def ignore(self, why: str) -> Step:
        """Nothing follows, and nothing is answered."""
        self._heard(Outcome.IGNORED, why)
        return self.step(Decision(Outcome.IGNORED, "nothing", why=why))

    def refuse(self, why: str, *, heard_why: str = "") -> Step:
        """Nothing follows, but the reason is answered; an open question lapses, or a later "yes" would answer it.

        `heard_why` is the reason that is kept, where it says more than what is answered.
        """
        self._heard(Outcome.IGNORED, heard_why or why)
        self.lapse("something else was said")
        return self.step(Decision(Outcome.IGNORED, "refused", why=why))

    def overhear(self, why: str) -> Step:
        """Talk that is not for us is never stored: the event holds neither words nor sound."""
        hearing = self.hearing
        silent = replace(hearing.transcript, alternatives=())
        self.hearing = replace(hearing, transcript=silent, parses=(), clip=None, remarks=())
        return self.ignore(why)

    def _contradicted(self, candidates: tuple[Candidate, ...]) -> WorkDone | None:
        """What was told at the intake before and would no longer count, however often it is asked; None for nothing."""
        work = candidates[0].work if len(candidates) == 1 else None
        before = "" if work is None else told_before(self.state.intake, self.state.work.events, work)
        return None if work is None or not before else WorkDone(work, before=before)

    def ask(
        self,
        candidates: tuple[Candidate, ...],
        why: str,
        *,
        tries: int = 0,
        heard_why: str = "",
        work: WorkDone | None = None,
        told_why: bool = False,
    ) -> Step:
        """Puts a question. With `tries` it is the open question once more; without, an open one lapses.

        `heard_why` says what led to it this time, where that is not what the question is about; `told_why` that it is
        said too, since the answer has to differ. `work`: what has to be told beside the question.
        """
        points = {candidate.point for candidate in candidates}
        command = candidates[0].command if len(candidates) == 1 else None
        undone = undone_by(self.state, command)
        closing = command is not None and command.name == "close"
        point = points.pop() if len(points) == 1 else None
        makes = absurdly_made(self.state, candidates[0], self.hearing.at) if len(candidates) == 1 else None
        decision = Decision(
            Outcome.ASKED,
            "question",
            why=why,
            point=point,
            value=candidates[0].value if len(candidates) == 1 else None,
            candidates=candidates,
            names=self.state.left() if closing else (),
            tries=tries,
            remark=heard_why if told_why else "",
            struck=None if undone is None else read_as(undone),
            at_hand=point is not None and point == self.state.current,
            note=note_undone_by(self.state, command),
            work=work or work_undone_by(self.state, command) or self._contradicted(candidates),
            makes=makes if makes is not None and why == f"absurd: {makes.why}" else None,
        )
        heard = self._heard(Outcome.ASKED, heard_why or why)
        if tries == 0:
            self.lapse("something else was said")
        self._emit(
            Asked(
                **self._next(),
                heard=heard,
                question=self._word_question(decision),
                why=why,
                candidates=tuple(written(candidate) for candidate in candidates),
                tries=tries,
            )
        )
        return self.step(decision)

    # --- what follows -------------------------------------------------------------------------------------------
    def lapse(self, why: str) -> None:
        """Ends the open question, if there is one, without an answer."""
        if self.state.question is not None:
            self._emit(Lapsed(**self._next(), asked=self.state.question.asked, why=why))

    def command(self, name: str, point: str | None = None, value: SpokenValue | None = None) -> None:
        """Notes that a command was carried out."""
        digits, unit = (None, None) if value is None else (value.digits, value.unit)
        self._emit(Command(**self._next(), heard=self._heard_seq, name=name, point=point, value=digits, unit=unit))

    def note(self, text: str, *, verified: bool) -> None:
        """Keeps an observation."""
        event = Note(**self._next(), heard=self._heard_seq, text=text, clip=self.hearing.clip, verified=verified)
        self._emit(event)

    def withdraw(self, reading: Reading) -> None:
        """Strikes a reading: it stays in the journal and no longer counts; a step that it just answered waits again.

        What was computed from it goes with it; `compute` then tells what follows now.
        """
        lost = following(self.state.computed, reading.seq)
        self._emit(Withdrawn(**self._next(), heard=self._heard_seq, reading=reading.seq))
        self._places.add((reading.point, reading.stage))
        for each in lost:
            why = "an input was struck"
            self._emit(Withdrawn(**self._next(), heard=self._heard_seq, reading=each.seq, why=why))
            self._lost.add((each.point, each.stage))
        if answered_last(self.state.progress, reading.seq):
            self.act(Act("back"))

    def compute(self) -> None:
        """Keeps what follows from the readings that were taken or struck; `computed` is what is to be said of it."""
        events, self.computed = computed_after(
            self.state, self._places, self._lost, at=self.hearing.at, heard=self._heard_seq
        )
        for event in events:
            self._emit(event)

    def act(self, act: Act) -> None:
        """Does an act of the checklist. Raises ValueError where it cannot be done now."""
        state, now = self.state, self._next()
        if state.progress is None:
            raise ValueError("there is no checklist")
        self._emit(event_of(state.progress, act, state.stage, **now, heard=self._heard_seq))

    def close(self, why: str) -> None:
        """Ends the session."""
        self._emit(Closed(**self._next(), why=why))

    def reading(self, point_name: str, value: SpokenValue, corrects: Reading | None = None) -> Verdict:
        """Judges a value and keeps it, and what follows from it; a corrected reading's stage is kept."""
        point = self.state.board.point(point_name)
        verdict = judge(value, point, self.state.meter)
        stage = self.state.stage if corrects is None else corrects.stage
        event = Reading(
            **self._next(),
            heard=self._heard_seq,
            point=point.name,
            quantity=point.quantity,
            value=value.digits,
            unit=value.unit or point.unit,
            waveform=value.waveform,
            stage=stage,
            corrects=None if corrects is None else corrects.seq,
            known_good=against_known_good(self.state, point, value, verdict),
            **written_verdict(verdict),
        )
        self._emit(event)
        self.likeness = likeness_told(self.state, event)
        self._places.add((point.name, stage))
        self.compute()
        return verdict

    def next(self) -> dict[str, Any]:
        """Number and time of the next event."""
        return self._next()

    @property
    def heard_seq(self) -> int:
        """The number of this utterance's event; there is one once it was accepted."""
        return self._heard_seq

    def keep(self, event: Event) -> None:
        """Keeps an event, numbered by `next`."""
        self._emit(event)

    def undo(self, events: tuple[WorkEvent | Note, ...]) -> None:
        """Strikes work on the unit, or a note: it stays in the journal and no longer counts."""
        self._emit(Undone(**self._next(), heard=self._heard_seq, undoes=tuple(event.seq for event in events)))

    # --- inside -------------------------------------------------------------------------------------------------
    def _heard(self, outcome: Outcome, why: str) -> int:
        hearing = self.hearing
        event = Heard(
            **self._next(),
            source=hearing.source,
            text=hearing.transcript.text,
            alternatives=tuple(
                HeardAlternative(text=entry.text, score=entry.score) for entry in hearing.transcript.alternatives
            ),
            start_s=hearing.start_s,
            end_s=hearing.end_s,
            engine=hearing.transcript.engine,
            clip=hearing.clip,
            outcome=outcome.value,
            why=why,
            remarks=hearing.remarks,
            leaves_point=outcome is Outcome.IGNORED and self._leaves_point(),
            leaves_part=outcome is not Outcome.ACCEPTED and self._leaves_part(),
        )
        self._emit(event)
        if self.question is None:
            self.lapse(NO_ANSWER)
        return event.seq

    def _leaves_point(self) -> bool:
        parses, trust = self.hearing.parses, self.hearing.transcript.trust
        return bool(parses) and parses[0].leaves_point and trust is not Trust.UNRELATED

    def _leaves_part(self) -> bool:
        parses, trust = self.hearing.parses, self.hearing.transcript.trust
        works = (intent for parse in parses for intent in parse.intents if isinstance(intent, WorkIntent))
        named = any(work.thing is not None and work.thing.kind == "part" for work in works)
        return (named or any(parse.leaves_part for parse in parses)) and trust is not Trust.UNRELATED

    @property
    def _heard_seq(self) -> int:
        return self._events[0].seq

    def _next(self) -> dict[str, Any]:
        return {"seq": self.state.next_seq, "at": self.hearing.at}

    def _emit(self, event: Event) -> None:
        self._events.append(event)
        self.state = apply(self.state, event)


def written(candidate: Candidate) -> ReadingCandidate:
    """A question's candidate as the journal keeps it; `session_fold.as_candidate` reads it back."""
    if candidate.work is not None:
        return ReadingCandidate(work=_written_work(candidate.work))
    value, command = candidate.value, candidate.command
    name = None if command is None else str(command.name)
    if command is None and value is None:
        name = "go to"
    detail = "" if command is None else command.detail
    if value is None:
        return ReadingCandidate(point=candidate.point, command=name, detail=detail)
    return ReadingCandidate(
        point=candidate.point,
        value=value.digits,
        unit=value.unit,
        unit_said=value.unit_said,
        waveform=value.waveform,
        command=name,
    )


def _written_work(work: WorkIntent) -> WorkSaid:
    return WorkSaid(
        act=work.act,
        thing=None if work.thing is None else written_thing(work.thing),
        text=work.text,
        value=None if work.value is None else work.value.digits,
        unit=None if work.value is None else work.value.unit,
        name=work.name,
        means=work.means,
    )

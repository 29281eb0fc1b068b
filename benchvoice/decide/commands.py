"""What is carried out once it is certain: a reading, a correction, a point, a note, a command."""

from __future__ import annotations

from dataclasses import replace

from benchvoice.decide.cautions import OF_SAFETY, carry_out_safety, stopped, under_power
from benchvoice.decide.checklist import answered_last
from benchvoice.decide.computed import why_not_read
from benchvoice.decide.guide import GUIDED, carry_out_step, measured, parts_left, restaged, rests_on, told_of
from benchvoice.decide.intake_log import accessories_of
from benchvoice.decide.suspects import suspected
from benchvoice.decide.turn import Step, Turn
from benchvoice.decide.undoing import (
    last_note,
    last_work,
    note_undone_by,
    read_as,
    to_correct,
    value_read,
    work_undone_by,
)
from benchvoice.decide.work import keeps_open, not_closed
from benchvoice.decide.written import verdict_of
from benchvoice.events import Reading
from benchvoice.records import CommandIntent, Decision, Outcome, SpokenValue, Statement

__all__ = ["carry_out", "go_to", "keep_note", "keep_reading", "taken_reading"]

_SOMETHING_ELSE = "something else was said"
_FAILED = (Statement.FAIL, Statement.CONDITIONAL_FAIL)
_PASSED = (Statement.PASS, Statement.CONDITIONAL_PASS)


def keep_reading(turn: Turn, point: str, value: SpokenValue, why: str = "", *, answering: bool = False) -> Step:
    """Accepts a value at a point. `answering`: it settles the open question, which would lapse otherwise."""
    barred = _barred(turn, point)
    if barred is not None:
        return barred
    turn.accept(why)
    if not answering:
        turn.lapse("another reading came")
    return taken_reading(turn, point, value, why)


def taken_reading(turn: Turn, point: str, value: SpokenValue, why: str) -> Step:
    """Judges and keeps a value that was accepted, with the step that it answers."""
    before = turn.state.latest(point)
    verdict = turn.reading(point, value)
    step = measured(turn, point, verdict)
    decision = Decision(Outcome.ACCEPTED, "reading", why=why, point=point, value=value, verdict=verdict, step=step)
    if before is not None and before.statement in _FAILED and verdict.statement in _PASSED:
        decision = replace(decision, fault_gone=value_read(before))
    return turn.step(replace(decision, computed=turn.computed, likeness=turn.likeness))


def _barred(turn: Turn, point: str) -> Step | None:
    """The refusal of any value at a point: it is computed, or not measured under power; None where it may be."""
    never = why_not_read(turn.state.board.point(point))
    if never:
        return turn.refuse(never)
    return stopped(turn, point) if under_power(turn.state, point) else None


def go_to(turn: Turn, point: str, why: str = "", *, answering: bool = False) -> Step:
    """Makes a point the one to which values alone belong."""
    never = why_not_read(turn.state.board.point(point))
    if never:
        return turn.refuse(never)
    turn.begin(why, answering=answering)
    turn.command("go to", point)
    return turn.step(Decision(Outcome.ACCEPTED, "go to", point=point))


def keep_note(turn: Turn, text: str, *, verified: bool, why: str = "") -> Step:
    """Keeps an observation."""
    turn.accept(why)
    turn.lapse(_SOMETHING_ELSE)
    turn.note(text, verified=verified)
    return turn.step(Decision(Outcome.ACCEPTED, "note", names=(text,)))


def carry_out(turn: Turn, command: CommandIntent, why: str = "", *, answering: bool = False) -> Step:
    """Carries out a command, or says why it cannot be."""
    match command.name:
        case "correction":
            done = _correct(turn, command, why, answering=answering)
        case "strike":
            done = _strike(turn, why, answering=answering)
        case "read back":
            done = _read_back(turn, command.point, why, answering=answering)
        case "suspects" | "measure next":
            done = _suspect(turn, command, why, answering=answering)
        case name if name in OF_SAFETY:
            done = carry_out_safety(turn, command, why, answering=answering)
        case name if name in GUIDED:
            done = carry_out_step(turn, command, why, answering=answering)
        case "close" if keeps_open(turn.state.work.stripped):
            done = not_closed(turn)
        case _:
            done = _simple(turn, command, why, answering=answering)
    return done


def _simple(turn: Turn, command: CommandIntent, why: str, *, answering: bool) -> Step:
    """The commands that cannot fail."""
    said = turn.state.last_said
    turn.accept(why)
    if command.name != "repeat" and not answering:
        turn.lapse(_SOMETHING_ELSE)
    turn.command(command.name)
    about, names, again = "", tuple[str, ...](), tuple[str, ...]()
    step, steps = None, tuple[str, ...]()
    match command.name:
        case "repeat":
            about, names = "repeat", ((said,) if said else ())
        case "left":
            again = turn.state.again()  # told by themselves, whether or not they were read in this stage
            about, names = "left", tuple(name for name in turn.state.left() if name not in again)
            steps = parts_left(turn.state)
        case "before" | "after":
            about, names, step = "stage", (command.name,), restaged(turn)
        case "stop listening":
            about = "listening stopped"
        case "start listening":
            about = "listening started"
        case "close":
            about, names = "closed", accessories_of(turn.state.work.events)
            turn.close("by voice")
    return turn.step(Decision(Outcome.ACCEPTED, about, names=names, step=step, steps=steps, again=again))


def _suspect(turn: Turn, command: CommandIntent, why: str, *, answering: bool) -> Step:
    """What is suspected, or where to measure next: where that tells most, else the first point that is not read."""
    turn.begin(why, answering=answering)
    turn.command(command.name)
    found, left, again = suspected(turn.state), turn.state.left(), turn.state.again()
    point = again[0] if again else found.next_point
    if command.name == "measure next" and point is None and left:
        point = left[0]
    return turn.step(Decision(Outcome.ACCEPTED, command.name, point=point, names=left, suspicion=found))


def _correct(turn: Turn, command: CommandIntent, why: str, *, answering: bool) -> Step:
    wrong = to_correct(turn.state, command.point)
    point = command.point or (None if wrong is None else wrong.point)
    if wrong is None or point is None or point not in turn.state.board.by_name or command.value is None:
        return turn.refuse("there is no reading to correct")
    barred = _barred(turn, point)
    if barred is not None:
        return barred
    turn.begin(why, answering=answering)
    turn.command("correction", point, command.value)
    rests = rests_on(turn.state, wrong.seq)
    waits_again = _withdraw(turn, wrong)
    verdict = turn.reading(point, command.value, corrects=wrong)
    step = (measured(turn, point, verdict) or told_of(turn.state)) if waits_again else None
    decision = Decision(Outcome.ACCEPTED, "correction", why=why, point=point, value=command.value, verdict=verdict)
    told = replace(decision, struck=read_as(wrong), step=step, rests_on=rests)
    return turn.step(replace(told, computed=turn.computed, likeness=turn.likeness))


def _withdraw(turn: Turn, reading: Reading) -> bool:
    """Withdraws a reading; whether the checklist's step that it answered waits for its value again."""
    answered = answered_last(turn.state.progress, reading.seq)
    turn.withdraw(reading)
    return answered


def _strike(turn: Turn, why: str, *, answering: bool) -> Step:
    """Withdraws the last reading that counts. While a question waits, it is what the question is about that goes."""
    if turn.question is not None and not answering:
        turn.accept(why)
        turn.command("no")
        turn.lapse("struck before it was answered")
        return turn.step(Decision(Outcome.ACCEPTED, "strike"))
    note = last_note(turn.state)
    if note is not None:
        told = note_undone_by(turn.state, CommandIntent("strike"))
        turn.accept(why)
        turn.command("strike")
        turn.undo((note,))
        return turn.step(Decision(Outcome.ACCEPTED, "strike", note=told))
    work = last_work(turn.state)
    if work:
        undone = work_undone_by(turn.state, CommandIntent("strike"))
        turn.accept(why)
        turn.command("strike")
        turn.undo(work)
        return turn.step(Decision(Outcome.ACCEPTED, "strike", work=undone))
    last = turn.state.readings.top
    if last is None:
        return turn.refuse("there is no reading to strike")
    struck = read_as(last)
    turn.accept(why)
    turn.command("strike", struck.point, struck.value)
    rests = rests_on(turn.state, last.seq)
    step = told_of(turn.state) if _withdraw(turn, last) else None
    turn.compute()
    before = turn.state.latest(last.point, last.stage)
    decision = Decision(Outcome.ACCEPTED, "strike", point=struck.point, value=struck.value, step=step, rests_on=rests)
    decision = replace(decision, counts_again=None if before is None else value_read(before))
    return turn.step(replace(decision, computed=turn.computed))


def _read_back(turn: Turn, named: str | None, why: str, *, answering: bool) -> Step:
    last = turn.state.readings.top
    point = named or turn.state.current or (None if last is None else last.point)
    if point is None:
        return turn.refuse("there is no reading yet")
    turn.begin(why, answering=answering)
    turn.command("read back", point)
    found = turn.state.latest(point)
    if found is None:
        return turn.step(Decision(Outcome.ACCEPTED, "read back", point=point))
    value, verdict = value_read(found), verdict_of(found)
    return turn.step(Decision(Outcome.ACCEPTED, "read back", point=point, value=value, verdict=verdict))

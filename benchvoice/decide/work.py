"""Work on the unit: taking it apart, rework of a part, putting it together, and whether it may be called closed."""

from __future__ import annotations

from dataclasses import replace

from benchvoice.decide.intake import intake_candidate, of_intake
from benchvoice.decide.rework import description, fed_through, fitted_last, number_of, part_in_hand, value_of
from benchvoice.decide.session_state import SessionState
from benchvoice.decide.spelled import ask_back
from benchvoice.decide.stripdown import Item, StripDown, written_thing
from benchvoice.decide.turn import Step, Turn
from benchvoice.events import (
    Careful,
    LeftOut,
    Refitted,
    Removed,
    Replaced,
    Reworked,
    Substituted,
    UnitClosed,
)
from benchvoice.part_values import part_quantity
from benchvoice.records import (
    Candidate,
    CommandIntent,
    Decision,
    Intent,
    Outcome,
    ReadingIntent,
    Thing,
    Trust,
    WorkDone,
    WorkIntent,
)
from benchvoice.units import quantity_kind

__all__ = ["do_work", "harmless", "keeps_open", "may_be_part_value", "not_closed", "not_yet", "work_candidate"]

_OF_FITTED = ("value", "part number")
"""What is told of the part that was fitted last."""


def harmless(intent: WorkIntent) -> bool:
    """Whether nothing is lost when it is not heard; to ask about it would only be in the way."""
    return intent.act in ("back next", "still out", "timers")


def work_candidate(turn: Turn, intent: WorkIntent) -> Candidate | None:
    """What a question would offer, None where it is nothing.

    With what the part is by the board file, and with that which a value is told of.
    """
    if of_intake(intent):
        return intake_candidate(turn.state, intent)
    ref = fitted_last(turn.state.work.at_hand) if intent.act in _OF_FITTED and intent.thing is None else ""
    named = replace(intent, thing=Thing("part", ref)) if ref else intent
    return Candidate(None, None, work=_with_description(turn, named))


def may_be_part_value(state: SessionState, work: WorkIntent, intent: Intent) -> bool:
    """Whether a value alone, or a correction without a point, may be the value of the part that `work` is about."""
    if isinstance(intent, ReadingIntent):
        named = intent.point is not None and not intent.alone
    elif isinstance(intent, CommandIntent):
        named = intent.name != "correction" or intent.point is not None
    else:
        return False
    if named or intent.value is None:
        return False
    ref = fitted_last(state.work.at_hand) if work.thing is None else work.thing.name
    quantity = part_quantity(ref)
    units = quantity_kind(quantity).units if quantity else ()
    return intent.value.over_range or not intent.value.unit_said or intent.value.unit in units


def not_yet(turn: Turn, intent: WorkIntent) -> str:
    """Why work that was heard, not typed, is asked before it is kept, as a phrase; empty where it is not.

    "Out" and "back" are short, and one voice says them so alike that all ears took one for the other.
    """
    heard = turn.hearing.transcript.trust is not Trust.TYPED
    log = turn.state.work
    if heard and intent.act in _OF_FITTED and log.at_hand and log.at_hand[-1].seq < log.resumed_at:
        return "the part was fitted in an earlier session"
    return "it turns from one way to the other" if heard and turn.state.work.turns(intent) else ""


def do_work(turn: Turn, intent: WorkIntent, why: str = "", *, answering: bool = False) -> Step:
    """Keeps what was done, or says why it cannot be.

    Args:
        turn: the utterance.
        intent: what was done, once it is certain.
        why: what led to it, for the journal.
        answering: it settles the open question, which would lapse otherwise.
    """
    intent = _with_description(turn, intent)
    match intent.act:
        case "out":
            done = _out(turn, intent, why, answering=answering)
        case "back":
            done = _back(turn, intent, why, answering=answering)
        case "back next" | "still out":
            done = _tell(turn, intent, why, answering=answering)
        case "left out" | "unit closed":
            done = _close_up(turn, intent, why, answering=answering)
        case "careful":
            name = "" if intent.thing is None else intent.thing.name
            turn.begin(why, answering=answering)
            turn.keep(Careful(**turn.next(), heard=turn.heard_seq, text=intent.text, name=name))
            done = _accepted(turn, WorkDone(intent))
        case "substituted":
            done = _substituted(turn, intent, why, answering=answering)
        case "fitted":
            done = _fitted(turn, intent, why, answering=answering)
        case "part number" if fitted_last(turn.state.work.at_hand):
            done = _part_number(turn, intent, why, answering=answering)
        case _:
            done = _reworked(turn, intent, why, answering=answering)
    return done


def keeps_open(stripped: StripDown) -> bool:
    """Whether the unit, and so the job, cannot be closed yet: something is out, and nobody said why."""
    return bool(stripped.to_go_back)


def not_closed(turn: Turn) -> Step:
    """Refuses to close: what is still out, so that it goes back or the reason is told."""
    stripped = turn.state.work.stripped
    refused = turn.refuse(f"{stripped.pieces} still out")
    told = replace(_overview(WorkIntent("still out"), stripped), next=None)
    return replace(refused, decision=Decision(Outcome.IGNORED, "not closed", why=refused.decision.why, work=told))


# --- each of them -------------------------------------------------------------------------------------------------
def _accepted(turn: Turn, done: WorkDone) -> Step:
    return turn.step(Decision(Outcome.ACCEPTED, done.intent.act, work=done))


def _with_description(turn: Turn, intent: WorkIntent) -> WorkIntent:
    thing = intent.thing
    if thing is None or thing.kind != "part" or thing.what:
        return intent
    return replace(intent, thing=replace(thing, what=description(turn.state.board, thing.name)))


def _out(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    thing = intent.thing
    if thing is None:
        return turn.refuse("what was taken out was not said")
    if turn.state.work.stripped.is_out(thing) is not None:
        return turn.refuse("it is out already")
    turn.begin(why, answering=answering)
    turn.keep(Removed(**turn.next(), heard=turn.heard_seq, thing=written_thing(thing)))
    return _accepted(turn, WorkDone(intent, (thing,), pieces=turn.state.work.stripped.pieces))


def _back(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    before, thing = turn.state.work.stripped, intent.thing
    if thing is None:
        return turn.refuse("what goes back was not said")
    refit = before.refit(thing, confirmed=answering)
    if refit.ask is not None:
        return turn.ask((Candidate(None, None, work=replace(intent, thing=refit.ask)),), refit.why)
    if not refit.parts:
        return turn.refuse(refit.why)
    turn.begin(why, answering=answering)
    for seq, count in refit.parts:
        item = before.item(seq)
        again = fed_through(turn.state.board, thing.name) if item is not None and item.thing.kind == "part" else ()
        turn.keep(Refitted(**turn.next(), heard=turn.heard_seq, removed=seq, count=count, again=again))
    return _accepted(turn, _put_back(turn, intent, before, refit.parts))


def _put_back(turn: Turn, intent: WorkIntent, before: StripDown, parts: tuple[tuple[int, int], ...]) -> WorkDone:
    """What is told once something went back: what is left of it, what is next, and what to take care of there."""
    after = turn.state.work.stripped
    things, of, still, earliest = [], 0, 0, parts[0][0]
    careful: list[str] = []
    for seq, count in parts:
        item, left = before.item(seq), after.item(seq)
        if item is None or left is None:
            continue
        things.append(replace(item.thing, count=count))
        earliest = min(earliest, seq)
        if left.out:
            of, still = item.thing.count, left.out
        # a thing that goes back before its turn has not been warned of yet
        careful += () if before.next is not None and before.next.seq == seq else item.careful
    behind = after.behind(earliest)
    following = None if still else after.next
    careful += () if following is None else following.careful
    thing = intent.thing
    return WorkDone(
        intent,
        tuple(things),
        of=of,
        still=still,
        next=None if following is None else following.still,
        behind=None if behind is None else behind.still,
        careful=tuple(dict.fromkeys(careful)),
        pieces=after.pieces,
        again=fed_through(turn.state.board, thing.name) if thing is not None and thing.kind == "part" else (),
    )


def _overview(intent: WorkIntent, stripped: StripDown) -> WorkDone:
    following = stripped.next
    return WorkDone(
        intent,
        tuple(item.still for item in stripped.to_go_back),
        of=_whole(following),
        next=None if following is None else following.still,
        careful=() if following is None else following.careful,
        pieces=stripped.pieces,
        left_out=tuple((item.still, item.why) for item in stripped.still_out if item.why),
    )


def _whole(item: Item | None) -> int:
    """How many there had been where some of them are back; else 0."""
    return 0 if item is None or item.out == item.thing.count else item.thing.count


def _tell(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    turn.begin(why, answering=answering)
    turn.command(intent.act)
    return _accepted(turn, _overview(intent, turn.state.work.stripped))


def _close_up(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    before = turn.state.work.stripped
    if intent.act == "left out":
        if not before.to_go_back:
            return turn.refuse("nothing is out")
        turn.begin(why, answering=answering)
        left = before.to_go_back[0]  # what would go back now; all else still goes back
        turn.keep(LeftOut(**turn.next(), heard=turn.heard_seq, removed=(left.seq,), why=intent.text))
        after = _overview(intent, turn.state.work.stripped)
        return _accepted(turn, replace(after, things=(left.still,)))
    if keeps_open(before):
        return not_closed(turn)
    turn.begin(why, answering=answering)
    turn.keep(UnitClosed(**turn.next(), heard=turn.heard_seq))
    return _accepted(turn, _overview(intent, turn.state.work.stripped))


def _substituted(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    thing = intent.thing
    if thing is None:
        return turn.refuse("what was tried was not said")
    turn.begin(why, answering=answering)
    turn.keep(
        Substituted(
            **turn.next(),
            heard=turn.heard_seq,
            what=thing.what if thing.kind == "part" else thing.name,
            ref=thing.name if thing.kind == "part" else "",
            outcome=intent.text,  # type: ignore[arg-type]  # those of the grammar, which the event checks
            stage=turn.state.stage,
        )
    )
    return _accepted(turn, WorkDone(intent, (thing,)))


# --- rework -------------------------------------------------------------------------------------------------------
def _fitted(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    part, value = intent.thing, intent.value
    if part is None:
        return turn.refuse("which part was fitted was not said")
    old = turn.state.work.stripped.is_out(part)
    again = fed_through(turn.state.board, part.name)
    turn.begin(why, answering=answering)
    turn.keep(
        Replaced(
            **turn.next(),
            heard=turn.heard_seq,
            ref=part.name,
            what=part.what,
            removed=None if old is None else old.seq,
            value=None if value is None else value.digits,
            unit=None if value is None else value.unit,
            again=again,
        )
    )
    return _accepted(turn, WorkDone(intent, (part,), again=again, ref=part.name))


def _part_number(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    """A part number is asked back, with the part that it is told of."""
    named = replace(intent, thing=intent.thing or Thing("part", fitted_last(turn.state.work.at_hand)))
    return ask_back(turn, named, why, lambda told: _reworked(turn, told, why, answering=True), answering=answering)


def _reworked(turn: Turn, intent: WorkIntent, why: str, *, answering: bool) -> Step:
    log, value = turn.state.work.at_hand, intent.value
    ref = fitted_last(log) if intent.act in _OF_FITTED else part_in_hand(log)
    if not ref and intent.act in _OF_FITTED:
        return turn.refuse("say first which part was fitted")
    if intent.act == "value" and value is None:
        return turn.refuse("no value was said")
    turn.begin(why, answering=answering)
    instead = value_of(log, ref) if intent.act == "value" else None
    before = number_of(log, ref) if intent.act == "part number" else ""
    turn.keep(
        Reworked(
            **turn.next(),
            heard=turn.heard_seq,
            ref=ref,
            act=intent.act,  # type: ignore[arg-type]  # the acts that are left, which the event checks
            text=intent.text,
            value=None if value is None else value.digits,
            unit=None if value is None else value.unit,
        )
    )
    told = instead if instead != value else None
    return _accepted(turn, WorkDone(intent, ref=ref, instead=told, before=before if before != intent.text else ""))

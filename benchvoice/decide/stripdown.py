"""What came out of the unit, in which order, and what goes back next: a fold of the events of work on it.

Nothing is called closed while something is out without a reason. What is struck is left out of the fold, so that
undoing gives exactly what was there before.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from benchvoice.events import (
    Careful,
    Event,
    Intake,
    LeftOut,
    Refitted,
    Removed,
    Replaced,
    Reworked,
    Substituted,
    ThingSaid,
    Undone,
    UnitClosed,
)
from benchvoice.records import Thing, WorkIntent

__all__ = [
    "Item",
    "Refit",
    "StripDown",
    "WorkChange",
    "WorkEvent",
    "WorkLog",
    "as_thing",
    "due",
    "strip_down",
    "written_thing",
]

WorkEvent = Removed | Refitted | Replaced | Reworked | Careful | Substituted | LeftOut | UnitClosed | Intake
"""What "strike that" undoes where nothing was read since; what was told at the intake is among it."""

WorkChange = WorkEvent | Undone
"""What changes which work on the unit counts."""


def as_thing(written: ThingSaid) -> Thing:
    """A thing as it stands in the journal, for the session."""
    return Thing(written.kind, written.name, written.count, written.size, written.length, written.place, written.what)


def written_thing(thing: Thing) -> ThingSaid:
    """A thing as the journal keeps it."""
    return ThingSaid(
        kind=thing.kind,
        name=thing.name,
        count=thing.count,
        size=thing.size,
        length=thing.length,
        place=thing.place,
        what=thing.what,
    )


@dataclass(frozen=True)
class Item:
    """What one utterance took out.

    Attributes:
        seq: its event's.
        thing: what it is and how many.
        out: how many of them are still out.
        why: why it stays out; "" where nobody said so.
        careful: what to take care of when it goes back.
    """

    seq: int
    thing: Thing
    out: int
    why: str = ""
    careful: tuple[str, ...] = ()

    @property
    def still(self) -> Thing:
        """The thing with as many as are still out."""
        return replace(self.thing, count=self.out)


@dataclass(frozen=True)
class Refit:
    """What a sentence that puts something back means: how many of which items, or why it cannot be told.

    Attributes:
        parts: `seq` of an item and how many of it, the latest first.
        why: the reason where there are none.
        ask: the one thing that may be meant instead, to be asked.
    """

    parts: tuple[tuple[int, int], ...] = ()
    why: str = ""
    ask: Thing | None = None


@dataclass(frozen=True)
class StripDown:
    """What is known after some events. Made by `strip_down`.

    Attributes:
        items: everything that was ever taken out, in that order, what went back included.
        closed: whether the unit was called closed since something was last taken out.
        waiting: remarks whose thing has not come out yet, with its name ("" for whatever comes next).
    """

    items: tuple[Item, ...] = ()
    closed: bool = False
    waiting: tuple[tuple[str, str], ...] = ()

    @property
    def still_out(self) -> tuple[Item, ...]:
        """What is still out, in the order in which it goes back: the latest first."""
        return tuple(item for item in reversed(self.items) if item.out)

    @property
    def to_go_back(self) -> tuple[Item, ...]:
        """The same without what stays out for a reason."""
        return tuple(item for item in self.still_out if not item.why)

    @property
    def next(self) -> Item | None:
        """What goes back next; None where nothing does."""
        return next(iter(self.to_go_back), None)

    @property
    def pieces(self) -> int:
        """How many pieces have to go back."""
        return sum(item.out for item in self.to_go_back)

    @property
    def opened(self) -> bool:
        """Whether something was taken out and the unit was not called closed since."""
        return bool(self.items) and not self.closed

    def item(self, seq: int) -> Item | None:
        """The item of that number."""
        return next((item for item in self.items if item.seq == seq), None)

    def is_out(self, thing: Thing) -> Item | None:
        """The item that is the very same thing and still out: of a lid, a cable or a part there is one."""
        if thing.kind == "fastener":
            return None
        return next((item for item in self.still_out if _fits(item.thing, thing) and _fits(thing, item.thing)), None)

    def behind(self, seq: int) -> Item | None:
        """What came out after an item and is still out: by the order it goes back before that."""
        return next((item for item in self.to_go_back if item.seq > seq), None)

    def refit(self, thing: Thing, *, confirmed: bool = False) -> Refit:
        """Which items go back when `thing` does. `confirmed`: it is what was asked, so just that lot is meant.

        Of what fits, the latest is meant. More than it holds is an earlier lot that holds so many, which is asked, or
        several lots: those that are alike, or all that there are; never more than came out.
        """
        fitting = [item for item in self.still_out if _fits(item.thing, thing)]
        found = sum(item.out for item in fitting)
        if not fitting:
            return Refit(why="it is not out")
        if thing.count > found:
            return Refit(why=f"only {found} of them {'is' if found == 1 else 'are'} out")
        if thing.count <= fitting[0].out:
            return Refit(((fitting[0].seq, thing.count),))
        same = [item for item in fitting if item.out >= thing.count and replace(item.thing, count=thing.count) == thing]
        if confirmed and same:
            return Refit(((same[0].seq, thing.count),))
        if thing.count < found and not _alike(fitting):
            large = [item for item in fitting if item.out >= thing.count]
            ask = replace(large[0].thing, count=thing.count) if len(large) == 1 else None
            return Refit(ask=ask, why="say where they go")
        return Refit(_spread(fitting, thing.count))


def _is_part(event: WorkEvent) -> bool:
    return isinstance(event, Removed) and event.thing.kind == "part"


def _fits(out: Thing, said: Thing) -> bool:
    """Whether a thing that is out may be the one that was said: what was left unsaid does not matter."""
    if (out.kind, out.name.casefold()) != (said.kind, said.name.casefold()):
        return False
    size = not said.size or out.size == said.size or out.size.startswith(f"{said.size} by ")
    return size and said.length in ("", out.length) and said.place in ("", out.place)


def _alike(items: Sequence[Item]) -> bool:
    return len({(item.thing.size, item.thing.length, item.thing.place) for item in items}) == 1


def _spread(items: Sequence[Item], count: int) -> tuple[tuple[int, int], ...]:
    parts = []
    for item in items:
        taken = min(count, item.out)
        if taken:
            parts.append((item.seq, taken))
        count -= taken
    return tuple(parts)


def strip_down(events: Iterable[WorkEvent]) -> StripDown:
    """What the events lead to, in the order given. What refers to nothing, or to more than is out, changes nothing."""
    state = StripDown()
    for event in events:
        state = _after(state, event)
    return state


def _after(state: StripDown, event: WorkEvent) -> StripDown:
    match event:
        case Removed():
            state = _removed(state, event)
        case Refitted():
            state = _changed(state, event.removed, lambda item: replace(item, out=max(0, item.out - event.count)))
        case Replaced(removed=int(seq)):
            state = _changed(state, seq, lambda item: replace(item, out=0))
        case Careful():
            state = _careful(state, event)
        case LeftOut():
            for seq in event.removed:
                state = _changed(state, seq, lambda item: replace(item, why=event.why))
        case UnitClosed():
            state = replace(state, closed=True)
    return state


def _removed(state: StripDown, event: Removed) -> StripDown:
    thing = as_thing(event.thing)
    mine = tuple(text for name, text in state.waiting if name in ("", thing.name))
    item = Item(event.seq, thing, thing.count, careful=mine)
    waiting = tuple((name, text) for name, text in state.waiting if name not in ("", thing.name))
    return StripDown((*state.items, item), closed=False, waiting=waiting)


def _careful(state: StripDown, event: Careful) -> StripDown:
    """A remark goes to the thing that it names, else to the one taken out last; it waits where that is not out."""
    about = next((item for item in state.still_out if event.name in ("", item.thing.name)), None)
    if about is None:
        return replace(state, waiting=(*state.waiting, (event.name, event.text)))
    return _changed(state, about.seq, lambda item: replace(item, careful=(*item.careful, event.text)))


def _changed(state: StripDown, seq: int, change: Callable[[Item], Item]) -> StripDown:
    return replace(state, items=tuple(change(item) if item.seq == seq else item for item in state.items))


def due(events: Iterable[WorkEvent]) -> Mapping[str, int]:
    """Point → `seq` of the latest event that asks for it to be measured again after the repair."""
    found: dict[str, int] = {}
    for event in events:
        if isinstance(event, Replaced | Refitted):
            found |= dict.fromkeys(event.again, event.seq)
    return found


@dataclass(frozen=True)
class WorkLog:
    """The events of work on the unit that count, in order; what was struck is not among them.

    `left_at`: `seq` of the last utterance that named a part without anything being done to one; 0 for none.
    `resumed_at`: `seq` of the opening since which this session goes; 0 for none.
    """

    events: tuple[WorkEvent, ...] = ()
    left_at: int = 0
    resumed_at: int = 0

    @property
    def at_hand(self) -> tuple[WorkEvent, ...]:
        """The events since another part was named, which alone tell what part is in hand."""
        return tuple(event for event in self.events if event.seq > self.left_at)

    def left(self, seq: int) -> WorkLog:
        """The log once an utterance, by its number, named a part and nothing was done to one."""
        return replace(self, left_at=seq)

    @cached_property
    def stripped(self) -> StripDown:
        """What is out and what goes back."""
        return strip_down(self.events)

    @property
    def carried_over(self) -> WorkLog:
        """The log as a later visit begins: what is still out, and why, and nothing else."""
        out = {item.seq for item in self.stripped.still_out}

        def of_it(event: WorkEvent) -> bool:
            match event:
                case Removed():
                    return event.seq in out
                case Refitted():
                    return event.removed in out
                case LeftOut():
                    return not out.isdisjoint(event.removed)
            return False

        return WorkLog(tuple(event for event in self.events if of_it(event)))

    def turns(self, intent: WorkIntent) -> bool:
        """Whether fasteners would come out where things were going back, or go back where they were coming out."""
        if intent.thing is None or intent.thing.kind != "fastener" or intent.act not in ("out", "back"):
            return False
        moved = [event for event in self.events if isinstance(event, Removed | Refitted)]
        return bool(moved) and isinstance(moved[-1], Removed) != (intent.act == "out")

    @property
    def latest(self) -> tuple[WorkEvent, ...]:
        """The events of the last utterance that did work, which a strike would undo together."""
        if not self.events:
            return ()
        heard = self.events[-1].heard
        return tuple(event for event in self.events if event.heard == heard)

    def after(self, event: Event) -> WorkLog:
        """The log after one more event; the same where the event is of another kind."""
        if isinstance(event, WorkEvent):
            return replace(self, events=(*self.events, event))
        if isinstance(event, Undone):
            undone = (each for each in self.events if each.seq in event.undoes)
            part = any(isinstance(each, Replaced) or _is_part(each) for each in undone)
            # what is said next need not be about the part before it
            return replace(
                self.left(event.seq) if part else self,
                events=tuple(each for each in self.events if each.seq not in event.undoes),
            )
        return self

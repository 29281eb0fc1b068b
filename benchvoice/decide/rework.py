"""Which parts were replaced, with what and how; and which points have to be measured again because of that.

Pure folds of the events of work on the unit.
"""

from __future__ import annotations

from collections.abc import Iterable

from benchvoice.decide.board import Board
from benchvoice.decide.stripdown import WorkEvent
from benchvoice.events import Removed, Replaced, Reworked
from benchvoice.records import SpokenValue

__all__ = ["counting", "description", "fed_through", "fitted_last", "part_in_hand", "value_of"]


def fed_through(board: Board, ref: str) -> tuple[str, ...]:
    """The points that a part feeds, in the board's order: those fed through it, and all that those feed in turn."""
    fed = {
        point.name
        for point in board.points
        if point.fed_by is not None and ref.casefold() in [part.casefold() for part in point.fed_by.parts]
    }
    grown = True
    while grown:
        more = {point.name for point in board.points if point.fed_by is not None and point.fed_by.point in fed}
        grown = not more <= fed
        fed |= more
    return tuple(point.name for point in board.points if point.name in fed)


def description(board: Board, ref: str) -> str:
    """What a part is, as the board file says; "" where it does not."""
    return next((part.what for part in board.parts if part.ref.casefold() == ref.casefold()), "")


def part_in_hand(events: Iterable[WorkEvent]) -> str:
    """The part that was removed, fitted or worked on last: what is said of rework belongs to it. "" for none."""
    ref = ""
    for event in events:
        match event:
            case Removed(thing=thing) if thing.kind == "part":
                ref = thing.name
            case Replaced() | Reworked():
                ref = event.ref or ref
    return ref


def fitted_last(events: Iterable[WorkEvent]) -> str:
    """The part whose value and part number may be told now: fitted, and nothing but rework since. "" for none."""
    ref = ""
    for event in events:
        if isinstance(event, Replaced):
            ref = event.ref
        elif not isinstance(event, Reworked):
            ref = ""
    return ref


def counting(events: Iterable[WorkEvent]) -> tuple[WorkEvent, ...]:
    """The events without what was told once more: of a part that was fitted the latest value and part number count."""
    kept: list[WorkEvent] = []
    told: set[tuple[str, str]] = set()
    for event in reversed(tuple(events)):
        match event:
            case Reworked(act="value" | "part number"):
                if (event.ref, event.act) in told:
                    continue
                told.add((event.ref, event.act))
            case Replaced():
                if (event.ref, "value") in told:
                    event = event.model_copy(update={"value": None, "unit": None})  # noqa: PLW2901
                told -= {(event.ref, "value"), (event.ref, "part number")}
        kept.append(event)
    return tuple(reversed(kept))


def value_of(events: Iterable[WorkEvent], ref: str) -> SpokenValue | None:
    """The value that was told of a part since it was fitted last; None where none was."""
    told = (event for event in reversed(_since_fitted(events, ref)) if event.value is not None)
    last = next(told, None)
    return None if last is None else SpokenValue(last.value or "", last.unit or "", unit_said=True)


def number_of(events: Iterable[WorkEvent], ref: str) -> str:
    """The part number that was told of a part since it was fitted last; "" where none was."""
    told = (event for event in reversed(_since_fitted(events, ref)) if isinstance(event, Reworked))
    return next((event.text for event in told if event.act == "part number"), "")


def _since_fitted(events: Iterable[WorkEvent], ref: str) -> list[Replaced | Reworked]:
    """What was told of a part from its last fitting on."""
    found: list[Replaced | Reworked] = []
    for event in events:
        if isinstance(event, Replaced | Reworked) and event.ref == ref:
            found = [event] if isinstance(event, Replaced) else [*found, event]
    return found

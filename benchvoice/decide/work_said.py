"""Events of work on the unit as what was said to bring them about, for the answer that they are struck."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from benchvoice.decide.stripdown import StripDown, WorkEvent, as_thing
from benchvoice.events import Careful, Intake, LeftOut, Refitted, Removed, Replaced, Reworked, Substituted
from benchvoice.records import SpokenValue, Thing, WorkAct, WorkDone, WorkIntent

__all__ = ["work_of"]


_ACTS: Mapping[str, WorkAct] = {"complaint": "complaint", "accessory": "came with", "arrived": "arrived",
                                "serial": "serial", "indicator": "indicator"}  # fmt: skip
"""What is told at the intake, by `events.Intake.what`."""


def work_of(events: tuple[WorkEvent, ...], stripped: StripDown) -> WorkDone:
    """What some events of one utterance did, for the answer that they were struck, or are to be.

    Raises:
        ValueError: there are no events.
    """
    things: list[Thing] = []
    for event in events:
        match event:
            case Removed():
                things.append(as_thing(event.thing))
            case Refitted():
                item = stripped.item(event.removed)
                things += [] if item is None else [replace(item.thing, count=event.count)]
    return WorkDone(_said_of(events[0]), tuple(things), ref=getattr(events[0], "ref", ""))


def _said_of(event: WorkEvent) -> WorkIntent:
    said = WorkIntent("unit closed")
    match event:
        case Removed():
            said = WorkIntent("out", as_thing(event.thing))
        case Refitted():
            said = WorkIntent("back")
        case Replaced():
            said = WorkIntent("fitted", Thing("part", event.ref, what=event.what))
        case Reworked():
            value = None if event.value is None else SpokenValue(event.value, event.unit or "", unit_said=True)
            said = WorkIntent(event.act, text=event.text, value=value)
        case Careful():
            said = WorkIntent("careful", text=event.text)
        case Substituted():
            said = WorkIntent("substituted", _tried(event), event.outcome)
        case LeftOut():
            said = WorkIntent("left out", text=event.why)
        case Intake():
            said = WorkIntent(_ACTS[event.what], text=event.text, name=event.name, means=event.means)
    return said


def _tried(event: Substituted) -> Thing:
    return Thing("part", event.ref, what=event.what) if event.ref else Thing("substitute", event.what)

"""What was tried with another in its place, as far as it still counts as evidence for or against a cause."""

from __future__ import annotations

from collections.abc import Iterable

from benchvoice.decide.stripdown import WorkEvent
from benchvoice.events import Replaced, Substituted
from benchvoice.suspect.findings import Trial

__all__ = ["counting_trials", "trials_of"]


def counting_trials(events: Iterable[WorkEvent], stage: str, *, so_far: bool = False) -> tuple[Substituted, ...]:
    """The latest trial of each thing in a stage, in order.

    What was tried before the repair goes on speaking for it, though the part was then replaced. Of the unit as it is
    now (`so_far`) it says nothing any more, nor does a trial after the repair once the part is replaced again.
    """
    over = so_far or stage == "after"
    found: dict[tuple[str, str], Substituted] = {}
    for event in events:
        match event:
            case Substituted() if event.stage == stage:
                key = _key(event)
                found.pop(key, None)
                found[key] = event
            case Replaced() if over:
                found = {key: each for key, each in found.items() if key[0] != event.ref.casefold()}
    return tuple(found.values())


def trials_of(events: Iterable[WorkEvent], stage: str, *, so_far: bool = False) -> tuple[Trial, ...]:
    """The same for the weighing of suspects."""
    return tuple(
        Trial(event.ref or event.what, event.outcome) for event in counting_trials(events, stage, so_far=so_far)
    )


def _key(event: Substituted) -> tuple[str, str]:
    return event.ref.casefold(), "" if event.ref else event.what

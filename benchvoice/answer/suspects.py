"""What is suspected, in words: which sentence tells it, and what goes into its slots."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from benchvoice.answer.wording import Wording
from benchvoice.records import Decision
from benchvoice.suspicion import Cause, Suspicion

__all__ = ["suspicion_slots"]

_MOST_NAMED = 3

Fill = Callable[..., str]


def suspicion_slots(
    decision: Decision, data: Mapping[str, Any], wording: Wording, fill: Fill
) -> tuple[str, dict[str, str]]:
    """The key of the sentence that answers "suspects" or "measure next", and its slots.

    Args:
        decision: what was decided.
        data: the content of replies.yaml.
        wording: how points and numbers are called.
        fill: fills the slots of a template.
    """
    found = decision.suspicion or Suspicion(certain=False, supplied=False)
    slots = {"point": wording.point(decision.point)}
    if decision.about == "measure next":
        if decision.point is None:
            return "nothing to measure", slots
        return ("measure left" if found.next_point is None and found.sets else "measure next"), slots
    if not (found.supplied or found.certain):
        return "not supplied", slots
    slots["why"] = _why(found, data, wording, fill)
    if not found.sets:
        return "no suspects", slots
    words = data["suspects"]
    named = [
        str(words["together"]).join(_cause(cause, found, words, wording, fill) for cause in each.causes)
        for each in found.sets[:_MOST_NAMED]
    ]
    rest = found.n_sets - len(named)
    slots["more"] = wording.count(rest) if rest > 0 else ""
    return "suspects", slots | {"who": str(words["or"]).join(named)}


def _why(found: Suspicion, data: Mapping[str, Any], wording: Wording, fill: Fill) -> str:
    """The first reason that has words here; the record has them all."""
    because = data["suspected because"]
    for reason in found.reasons:
        if reason.kind in because:
            return fill(because[reason.kind], point=wording.point(reason.point))
    return str(because["nothing"])


def _cause(cause: Cause, found: Suspicion, words: Mapping[str, str], wording: Wording, fill: Fill) -> str:
    if cause.kind != "part":
        return fill(words[cause.kind], point=wording.point(cause.at))
    what = next((each.what for each in found.suspects if each.cause == cause), "")
    ref = wording.spoken(cause.at)
    return fill(words["part"], part=ref, what=wording.spoken(what)) or ref

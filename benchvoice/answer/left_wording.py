"""What is said of what is left: the checklist's steps to come, and the points not read."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from benchvoice.answer.wording import Wording
from benchvoice.records import Decision

__all__ = ["LeftWording"]

_MOST_NAMES = 6
"""How many are named; of the rest the number is said."""


class LeftWording:
    """Words what is left.

    Args:
        wording: how numbers and points are called.
        say: a sentence by its name, whether it is to be terse, and its slots.
    """

    def __init__(self, wording: Wording, say: Callable[..., str]) -> None:
        self._wording = wording
        self._say = say

    def reply(self, decision: Decision, terse: bool) -> str:
        """The steps to come with their parts, then the points: not read, and to read again."""
        if not decision.steps:
            return self._points(decision, terse)
        form = "step left" if len(decision.steps) == 1 else "steps left"
        parts = list(dict.fromkeys(self._wording.spoken(part) for part in decision.steps if part))
        count = self._wording.count(len(decision.steps))
        steps = self._say(form, terse, count=count, parts=", ".join(parts[:_MOST_NAMES]))
        beside = ""
        if decision.names:
            more = self._more(decision.names)
            unread = "left beside steps more" if more else "left beside steps"
            points = self._wording.count(len(decision.names))
            beside = self._say(unread, terse, count=points, names=self._named(decision.names), more=more)
        again = self._say("left again", terse, again=self._named(decision.again)) if decision.again else ""
        return " ".join(filter(None, (steps, beside, again)))

    def _points(self, decision: Decision, terse: bool) -> str:
        again = self._named(decision.again)
        if not decision.names:
            return self._say("left again" if again else "nothing left", terse, again=again)
        more = self._more(decision.names)
        count, named = self._wording.count(len(decision.names)), self._named(decision.names)
        return self._say("left more" if more else "left", terse, count=count, names=named, more=more, again=again)

    def _named(self, points: Sequence[str]) -> str:
        return ", ".join(self._wording.point(name) for name in points[:_MOST_NAMES])

    def _more(self, points: Sequence[str]) -> str:
        """How many there are beside those that are named; empty for none."""
        rest = len(points) - _MOST_NAMES
        return self._wording.count(rest) if rest > 0 else ""

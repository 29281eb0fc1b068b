"""Timers in words: what was set, what is left, what is over. The sentences are data. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from benchvoice.answer.wording import Wording, sounds_like_another
from benchvoice.errors import GrammarError
from benchvoice.records import Decision, TimerTold, WorkIntent
from benchvoice.spelling import spell_digits
from benchvoice.time_units import SECONDS_IN

__all__ = ["OF_TIMERS", "TimerWording"]

OF_TIMERS = ("timer", "timer replaced", "timer stop", "timers")
"""The decisions that are worded here."""

_BESIDES = ("no timers", "timer over", "timer was over", "plain", "options")

_WORTH_TELLING_S = 10
"""How late a timer is told before it is said how late: less is hardly noticed."""


class TimerWording:
    """The sentences of timers.

    Args:
        data: the part `timers` of replies.yaml.
        wording: how numbers and names are called.
        fill: a template and its slots → the sentences whose slots are all filled.
        time: how many seconds → the time in words.

    Raises:
        GrammarError: a sentence is missing.
    """

    def __init__(
        self, data: Mapping[str, Any], wording: Wording, fill: Callable[..., str], time: Callable[[int], str]
    ) -> None:
        for name in (*OF_TIMERS, *_BESIDES):
            if not data.get(name):
                raise GrammarError("is missing", file="replies.yaml", field=f"timers.{name}")
        self._data = data
        self._wording = wording
        self._fill = fill
        self._time = time

    def reply(self, decision: Decision, terse: bool) -> str:  # noqa: ARG002  they are short as they are
        """What is answered to a decision of `OF_TIMERS`."""
        if decision.about == "timers" and not decision.timers:
            return str(self._data["no timers"])
        return " ".join(self._sentence(decision.about, timer) for timer in decision.timers)

    def over(self, timer: TimerTold) -> str:
        """What is said when a timer is over."""
        late_s = -timer.left_s
        if late_s < _WORTH_TELLING_S:
            return self._sentence("timer over", timer)
        return self._fill(self._data["timer was over"], name=timer.name, late=self._rounded(late_s))

    def running(self, timers: tuple[TimerTold, ...]) -> str:
        """How much each has left, when a job is taken up again; empty for none."""
        return " ".join(self._sentence("timers", timer) for timer in timers)

    def option(self, intent: WorkIntent) -> str:
        """What a question offers."""
        time = "" if intent.value is None else self._read_back(int(intent.value.number))
        name = "" if intent.act == "timers" else intent.text or self._data["plain"]
        return ", ".join(filter(None, (self._data["options"][intent.act], name, time)))

    def _sentence(self, name: str, timer: TimerTold) -> str:
        left = self._time(timer.left_s) if timer.left_s > 0 else ""
        return self._fill(self._data[name], name=timer.name, time=self._read_back(timer.seconds), left=left)

    def _read_back(self, seconds: int) -> str:
        """A time, and its number digit by digit where a teen and a ten could be mistaken."""
        size = next(size for size in SECONDS_IN.values() if seconds >= size)
        count, rest = divmod(seconds, size)
        digits = str(count)
        if rest or not sounds_like_another(digits):
            return self._time(seconds)
        return f"{self._time(seconds)}, {spell_digits(digits)}"

    def _rounded(self, seconds: int) -> str:
        """In whole minutes from one on."""
        return self._time(seconds if seconds < 60 else seconds // 60 * 60)

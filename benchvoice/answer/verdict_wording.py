"""How a verdict is said: the statement with its direction, the limits, and why nothing was judged."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from benchvoice.answer.wording import Wording
from benchvoice.records import SpokenValue, Statement, Verdict

__all__ = ["VerdictWording"]


class VerdictWording:
    """Words verdicts.

    Args:
        data: the content of replies.yaml.
        wording: how numbers, units and points are called.
        fill: fills a template's slots.
    """

    def __init__(self, data: Mapping[str, Any], wording: Wording, fill: Callable[..., str]) -> None:
        self._data = data
        self._wording = wording
        self._fill = fill

    def statement(self, verdict: Verdict | None, terse: bool) -> str:
        """ "Fail, high"; without a verdict what is said of a reading that is only recorded."""
        name = self._data["verdicts"][str(verdict.statement if verdict else Statement.RECORDED)]
        if verdict is None or verdict.direction is None:
            return str(name)
        template = self._data["verdict terse" if terse else "verdict"]
        return self._fill(template, verdict=name, direction=self._data["directions"][verdict.direction])

    def limits(self, verdict: Verdict | None, value: SpokenValue) -> str:
        """The limits that a value was judged by, or that there are none."""
        text = self._data["limits"]
        if verdict is not None and verdict.wave_unjudged:
            return ""
        if verdict is not None and verdict.expected:
            return self._fill(text["expected"], value=self._data["in words"][verdict.expected])
        low, high = (verdict.low, verdict.high) if verdict else (None, None)
        if low is not None and high is not None:
            low_words, high_words = self._wording.limits(low, high, value.unit)
            return self._fill(text["both"], low=low_words, high=high_words)
        if low is not None:
            return self._fill(text["low"], low=self._wording.limit(low, value.unit))
        if high is not None:
            return self._fill(text["high"], high=self._wording.limit(high, value.unit))
        return str(text["none"])

    def unjudged(self, verdict: Verdict | None) -> str:
        """Why AC is not judged, where the meter may show something else than its true value."""
        if verdict is None or not verdict.wave_unjudged:
            return ""
        return str(self._data["unjudged"][verdict.responds or "not known"])

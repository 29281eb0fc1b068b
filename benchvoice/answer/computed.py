"""Values that follow from others, as they are said after what they follow from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from benchvoice.answer.likeness import LikenessWording
from benchvoice.answer.wording import Wording
from benchvoice.records import ComputedTold, Decision, Statement, Verdict

__all__ = ["ComputedWording", "worst_statement"]

_FROM_GOOD_TO_BAD = (
    Statement.RECORDED,
    Statement.PASS,
    Statement.CONDITIONAL_PASS,
    Statement.CONDITIONAL_FAIL,
    Statement.FAIL,
)


def worst_statement(decision: Decision) -> Statement:
    """The worst of the statements on a reading and on what follows from it: the tone that is heard before the words."""
    verdicts = [decision.verdict, *(each.verdict for each in decision.computed)]
    found = [verdict.statement for verdict in verdicts if verdict is not None]
    return max(found, key=_FROM_GOOD_TO_BAD.index, default=Statement.RECORDED)


class ComputedWording:
    """Says what follows from a reading.

    Args:
        data: the table `computed` of replies.yaml.
        wording: how values and points are called.
        fill: fills a template.
        verdict: says a verdict.
        likeness: says how a value compares.
    """

    def __init__(
        self,
        data: Mapping[str, Any],
        wording: Wording,
        fill: Callable[..., str],
        verdict: Callable[[Verdict | None, bool], str],
        likeness: LikenessWording,
    ) -> None:
        self._data = data
        self._wording = wording
        self._fill = fill
        self._verdict = verdict
        self._likeness = likeness

    def sentences(self, computed: Iterable[ComputedTold]) -> str:
        """A sentence for each of them; never shortened, since nobody said what it is."""
        return " ".join(self._sentence(each) for each in computed)

    def would_be(self, told: ComputedTold | None) -> str:
        """What a reading that is asked would make, as "point value"; empty for nothing."""
        if told is None or told.value is None:
            return ""
        value = self._wording.read_back(told.value, with_unit=True)
        return self._fill(self._data["would be"], point=self._wording.point(told.point), value=value)

    def _sentence(self, told: ComputedTold) -> str:
        point = self._wording.point(told.point)
        if told.value is not None:
            value = self._wording.read_back(told.value, with_unit=True)
            unjudged = told.verdict is None or told.verdict.statement is Statement.RECORDED
            verdict = self._verdict(told.verdict, False).lower()
            name = "recorded" if unjudged else "makes"
            said = self._fill(self._data[name], point=point, value=value, verdict=verdict)
            return f"{said} {self._likeness.sentences(told.likeness)}".rstrip()
        if told.why:
            return self._fill(self._data["why"], point=point, why=self._wording.spoken(told.why))
        return self._fill(self._data[f"gone {told.stage}".rstrip()], point=point)

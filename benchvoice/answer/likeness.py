"""How a reading compares with a known-good board and with other channels, as it is said after the reading."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from benchvoice.answer.wording import Wording
from benchvoice.records import LikenessTold

__all__ = ["LikenessWording"]

_WHOLE_FROM = 10
"""Per cent from which on no decimal is said."""


class LikenessWording:
    """Says what a reading is like.

    Args:
        data: the table `likeness` of replies.yaml.
        wording: how values and points are called.
        fill: fills a template.
    """

    def __init__(self, data: Mapping[str, Any], wording: Wording, fill: Callable[..., str]) -> None:
        self._data = data
        self._wording = wording
        self._fill = fill

    def sentences(self, told: Iterable[LikenessTold], *, terse: bool = False) -> str:
        """A sentence for each; with `terse` only for what is unlike."""
        said = (self._sentence(each) for each in told if each.unlike or not terse)
        return " ".join(text for text in said if text)

    def _sentence(self, told: LikenessTold) -> str:
        percent = "" if told.percent is None or not told.unlike else self._percent(told.percent)
        higher = told.percent is not None and told.percent > 0
        apart = percent and self._fill(self._data["higher" if higher else "lower"], percent=percent)
        if told.point is None:
            value = self._wording.value(told.value, with_unit=True)
            difference = apart or (self._data["unlike"] if told.unlike else "")
            name = "known good unlike" if difference else "known good"
            return self._fill(self._data[name], value=value, difference=difference)
        point = self._wording.point(told.point)
        return self._fill(self._data["channel by" if percent else "channel"], point=point, percent=percent)

    def _percent(self, percent: Decimal) -> str:
        size = abs(percent)
        if size >= _WHOLE_FROM:
            size = size.quantize(Decimal(1), ROUND_HALF_EVEN)
        return self._fill(self._data["per cent"], number=self._wording.number(f"{size.normalize():f}", "%"))

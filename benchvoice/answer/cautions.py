"""Cautions in words: what is there, what it can do, and how long it takes to be gone. The sentences are data.

Pure. Numbers are rounded so that they can be followed by ear, times up.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import ROUND_CEILING, Context, Decimal
from typing import Any

from benchvoice.answer.wording import Wording
from benchvoice.records import CautionTold
from benchvoice.spelling import spell_number

__all__ = ["CautionWording"]

_HEARD_EASILY = Context(prec=2)
_WORTH_A_TIMER_S = 5


class CautionWording:
    """The sentences of cautions.

    Args:
        data: the content of replies.yaml.
        wording: how numbers, units and points are called.
        fill: a template and its slots → the sentences whose slots are all filled.
        time: how many seconds → the time in words.
    """

    def __init__(
        self, data: Mapping[str, Any], wording: Wording, fill: Callable[..., str], time: Callable[[int], str]
    ) -> None:
        self._data = data
        self._wording = wording
        self._fill = fill
        self._time = time

    def sentences(self, cautions: tuple[CautionTold, ...]) -> str:
        """All of them, one after another; empty for none."""
        return " ".join(self._sentence(caution) for caution in cautions)

    def _sentence(self, caution: CautionTold) -> str:
        name = caution.hazard
        if name == "capacitor" and caution.seconds is None:
            name = "no bleeder"
        seconds = 0 if caution.seconds is None else _whole_seconds(caution.seconds)
        slots = {
            "about": self._about(caution.about),
            "volts": "" if caution.volts is None else self._volts(caution.volts),
            "energy": "" if caution.joules is None else self._joules(caution.joules),
            "safe": "" if caution.safe_volts is None else self._volts(caution.safe_volts),
            "time": self._time(seconds),
            "timer": self._time(seconds) if seconds >= _WORTH_A_TIMER_S else "",
        }
        return self._fill(self._data["cautions"][name], **slots)

    def _about(self, about: str) -> str:
        """What it is about: points as they are called, and the file's own words."""
        return ", ".join(self._wording.point(name) for name in about.split(", "))

    def _volts(self, volts: Decimal) -> str:
        return self._wording.limit(volts, "V")

    def _joules(self, joules: Decimal) -> str:
        digits = f"{_HEARD_EASILY.plus(joules):f}"
        many = self._data["joules"]["one" if digits == "1" else "many"]
        return f"{spell_number(digits)} {many}"


def _whole_seconds(seconds: Decimal) -> int:
    """Rounded up to a second; from a minute on to ten."""
    whole = int(seconds.to_integral_value(ROUND_CEILING))
    return whole if whole < 60 else -(-whole // 10) * 10

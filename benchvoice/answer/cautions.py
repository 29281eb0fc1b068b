"""Cautions in words: what is there, what it can do, and how long it takes to be gone. The sentences are data.

Pure. Numbers are rounded so that they can be followed by ear, times up.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import ROUND_CEILING, Context, Decimal
from typing import Any, get_args

from benchvoice.answer.wording import Wording
from benchvoice.errors import GrammarError
from benchvoice.events import HazardName
from benchvoice.records import CautionTold
from benchvoice.spelling import spell_number
from benchvoice.time_units import SECONDS_IN, TIMERS_UP_TO

__all__ = ["CautionWording"]

_HEARD_EASILY = Context(prec=2)
_WORTH_A_TIMER_S = 5
_LOW = "low charge"
_NO_BLEEDER = "no bleeder"


class CautionWording:
    """The sentences of cautions.

    Args:
        data: the content of replies.yaml.
        wording: how numbers, units and points are called.
        fill: a template and its slots → the sentences whose slots are all filled.
        time: how many seconds → the time in words.

    Raises:
        GrammarError: a hazard has no sentence.
    """

    def __init__(
        self, data: Mapping[str, Any], wording: Wording, fill: Callable[..., str], time: Callable[[int], str]
    ) -> None:
        for hazard in (*get_args(HazardName), _NO_BLEEDER, _LOW):
            if not data["cautions"].get(hazard):
                cure = "Every hazard needs its caution"
                raise GrammarError("is missing", file="replies.yaml", field=f"cautions.{hazard}", cure=cure)
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
            name = _LOW if _charges_little(caution) else _NO_BLEEDER
        seconds = 0 if caution.seconds is None else _whole_seconds(caution.seconds)
        slots = {
            "about": self._about(caution.about),
            "volts": "" if caution.volts is None else self._volts(caution.volts),
            "energy": "" if caution.joules is None else self._joules(caution.joules),
            "safe": "" if caution.safe_volts is None else self._volts(caution.safe_volts),
            "time": self._time(seconds),
            "timer": self._timer(seconds) if seconds >= _WORTH_A_TIMER_S else "",
        }
        return self._fill(self._data["cautions"][name], **slots)

    def _timer(self, seconds: int) -> str:
        """The shortest time, in words that are listened for, of a timer that lasts so long; "" where there is none."""
        for unit, size in reversed(tuple(SECONDS_IN.items())):
            count = -(-seconds // size)
            if count <= TIMERS_UP_TO[unit]:
                one, many = self._data["times"][unit]
                return f"{spell_number(str(count))} {one if count == 1 else many}"
        return ""

    def _about(self, about: str) -> str:
        """What it is about: points as they are called, and the file's own words."""
        return ", ".join(self._wording.point(name) for name in about.split(", "))

    def _volts(self, volts: Decimal) -> str:
        return self._wording.limit(volts, "V")

    def _joules(self, joules: Decimal) -> str:
        digits = f"{_HEARD_EASILY.plus(joules):f}"
        many = self._data["joules"]["one" if digits == "1" else "many"]
        return f"{spell_number(digits)} {many}"


def _charges_little(caution: CautionTold) -> bool:
    """Whether it is never charged to more than what counts as empty."""
    volts, safe_volts = caution.volts, caution.safe_volts
    return volts is not None and safe_volts is not None and volts <= safe_volts


def _whole_seconds(seconds: Decimal) -> int:
    """Rounded up to a second; from a minute on to ten."""
    whole = int(seconds.to_integral_value(ROUND_CEILING))
    return whole if whole < 60 else -(-whole // 10) * 10

"""How a checklist's step is said: its text in words, the question that it puts, the time that is waited."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from benchvoice.answer.wording import Wording
from benchvoice.records import StepTold, Tone
from benchvoice.time_units import SECONDS_IN

__all__ = ["STEP_TONES", "StepWording"]

STEP_TONES: Mapping[str, Tone] = {
    "warn": Tone.CAUTION,
    "ask": Tone.ASK,
    "inspect": Tone.ASK,
    "power": Tone.ASK,
}
"""The tone of a step that came to hand, by its kind; any other is `DONE`."""

_STOP = re.compile(r"([.,;:?!]+)(?=\s|$)")
_PAUSES = {";": ",", ":": ",", "!": "."}


class StepWording:
    """The sentences of steps.

    Args:
        data: the content of replies.yaml.
        wording: how numbers, units and points are called.
        fill: fills a template's slots; a sentence with an empty one is left out.
    """

    def __init__(self, data: Mapping[str, Any], wording: Wording, fill: Callable[..., str]) -> None:
        self._data = data
        self._wording = wording
        self._fill = fill

    def sentence(self, step: StepTold | None) -> str:
        """The step in words; empty for none."""
        if step is None:
            return ""
        name = "ask choices" if step.kind == "ask" and step.choices else step.kind
        return self._fill(
            self._data["steps"][name],
            text=self._text(step.text),
            point=self._wording.point(step.point),
            choices=self._choices(step.choices),
            time=self.time(step.wait_s) if step.wait_s else "",
            power=self._data["powers"].get(step.power, ""),
        )

    def place(self, step: StepTold | None) -> Mapping[str, str]:
        """The slots that tell where a step lies."""
        if step is None or not step.of:
            return {}
        count = self._wording.count
        return {"number": count(step.number), "of": count(step.of), "part": self._wording.spoken(step.part)}

    def time(self, seconds: int) -> str:
        """A time in whole hours, minutes and seconds: "one minute thirty seconds"."""
        said = []
        for unit, size in SECONDS_IN.items():
            number, seconds = divmod(seconds, size)
            if number:
                one, many = self._data["times"][unit]
                said.append(f"{self._wording.count(number)} {one if number == 1 else many}")
        return " ".join(said)

    def _text(self, text: str) -> str:
        """A written text in words with the stops between them, but for that at its end."""
        pieces = _STOP.split(text)
        said = []
        for words, stop in zip(pieces[::2], [*pieces[1::2], ""], strict=True):
            spoken = self._wording.spoken(words)
            if spoken:
                said.append(spoken + _PAUSES.get(stop[:1], stop[:1]))
        return " ".join(said).rstrip(".,?")

    def _choices(self, choices: tuple[str, ...]) -> str:
        joint: str = self._data["questions"]["or short"]
        return joint.join((", ".join(choices[:-1]), choices[-1])) if choices else ""

"""Boards, a meter, and hearings made by hand, for tests of the session and of what follows it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Literal

from benchvoice.records import (
    Alternative,
    AnswerIntent,
    CommandIntent,
    CommandName,
    GoToIntent,
    Hearing,
    Intent,
    NoteIntent,
    Parse,
    ReadingIntent,
    SpokenValue,
    Transcript,
    Trust,
)

BOARD = """\
board: GF-2 greenhouse fan controller
revision: C
points:
  - name: input
    say: [input, supply input]
    quantity: voltage
    nominal: 24 V
    tolerance: 10 %
  - name: rail 5
    nominal: 5 V
    tolerance: 5 %
    fed_by: {point: input, through: U2}
  - name: rail 3.3
    say: [rail three point three, logic rail]
    quantity: voltage
    nominal: 3.3 V
    limits: {low: 3.14 V, high: 3.47 V, source: "as published by the board's maker"}
    fed_by: {point: rail 5, through: U4}
    state: powered
  - name: rail -12
    nominal: -12 V
    tolerance: 10 %
  - name: rail 3.3 to ground
    say: [logic rail to ground]
    quantity: resistance
    limits: {low: 200 ohm}
    state: unpowered
  - name: fan current
    quantity: current
    nominal: 330 mA
    tolerance: 10 %
  - name: probe
    quantity: voltage
parts:
  - {ref: U4, is: 3.3 V regulator}
indicators:
  - name: front lamp
    patterns:
      - {shows: "2 short, 1 long", means: output overload}
      - {shows: "2 short, 2 long", means: sensor missing}
      - {shows: "5 short, red", means: supply too low}
"""

METER = """\
name: bench multimeter
diode_display: V
functions:
  - quantity: voltage
    waveform: DC
    ranges:
      - {up_to: 600 mV, resolution: 0.1 mV, accuracy: {reading: 0.5 %, counts: 2}}
      - {up_to: 6 V, resolution: 0.001 V, accuracy: {reading: 0.5 %, counts: 2}}
      - {up_to: 60 V, resolution: 0.01 V, accuracy: {reading: 0.5 %, counts: 2}}
  - quantity: resistance
    ranges:
      - {up_to: 600 ohm, resolution: 0.1 ohm, accuracy: {reading: 0.8 %, counts: 3}}
      - {up_to: 6 kohm, resolution: 0.001 kohm, accuracy: {reading: 0.8 %, counts: 2}}
      - {up_to: 40 Mohm, resolution: 0.01 Mohm, accuracy: {reading: 2 %, counts: 5}}
  - quantities: [diode drop]
    ranges:
      - {up_to: 2 V, resolution: 0.001 V, accuracy: {reading: 1 %, counts: 3}}
"""

START = datetime(2025, 3, 1, 9, 0, tzinfo=UTC)


def value(
    digits: str, unit: str = "V", *, said: bool = False, waveform: Literal["AC", "DC"] | None = None
) -> SpokenValue:
    """A spoken value; "over range" as digits for over range."""
    return SpokenValue(digits, "" if digits == "over range" else unit, said, waveform)


def reading(
    point: str | None, digits: str, unit: str = "V", *, said: bool = False, near: bool = False
) -> ReadingIntent:
    """A value at a point, or at the current one where `point` is None."""
    return ReadingIntent(point, value(digits, unit, said=said), near)


def go_to(point: str, *, near: bool = False) -> GoToIntent:
    return GoToIntent(point, near)


def command(name: CommandName, point: str | None = None, of: SpokenValue | None = None) -> CommandIntent:
    return CommandIntent(name, point, of)


def note(text: str, *, free: bool = False) -> NoteIntent:
    return NoteIntent(text, free)


def answer(said: Literal["yes", "no", "first", "second"]) -> AnswerIntent:
    return AnswerIntent(said)


def hearing(
    *meanings: Intent | tuple[Intent, ...],
    trust: Trust = Trust.AGREED,
    text: str | None = None,
    after_s: int = 0,
    clip: str | None = "clips/000001.flac",
    why: str = "",
) -> Hearing:
    """One utterance. Each of `meanings` is one alternative's: an intent, or the several that its text can mean."""
    parses = []
    for number, meaning in enumerate(meanings):
        intents = meaning if isinstance(meaning, tuple) else (meaning,)
        words = text if text is not None and number == 0 else f"utterance {number}"
        parses.append(Parse(words, intents))
    if not meanings:
        parses.append(Parse(text or "did you see the kettle", (), "not a sentence"))
    alternatives = tuple(Alternative(parse.text, float(-number)) for number, parse in enumerate(parses))
    transcript = Transcript("panel", alternatives, trust, why)
    at = START + timedelta(seconds=after_s)
    return Hearing(at, "bench.flac", transcript, tuple(parses), float(after_s), float(after_s + 1), clip)


def decimal(text: str) -> Decimal:
    return Decimal(text)

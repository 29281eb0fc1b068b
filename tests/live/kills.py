"""Killing `benchvoice listen` at any moment, and seeing that what it had confirmed is in the journal."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path

from benchvoice.events import Event, Reading
from benchvoice.keep.journal import JOURNAL_NAME, read_journal
from benchvoice.records import Tone
from tests.live.at_the_bench import Listening, tones_in
from tests.sound_card import SoundCard, patiently

__all__ = ["Killed", "kill_once"]

SPOKEN = (
    "input reads twenty four point one volts",
    "regulator body measures eighty one degrees",
    "fan current is three hundred and thirty five milliamps",
)
_GREETED_S, _ANSWERED_S = 5.0, 4.0  # what a greeting and an answer last
_OF_READINGS = {
    Tone.PASS: "pass",
    Tone.CONDITIONAL: "conditional pass",
    Tone.CONDITIONAL_FAIL: "conditional fail",
    Tone.FAIL: "fail",
    Tone.RECORDED: "recorded",
}


@dataclass(frozen=True)
class Killed:
    """One life and its end.

    Attributes:
        spoken: how many sentences had been spoken to it when it was killed.
        confirmed: the statements whose tones were heard, in order.
        kept: the statements of the readings that it left in the journal.
        lines: the journal's lines at its death.
    """

    spoken: int
    confirmed: tuple[str, ...]
    kept: tuple[str, ...]
    lines: int

    @property
    def lost(self) -> int:
        """How many readings were confirmed and are not in the journal."""
        rest = iter(self.kept)
        return sum(statement not in rest for statement in self.confirmed)


def _events(folder: Path) -> tuple[Event, ...]:
    return read_journal(folder).events if (folder / JOURNAL_NAME).exists() else ()


def kill_once(card: SoundCard, jobs: Path, spoken: int, after_s: float) -> Killed:
    """Start it on the job, speak some sentences to it, and kill it `after_s` seconds after the last one has ended."""
    run = Listening(card, jobs, "--terse")
    before = len(_events(run.folder))
    with card.recording() as heard:
        try:
            greeted = patiently(lambda: run.greeted() or run.process.poll() is not None, 60.0)
            assert greeted is not None, "it does not greet"
            assert run.process.poll() is None, "".join(run.errors)
            for number in range(spoken):
                time.sleep(_ANSWERED_S if number else _GREETED_S)
                run.say(SPOKEN[(before + number) % len(SPOKEN)])
            time.sleep(after_s)
        finally:
            run.process.kill()
        run.wait_end()
        time.sleep(0.3)  # what the sound server has been given still sounds
    confirmed = tuple(_OF_READINGS[tone] for _, tone in tones_in(heard.samples) if tone in _OF_READINGS)
    events = _events(run.folder)
    kept = tuple(event.statement for event in events[before:] if isinstance(event, Reading))
    return Killed(spoken, confirmed, kept, len(events))

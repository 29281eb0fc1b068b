"""Killing `benchvoice listen` at any moment, and seeing that what it had confirmed is in the journal."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass
from itertools import cycle
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
        after_s: how long it lived after it had greeted.
        confirmed: the statements whose tones were heard, in order.
        kept: the statements of the readings that it left in the journal.
        lines: the journal's lines at its death.
    """

    after_s: float
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


def kill_once(card: SoundCard, jobs: Path, after_s: float) -> Killed:
    """Start it on the job, speak to it without end, and kill it `after_s` seconds after it has greeted."""
    run = Listening(card, jobs, "--terse")
    before = len(_events(run.folder))
    over = threading.Event()

    def speak() -> None:
        for sentence in cycle(SPOKEN):
            if over.wait(2.6):
                return
            run.say(sentence)

    with card.recording() as heard:
        try:
            greeted = patiently(lambda: run.greeted() or run.process.poll() is not None, 60.0)
            assert greeted is not None, "it does not greet"
            assert run.process.poll() is None, "".join(run.errors)
            speaker = threading.Thread(target=speak)
            speaker.start()
            time.sleep(after_s)
        finally:
            run.process.kill()
            over.set()
        run.wait_end()
        time.sleep(0.3)  # what the sound server has been given still sounds
    speaker.join()
    confirmed = tuple(_OF_READINGS[tone] for _, tone in tones_in(heard.samples) if tone in _OF_READINGS)
    events = _events(run.folder)
    kept = tuple(event.statement for event in events[before:] if isinstance(event, Reading))
    return Killed(after_s, confirmed, kept, len(events))

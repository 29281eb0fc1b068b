"""Sound devices on a sound card made of software: how soon a reply is heard, how soon silence, how soon faults show.

    python -m tests.benchmarks.devices [REPLIES]

Prints a table. "Heard" is when a sample arrives at the loudspeaker's monitor; the recorder adds some 10 ms of its own.
"""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Callable

import numpy as np

from benchvoice.answer.speaker import SpeakerVoice
from benchvoice.answer.voice import open_speaker
from benchvoice.hear.microphone import Microphone
from benchvoice.records import RATE_HZ, Reply, Tone
from tests.sound_card import SoundCard, patiently, sound_card

REPLY = Reply("Fail, high. Four point zero.", Tone.FAIL)
LONG = Reply("Limits three point one four to three point four seven volts, as published by the maker.", Tone.ASK)

Step = Callable[[SoundCard], None]
FAULTS: tuple[tuple[str, Step, Step], ...] = (
    ("server killed", SoundCard.kill, SoundCard.start),
    ("server frozen", SoundCard.freeze, SoundCard.thaw),
)
MICROPHONE_FAULTS: tuple[tuple[str, Step, Step], ...] = (
    *FAULTS,
    ("microphone unplugged", lambda card: card.unplug("vmic_in"), lambda card: card.plug("vmic_in")),
    ("microphone suspended", lambda card: card.suspend("vmic_in", True), lambda card: card.suspend("vmic_in", False)),
    ("microphone muted", lambda card: card.mute("vmic_in", True), lambda card: card.mute("vmic_in", False)),
    ("microphone gives zeros", lambda card: card.noise(False), lambda card: card.noise(True)),
)
SPEAKER_FAULTS: tuple[tuple[str, Step, Step], ...] = (
    *FAULTS,
    ("loudspeaker unplugged", lambda card: card.unplug("vspk"), lambda card: card.plug("vspk")),
    ("loudspeaker suspended", lambda card: card.suspend("vspk", True), lambda card: card.suspend("vspk", False)),
    ("loudspeaker muted", lambda card: card.mute("vspk", True), lambda card: card.mute("vspk", False)),
)


def row(name: str, seconds: list[float]) -> None:
    p50, p95 = np.percentile(np.array(seconds) * 1000, [50, 95])
    print(f"{name:46} p50 {p50:6.0f} ms   p95 {p95:6.0f} ms   of {len(seconds)}")


def replies(card: SoundCard, voice: SpeakerVoice, count: int) -> None:
    """Call to first sound, last sound to `speaking` false, stop to silence."""
    first_s, after_s, silent_s = [], [], []
    with card.recording() as heard:
        for index in range(count):
            time.sleep(0.15 + 0.013 * (index % 10))
            said_s = time.monotonic()
            voice.say(REPLY)
            voice.wait(20)
            ended_s = time.monotonic()
            time.sleep(0.15)
            loud_s = heard.loud_s()
            loud_s = loud_s[loud_s > said_s]
            first_s.append(loud_s[0] - said_s)
            after_s.append(ended_s - loud_s[-1])
        for index in range(count):
            voice.say(LONG)
            time.sleep(0.6 + 0.03 * (index % 10))
            stopped_s = time.monotonic()
            voice.stop()
            time.sleep(0.3)
            silent_s.append(heard.loud_s(60)[-1] - stopped_s)
    row("say is called → first sound of the tone", first_s)
    row("last sound → no longer speaking", after_s)
    row("stop is called → silence", silent_s)


def capture(microphone: Microphone, seconds: float) -> None:
    """Steadiness of the microphone: what is lost, and how regularly blocks come."""
    arrived_s: list[float] = []
    samples = 0
    until_s = time.monotonic() + seconds
    while time.monotonic() < until_s:
        block = microphone.read(0.5)
        if block is not None:
            arrived_s.append(time.monotonic())
            samples += len(block.samples)
    gaps_ms = np.percentile(np.diff(arrived_s) * 1000, [50, 95, 100])
    print(f"microphone, {seconds:.0f} s: {samples / RATE_HZ:.2f} s of sound, {microphone.dropped_s:.2f} s dropped,")
    print(f"    a block every {gaps_ms[0]:.0f} ms, 95 % within {gaps_ms[1]:.0f} ms, longest {gaps_ms[2]:.0f} ms")


def read_on(microphone: Microphone) -> None:
    """Reads until the end of the program, as a listener does."""
    while True:
        microphone.read(1.0)


def faults(card: SoundCard, device: str, why: Callable[[], str], steps: tuple[tuple[str, Step, Step], ...]) -> None:
    """Each fault: when it was noticed after it happened, when all was well after it ended."""
    for name, happens, ends in steps:
        happens(card)
        noticed_s = patiently(lambda: why() != "")
        told = why()
        time.sleep(1.5)
        ends(card)
        back_s = patiently(lambda: why() == "")
        shown = [f"{seconds * 1000:5.0f} ms" if seconds is not None else "never" for seconds in (noticed_s, back_s)]
        print(f"{device:12} {name:24} noticed {shown[0]}   back {shown[1]}   {told}")
        time.sleep(1.0)


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    with sound_card() as card:
        os.environ.update(card.environment)
        with open_speaker() as voice:
            voice.say(Reply("ready"))
            voice.wait(20)
            replies(card, voice, count)
            faults(card, "loudspeaker", lambda: voice.mute_why, SPEAKER_FAULTS)
        microphone = Microphone()
        capture(microphone, 20)
        threading.Thread(target=read_on, args=(microphone,), daemon=True).start()
        faults(card, "microphone", lambda: microphone.why_deaf, MICROPHONE_FAULTS)
        microphone.close()


if __name__ == "__main__":
    main()

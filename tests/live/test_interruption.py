"""When our voice pauses, stops, and goes on, with a headset."""

from __future__ import annotations

import numpy as np
import pytest

from benchvoice.live.gauge import Gauge
from benchvoice.live.interruption import Interruption
from benchvoice.live.mouth import LiveMouth
from benchvoice.records import RATE_HZ, AudioBlock
from tests.live.test_mouth import Clock, Voice


class Ear:
    """Blocks of 20 ms at given levels, in dB relative to a full-scale square wave, while our voice speaks."""

    def __init__(self) -> None:
        self.voice, self.gauge = Voice(), Gauge()
        self.voice.speaking = True
        self.interruption = Interruption(LiveMouth(self.voice, Clock()), self.gauge)
        self.now_s = 0.0

    def hear(self, level_dbfs: float, blocks: int = 1, voiced_s: float = 0.0) -> bool:
        stopped = False
        for _ in range(blocks):
            height = round(32768 * 10 ** (level_dbfs / 20))
            self.gauge.see(AudioBlock(np.full(RATE_HZ // 50, height, dtype=np.int16), self.now_s))
            self.now_s += 0.02
            stopped = stopped or self.interruption.after_block(self.now_s, voiced_s)
            self.interruption.tick(self.now_s)
        return stopped


PAUSES = [  # noise, then a sound: does it pause?
    (-70.0, -30.0, True),
    (-62.0, -49.0, True),  # the consonant that a word begins with
    (-70.0, -52.0, False),  # hardly speech into a headset
    (-40.0, -30.0, False),  # not far enough above the noise
    (-40.0, -15.0, True),
]  # our own rule, in dB


@pytest.mark.parametrize(("noise", "sound", "pauses"), PAUSES)
def test_a_loud_sound_pauses_at_its_first_block(noise: float, sound: float, pauses: bool) -> None:
    ear = Ear()
    ear.hear(noise, 50)
    assert not ear.hear(sound)
    assert ear.voice.paused is pauses


def test_speech_stops_us_and_what_is_none_lets_us_go_on() -> None:
    ear = Ear()
    ear.hear(-70, 50)
    ear.hear(-20)
    assert ear.hear(-20, voiced_s=0.064)
    ear.voice.paused = False  # stopped
    ear.hear(-20)
    assert ear.voice.paused
    ear.hear(-70, 9)
    assert not ear.voice.paused


def test_noise_that_goes_on_does_not_chop_us_up() -> None:
    ear = Ear()
    ear.hear(-70, 50)
    paused = 0
    for _ in range(100):  # two seconds of it
        ear.hear(-20)
        paused += ear.voice.paused
    assert paused <= 16


def test_while_we_say_nothing_nothing_pauses() -> None:
    ear = Ear()
    ear.voice.speaking = False
    ear.hear(-70, 50)
    assert not ear.hear(-20, 5, voiced_s=0.2)
    assert not ear.voice.paused

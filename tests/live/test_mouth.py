"""What is said when, and when our own sound is in the room."""

from __future__ import annotations

import pytest

from benchvoice.errors import DeviceError, SpeechError
from benchvoice.live.mouth import LiveMouth
from benchvoice.records import Reply, Tone

VERDICT = Reply("Pass. Five.", Tone.PASS)


class Voice:
    """Speaks until it is told that it is done."""

    def __init__(self) -> None:
        self.said: list[Reply] = []
        self.speaking = False
        self.paused = False
        self.mute_why = ""
        self.failure: Exception | None = None

    def say(self, reply: Reply) -> None:
        if self.failure is not None:
            raise self.failure
        self.said.append(reply)
        self.speaking = True

    def stop(self) -> None:
        self.speaking = False

    def pause(self) -> None:
        self.paused = True

    def go_on(self) -> None:
        self.paused = False


class Clock:
    now_s = 50.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def voice() -> Voice:
    return Voice()


@pytest.fixture
def clock() -> Clock:
    return Clock()


def test_the_tone_comes_first_and_alone(voice: Voice, clock: Clock) -> None:
    LiveMouth(voice, clock).say(VERDICT)
    assert voice.said == [Reply("", Tone.PASS), Reply("Pass. Five.")]


def test_words_that_are_held_come_when_they_are_let_out(voice: Voice, clock: Clock) -> None:
    mouth = LiveMouth(voice, clock)
    mouth.hold()
    mouth.say(VERDICT)
    assert voice.said == [Reply("", Tone.PASS)]
    assert not mouth.sounded(49.0, 51.0, 0.25)  # through a tone we listen
    mouth.let_out()
    assert voice.said[1:] == [Reply("Pass. Five.")]
    assert mouth.sounded(50.0, 51.0, 0.25)
    mouth.say(VERDICT)
    assert voice.said[2:] == [Reply("", Tone.PASS), Reply("Pass. Five.")]


def test_what_was_held_when_it_was_stopped_is_never_said(voice: Voice, clock: Clock) -> None:
    mouth = LiveMouth(voice, clock)
    mouth.hold()
    mouth.say(VERDICT)
    mouth.stop()
    mouth.let_out()
    assert voice.said == [Reply("", Tone.PASS)]


def test_our_sound_lasts_until_it_ends_and_its_echo_a_little_longer(voice: Voice, clock: Clock) -> None:
    mouth = LiveMouth(voice, clock)
    mouth.say(VERDICT)
    for _ in range(20):
        clock.now_s += 0.1
        assert mouth.sounded(clock.now_s - 0.1, clock.now_s, 0.25)
    voice.speaking = False
    clock.now_s += 0.1
    assert mouth.sounded(52.0, 52.1, 0.25)
    clock.now_s += 1.0
    assert mouth.sounded(52.3, 52.4, 0.25)
    assert not mouth.sounded(52.36, 52.5, 0.25)
    assert not mouth.sounded(49.0, 49.99, 0.25)


def test_without_a_voice_nothing_sounds(clock: Clock) -> None:
    mouth = LiveMouth(None, clock)
    mouth.say(VERDICT)
    mouth.stop()
    assert (mouth.speaking, mouth.mute_why, mouth.sounded(0.0, 100.0, 1.0)) == (False, "", False)


def test_a_device_that_is_gone_is_told_by_the_voice_alone(voice: Voice, clock: Clock) -> None:
    mouth = LiveMouth(voice, clock)
    voice.failure, voice.mute_why = DeviceError("it is gone"), "the loudspeaker is gone"
    mouth.say(VERDICT)
    assert mouth.mute_why == "the loudspeaker is gone"
    voice.mute_why = ""
    assert mouth.mute_why == ""


def test_words_that_cannot_be_made_are_told_until_some_can(voice: Voice, clock: Clock) -> None:
    mouth = LiveMouth(voice, clock)
    voice.failure = SpeechError("the synthesiser wrote no sound", cure="Free some space")
    mouth.say(VERDICT)
    assert mouth.mute_why == "the synthesiser wrote no sound"
    voice.failure = None
    mouth.say(VERDICT)
    assert mouth.mute_why == ""

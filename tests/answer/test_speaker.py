"""The loudspeaker voice on a sound card made of software, recorded as it plays."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from ctypes.util import find_library
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.answer.speaker import SampleQueue, SpeakerVoice
from benchvoice.answer.tones import tone_samples
from benchvoice.answer.voice import open_speaker
from benchvoice.errors import DeviceError
from benchvoice.hear.microphone import Microphone
from benchvoice.records import RATE_HZ, Reply, Samples, Tone
from tests.answer.test_synthesis import run
from tests.sound_card import SPEAKER_RATE_HZ, SoundCard, patiently

LONG = Reply("Limits three point one four to three point four seven volts, as published by the maker.", Tone.ASK)


# --- the queue of samples ------------------------------------------------------------------------------------------
@given(st.lists(st.integers(0, 400), max_size=8), st.integers(1, 300))
def test_queue_plays_everything_in_order_then_silence(lengths: list[int], block: int) -> None:
    waiting = SampleQueue(SPEAKER_RATE_HZ)
    sound = np.arange(1, sum(lengths) + 1, dtype=np.int16)
    for part in np.split(sound, np.cumsum(lengths)[:-1]) if lengths else []:
        waiting.put(part)
    assert len(waiting) == len(sound)
    out, heard = np.full(block, 99, dtype=np.int16), []
    while len(waiting):
        taken = waiting.take(out)
        heard.append(out.copy())
        assert not out[taken:].any()
    assert waiting.take(out) == 0
    assert not out.any()
    assert np.array_equal(np.concatenate(heard)[: len(sound)] if heard else sound, sound)


def test_cutting_short_fades_within_milliseconds() -> None:
    waiting = SampleQueue(SPEAKER_RATE_HZ)
    waiting.put(np.full(SPEAKER_RATE_HZ, 20_000, dtype=np.int16))
    waiting.cut()
    assert len(waiting) == round(0.005 * SPEAKER_RATE_HZ)
    out = np.empty(200, dtype=np.int16)
    waiting.take(out)
    assert np.abs(np.diff(out[:111].astype(int))).max() < 400
    waiting.cut()
    assert len(waiting) == 0


def test_a_pause_fades_keeps_everything_and_goes_on_with_it() -> None:
    waiting = SampleQueue(SPEAKER_RATE_HZ)
    sound = np.arange(1, 2001, dtype=np.int16)
    waiting.put(sound)
    out = np.empty(200, dtype=np.int16)
    waiting.take(out)
    waiting.pause()
    fade = round(0.005 * SPEAKER_RATE_HZ)
    assert waiting.take(out) == fade
    assert not out[fade:].any()
    assert waiting.take(out) == 0
    assert len(waiting) == 1800
    waiting.go_on()
    waiting.take(out)
    assert np.array_equal(out, sound[200:400])


def test_what_is_cut_in_a_pause_is_silent_at_once() -> None:
    waiting = SampleQueue(SPEAKER_RATE_HZ)
    waiting.put(np.full(SPEAKER_RATE_HZ, 20_000, dtype=np.int16))
    waiting.pause()
    out = np.empty(200, dtype=np.int16)
    waiting.take(out)
    waiting.cut()
    assert len(waiting) == 0
    waiting.put(np.full(200, 7, dtype=np.int16))
    assert waiting.take(out) == 200  # the pause is over


# --- a real stream -------------------------------------------------------------------------------------------------
@pytest.fixture
def voice(card: SoundCard) -> Iterator[SpeakerVoice]:
    assert card.folder.exists()
    speaking = open_speaker()
    speaking.say(Reply("ready"))  # the synthesiser is loaded with its first words
    assert speaking.wait(20)
    yield speaking
    speaking.stop()
    speaking.close()


def holds_tone(heard: Samples, tone: Tone, rate_hz: int = SPEAKER_RATE_HZ) -> bool:
    """Whether this tone is found in what was heard."""
    wanted = tone_samples(tone, rate_hz).astype(float)
    size = 1 << (len(heard) + len(wanted)).bit_length()
    products = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(wanted, size)), size)
    return bool(products.max() / (wanted @ wanted) > 0.9)


@pytest.mark.apt
def test_a_reply_is_played_whole_tone_first(card: SoundCard, voice: SpeakerVoice) -> None:
    with card.recording() as heard:
        voice.say(Reply("Fail, high. Four point zero.", Tone.FAIL))
        assert voice.speaking
        assert voice.wait(20)
        assert not voice.speaking
        time.sleep(0.2)
        loud_s = heard.loud_s()
    assert 1.5 < loud_s[-1] - loud_s[0] < 6
    first = round((loud_s[0] - (heard.start_s or 0.0)) * SPEAKER_RATE_HZ)
    beginning = heard.samples[max(0, first - 400) : first + len(tone_samples(Tone.FAIL, SPEAKER_RATE_HZ)) + 1600]
    assert holds_tone(beginning, Tone.FAIL)


@pytest.mark.apt
def test_speaking_lasts_until_the_last_sample_has_left(card: SoundCard, voice: SpeakerVoice) -> None:
    with card.recording() as heard:
        for _ in range(5):
            voice.say(Reply("Four point zero.", Tone.PASS))
            assert voice.wait(20)
            silent_s = time.monotonic()
            time.sleep(0.3)
            assert heard.loud_s()[-1] < silent_s + 0.005  # the recorder's own delay makes this no easier


@pytest.mark.apt
def test_stop_is_silent_within_a_tenth_of_a_second_and_forgets_the_rest(card: SoundCard, voice: SpeakerVoice) -> None:
    with card.recording() as heard:
        delays_s = []
        for _ in range(5):
            voice.say(LONG)
            voice.say(LONG)
            assert patiently(lambda: bool((heard.loud_s() > time.monotonic() - 0.2).any())) is not None
            time.sleep(0.7)
            stopped_s = time.monotonic()
            voice.stop()
            assert voice.wait(5)
            time.sleep(0.4)
            delays_s.append(heard.loud_s(60)[-1] - stopped_s)
        assert sorted(delays_s)[2] < 0.1, delays_s  # the median: this asserts the order, a benchmark measures
        voice.say(Reply("", Tone.PASS))
        assert voice.wait(5)
        time.sleep(0.2)
        assert holds_tone(heard.samples[-SPEAKER_RATE_HZ:], Tone.PASS)


@pytest.mark.apt
def test_what_was_played_is_remembered_with_its_time(card: SoundCard, voice: SpeakerVoice) -> None:
    with card.recording() as heard:
        time.sleep(0.3)
        since_s = time.monotonic()
        voice.say(Reply("", Tone.FAIL))
        assert voice.wait(5)
        time.sleep(0.3)
        played = voice.played(since_s)
        loud_s = heard.loud_s()
    assert len(played) == pytest.approx((time.monotonic() - since_s) * RATE_HZ, abs=RATE_HZ)
    assert holds_tone(played, Tone.FAIL, RATE_HZ)
    ours_s = since_s + np.flatnonzero(np.abs(played.astype(int)) > 300) / RATE_HZ
    assert ours_s[0] == pytest.approx(loud_s[loud_s > since_s][0], abs=0.05)
    assert ours_s[-1] == pytest.approx(loud_s[-1], abs=0.05)


FAULTS: dict[str, tuple[Callable[[SoundCard], None], Callable[[SoundCard], None], str]] = {
    "server killed": (SoundCard.kill, SoundCard.start, "it is gone, or the sound server has ended"),
    "server frozen": (SoundCard.freeze, SoundCard.thaw, "it has stopped"),
    "sink removed, moved to another": (
        lambda card: card.unplug("vspk"),
        lambda card: card.plug("vspk"),
        "it is gone, and 'Null Output' came in its place",
    ),
    "sink suspended": (
        lambda card: card.suspend("vspk", True),
        lambda card: card.suspend("vspk", False),
        "it has stopped",
    ),
}


@pytest.mark.apt
@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_noticed_and_gets_over(card: SoundCard, voice: SpeakerVoice, fault: str) -> None:
    happens, ends, why = FAULTS[fault]
    assert voice.mute_why == ""
    voice.say(LONG)
    voice.say(LONG)
    happens(card)
    assert patiently(lambda: voice.mute_why != "") is not None
    assert why in voice.mute_why
    assert not voice.speaking
    with pytest.raises(DeviceError, match=r"nothing can be said: BenchLoudspeaker: it .* Connect it again"):
        voice.say(Reply("Pass."))
    ends(card)
    assert patiently(lambda: voice.mute_why == "") is not None
    assert voice.name == "BenchLoudspeaker"
    with card.recording() as heard:
        time.sleep(0.5)
        assert not len(heard.loud_s())  # what was queued before belongs to nothing any more
        voice.say(Reply("", Tone.PASS))
        assert voice.wait(5)
        assert patiently(lambda: holds_tone(heard.samples, Tone.PASS)) is not None


@pytest.mark.apt
def test_a_loudspeaker_that_is_muted_in_the_system_is_told(card: SoundCard, voice: SpeakerVoice) -> None:
    card.mute("vspk", True)
    assert patiently(lambda: voice.mute_why == "BenchLoudspeaker is muted in the system") is not None
    voice.say(Reply("", Tone.PASS))  # goes on: it may be switched on again at any time
    card.mute("vspk", False)
    assert patiently(lambda: voice.mute_why == "") is not None


def sink_of_ours(card: SoundCard) -> tuple[int, str] | None:
    """Our stream's number and its sink's name, as the server has them."""
    names = {row.split("\t")[0]: row.split("\t")[1] for row in card.pactl("list", "short", "sinks").splitlines()}
    ours = f'application.process.id = "{os.getpid()}"'
    found = [each for each in card.pactl("list", "sink-inputs").split("Sink Input #")[1:] if ours in each]
    if not found:
        return None
    return int(found[-1].split()[0]), names.get(found[-1].split("Sink: ")[1].split()[0], "")


@pytest.fixture
def other(card: SoundCard) -> Iterator[SpeakerVoice]:
    """A voice on a loudspeaker that is not the usual one, beside a microphone."""
    card.plug("vspk2")
    with closing(Microphone("BenchMic")), closing(open_speaker("other")) as speaking:
        speaking.say(Reply("ready"))
        assert speaking.wait(20)
        yield speaking
        speaking.stop()
    card.unplug("vspk2")


def sounds_on_the_other_alone(card: SoundCard, voice: SpeakerVoice) -> None:
    with card.recording() as usual, card.recording("vspk2.monitor") as named:
        voice.say(Reply("", Tone.PASS))
        assert voice.wait(5)
        assert patiently(lambda: holds_tone(named.samples, Tone.PASS)) is not None
        assert not len(usual.loud_s())


@pytest.mark.apt
def test_the_named_loudspeaker_sounds_also_after_a_gap_in_its_supply(card: SoundCard, other: SpeakerVoice) -> None:
    """After a gap ALSA's way to the server makes a new stream, which would begin at the usual loudspeaker."""
    assert other.name == "OtherLoudspeaker"
    sounds_on_the_other_alone(card, other)
    before = sink_of_ours(card)
    assert before is not None
    with other._samples._lock:  # its callback waits: shorter than a device that has stopped
        time.sleep(0.25)
    assert patiently(lambda: (now := sink_of_ours(card)) is not None and now[0] != before[0]) is not None
    time.sleep(0.5)
    assert other.mute_why == ""
    sounds_on_the_other_alone(card, other)


@pytest.mark.apt
def test_the_named_loudspeaker_sounds_again_when_it_was_gone(card: SoundCard, other: SpeakerVoice) -> None:
    card.unplug("vspk2")
    assert patiently(lambda: other.mute_why != "") is not None
    assert other.mute_why.startswith("OtherLoudspeaker: it is gone")
    card.plug("vspk2")
    assert patiently(lambda: other.mute_why == "") is not None
    sounds_on_the_other_alone(card, other)


@pytest.mark.apt
def test_a_user_may_move_it_to_another_loudspeaker(card: SoundCard, other: SpeakerVoice) -> None:
    for _ in range(10):
        ours = sink_of_ours(card)
        assert ours is not None
        card.pactl("move-sink-input", str(ours[0]), "vspk")
        moved = patiently(lambda: other.name == "BenchLoudspeaker") is not None
        now = sink_of_ours(card)
        if now is not None and now[0] == ours[0]:
            break  # else a busy machine left a gap in the supply, and the user's stream is gone: once more
    assert moved
    assert other.mute_why == ""
    assert ours is not None
    assert now == (ours[0], "vspk")


@pytest.mark.apt
def test_closing_returns_while_the_server_is_frozen(card: SoundCard) -> None:
    voice = open_speaker()
    voice.say(LONG)
    card.freeze()
    try:
        start_s = time.monotonic()
        voice.close()
        assert time.monotonic() - start_s < 10  # it would hang for good
    finally:
        card.thaw()
    with pytest.raises(DeviceError, match="this voice is closed"):
        voice.say(LONG)


@pytest.mark.apt
def test_no_device_and_unknown_device_name_the_cure(tmp_path: Path) -> None:
    """Without a sound server there is no device; with one there is none of that name."""
    if find_library("portaudio") is None:
        pytest.skip("needs PortAudio: apt-get install libportaudio2")
    nowhere = {**os.environ, "PULSE_SERVER": f"unix:{tmp_path}/none", "HOME": str(tmp_path)}
    done = run(
        """
        from benchvoice.answer.voice import open_speaker
        from benchvoice.errors import DeviceError
        try:
            open_speaker("no such loudspeaker").close()
        except DeviceError as error:
            print(error)
        """,
        environment=nowhere,
    )
    assert done.stdout.startswith("there is no loudspeaker"), done.stderr
    assert "Connect a loudspeaker or headset" in done.stdout or "Choose one of" in done.stdout


def test_missing_portaudio_names_the_package() -> None:
    """`import sounddevice` raises OSError where the library is missing (seen; its own message is kept)."""
    done = run(
        """
        import ctypes.util
        ctypes.util.find_library = lambda name: None
        from benchvoice.answer.voice import open_speaker
        from benchvoice.errors import DeviceError
        try:
            open_speaker()
        except DeviceError as error:
            print(error)
        """
    )
    assert done.stdout == (
        "sound devices cannot be reached: PortAudio library not found. "
        "Install PortAudio, on Debian: apt-get install libportaudio2; or use --quiet.\n"
    ), done.stderr

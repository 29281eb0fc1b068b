"""The microphone on a sound card made of software: every sample, every fault, every return."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator

import numpy as np
import pytest

from benchvoice.answer.voice import open_speaker
from benchvoice.devices import portaudio, stream
from benchvoice.devices.listing import Device
from benchvoice.errors import DeviceError
from benchvoice.hear import microphone as module
from benchvoice.hear.microphone import Microphone, MicrophoneState
from benchvoice.records import RATE_HZ, AudioBlock, Samples
from tests.sound_card import SoundCard, patiently

pytestmark = pytest.mark.apt


class Listener:
    """A thread that reads a microphone and keeps what it gives."""

    def __init__(self, microphone: Microphone) -> None:
        self.microphone = microphone
        self.blocks: list[AudioBlock] = []
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def _read(self) -> None:
        while not self._end.is_set():
            block = self.microphone.read(0.05)
            if block is not None:
                self.blocks.append(block)

    def sound(self, start_s: float, end_s: float) -> Samples:
        """What was heard between two times of the stream."""
        return np.concatenate([block.samples for block in self.blocks if start_s <= block.start_s < end_s])

    def stop(self) -> None:
        self._end.set()
        self._thread.join(5)


@pytest.fixture
def listener(card: SoundCard) -> Iterator[Listener]:
    assert card.folder.exists()
    microphone = Microphone()
    listening = Listener(microphone)
    yield listening
    listening.stop()
    microphone.close()


def chirp(length_s: float, rate_hz: int = RATE_HZ) -> Samples:
    """A tone that rises from 300 to 3000 Hz: every stretch of it is found at one place only."""
    times = np.arange(round(length_s * rate_hz)) / rate_hz
    return (8000 * np.sin(2 * np.pi * (300 + 1350 * times / length_s) * times)).astype(np.int16)


def likeness(heard: Samples, said: Samples) -> float:
    """The share of `said` that is found in `heard` at one place: 1 where no sample is lost, added or moved."""
    size = 1 << (len(heard) + len(said)).bit_length()
    products = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(said, size)), size)
    return float(products.max() / (said.astype(float) @ said.astype(float)))


def test_every_sample_arrives_in_order_in_short_blocks_without_a_hole(card: SoundCard, listener: Listener) -> None:
    said = chirp(3.0)
    card.play(said, RATE_HZ)
    time.sleep(0.5)
    listener.stop()
    heard = np.concatenate([block.samples for block in listener.blocks])
    assert likeness(heard, said) > 0.98
    assert {len(block.samples) for block in listener.blocks} == {320}
    assert not any(block.overflow for block in listener.blocks)
    starts = np.array([block.start_s for block in listener.blocks])
    assert np.abs(np.diff(starts) - 0.02).max() < 0.001
    assert listener.microphone.dropped_s == 0
    assert 0 < listener.microphone.delay_s < 0.5


@pytest.mark.parametrize(("rate_hz", "channels"), [(48_000, 1), (44_100, 2), (22_050, 1)])
def test_other_rates_and_channels_become_16_khz_mono(
    card: SoundCard, rate_hz: int, channels: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No device made of software refuses 16 kHz mono, so only that answer is put in; the stream is real."""
    monkeypatch.setattr(module, "_agree", lambda _library, _device: (rate_hz, channels))
    microphone = Microphone()
    listening = Listener(microphone)
    said = chirp(2.0)
    card.play(said, RATE_HZ)
    time.sleep(0.5)
    listening.stop()
    microphone.close()
    assert likeness(np.concatenate([block.samples for block in listening.blocks]), said) > 0.9
    ends = [block.start_s + len(block.samples) / RATE_HZ for block in listening.blocks]
    assert max(abs(block.start_s - end) for block, end in zip(listening.blocks[1:], ends, strict=False)) < 0.001


@pytest.mark.parametrize(
    ("takes", "agreed"),
    [
        ({(16_000, 1)}, (16_000, 1)),
        ({(16_000, 2), (48_000, 1)}, (16_000, 2)),
        ({(48_000, 1), (48_000, 2)}, (48_000, 1)),
        ({(16_000, 4)}, (16_000, 4)),
        (set(), (48_000, 4)),
    ],
)
def test_the_nearest_to_16_khz_mono_is_taken(takes: set[tuple[int, int]], agreed: tuple[int, int]) -> None:
    """Devices that refuse some rates are not to be had as software; this one answers as PortAudio does."""

    class Library:
        PortAudioError = RuntimeError

        @staticmethod
        def check_input_settings(_device: int, channels: int, _kind: str, *, samplerate: int) -> None:
            if (samplerate, channels) not in takes:
                raise RuntimeError

    device = Device(0, 0, "", "array", "ALSA", 4, 0, 48_000, True, False)
    assert module._agree(Library, device) == agreed


def test_what_finds_no_room_is_counted_and_leaves_a_hole_in_time(card: SoundCard) -> None:
    assert card.folder.exists()
    microphone = Microphone(longest_queue_s=0.5)
    assert patiently(lambda: microphone.dropped_s > 1.0) is not None
    blocks = [block for _ in range(60) if (block := microphone.read(0.2))]
    dropped_s = microphone.dropped_s
    microphone.close()
    lossy = [index for index, block in enumerate(blocks) if block.overflow]
    assert len(lossy) == 1
    before, after = blocks[lossy[0] - 1], blocks[lossy[0]]
    assert lossy[0] == pytest.approx(25, abs=2)  # half a second of blocks had room
    assert after.start_s - before.start_s - 0.02 == pytest.approx(dropped_s, abs=0.1)


FAULTS: dict[str, tuple[Callable[[SoundCard], None], Callable[[SoundCard], None], str]] = {
    "server killed": (SoundCard.kill, SoundCard.start, "it is gone, or the sound server has ended"),
    "server frozen": (SoundCard.freeze, SoundCard.thaw, "it has stopped"),
    "source removed, moved to the monitor": (
        lambda card: card.unplug("vmic_in"),
        lambda card: card.plug("vmic_in"),
        "it is gone",
    ),
    "source suspended": (
        lambda card: card.suspend("vmic_in", True),
        lambda card: card.suspend("vmic_in", False),
        "it has stopped",
    ),
    "muted in the system": (
        lambda card: card.mute("vmic_in", True),
        lambda card: card.mute("vmic_in", False),
        "is muted in the system",
    ),
    "nothing but zeros": (
        lambda card: card.noise(False),
        lambda card: card.noise(True),
        "gives no sound at all",
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_noticed_and_gets_over(card: SoundCard, listener: Listener, fault: str) -> None:
    happens, ends, why = FAULTS[fault]
    microphone = listener.microphone
    assert microphone.state is MicrophoneState.LISTENING
    happens(card)
    assert patiently(lambda: microphone.state is MicrophoneState.DEAF) is not None
    assert why in microphone.why_deaf
    ends(card)
    assert patiently(lambda: microphone.state is MicrophoneState.LISTENING) is not None
    known = len(listener.blocks)
    said = chirp(1.0)
    card.play(said, RATE_HZ)
    assert patiently(lambda: listener.blocks[-1].start_s > listener.blocks[known].start_s + 1.5) is not None
    assert likeness(np.concatenate([block.samples for block in listener.blocks[known:]]), said) > 0.95
    starts = [block.start_s for block in listener.blocks]
    assert starts == sorted(starts)
    behind_s = time.monotonic() - microphone.opened_at_s - starts[-1]
    assert -0.05 < behind_s < 1.0  # the time of deafness is in the clock
    assert microphone.name == "BenchMicrophone"


def test_it_never_hears_the_loudspeaker_in_its_place(card: SoundCard, listener: Listener) -> None:
    """Without a microphone the server moves the stream to the loudspeaker's own sound (seen)."""
    card.unplug("vmic_in")
    assert patiently(lambda: listener.microphone.state is MicrophoneState.DEAF) is not None
    known = len(listener.blocks)
    card.play(chirp(1.5, 22_050), 22_050, device="vspk")
    assert len(listener.blocks) <= known + 1
    assert listener.microphone.state is MicrophoneState.DEAF
    card.plug("vmic_in")
    assert patiently(lambda: listener.microphone.state is MicrophoneState.LISTENING) is not None


def test_closing_returns_while_the_server_is_frozen(card: SoundCard) -> None:
    microphone = Microphone()
    card.freeze()
    try:
        assert patiently(lambda: microphone.state is MicrophoneState.DEAF) is not None
        start_s = time.monotonic()
        microphone.close()
        assert time.monotonic() - start_s < 5  # it would hang for good
    finally:
        card.thaw()
    microphone.close()
    assert microphone.read(0.01) is None
    assert microphone.why_deaf == "the microphone is closed"


def test_devices_are_looked_for_anew_without_losing_the_other_stream(
    card: SoundCard, listener: Listener, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Looking anew, after two seconds of failing, ends every stream of the process; each must come back."""
    renewed: list[bool] = []
    with open_speaker() as voice:

        def renew() -> None:
            portaudio.renew()
            renewed.append(voice.mute_why == "")

        monkeypatch.setattr(stream, "renew", renew)
        card.suspend("vmic_in", True)
        assert patiently(lambda: bool(renewed)) is not None
        card.suspend("vmic_in", False)
        assert patiently(lambda: listener.microphone.state is MicrophoneState.LISTENING) is not None
        known = len(listener.blocks)
        assert patiently(lambda: len(listener.blocks) > known + 10) is not None
        assert patiently(lambda: voice._kept._stream is not None) is not None
        assert voice.mute_why == ""


def test_a_device_behind_the_server_is_opened_by_its_own_name(card: SoundCard) -> None:
    card.pactl("load-module", "module-null-sink", "norewinds=1", "sink_name=vmic2", "rate=16000", "channels=1")
    card.pactl(
        "load-module",
        "module-remap-source",
        "source_name=second",
        "master=vmic2.monitor",
        "source_properties=device.description=SecondMicrophone",
    )
    try:
        microphone = Microphone("secondmic")
        listening = Listener(microphone)
        said = chirp(1.0)
        card.play(said, RATE_HZ, device="vmic2")
        time.sleep(0.3)
        listening.stop()
        assert microphone.name == "SecondMicrophone"
        assert likeness(np.concatenate([block.samples for block in listening.blocks]), said) > 0.95
        microphone.close()
    finally:
        for number in card.numbers_of("sink_name=vmic2"):  # takes the source along
            card.pactl("unload-module", number)


def test_without_a_microphone_it_says_what_to_do(card: SoundCard) -> None:
    card.unplug("vmic_in")
    try:
        with pytest.raises(DeviceError, match=r"there is no microphone, only 'Monitor of .*'\. Connect it"):
            Microphone()
        with pytest.raises(DeviceError, match=r"there is no microphone called 'loom'\. Choose one of: 0 pulse"):
            Microphone("loom")
    finally:
        card.plug("vmic_in")


def test_a_server_that_is_frozen_from_the_start_is_given_up(card: SoundCard) -> None:
    card.freeze()
    try:
        with pytest.raises(DeviceError, match="the sound system does not answer"):
            Microphone()
    finally:
        card.thaw()
    microphone = Microphone()
    assert patiently(lambda: microphone.read(0.1) is not None) is not None
    microphone.close()

"""Sound devices by name: the list of them, and the one that a user means."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from benchvoice.devices.portaudio import calling
from benchvoice.errors import DeviceError

__all__ = ["Device", "Kind", "choose", "devices", "find_device", "opening_failed"]

Kind = Literal["input", "output"]

_CALLED = {"input": "microphone", "output": "loudspeaker"}
_CONNECT = {
    "input": "Connect a microphone or headset; behind a PulseAudio or PipeWire server, on Debian: "
    "apt-get install libasound2-plugins",
    "output": "Connect a loudspeaker or headset, or use --quiet; behind a PulseAudio or PipeWire server, on Debian: "
    "apt-get install libasound2-plugins",
}
# PortAudio's error codes, portaudio.h (PaErrorCode)
_HOST, _CHANNELS, _RATE, _COMBINATION, _UNAVAILABLE = -9999, -9998, -9997, -9993, -9985
_CARD_NUMBER = re.compile(r"\(hw:\d+,(\d+)\)")


@dataclass(frozen=True)
class Device:
    """A sound device as PortAudio lists it.

    Attributes:
        number: its number in the list; it changes as devices come and go.
        name: its name.
        system: the sound system that offers it ("ALSA", "Core Audio", "Windows WASAPI").
        inputs, outputs: how many channels it records and plays.
        rate_hz: the sample rate that it prefers.
        usual_input, usual_output: whether it is the system's default.
    """

    number: int
    name: str
    system: str
    inputs: int
    outputs: int
    rate_hz: int
    usual_input: bool
    usual_output: bool

    def channels(self, kind: Kind) -> int:
        """How many channels it has in this direction."""
        return self.inputs if kind == "input" else self.outputs

    def usual(self, kind: Kind) -> bool:
        """Whether it is the system's default in this direction."""
        return self.usual_input if kind == "input" else self.usual_output

    def is_same(self, other: Device) -> bool:
        """Whether `other` is this device, perhaps connected anew: ALSA then counts its card differently."""
        return (self.system, _CARD_NUMBER.sub(r"(\1)", self.name)) == (
            other.system,
            _CARD_NUMBER.sub(r"(\1)", other.name),
        )


def devices() -> list[Device]:
    """Every sound device, in PortAudio's order; empty where there is none.

    Raises:
        DeviceError: PortAudio is not installed.
    """
    with calling() as sounddevice:
        systems = sounddevice.query_hostapis()
        usual_input, usual_output = sounddevice.default.device
        if usual_input < 0 or usual_output < 0:
            first: Any = systems[0] if systems else {}
            usual_input = usual_input if usual_input >= 0 else first.get("default_input_device", -1)
            usual_output = usual_output if usual_output >= 0 else first.get("default_output_device", -1)
        return [
            Device(
                number=number,
                name=info["name"],
                system=systems[info["hostapi"]]["name"],
                inputs=info["max_input_channels"],
                outputs=info["max_output_channels"],
                rate_hz=round(info["default_samplerate"]),
                usual_input=number == usual_input,
                usual_output=number == usual_output,
            )
            for number, info in enumerate(sounddevice.query_devices())
        ]


def find_device(wanted: str | int | None, kind: Kind) -> Device:
    """The device that is meant now: see `choose`."""
    return choose(devices(), wanted, kind)


def choose(listed: Sequence[Device], wanted: str | int | None, kind: Kind) -> Device:
    """The one device of `listed` that is meant.

    Args:
        listed: all devices.
        wanted: its name, a part of its name in any case, or its number; None for the system's default.
        kind: the direction it must have.

    Raises:
        DeviceError: there is none, or there are several; the message names the candidates.
    """
    called = _CALLED[kind]
    fit = [device for device in listed if device.channels(kind) > 0]
    if not fit:
        raise DeviceError(f"there is no {called}", cure=_CONNECT[kind])
    if wanted is None:
        return next((device for device in fit if device.usual(kind)), fit[0])
    text = str(wanted).strip()
    numbered = [device for device in fit if str(device.number) == text]
    found = numbered or _by_name(fit, text, kind)
    if len(found) == 1:
        return found[0]
    names = "; ".join(f"{device.number} {device.name}" for device in found or fit)
    if found:
        raise DeviceError(f"'{text}' can mean several {called}s: {names}", cure="Give more of the name, or the number")
    raise DeviceError(f"there is no {called} called '{text}'", cure=f"Choose one of: {names}")


def _by_name(fit: Sequence[Device], text: str, kind: Kind) -> list[Device]:
    lower = text.casefold()
    found = [device for device in fit if device.name.casefold() == lower]
    found = found or [device for device in fit if lower and lower in device.name.casefold()]
    if len({device.name for device in found}) == 1:
        # one device that several sound systems offer: by the one that the default device is reached with
        usual = {device.system for device in fit if device.usual(kind)}
        found = [device for device in found if device.system in usual][:1] or found[:1]
    return found


def opening_failed(error: Exception, device: Device, kind: Kind) -> DeviceError:
    """PortAudio's complaint about opening a device, with what to do about it."""
    code = error.args[1] if len(error.args) > 1 else None
    named = f"{_CALLED[kind]} '{device.name}'"
    if code == _UNAVAILABLE:
        return DeviceError(f"{named} is busy", cure="Close the program that uses it, or choose another device")
    if code in (_RATE, _CHANNELS):
        return DeviceError(
            f"{named} takes neither our sample rate nor its own ({error})",
            cure="Choose another device that 'benchvoice devices' lists",
        )
    if code in (_HOST, _COMBINATION):  # what it says where the sound server is gone, or has no such device (seen)
        return DeviceError(f"{named} cannot be opened: it is gone, or the sound server is", cure=_CONNECT[kind])
    return DeviceError(f"{named} cannot be opened ({error})", cure=_CONNECT[kind])

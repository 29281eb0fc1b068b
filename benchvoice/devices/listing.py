"""Sound devices by name: the list of them, and the one that a user means."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from benchvoice.devices.portaudio import calling
from benchvoice.devices.routing import Kind, Place, places
from benchvoice.errors import DeviceError

__all__ = ["Device", "Kind", "again", "choose", "devices", "find_device", "opening_failed", "told_apart"]

_CALLED = {"input": "microphone", "output": "loudspeaker"}
_CONNECT = {
    "input": "Connect a microphone or headset; behind a PulseAudio or PipeWire server, on Debian: "
    "apt-get install libasound2-plugins",
    "output": "Connect a loudspeaker or headset, or use --quiet; behind a PulseAudio or PipeWire server, on Debian: "
    "apt-get install libasound2-plugins",
}
# PortAudio's error codes, portaudio.h (PaErrorCode)
_HOST, _CHANNELS, _RATE, _COMBINATION, _UNAVAILABLE = -9999, -9998, -9997, -9993, -9985
_KINDS: tuple[Kind, ...] = ("input", "output")
_SERVERS = ("pulse", "pipewire")  # what ALSA calls the way to a sound server; the first heeds `routing.opening_at`
_CARD_NUMBER = re.compile(r"\(hw:\d+,(\d+)\)")


@dataclass(frozen=True)
class Device:
    """A sound device: one of PortAudio's, or one behind the sound server that PortAudio reaches as a whole.

    Attributes:
        number: its number in the list; it changes as devices come and go.
        opened_as: PortAudio's number of what must be opened to reach it.
        place: the sound server's name of it; "" for one that PortAudio itself knows.
        name: its name for people.
        system: the sound system that offers it ("ALSA", "Core Audio", "Windows WASAPI").
        inputs, outputs: how many channels it records and plays.
        rate_hz: the sample rate that it prefers.
        usual_input, usual_output: whether it is the system's default.
    """

    number: int
    opened_as: int
    place: str
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
        mine, its = ((each.system, each.place or _CARD_NUMBER.sub(r"(\1)", each.name)) for each in (self, other))
        return mine == its


def devices() -> list[Device]:
    """Every sound device: PortAudio's in its order, then those behind a sound server; empty where there is none.

    Raises:
        DeviceError: PortAudio is not installed.
    """
    listed = _of_portaudio()
    server = next((device for name in _SERVERS for device in listed if device.name == name), None)
    if server is not None:
        for kind in _KINDS:
            listed += [
                _behind(server, place, kind, number) for number, place in enumerate(places(kind), start=len(listed))
            ]
    return listed


def _behind(server: Device, place: Place, kind: Kind, number: int) -> Device:
    return Device(
        number=number,
        opened_as=server.opened_as,
        place=place.name,
        name=place.about,
        system="sound server",
        inputs=place.channels if kind == "input" else 0,
        outputs=place.channels if kind == "output" else 0,
        rate_hz=server.rate_hz,
        usual_input=kind == "input" and place.usual,
        usual_output=kind == "output" and place.usual,
    )


def _of_portaudio() -> list[Device]:
    with calling() as sounddevice:
        systems = sounddevice.query_hostapis()
        usual_input, usual_output = _usual(sounddevice.default.device, systems)
        return [
            Device(
                number=number,
                opened_as=number,
                place="",
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


def _usual(default: Any, systems: Sequence[Any]) -> tuple[int, int]:
    """PortAudio's numbers of the default devices: what sounddevice was told, else what the first system says."""
    given_input, given_output = default
    first: Any = systems[0] if systems else {}
    return (
        given_input if given_input >= 0 else first.get("default_input_device", -1),
        given_output if given_output >= 0 else first.get("default_output_device", -1),
    )


def find_device(wanted: str | int | None, kind: Kind) -> Device:
    """The device that is meant now: see `choose`."""
    return choose(devices(), wanted, kind)


def choose(listed: Sequence[Device], wanted: str | int | None, kind: Kind) -> Device:
    """The one device of `listed` that is meant.

    Args:
        listed: all devices.
        wanted: its name, a part of its name in any case, its number, or the sound server's name of it; None for the
            system's default.
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
    numbered = [device for device in fit if text and text in (str(device.number), device.place)]
    found = numbered or _by_name(fit, text, kind)
    if len(found) == 1:
        return found[0]
    names = "; ".join(f"{device.number} {told_apart(device, found or fit)}" for device in found or fit)
    if found:
        alike = len({device.name for device in found}) == 1
        cure = "Give its number, or what stands in brackets" if alike else "Give more of the name, or the number"
        raise DeviceError(f"'{text}' can mean several {called}s: {names}", cure=cure)
    raise DeviceError(f"there is no {called} called '{text}'", cure=f"Choose one of: {names}")


def _by_name(fit: Sequence[Device], text: str, kind: Kind) -> list[Device]:
    lower = text.casefold()
    found = [device for device in fit if device.name.casefold() == lower]
    found = found or [device for device in fit if lower and lower in device.name.casefold()]
    if len({device.name for device in found}) == 1 and len({device.system for device in found}) > 1:
        # one device that several sound systems offer: by the one that the default device is reached with
        usual = {device.system for device in fit if device.usual(kind)}
        system = next((device.system for device in found if device.system in usual), found[0].system)
        found = [device for device in found if device.system == system]
    return found


def told_apart(device: Device, others: Sequence[Device]) -> str:
    """Its name; where one of `others` has the same, with what tells it apart: the sound server's name, or the system.

    Twins that one system offers without names of its own differ by their number alone.
    """
    alike = sum(other.name == device.name for other in others) > 1
    return f"{device.name} ({device.place or device.system})" if alike else device.name


def again(device: Device, before: Sequence[Device], now: Sequence[Device]) -> Device | None:
    """The device among those that are alike `now`; None where it is not there, or nobody can say which one it is.

    `before` are those that were alike when it was chosen. Twins keep their order.
    """
    if len(now) == len(before):
        numbers = [each.number for each in before]
        return now[numbers.index(device.number)] if device.number in numbers else None
    named, was_named = ([each for each in listed if each.name == device.name] for listed in (now, before))
    return named[0] if len(named) == len(was_named) == 1 else None


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
        return DeviceError(f"{named} cannot be opened: it is gone, or the sound server has ended", cure=_CONNECT[kind])
    return DeviceError(f"{named} cannot be opened ({error})", cure=_CONNECT[kind])

"""`benchvoice devices`: what there is to hear and speak with, and whether it stands well."""

from __future__ import annotations

import argparse
import json
import sys
import time
from dataclasses import asdict
from typing import Any

import numpy as np
from rich import box
from rich.markup import escape
from rich.table import Table

from benchvoice.answer.voice import open_speaker
from benchvoice.commands.console import print_table
from benchvoice.devices.listing import Device, choose, devices, told_apart
from benchvoice.devices.portaudio import answered
from benchvoice.errors import DeviceError
from benchvoice.hear.echo import hears_itself
from benchvoice.hear.microphone import Microphone
from benchvoice.hear.sound_check import check_sound
from benchvoice.records import RATE_HZ, Reply, Samples, Tone

__all__ = ["run"]

_LISTEN_S = 3.0
_PHRASE = "Bench microphone and loudspeaker. Three point three volts."
_STRAIGHT = 0.95  # likeness above which sound cannot have come through air
_ECHO = 0.2
_CURE = (
    "Connect a microphone and a loudspeaker, or a headset; behind a PulseAudio or PipeWire server, on Debian: "
    "apt-get install libasound2-plugins"
)


def run(arguments: argparse.Namespace) -> int:
    """Run the command; its exit status."""
    listed = answered(devices)
    if not listed:
        raise DeviceError("there is no sound device", cure=_CURE)
    if arguments.input is not None:
        choose(listed, arguments.input, "input")
    if arguments.output is not None:
        choose(listed, arguments.output, "output")
    if not arguments.json:
        _print_devices(listed)
    found = _try(arguments) if arguments.try_ else None
    if arguments.json:
        told: dict[str, Any] = {"devices": [_told(device) for device in listed]}
        print(json.dumps(told if found is None else {**told, "tried": found}, indent=2, ensure_ascii=False))
    elif found is not None:
        _print_tried(found)
    return 0


def _told(device: Device) -> dict[str, Any]:
    return {name: value for name, value in asdict(device).items() if name not in ("opened_as", "place")}


def _print_devices(listed: list[Device]) -> None:
    table = Table(box=box.SIMPLE_HEAD)
    table.add_column("number", justify="right")
    for heading in ("name", "through", "records", "plays"):
        table.add_column(heading)
    table.add_column("rate", justify="right")
    for device in listed:
        table.add_row(
            str(device.number),
            escape(told_apart(device, [each for each in listed if each.system == device.system])),
            escape(device.system),
            _use(device.inputs, device.usual_input),
            _use(device.outputs, device.usual_output),
            f"{device.rate_hz} Hz",
        )
    print_table(table)


def _use(channels: int, usual: bool) -> str:
    if not channels:
        return ""
    return "yes, the usual one" if usual else "yes"


# --- trying -------------------------------------------------------------------------------------------------------
def _try(arguments: argparse.Namespace) -> dict[str, Any]:
    """Listens, then speaks and listens; what was found.

    Raises:
        DeviceError: a device cannot be used.
    """
    microphone = Microphone(arguments.input)
    try:
        print(
            f"Say a sentence or two as you would at the bench: {microphone.name} listens for three seconds.",
            file=sys.stderr,
        )
        check = check_sound(_record(microphone, time.monotonic() + _LISTEN_S))
        found: dict[str, Any] = {
            "input": microphone.name,
            "speech_dbfs": round(check.speech_dbfs, 1),
            "noise_dbfs": round(check.noise_dbfs, 1),
            "clipped": check.clipped,
            "advice": list(check.advice),
        }
        with open_speaker(arguments.output) as voice:
            print(f"Now {voice.name} speaks.", file=sys.stderr)
            start_s = time.monotonic()
            voice.say(Reply(_PHRASE, Tone.PASS))
            captured = _record(microphone, None, voice)
            mute_why, played = voice.mute_why, voice.played(start_s - 1.0)
            found |= {"output": voice.name, "mute": mute_why, "echo": round(_echo(captured, played), 2)}
    finally:
        microphone.close()
    return found


def _record(microphone: Microphone, until_s: float | None, voice: Any = None) -> Samples:
    """What the microphone hears until then, or until the voice has spoken.

    Raises:
        DeviceError: it went deaf.
    """
    heard: list[Samples] = []
    while (time.monotonic() < until_s) if until_s is not None else voice.speaking:
        block = microphone.read(0.1)
        if block is not None:
            heard.append(block.samples)
        elif microphone.why_deaf:
            raise DeviceError(f"nothing is heard: {microphone.why_deaf}", cure="Connect it again, or choose another")
    return np.concatenate([*heard, np.zeros(0, dtype=np.int16)])


def _echo(captured: Samples, played: Samples) -> float:
    """The greatest likeness of half a second that was captured to what was played; both end at the same time."""
    step = RATE_HZ // 2
    ends = range(len(captured), step, -step)
    return max(
        (hears_itself(captured[end - step : end], played[: len(played) - len(captured) + end]) for end in ends),
        default=0.0,
    )


def _print_tried(found: dict[str, Any]) -> None:
    print(f"{found['input']}: speech {found['speech_dbfs']} dBFS, noise {found['noise_dbfs']} dBFS.")
    for sentence in found["advice"] or ["It stands well."]:
        print(f"  {sentence}")
    if found["mute"]:
        print(f"{found['output']}: nothing can be heard, {found['mute']}.")
    else:
        print(f"{found['output']}: a tone and '{_PHRASE}' were played.")
    if found["echo"] >= _STRAIGHT:
        print("  What the input gives is the output's own sound: choose a microphone as input.")
    elif found["echo"] >= _ECHO:
        print("  The microphone hears it: leave --headset out, or wear one.")

"""`benchvoice devices` as its own process, on a sound card made of software and without one."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest

from benchvoice.answer.synthesis import Synthesiser
from tests.commands.running import Ran
from tests.sound_card import SoundCard


def run(environment: dict[str, str], *arguments: str) -> Ran:
    command = [sys.executable, "-m", "benchvoice.cli", "devices", *arguments]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False, timeout=120)
    return Ran(done.returncode, done.stdout, done.stderr)


@pytest.mark.apt
def test_inputs_and_outputs_with_rates_and_the_usual_ones(card: SoundCard) -> None:
    ran = run(card.environment)
    assert (ran.status, ran.err) == (0, "")
    rows = {line.split()[1]: line for line in ran.out.splitlines() if line.strip()[:1].isdigit()}
    assert rows["default"].count("yes, the usual one") == 2
    assert "44100 Hz" in rows["default"]
    assert rows["BenchMicrophone"].count("the usual one") == 1


@pytest.mark.apt
def test_json_holds_the_same(card: SoundCard) -> None:
    ran = run(card.environment, "--json")
    listed = json.loads(ran.out)["devices"]
    microphone = next(device for device in listed if device["name"] == "BenchMicrophone")
    assert microphone["inputs"] == 1
    assert microphone["outputs"] == 0
    assert microphone["usual_input"]
    assert [device["number"] for device in listed] == list(range(len(listed)))


@pytest.mark.apt
@pytest.mark.parametrize(
    ("arguments", "complaint"),
    [
        (("--input", "loom"), "there is no microphone called 'loom'. Choose one of: 0 pulse; 1 default; "),
        (("--output", "e"), "'e' can mean several loudspeakers: 0 pulse; 1 default; "),
        (("--try", "--output", "99"), "there is no loudspeaker called '99'"),
    ],
)
def test_a_missing_or_ambiguous_name_lists_the_candidates(
    card: SoundCard, arguments: tuple[str, ...], complaint: str
) -> None:
    ran = run(card.environment, *arguments)
    assert ran.status == 2
    assert ran.out == ""
    assert ran.err.startswith(f"benchvoice: {complaint}")


@pytest.mark.apt
def test_of_two_loudspeakers_with_one_name_one_must_be_chosen(card: SoundCard) -> None:
    card.plug("twin")
    try:
        ran = run(card.environment, "--output", "BenchLoudspeaker")
        listed = json.loads(run(card.environment, "--json").out)["devices"]
        with card.recording() as usual, card.recording("twin.monitor") as twin:
            tried = run(card.environment, "--try", "--input", "BenchMic", "--output", "twin")
            assert np.abs(twin.samples.astype(int)).max() > 1000
            assert not len(usual.loud_s())
    finally:
        card.unplug("twin")
    first, second = (device["number"] for device in listed if device["name"] == "BenchLoudspeaker")
    assert ran.status == 2
    assert ran.err == (
        f"benchvoice: 'BenchLoudspeaker' can mean several loudspeakers: {first} BenchLoudspeaker (vspk); "
        f"{second} BenchLoudspeaker (twin). Give its number, or what stands in brackets.\n"
    )
    assert "(twin)" in tried.out


def speak_after(card: SoundCard, delay_s: float, gain: float) -> threading.Thread:
    """Speaks into the microphone for about three seconds, a little later."""
    speech = Synthesiser().speech("Rail three point three reads four point oh volts")
    sound = np.clip(speech.samples * gain, -32768, 32767).astype(np.int16)

    def speak() -> None:
        time.sleep(delay_s)
        card.play(sound, speech.rate_hz)

    thread = threading.Thread(target=speak)
    thread.start()
    return thread


@pytest.mark.apt
@pytest.mark.parametrize(
    ("gain", "advice"),
    [
        (0.3, ""),
        (20.0, "Too loud: turn the microphone down"),
        pytest.param(0.01, "Too faint: speak closer", marks=pytest.mark.long),
    ],
)
def test_trying_says_how_the_microphone_stands(card: SoundCard, gain: float, advice: str) -> None:
    thread = speak_after(card, 1.5, gain)
    ran = run(card.environment, "--try", "--json")
    thread.join()
    assert ran.status == 0, ran.err
    tried = json.loads(ran.out)["tried"]
    assert " ".join(tried["advice"]).startswith(advice)
    assert bool(tried["advice"]) == bool(advice)
    assert (tried["input"], tried["output"], tried["mute"]) == ("BenchMicrophone", "BenchLoudspeaker", "")
    assert tried["echo"] < 0.2
    assert ran.err.startswith("Say a sentence or two as you would at the bench: BenchMicrophone listens")


@pytest.mark.apt
def test_trying_finds_that_the_microphone_hears_the_loudspeaker(card: SoundCard) -> None:
    card.plug("echo")
    try:
        for _ in range(3):  # on a loaded machine sound is lost, and what is left may be like nothing
            ran = run(card.environment, "--try")
            assert ran.status == 0, ran.err
            if "is the output's own sound" in ran.out:
                break
    finally:
        card.unplug("echo")
    assert "No speech was heard above the noise" in ran.out
    assert "a tone and 'Bench microphone and loudspeaker. Three point three volts.' were played" in ran.out
    assert "What the input gives is the output's own sound" in ran.out


@pytest.mark.apt
def test_trying_what_is_muted_says_so(card: SoundCard) -> None:
    card.mute("vmic_in", True)
    card.mute("vspk", True)
    try:
        ran = run(card.environment, "--try")
    finally:
        card.mute("vmic_in", False)
        card.mute("vspk", False)
    assert ran.status == 0, ran.err
    assert "The microphone gives no sound at all" in ran.out
    assert "BenchLoudspeaker: nothing can be heard, BenchLoudspeaker is muted in the system." in ran.out


@pytest.mark.apt
def test_a_frozen_server_is_given_up(card: SoundCard) -> None:
    card.freeze()
    try:
        ran = run(card.environment)
    finally:
        card.thaw()
    assert ran.status == 2
    assert ran.err.startswith("benchvoice: the sound system does not answer. Restart the sound server")


def test_no_device_at_all_names_the_cure(tmp_path: Path) -> None:
    """Nothing but ALSA's own definitions, and a server that is not there; or no PortAudio."""
    nowhere = {**os.environ, "PULSE_SERVER": f"unix:{tmp_path}/none", "HOME": str(tmp_path)}
    ran = run(nowhere)
    if ran.status == 0:
        pytest.skip("this machine has a sound card of its own")
    assert ran.status == 2
    assert "apt-get install" in ran.err
    assert "Traceback" not in ran.err

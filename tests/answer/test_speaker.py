"""The loudspeaker voice on a real sound server (PulseAudio with a sink that leads nowhere), recorded as it plays."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from ctypes.util import find_library
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.answer.speaker import SampleQueue
from benchvoice.answer.tones import tone_samples
from benchvoice.records import Tone
from tests.answer.test_synthesis import run

RATE_HZ = 22_050
CABLE = """\
.nofail
load-module module-native-protocol-unix socket={folder}/native auth-anonymous=1
load-module module-null-sink norewinds=1 sink_name=vspk rate=22050 channels=1 format=s16le
set-default-sink vspk
"""


# --- the queue of samples ------------------------------------------------------------------------------------------
@given(st.lists(st.integers(0, 400), max_size=8), st.integers(1, 300))
def test_queue_plays_everything_in_order_then_silence(lengths: list[int], block: int) -> None:
    waiting = SampleQueue(RATE_HZ)
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
    waiting = SampleQueue(RATE_HZ)
    waiting.put(np.full(RATE_HZ, 20_000, dtype=np.int16))
    waiting.cut()
    assert len(waiting) == round(0.005 * RATE_HZ)
    out = np.empty(200, dtype=np.int16)
    waiting.take(out)
    assert np.abs(np.diff(out[:111].astype(int))).max() < 400
    waiting.cut()
    assert len(waiting) == 0


# --- a real stream -------------------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, str]]:
    """Environment of a sound server of our own."""
    needed = [name for name in ("pulseaudio", "parec", "pactl") if shutil.which(name) is None]
    if needed or sys.platform != "linux":
        pytest.skip(
            f"needs {', '.join(needed) or 'Linux'}: apt-get install pulseaudio pulseaudio-utils libasound2-plugins"
        )
    folder = tmp_path_factory.mktemp("sound")
    (folder / "cable.pa").write_text(CABLE.format(folder=folder))
    home = dict.fromkeys(("HOME", "XDG_RUNTIME_DIR", "PULSE_RUNTIME_PATH", "PULSE_STATE_PATH"), str(folder))
    environment = {**os.environ, **home, "PULSE_SERVER": f"unix:{folder}/native"}
    command = ["pulseaudio", "-n", "-F", str(folder / "cable.pa"), "--daemonize=no", "--exit-idle-time=-1"]
    command += ["--use-pid-file=no", "--realtime=no", "--high-priority=no"]
    process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        for _ in range(100):
            if _pactl(environment, "info").returncode == 0:
                break
            time.sleep(0.1)
        else:
            pytest.skip("the sound server does not start here")
        yield environment
    finally:
        process.terminate()
        process.wait()


def _pactl(environment: dict[str, str], *arguments: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(["pactl", *arguments], env=environment, capture_output=True, check=False)


SPEAK = """
    import json, time
    from benchvoice.answer.voice import open_speaker
    from benchvoice.records import Reply, Tone
    voice = open_speaker()
    told = {}
    time.sleep(0.3)
"""
END = """
    voice.close()
    print(json.dumps(told))
"""


def speak_and_record(server: dict[str, str], code: str, tmp_path: Path) -> tuple[dict[str, float], np.ndarray]:
    """Runs a program that speaks; what it told, and what came out of the loudspeaker."""
    raw = tmp_path / "heard.raw"
    command = ["parec", "--raw", f"--rate={RATE_HZ}", "--channels=1", "--format=s16le", "--latency-msec=10"]
    with raw.open("wb") as file:
        recorder = subprocess.Popen([*command, "-d", "vspk.monitor"], env=server, stdout=file)
        try:
            done = run(SPEAK + code + END, environment=server)
            time.sleep(0.3)
        finally:
            recorder.terminate()
            recorder.wait()
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout), np.frombuffer(raw.read_bytes(), dtype="<i2")


@pytest.mark.apt
def test_reply_is_played_whole_tone_first(server: dict[str, str], tmp_path: Path) -> None:
    told, heard = speak_and_record(
        server,
        """
    voice.say(Reply("Fail, high. Four point zero.", Tone.FAIL))
    told["speaking"] = voice.speaking
    told["silent"] = voice.wait(20)
    told["speaking after"] = voice.speaking
    """,
        tmp_path,
    )
    assert told == {"speaking": True, "silent": True, "speaking after": False}
    loud = np.flatnonzero(np.abs(heard.astype(int)) > 300)
    assert len(loud) > RATE_HZ / 2
    tone = tone_samples(Tone.FAIL, RATE_HZ).astype(float)
    start = max(0, loud[0] - 400)
    window = heard[start : start + len(tone) + 1600].astype(float)
    likeness = np.correlate(window, tone).max() / (tone @ tone)
    assert likeness > 0.9
    assert 1.5 < (loud[-1] - loud[0]) / RATE_HZ < 6


@pytest.mark.apt
def test_stop_falls_silent_and_forgets_the_rest(server: dict[str, str], tmp_path: Path) -> None:
    told, heard = speak_and_record(
        server,
        """
    for _ in range(3):
        voice.say(Reply("Limits three point one four to three point four seven volts.", Tone.ASK))
    time.sleep(1.0)
    voice.stop()
    told["silent"] = voice.wait(5)
    voice.say(Reply("", Tone.PASS))
    told["again"] = voice.speaking
    voice.wait(5)
    """,
        tmp_path,
    )
    assert told == {"silent": True, "again": True}
    loud = np.flatnonzero(np.abs(heard.astype(int)) > 300)
    assert (loud[-1] - loud[0]) / RATE_HZ < 3  # uncut, the three sentences last over ten seconds


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
    assert done.stdout.startswith("sound output 'no such loudspeaker' cannot be opened"), done.stderr
    assert "Connect a loudspeaker or headset" in done.stdout


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
        "sound cannot be played: PortAudio library not found. "
        "Install PortAudio, on Debian: apt-get install libportaudio2; or use --quiet.\n"
    ), done.stderr

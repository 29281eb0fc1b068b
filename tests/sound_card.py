"""A sound card made of software: a private PulseAudio server, so that tests play, record and pull plugs for real.

What is played into the sink `vmic` is what the microphone `vmic_in` hears; what is played to the loudspeaker `vspk`
can be recorded at its monitor. Nothing crosses from one to the other unless `echo` is on. A faint noise lies on the
microphone, as in any room: a microphone that gives nothing but zeros counts as deaf.

    with sound_card() as card:              # or the fixture of tests/conftest.py
        card.play(samples, 16_000)          # speak to the program
        with card.recording() as heard: …   # hear it
        card.freeze(); card.thaw(); card.kill(); card.start(); card.unplug("vmic_in"); …
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from benchvoice.records import Samples

__all__ = ["SPEAKER_RATE_HZ", "SoundCard", "SoundRecorder", "patiently", "sound_card"]

SPEAKER_RATE_HZ = 22_050
MICROPHONE_RATE_HZ = 16_000

_PROTOCOL = "module-native-protocol-unix socket={folder}/native auth-anonymous=1"
# without norewinds a null sink works in lumps of two seconds
_MODULES = {
    "vmic": f"module-null-sink norewinds=1 sink_name=vmic rate={MICROPHONE_RATE_HZ} channels=1 format=s16le",
    "vmic_in": "module-remap-source source_name=vmic_in master=vmic.monitor "
    "source_properties=device.description=BenchMicrophone",
    "vspk": f"module-null-sink norewinds=1 sink_name=vspk rate={SPEAKER_RATE_HZ} channels=1 format=s16le "
    "sink_properties=device.description=BenchLoudspeaker",
    "vspk2": f"module-null-sink norewinds=1 sink_name=vspk2 rate={SPEAKER_RATE_HZ} channels=1 format=s16le "
    "sink_properties=device.description=OtherLoudspeaker",
    "twin": f"module-null-sink norewinds=1 sink_name=twin rate={SPEAKER_RATE_HZ} channels=1 format=s16le "
    "sink_properties=device.description=BenchLoudspeaker",
    "echo": "module-loopback source=vspk.monitor sink=vmic latency_msec=60",
}
_AT_START = ("vmic", "vmic_in", "vspk")
_NOISE_VOLUME = 6554  # of 65536; the scale is cubic, so this is -60 dB


def patiently(check: Callable[[], bool], patience_s: float = 15.0) -> float | None:
    """Seconds until `check` held, asked every 5 ms; None if it did not within `patience_s`."""
    start_s = time.monotonic()
    while not check():
        if time.monotonic() - start_s > patience_s:
            return None
        time.sleep(0.005)
    return time.monotonic() - start_s


class SoundRecorder:
    """Records a monitor from its creation on.

    Attributes:
        start_s: monotonic time of the first sample, by its arrival; known once something has arrived.
        rate_hz: samples a second.
    """

    def __init__(self, environment: dict[str, str], source: str, rate_hz: int) -> None:
        command = ["parec", "--raw", f"--rate={rate_hz}", "--channels=1", "--format=s16le", "--latency-msec=10"]
        self._process = subprocess.Popen([*command, "-d", source], env=environment, stdout=subprocess.PIPE)
        self._data = bytearray()
        self.rate_hz = rate_hz
        self.start_s: float | None = None
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def _read(self) -> None:
        assert self._process.stdout is not None
        while part := os.read(self._process.stdout.fileno(), 4096):
            if self.start_s is None:
                self.start_s = time.monotonic() - len(part) / 2 / self.rate_hz
            self._data += part

    @property
    def samples(self) -> Samples:
        """What was recorded so far: mono int16 at `rate_hz`."""
        data = bytes(self._data)
        return np.frombuffer(data[: len(data) // 2 * 2], dtype="<i2").astype(np.int16)

    def loud_s(self, threshold: int = 300) -> np.ndarray:
        """Monotonic times of the samples above `threshold`."""
        assert self.start_s is not None, "nothing was recorded"
        return self.start_s + np.flatnonzero(np.abs(self.samples.astype(np.int32)) > threshold) / self.rate_hz

    def stop(self) -> None:
        self._process.terminate()
        self._process.wait()
        self._thread.join(5)


class SoundCard:
    """A running server. Use `sound_card()` to get one.

    Attributes:
        folder: its own home.
        environment: what a program needs to find it and no other.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        home = dict.fromkeys(("XDG_RUNTIME_DIR", "PULSE_RUNTIME_PATH", "PULSE_STATE_PATH"), str(folder))
        self.environment = {**os.environ, **home, "PULSE_SERVER": f"unix:{folder}/native"}
        self._noise: subprocess.Popen[bytes] | None = None
        self._server: subprocess.Popen[bytes] | None = None

    # --- the server -----------------------------------------------------------------------------------------------
    def start(self, *names: str) -> None:
        """Start the server with these modules (all that a bench has, unless told) and wait until it answers."""
        loaded = [_PROTOCOL.format(folder=self.folder), *(_MODULES[name] for name in names or _AT_START)]
        lines = [".nofail", *(f"load-module {module}" for module in loaded)]
        lines += ["set-default-source vmic_in", "set-default-sink vspk"]
        (self.folder / "card.pa").write_text("\n".join(lines) + "\n")
        command = ["pulseaudio", "-n", "-F", str(self.folder / "card.pa"), "--daemonize=no", "--exit-idle-time=-1"]
        command += ["--use-pid-file=no", "--realtime=no", "--high-priority=no"]
        environment = {**self.environment, "HOME": str(self.folder)}
        self._server = subprocess.Popen(
            command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        )
        if patiently(lambda: self._pactl("info").returncode == 0) is None:
            raise RuntimeError("the sound server does not start")
        if not names or "vmic" in names:
            self.noise(True)

    @property
    def server_id(self) -> int:
        """The server's process number."""
        assert self._server is not None
        return self._server.pid

    def kill(self) -> None:
        """End the server at once, as by a crash."""
        self._signal(signal.SIGKILL)
        assert self._server is not None
        self._server.wait()
        self.noise(False)

    def freeze(self) -> None:
        """Stop the server where it stands; every call into it hangs."""
        self._signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """Let it go on."""
        self._signal(signal.SIGCONT)

    def _signal(self, number: signal.Signals) -> None:
        assert self._server is not None
        if self._server.poll() is None:
            self._server.send_signal(number)

    def close(self) -> None:
        self.thaw()
        self.kill()

    # --- its devices ----------------------------------------------------------------------------------------------
    def _pactl(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            ["pactl", *arguments], env=self.environment, capture_output=True, text=True, check=False, timeout=20
        )

    def pactl(self, *arguments: str) -> str:
        """What `pactl` prints for these arguments."""
        done = self._pactl(*arguments)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def plug(self, name: str) -> None:
        """Connect a device: vmic_in, vspk, vspk2 or twin, which is called as vspk is; or switch the echo on: "echo"."""
        module, *arguments = _MODULES[name].split()
        self.pactl("load-module", module, *arguments)
        if name == "vspk" and self._noise is not None:  # it has been moved to the new default
            self.noise(True)

    def unplug(self, name: str) -> None:
        """Take it away."""
        for number in self.numbers_of(_MODULES[name].split(maxsplit=1)[1]):
            self.pactl("unload-module", number)

    def numbers_of(self, text: str) -> list[str]:
        """The numbers of the modules whose arguments contain this text."""
        rows = (line.split("\t") for line in self.pactl("list", "short", "modules").splitlines())
        return [row[0] for row in rows if len(row) > 2 and text in row[2]]

    def mute(self, name: str, on: bool) -> None:
        """Mute vmic_in or vspk in the system."""
        self.pactl(f"set-{self._kind(name)}-mute", name, str(int(on)))

    def suspend(self, name: str, on: bool) -> None:
        """Stop vmic_in or vspk without a word to those who use it."""
        self.pactl(f"suspend-{self._kind(name)}", name, str(int(on)))

    @staticmethod
    def _kind(name: str) -> str:
        return "source" if name == "vmic_in" else "sink"

    def noise(self, on: bool) -> None:
        """The faint noise of a room on the microphone, about -65 dBFS."""
        if self._noise is not None:
            self._noise.terminate()
            self._noise.wait()
            self._noise = None
        if on:
            command = ["pacat", "--raw", "--format=s16le", "--channels=1", f"--rate={MICROPHONE_RATE_HZ}"]
            command += ["--device=vmic", f"--volume={_NOISE_VOLUME}", "--latency-msec=100", "/dev/urandom"]
            self._noise = subprocess.Popen(command, env=self.environment, stderr=subprocess.DEVNULL)

    # --- sound ----------------------------------------------------------------------------------------------------
    def play(self, samples: Samples, rate_hz: int, *, device: str = "vmic") -> None:
        """Play mono int16 samples to a sink, and wait until they were played."""
        command = ["pacat", "--raw", "--format=s16le", "--channels=1", f"--rate={rate_hz}"]
        # with less, a busy machine leaves gaps in what is played
        command += ["--latency-msec=1000", f"--device={device}"]
        with tempfile.NamedTemporaryFile(dir=self.folder) as sound:  # at the end of a pipe pacat would use a whole core
            sound.write(samples.astype("<i2").tobytes())
            sound.flush()
            subprocess.run(
                [*command, sound.name], env=self.environment, check=True, timeout=60 + len(samples) / rate_hz
            )

    @contextmanager
    def recording(self, source: str = "vspk.monitor", rate_hz: int = SPEAKER_RATE_HZ) -> Iterator[SoundRecorder]:
        """Record what a device plays, from when it has begun to arrive."""
        recorder = SoundRecorder(self.environment, source, rate_hz)
        try:
            assert patiently(lambda: recorder.start_s is not None) is not None, f"{source} gives nothing"
            yield recorder
        finally:
            recorder.stop()


@contextmanager
def sound_card() -> Iterator[SoundCard]:
    """A software sound card; the test is skipped, with the reason, where PulseAudio is missing."""
    needed = [name for name in ("pulseaudio", "pacat", "parec", "pactl") if shutil.which(name) is None]
    if needed or sys.platform != "linux":
        pytest.skip(
            f"needs {', '.join(needed) or 'Linux'}: apt-get install pulseaudio pulseaudio-utils libasound2-plugins"
        )
    # a short path of its own: the path of a socket may have 107 characters
    with tempfile.TemporaryDirectory(prefix="card") as folder:
        card = SoundCard(Path(folder))
        try:
            card.start()
            yield card
        finally:
            card.close()

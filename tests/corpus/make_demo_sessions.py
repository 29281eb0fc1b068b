"""Make the sound and the transcript of every folder under demo_sessions/ from its script.txt.

    python -m tests.corpus.make_demo_sessions [FOLDER…]

Needs Debian's `flite`. Lines of a script are spoken one after another with a pause, `# wait: SECONDS` longer;
`# voice:` and `# noise: KIND DB` set voice and noise (signal to noise ratio in dB). The sound is the same on every run
but for the synthesiser's version.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np
import soundfile

from benchvoice.files import shipped
from benchvoice.records import RATE_HZ
from tests.corpus.speech import mix, say

PAUSE_S = 1.2
LEAD_S = 0.6
PAD = int(0.3 * RATE_HZ)  # samples of quiet that `mix` puts before the sound


def timestamp(seconds: float) -> str:
    """Seconds as a WebVTT timestamp."""
    milliseconds = round(seconds * 1000)
    minutes, milliseconds = divmod(milliseconds, 60_000)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{milliseconds // 1000:02d}.{milliseconds % 1000:03d}"


def make(folder: Path, cache: Path) -> None:
    """Write session.flac and transcript.vtt into `folder`."""
    voice, noise = "slt", None
    lines: list[str] = []
    waits_s: dict[int, float] = {}  # before the line of that number
    for line in (folder / "script.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("# voice:"):
            voice = line.partition(":")[2].strip()
        elif line.startswith("# noise:"):
            kind, decibels = line.partition(":")[2].split()
            noise = (kind, float(decibels))
        elif line.startswith("# wait:"):
            waits_s[len(lines)] = float(line.partition(":")[2])
        elif line.strip() and not line.startswith("#"):
            lines.append(line.strip())
    sound = [np.zeros(int(LEAD_S * RATE_HZ), np.int16)]
    cues = ["WEBVTT", ""]
    at_s = LEAD_S
    for number, line in enumerate(lines):
        wait_s = waits_s.get(number, 0.0)
        sound.append(np.zeros(int(wait_s * RATE_HZ), np.int16))
        at_s += wait_s
        spoken = say(line, voice, cache)
        end_s = at_s + len(spoken) / RATE_HZ
        cues += [f"{timestamp(at_s)} --> {timestamp(end_s)}", line, ""]
        sound += [spoken, np.zeros(int(PAUSE_S * RATE_HZ), np.int16)]
        at_s = end_s + PAUSE_S
    samples = np.concatenate(sound)
    if noise is not None:
        samples = mix(samples, noise[0], noise[1], seed=1)[PAD : PAD + len(samples)]
    soundfile.write(folder / "session.flac", samples, RATE_HZ, subtype="PCM_16")
    (folder / "transcript.vtt").write_text("\n".join(cues), encoding="utf-8")


def main() -> None:
    """Make the folders named on the command line, or all."""
    folders = [Path(name) for name in sys.argv[1:]] or sorted(
        path.parent for path in shipped("demo_sessions").glob("*/script.txt")
    )
    with tempfile.TemporaryDirectory() as cache:
        for folder in folders:
            make(folder, Path(cache))
            print(folder / "session.flac")


if __name__ == "__main__":
    main()

"""How soon speech silences the answer with a headset: `python -m tests.benchmarks.interrupt [TIMES]`.

From the first sound of the interrupting sentence at the microphone's sink to the last of ours at the loudspeaker's.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from benchvoice.live.parts import LiveSettings
from benchvoice.records import RATE_HZ
from tests.live.at_the_bench import sentences
from tests.live.kills import SPOKEN
from tests.live.rig import rig
from tests.sound_card import sound_card


def main() -> None:
    """Print each time in seconds, and p50 and p95."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    found = []
    with (
        sound_card() as card,
        tempfile.TemporaryDirectory() as folder,
        rig(card, Path(folder), LiveSettings(headset=True)) as bench,
    ):
        for number in range(times):
            bench.silent()
            with card.recording() as answered:
                card.play(sentences()[SPOKEN[0]], RATE_HZ)
                time.sleep(1.4 + 0.37 * number % 1.5)  # not always in the same pause between its sentences
                with card.recording("vmic.monitor", RATE_HZ) as spoken:
                    card.play(sentences()[SPOKEN[number % 3]], RATE_HZ)
                began_s = spoken.loud_s()[0]
                ours_s = answered.loud_s()
            after_s = ours_s[(ours_s > began_s) & (ours_s < began_s + 3.0)]
            before_s = ours_s[ours_s < began_s]
            if not len(before_s) or before_s[-1] < began_s - 0.5:
                print(f"no answer sounded: {len(before_s)} samples before it", flush=True)
            elif not len(after_s):
                print("the answer paused just then", flush=True)
            else:
                gap = np.flatnonzero(np.diff(after_s) > 0.25)
                found.append((after_s[gap[0]] if len(gap) else after_s[-1]) - began_s)
                print(f"{found[-1]:.3f}", flush=True)
    if not found:
        sys.exit("no answer was interrupted")
    print(f"{len(found)} of {times}: p50 {np.percentile(found, 50):.3f} s, p95 {np.percentile(found, 95):.3f} s")


if __name__ == "__main__":
    main()

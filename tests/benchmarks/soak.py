"""A long session: `python -m tests.benchmarks.soak [MINUTES]`.

`benchvoice listen` is spoken to all the time. Each minute: memory of it and its recognisers, answers, the time from
the end of speech to the journal (by this process's clock), the drift between its sound and its clock, lost sound.
Exit status 1 where more than _MOST_LOST_S of sound was lost, fewer than _LEAST_HEARD of the sentences were heard,
memory grew by more than _MOST_MB, or it ended badly. On a machine that has nothing else to do, nothing is lost and all
are heard; beside CI's tests a device can stall for half a second, which `listen` tells and asks about.
"""

from __future__ import annotations

import signal
import sys
import tempfile
import time
from datetime import datetime
from functools import partial
from itertools import cycle
from pathlib import Path

import numpy as np

from tests.live.at_the_bench import Listening, listening
from tests.live.kills import SPOKEN
from tests.sound_card import patiently, sound_card

_MOST_LOST_S = 1.0
_LEAST_HEARD = 0.8
_SPEAKS_S = 3.2  # what an answer in few words lasts, and the echo's tail
_MOST_MB = 80.0
"""What memory may grow by after the first minute: networks of contexts not met before are 50 MB of it, and no more come
once each kind has been met."""


def _memory_mb(process: int) -> list[float]:
    """Resident memory of a process and its children, its own first."""
    sizes = []
    for pid in (process, *_children(process)):
        status = Path(f"/proc/{pid}/status").read_text(encoding="utf-8")
        sizes.append(next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmRSS")) / 1024)
    return sizes


def _children(process: int) -> list[int]:
    return [int(pid) for pid in Path(f"/proc/{process}/task/{process}/children").read_text().split()]


def _drift_s(run: Listening) -> float:
    """How far the sound's own time went from the clock's between the first and the last utterance, in seconds."""
    heard = run.kinds("heard")
    if len(heard) < 2:
        return 0.0
    lags = [datetime.fromisoformat(event["at"]).timestamp() - event["end_s"] for event in heard]
    return float(np.median(lags[-5:]) - np.median(lags[:5]))


def _lost_s(run: Listening) -> float:
    """Seconds of sound that were lost so far."""
    return float(sum(event["lost_s"] or 0.0 for event in run.kinds("device") if event["state"] == "dropped"))


def _answered(run: Listening, before: int) -> bool:
    return len(run.kinds("said")) > before


def main() -> None:
    """Print a line for each minute, and what the whole came to."""
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    took: list[float] = []
    spoken = 0
    with (
        sound_card() as card,
        tempfile.TemporaryDirectory() as folder,
        listening(card, Path(folder), "--terse") as run,
    ):
        start_s = shown_s = time.monotonic()
        first_mb: list[float] = []
        print("minute    MB (own, recognisers)      answers  to journal p50, p95 s  drift s  lost s")
        for sentence in cycle(SPOKEN):
            if time.monotonic() - start_s > 60 * minutes:
                break
            before, answers = len(run.kinds("heard")), len(run.kinds("said"))
            run.say(sentence)
            spoken += 1
            spoken_s = time.monotonic()
            patiently(partial(_answered, run, answers), 15.0)
            time.sleep(_SPEAKS_S)
            fresh = [at for at, event in run.events if event["kind"] == "heard"][before:]
            took += [fresh[0] - spoken_s] if fresh else []
            if time.monotonic() - shown_s >= 60:
                shown_s = time.monotonic()
                sizes = _memory_mb(run.process.pid)
                first_mb = first_mb or sizes
                p50, p95 = np.percentile(took[-15:], (50, 95))
                print(f"{(shown_s - start_s) / 60:6.1f}  {'  '.join(f'{size:7.1f}' for size in sizes)}  "
                      f"{len(run.kinds('heard')):9d}  {p50:10.3f} {p95:10.3f}  {_drift_s(run):7.3f}  "
                      f"{_lost_s(run):6.2f}", flush=True)  # fmt: skip
        last_mb = _memory_mb(run.process.pid)
        status = run.end(signal.SIGTERM)  # a shell's background jobs ignore SIGINT, and so would it
        size = sum(file.stat().st_size for file in run.folder.rglob("*") if file.is_file())
    kinds = {kind: len(run.kinds(kind)) for kind in ("heard", "reading", "asked", "device")}
    grown_mb = sum(last_mb) - sum(first_mb or last_mb)
    lost_s = _lost_s(run)
    print(f"{minutes:g} minutes, exit {status}: {spoken} sentences, {kinds}; memory grew by {grown_mb:.1f} MB after "
          f"the first minute; {lost_s:.2f} s of sound lost; the job's folder has {size / 1e6:.1f} MB")  # fmt: skip
    few = kinds["heard"] < _LEAST_HEARD * spoken
    sys.exit(status != 143 or lost_s > _MOST_LOST_S or few or grown_mb > _MOST_MB)


if __name__ == "__main__":
    main()

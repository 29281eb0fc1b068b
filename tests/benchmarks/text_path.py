"""Speed of the way through the rooms without sound: parse, verdict, replay of long transcripts, start of the program.

    python -m tests.benchmarks.text_path [LINES]

Prints a table. Replay runs in a process of its own on LINES (default 100,000) and a quarter of them, so that growth
with length shows; memory is that process's peak resident set.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from benchvoice.decide.profile import read_board, read_meter
from benchvoice.decide.verdict import judge
from benchvoice.files import shipped
from benchvoice.records import Context, SpokenValue
from benchvoice.understand.grammar import Grammar
from benchvoice.understand.language import FILES, read_language
from benchvoice.understand.parse import Parser

DEMO = shipped("demo_sessions") / "failed_regulator"
LINES = (
    "rail five reads five point zero two",
    "rail three point three reads four point oh",
    "good morning",
    "fan current is three hundred and thirty five milliamps",
)


def per_second(work: Callable[[], object], seconds: float = 1.0) -> float:
    """How often `work` can be done in a second, over about `seconds`."""
    done, start_s = 0, time.perf_counter()
    while (spent_s := time.perf_counter() - start_s) < seconds:
        work()
        done += 1
    return done / spent_s


def replay(n_lines: int, folder: Path) -> tuple[float, float, float]:
    """Seconds, seconds of processor time, and peak megabytes of a replay of that many lines."""
    transcript = folder / f"{n_lines}.txt"
    with transcript.open("w", encoding="utf-8") as file:
        for index in range(n_lines):
            file.write(LINES[index % len(LINES)] + "\n")
    arguments = ["replay", str(DEMO / "board.yaml"), str(transcript), "--jobs", str(folder), "--job", f"j{n_lines}"]
    start_s = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "benchvoice.cli", *arguments, "--quiet"], stdout=subprocess.DEVNULL
    )
    _, status, used = os.wait4(process.pid, 0)  # of this process alone
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        raise SystemExit(f"replay ended with {process.returncode}")
    return time.perf_counter() - start_s, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def cold_start() -> float:
    """The shortest of five starts of `benchvoice --help`, in seconds."""
    starts = []
    for _ in range(5):
        start_s = time.perf_counter()
        subprocess.run([sys.executable, "-m", "benchvoice.cli", "--help"], check=True, capture_output=True)
        starts.append(time.perf_counter() - start_s)
    return min(starts)


def main() -> None:
    """Measure and print."""
    lines = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    language = shipped("grammars") / "en"
    words = read_language({name: (language / name).read_text(encoding="utf-8") for name in FILES})
    board = read_board((DEMO / "board.yaml").read_text(encoding="utf-8"), "board.yaml")
    meter = read_meter((DEMO / "meter.yaml").read_text(encoding="utf-8"), "meter.yaml")
    parser = Parser(Grammar(words, board.spoken_points(meter)))
    context = Context(current="rail 5")
    parses = per_second(lambda: parser.parse(LINES[1], context))
    verdicts = per_second(lambda: judge(SpokenValue("4.0", "V"), board.point("rail 3.3"), meter))
    print(f"parses              {parses:10.0f} a second")
    print(f"verdicts            {verdicts:10.0f} a second")
    print(f"benchvoice --help   {cold_start():10.2f} s")
    with tempfile.TemporaryDirectory() as folder:
        for n_lines in (lines // 4, lines):
            spent_s, cpu_s, peak_mb = replay(n_lines, Path(folder))
            print(
                f"replay {n_lines:7} lines {spent_s:7.1f} s, processor {cpu_s:7.1f} s, "
                f"{1e6 * cpu_s / n_lines:4.0f} us a line, {peak_mb:7.1f} MB"
            )


if __name__ == "__main__":
    main()

"""What the live screen costs: laying out, painting, and ten paints a second while sound comes in.

    python -m tests.benchmarks.screen [SECONDS]

Paints go to a real pseudo-terminal whose other end is read by a thread, as a terminal would. The last rows run the
painter for SECONDS (default 10) with a new level fifty times a second, and print the share of one core that the whole
process used.
"""

from __future__ import annotations

import fcntl
import os
import pty
import struct
import sys
import termios
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from rich.console import Console
from rich.live import Live

from benchvoice.screen.large_type import Ink
from benchvoice.screen.layout import layout
from benchvoice.screen.paint import Painter, ScreenImage
from tests.screen.views import FAIL

SIZES = ((80, 24), (120, 40), (200, 60))
LEVELS_HZ = 50


class Drain(threading.Thread):
    """Reads what was painted, and counts it."""

    def __init__(self, descriptor: int) -> None:
        super().__init__(daemon=True)
        self.descriptor = descriptor
        self.count_bytes = 0

    def run(self) -> None:
        while True:
            try:
                self.count_bytes += len(os.read(self.descriptor, 65536))
            except OSError:  # the other end was closed: that is how a pseudo-terminal ends
                return


@contextmanager
def terminal(width: int, height: int) -> Iterator[tuple[Console, Drain]]:
    """A console on a pseudo-terminal of that size."""
    reader, writer = pty.openpty()
    fcntl.ioctl(writer, termios.TIOCSWINSZ, struct.pack("HHHH", height, width, 0, 0))
    drain = Drain(reader)
    drain.start()
    with os.fdopen(writer, "w", encoding="utf-8") as file:
        environment = {"TERM": "xterm-256color", "COLUMNS": str(width), "LINES": str(height)}
        yield Console(file=file, force_terminal=True, _environ=environment), drain
    drain.join(1)
    os.close(reader)


def one_size(width: int, height: int) -> None:
    """Layouts and paints as fast as they go, each with another level."""
    views = [replace(FAIL, level_dbfs=-60.0 + number % 50) for number in range(300)]
    start_s = time.process_time()
    for view in views:
        layout(view, width, height, Ink.BLOCKS)
    layout_ms = 1e3 * (time.process_time() - start_s) / len(views)
    with terminal(width, height) as (console, drain):
        with Live(console=console, screen=True, auto_refresh=False) as live:
            begin_s, start_s = time.perf_counter(), time.thread_time()
            for view in views:
                live.update(ScreenImage(view), refresh=True)
            spent_s, paint_s = time.perf_counter() - begin_s, time.thread_time() - start_s
        size_bytes = drain.count_bytes / len(views)
    print(
        f"{width:4}x{height:<3} layout {layout_ms:6.2f} ms   paint {1e3 * paint_s / len(views):6.2f} ms CPU   "
        f"{len(views) / spent_s:6.0f} paints/s   {size_bytes / 1e3:5.1f} kB a paint"
    )


def live(seconds: float) -> None:
    """The painter as the program uses it."""
    for width, height in SIZES:
        with terminal(width, height) as (console, _), Painter(console, plain=False) as painter:
            begin_s, start_s, longest_s, number = time.perf_counter(), time.process_time(), 0.0, 0
            while time.perf_counter() - begin_s < seconds:
                shown_s = time.perf_counter()
                painter.show(replace(FAIL, level_dbfs=-60.0 + number % 50))
                longest_s = max(longest_s, time.perf_counter() - shown_s)
                number += 1
                time.sleep(1 / LEVELS_HZ)
            share = (time.process_time() - start_s) / (time.perf_counter() - begin_s)
        print(
            f"{width:4}x{height:<3} live   {100 * share:6.1f} % of one core   longest show() {1e3 * longest_s:6.2f} ms"
        )


def main() -> None:
    """Measure and print."""
    for width, height in SIZES:
        one_size(width, height)
    live(float(sys.argv[1]) if len(sys.argv) > 1 else 10.0)


if __name__ == "__main__":
    main()

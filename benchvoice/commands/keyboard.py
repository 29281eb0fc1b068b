"""Edge: standard input, line by line, without standing still while nobody types."""

from __future__ import annotations

import codecs
import os
import queue
import threading
from typing import TextIO

from benchvoice.errors import TranscriptError

__all__ = ["Keyboard"]

_PIECE_BYTES = 4096


class Keyboard:
    """Lines of a stream as they are typed, read on a thread of their own.

    The thread reads the file itself, not Python's buffer of it: that one is locked while it is read, and the program
    could not end before the next line.

    Args:
        stream: standard input, a terminal, pipe or file; None where it is closed.

    Raises:
        TranscriptError: it is closed.
    """

    def __init__(self, stream: TextIO | None) -> None:
        if stream is None:
            raise TranscriptError("it is closed", file="standard input", cure="Type into a terminal, or send lines")
        self.is_terminal = stream.isatty()
        self._number = stream.fileno()
        self._decoder = codecs.getincrementaldecoder(stream.encoding or "utf-8")(errors="replace")
        self._lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        threading.Thread(target=self._read, name="keyboard", daemon=True).start()

    def line(self, timeout_s: float) -> str | None:
        """The next line without its end; None where none came within `timeout_s` seconds.

        Raises:
            EOFError: there are no more.
        """
        try:
            line = self._lines.get(timeout=timeout_s)
        except queue.Empty:
            return None
        if line is None:
            self._lines.put(None)
            raise EOFError
        return line

    def _read(self) -> None:
        rest = ""
        try:
            while piece := os.read(self._number, _PIECE_BYTES):
                *lines, rest = (rest + self._decoder.decode(piece)).split("\n")
                for line in lines:
                    self._lines.put(line.removesuffix("\r"))
        except OSError:
            pass  # the terminal is gone: nobody types any more
        rest += self._decoder.decode(b"", final=True)
        if rest:
            self._lines.put(rest)
        self._lines.put(None)

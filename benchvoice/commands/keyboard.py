"""Edge: standard input, line by line, without standing still while nobody types."""

from __future__ import annotations

import codecs
import errno
import io
import os
import queue
import select
import stat
import threading
from typing import TextIO, cast

from benchvoice.errors import BenchvoiceError, TranscriptError

__all__ = ["Keyboard"]

_PIECE_BYTES = 4096
_KEPT = 20_000  # characters of a line without an end; far fewer are refused
_CURE = "Type into a terminal, or send lines"


class Keyboard:
    """Lines of a stream as they are typed, read on a thread of their own.

    The thread reads below Python's buffer: that one is locked while it is read, and the program could not end before
    the next line.

    Args:
        stream: standard input, a terminal, pipe or file; None where it is closed.

    Raises:
        TranscriptError: it is closed.
    """

    name = "keyboard"

    def __init__(self, stream: TextIO | None) -> None:
        if stream is None:
            raise TranscriptError("it is closed", file="standard input", cure=_CURE)
        self.is_terminal = stream.isatty()
        self.unfinished = ""
        """What was typed last where its line was not ended: half a value may be missing. Known once there are no more
        lines; the last line of a file is whole without its end."""
        self._number = stream.fileno()
        self._raw = cast(io.BufferedReader, stream.buffer).raw
        self._is_file = stat.S_ISREG(os.fstat(self._number).st_mode)
        self._decoder = codecs.getincrementaldecoder(stream.encoding or "utf-8")(errors="replace")
        self._lines: queue.SimpleQueue[str | BenchvoiceError | None] = queue.SimpleQueue()
        threading.Thread(target=self._read, name="keyboard", daemon=True).start()

    def line(self, timeout_s: float) -> str | None:
        """The next line without its end; None where none came within `timeout_s` seconds.

        Raises:
            EOFError: there are no more.
            TranscriptError: the system refuses to read on.
        """
        try:
            found = self._lines.get(timeout=timeout_s)
        except queue.Empty:
            return None
        if found is None or isinstance(found, BenchvoiceError):
            self._lines.put(None)
            raise found or EOFError
        return found

    def _read(self) -> None:
        rest, whole = "", self._is_file
        try:
            while piece := self._piece():
                *lines, rest = (rest + self._decoder.decode(piece)).split("\n")
                for line in lines:
                    self._lines.put(line.removesuffix("\r"))
                rest = rest[:_KEPT]
        except OSError as cause:
            whole = False
            if cause.errno != errno.EIO:  # which says that the terminal is gone: nobody types any more
                what = f"it cannot be read ({cause.strerror})"
                self._lines.put(TranscriptError(what, file="standard input", cure=_CURE))
        rest += self._decoder.decode(b"", final=True)
        if rest and whole:
            self._lines.put(rest)
        else:
            self.unfinished = rest
        self._lines.put(None)

    def _piece(self) -> bytes:
        """What was typed since; empty where there is no more."""
        while (piece := self._raw.read(_PIECE_BYTES)) is None:  # another program told the terminal not to wait
            select.select([self._number], [], [])
        return piece

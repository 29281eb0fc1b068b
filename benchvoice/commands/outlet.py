"""Standard output and standard error, which may go away before the work is done.

A job must be finished even where nobody reads on what it prints (`benchvoice hear … | head`).
"""

from __future__ import annotations

import io
import os
import select
import stat
from typing import Any, TextIO

__all__ = ["Outlet", "reader_left"]


class Outlet:
    """A text stream that takes anything: once the system refuses it, what is written goes nowhere.

    Attributes:
        failed: what the system refused, for the end; None while all was written.
    """

    def __init__(self, stream: TextIO) -> None:
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # no character that it lacks may end a session
        self._stream = stream
        self.failed: OSError | None = None

    @property
    def reader_gone(self) -> bool:
        """Whether whoever read it wanted no more; known only where something was written since."""
        return isinstance(self.failed, BrokenPipeError)

    @property
    def reader_left(self) -> bool:
        """Whether whoever reads it has gone, also where nothing was written since."""
        return self.reader_gone or _pipe_is_closed(self._stream)

    def write(self, text: str) -> int:
        """Write the text, if it can be."""
        try:
            return self._stream.write(text)
        except OSError as cause:
            self._give_up(cause)
            return len(text)

    def flush(self) -> None:
        """Pass on what was written, if it can be."""
        try:
            self._stream.flush()
        except OSError as cause:
            self._give_up(cause)

    def _give_up(self, cause: OSError) -> None:
        self.failed = cause
        nowhere = os.open(os.devnull, os.O_WRONLY)  # also for what is still in the stream's own buffer
        os.dup2(nowhere, self._stream.fileno())
        os.close(nowhere)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def reader_left(stream: TextIO) -> bool:
    """Whether nobody reads what is printed any more; False for what is no `Outlet`."""
    return isinstance(stream, Outlet) and stream.reader_left


def _pipe_is_closed(stream: TextIO) -> bool:
    """Whether it is a pipe with nobody at its other end; False where the system cannot tell."""
    try:
        number = stream.fileno()
        if not stat.S_ISFIFO(os.fstat(number).st_mode) or not hasattr(select, "poll"):
            return False
        poll = select.poll()
        poll.register(number, 0)
        return any(event & select.POLLERR for _, event in poll.poll(0))
    except (OSError, ValueError):  # it is no file, or closed
        return False

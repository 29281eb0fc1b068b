"""What ends a session from outside: Ctrl-C, SIGTERM and SIGHUP, taken where nothing is left half done; a closed pipe.

Each becomes an `Interrupted`, raised in the main thread: at once, or at the end of what is `held` or `watched`.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

__all__ = ["Interrupted", "closed_when_interrupted", "held", "nobody_reads", "taken", "watched"]

_SIGNALS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))

_PIPE = getattr(signal, "SIGPIPE", signal.SIGTERM)


class Interrupted(KeyboardInterrupt):
    """A signal asked for the end.

    Attributes:
        number: the signal's.
        journal: the journal that holds what was confirmed; None where no job was open.
        record_is_older: whether the record beside that journal was not made again.
    """

    def __init__(self, number: int) -> None:
        super().__init__(signal.Signals(number).name)
        self.number = number
        self.journal: Path | None = None
        self.record_is_older = False

    @property
    def what(self) -> str:
        """What happened, for the user."""
        return "nobody reads on what is printed" if self.number == _PIPE else "interrupted"

    @property
    def status(self) -> int:
        """The exit status, as shells give it to a program that a signal ended: 130 for Ctrl-C, 143 for SIGTERM."""
        return 128 + self.number


@dataclass
class _Hold:
    depth: int = 0
    watched: bool = False
    waiting: int | None = None


_hold = _Hold()


@contextmanager
def taken() -> Iterator[None]:
    """While it lasts, the signals raise `Interrupted`. One that the caller ignores (nohup) stays ignored."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    _hold.waiting = None
    before = {number: signal.getsignal(number) for number in _SIGNALS}
    for number, handler in before.items():
        if handler is not signal.SIG_IGN:
            signal.signal(number, _interrupt)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@contextmanager
def held() -> Iterator[None]:
    """What must happen wholly or not at all: a signal waits for its end. Elsewhere than in the main thread, nothing."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    _hold.depth += 1
    try:
        yield
    finally:
        _hold.depth -= 1
    _raise_what_waited()


@contextmanager
def watched() -> Iterator[Callable[[], bool]]:
    """What ends of itself when it is told to: the function says whether a signal came, which is raised at the end.

    A second signal no longer waits, except for the end of what is held.
    """
    _hold.watched = True
    try:
        yield lambda: _hold.waiting is not None
    finally:
        _hold.watched = False
    _raise_what_waited()


def _raise_what_waited() -> None:
    if _hold.waiting is not None and not (_hold.depth or _hold.watched):
        number, _hold.waiting = _hold.waiting, None
        raise Interrupted(number)


@contextmanager
def closed_when_interrupted(close: Callable[[str], object], journal: Path) -> Iterator[None]:
    """Closes the session where a signal ends it, and lets the message name the journal.

    Args:
        close: ends the session, given the reason; a session that has ended already stays as it is.
        journal: where the session is kept.
    """
    try:
        yield
    except KeyboardInterrupt as interrupt:
        if isinstance(interrupt, Interrupted):
            interrupt.journal = journal
        with suppress(KeyboardInterrupt):  # a second one asks for what is being done already
            close(interrupt.what if isinstance(interrupt, Interrupted) else "interrupted")
        raise


def nobody_reads() -> Interrupted:
    """What ends a program that prints for as long as it runs, once whoever read it wants no more."""
    return Interrupted(_PIPE)


def _interrupt(number: int, frame: FrameType | None) -> None:  # noqa: ARG001
    if _hold.depth or (_hold.watched and _hold.waiting is None):
        _hold.waiting = number
        return
    _hold.waiting = None
    raise Interrupted(number)

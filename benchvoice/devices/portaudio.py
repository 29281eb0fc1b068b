"""Edge: the library that reaches sound devices, loaded when first needed, its messages kept off the user's terminal.

PortAudio is not made for several threads, so everything that opens, closes or lists goes through `calling()`. A call
into a sound server that has frozen never returns: `answered()` gives up waiting for it.
"""

from __future__ import annotations

import atexit
import os
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TextIO, TypeVar

from benchvoice.errors import DeviceError

__all__ = ["answered", "calling", "clean_terminal", "renew"]

_T = TypeVar("_T")

_one_at_a_time = threading.RLock()
_NO_LIBRARY_CURE = "Install PortAudio, on Debian: apt-get install libportaudio2; or use --quiet"
_SETTINGS_CURE = "Check the system's sound settings, on Linux ALSA's /etc/asound.conf and ~/.asoundrc"
_NO_ANSWER_CURE = "Restart the sound server, on Debian: systemctl --user restart pipewire pipewire-pulse, or pulseaudio"


@contextmanager
def calling() -> Iterator[Any]:
    """Gives the module `sounddevice` to one thread at a time, with `clean_terminal`.

    Raises:
        DeviceError: PortAudio is not installed.
    """
    with _one_at_a_time, clean_terminal:
        try:
            import sounddevice
        except OSError as error:
            raise DeviceError(f"sound devices cannot be reached: {error}", cure=_NO_LIBRARY_CURE) from error
        except Exception as error:  # PortAudio's own kind of error, which a failed import does not leave to name
            raise DeviceError(f"sound devices cannot be reached: {error}", cure=_SETTINGS_CURE) from error
        # at exit it would wait for servers that have frozen; the system takes everything back anyway
        atexit.unregister(sounddevice._exit_handler)
        yield sounddevice


def renew() -> None:
    """Looks for devices anew: PortAudio lists only those that were there when it was started.

    Only while no stream is open: it ends every one.
    """
    with calling() as sounddevice:
        sounddevice._terminate()
        sounddevice._initialize()


def answered(call: Callable[[], _T], timeout_s: float = 5.0) -> _T:
    """What `call` returns; it runs in a thread of its own that is left behind where it takes too long.

    Raises:
        DeviceError: it did not return within `timeout_s` seconds.
        Whatever `call` raises.
    """
    result: list[_T] = []
    failure: list[BaseException] = []

    def run() -> None:
        try:
            result.append(call())
        except BaseException as error:  # raised again where it was called
            failure.append(error)

    thread = threading.Thread(target=run, name="sound device", daemon=True)
    thread.start()
    thread.join(timeout_s)
    if failure:
        raise failure[0]
    if not result:
        raise DeviceError("the sound system does not answer", cure=_NO_ANSWER_CURE)
    return result[0]


class _CleanTerminal:
    """While it is entered, what libraries write to file descriptor 2 is dropped; what Python writes to stderr is not.

    ALSA, JACK and PortAudio tell there whatever they meet, from threads of their own and at any time. May be entered
    again, by any thread; the last to leave restores.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._inside = 0
        self._restore: Callable[[], None] = lambda: None

    def __enter__(self) -> None:
        with self._lock:
            self._inside += 1
            if self._inside == 1:
                self._restore = _divert()

    def __exit__(self, *_: object) -> None:
        with self._lock:
            self._inside -= 1
            if self._inside == 0:
                self._restore()


def _divert() -> Callable[[], None]:
    """Leads descriptor 2 nowhere and `sys.stderr` where it led; what undoes that."""
    try:
        kept = os.dup(2)
    except OSError:  # it is closed: nothing can be written there
        return lambda: None
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 2)
    os.close(nowhere)
    before = sys.stderr
    ours = None
    if _descriptor(before) == 2:
        before.flush()
        ours = os.fdopen(os.dup(kept), "w", buffering=1, encoding=before.encoding, errors=before.errors)
        sys.stderr = ours

    def restore() -> None:
        os.dup2(kept, 2)
        os.close(kept)
        if ours is not None:
            ours.flush()
            if sys.stderr is ours:
                sys.stderr = before

    return restore


def _descriptor(stream: TextIO | None) -> int | None:
    try:
        return None if stream is None else stream.fileno()
    except (OSError, ValueError):  # it is not a file, or closed
        return None


clean_terminal = _CleanTerminal()
"""Entered wherever PortAudio is at work."""

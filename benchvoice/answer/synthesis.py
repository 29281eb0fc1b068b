"""Edge: words → samples, through pyttsx3 in the one thread of this process that may touch it.

pyttsx3 speaks with the system's own voices on Windows and macOS and with eSpeak NG on Linux; where that is not
installed its library and data come from the wheel `espeakng-loader`. What pyttsx3 2.99 does, and what is done about it:

- it must be initialised once, from one thread: a single worker for the whole process;
- the first `runAndWait` returns at once: an empty one primes it;
- of several sentences before one `runAndWait` only the last survives: one sentence, one file, one run;
- where the file cannot be written `runAndWait` never ends: a watchdog ends it;
- a run that begins while eSpeak NG is busy with the last sentence or setting cancels itself: wait for that;
- it prints on standard output: its `print` is replaced;
- with the wheel's library, initialising without the wheel's data ends the process: the path is set while it starts.
"""

from __future__ import annotations

import ctypes
import os
import queue
import shutil
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Literal, NamedTuple

import numpy as np

from benchvoice.errors import SpeechError
from benchvoice.records import Samples

__all__ = ["Speech", "Synthesiser"]

Library = Literal["system first", "carried"]

_SYSTEM_LIBRARIES = ("libespeak-ng.so.1", "libespeak.so.1")  # as pyttsx3 looks for them on Linux
_DATA_PATH = "ESPEAK_DATA_PATH"
_LONGEST_S = 5.0  # an answer takes milliseconds
_TRIES = 3  # on a machine that is very busy eSpeak NG now and then cancels its own sentence
_ROOM_BYTES = 4_000_000  # more than the longest reply takes
_QUIET = 32  # samples at or below this, of 32767, count as silence at the end
_TAIL_S = 0.03
_CURE = "Install it: pip install espeakng-loader, or on Debian: apt-get install espeak-ng"


class Speech(NamedTuple):
    """Spoken words: mono int16 samples, and how many of them make a second."""

    samples: Samples
    rate_hz: int


class Synthesiser:
    """Turns words into samples. Nothing is loaded before the first words; safe to use from any thread.

    Args:
        rate_wpm: speed in words per minute.
        library: "carried" takes eSpeak NG from the wheel even where the system has its own. The first synthesiser
            of a process decides for all.
    """

    def __init__(self, *, rate_wpm: int = 170, library: Library = "system first") -> None:
        self.rate_wpm = rate_wpm
        self._library = library

    def speech(self, text: str) -> Speech:
        """The sound of `text`, silence at its end cut off; blocks until it is made (some milliseconds).

        Raises:
            SpeechError: the synthesiser cannot be had, or made no sound.
        """
        return _worker(self._library).ask(text, self.rate_wpm)


class _Worker:
    """The one thread that touches pyttsx3."""

    def __init__(self, library: Library) -> None:
        self._library = library
        self._asked: queue.SimpleQueue[tuple[str, int, Future[Speech]]] = queue.SimpleQueue()
        threading.Thread(target=self._run, name="synthesis", daemon=True).start()

    def ask(self, text: str, rate_wpm: int) -> Speech:
        answer: Future[Speech] = Future()
        self._asked.put((text, rate_wpm, answer))
        return answer.result()

    def _run(self) -> None:
        engine: Any = None
        while True:
            text, rate_wpm, answer = self._asked.get()
            try:
                engine = engine or _start(self._library)
                answer.set_result(_speak(engine, text, rate_wpm))
            except BaseException as error:  # whoever asked must hear of it, and this thread must live on
                answer.set_exception(error)


_only: list[_Worker] = []  # the process's worker, once there is one
_only_lock = threading.Lock()


def _worker(library: Library) -> _Worker:
    with _only_lock:
        if not _only:
            _only.append(_Worker(library))
        return _only[0]


def _start(library: Library) -> Any:
    try:
        with _carried_library(library):
            import pyttsx3

            engine = pyttsx3.init()
            engine.runAndWait()
    except (ImportError, OSError, RuntimeError, ValueError) as error:
        raise SpeechError(f"no speech synthesiser can be started ({error})", cure=_CURE) from error
    driver = sys.modules.get("pyttsx3.drivers.espeak")
    if driver is not None:
        driver.print = _print_nothing  # type: ignore[attr-defined]  # it reports every file on standard output
    return engine


def _print_nothing(*_: object, **__: object) -> None:
    """In place of pyttsx3's `print`."""


@contextmanager
def _carried_library(library: Library) -> Iterator[None]:
    """Within it, pyttsx3 finds eSpeak NG: the system's, else the wheel's, loaded where its name is looked up."""
    if sys.platform != "linux" or (library == "system first" and _system_has_library()):
        yield
        return
    import espeakng_loader

    before = os.environ.get(_DATA_PATH)
    os.environ[_DATA_PATH] = espeakng_loader.get_data_path()
    try:
        ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)
        yield
    finally:  # other programs started from here may have an eSpeak of their own, with other data
        if before is None:
            del os.environ[_DATA_PATH]
        else:
            os.environ[_DATA_PATH] = before


def _system_has_library() -> bool:
    for name in _SYSTEM_LIBRARIES:
        try:
            ctypes.CDLL(name)
        except OSError:
            continue
        return True
    return False


def _speak(engine: Any, text: str, rate_wpm: int) -> Speech:
    if not any(letter.isalnum() for letter in text):
        raise SpeechError(f"there is nothing to say in '{text}'")
    for _ in range(_TRIES):
        samples, rate_hz = _sound_of(engine, text, rate_wpm)
        trimmed = _without_silent_end(samples, rate_hz)
        if len(trimmed):
            return Speech(trimmed, rate_hz)
    raise SpeechError(f"the synthesiser made no sound of '{text}'")


def _sound_of(engine: Any, text: str, rate_wpm: int) -> Speech:
    import soundfile

    try:
        if shutil.disk_usage(tempfile.gettempdir()).free < _ROOM_BYTES:
            raise SpeechError(f"there is no room for sound in {tempfile.gettempdir()}", cure="Free some space there")
        with tempfile.TemporaryDirectory(prefix="benchvoice-") as folder:
            path = Path(folder, "reply.wav")
            engine.setProperty("rate", rate_wpm)
            engine.save_to_file(text, str(path))
            _run_and_wait(engine)
            samples, rate_hz = soundfile.read(path, dtype="int16", always_2d=True)
            return Speech(np.ascontiguousarray(samples[:, 0]), rate_hz)
    except (OSError, soundfile.LibsndfileError) as error:
        raise SpeechError(
            f"the synthesiser wrote no sound ({error})", cure=f"Make sure {tempfile.gettempdir()} can be written"
        ) from error


def _run_and_wait(engine: Any) -> None:
    finished = threading.Event()

    def watch() -> None:
        if not finished.wait(_LONGEST_S):
            engine.proxy.endLoop(True)  # engine.endLoop() refuses: it counts its loop as ended from the start

    watchdog = threading.Thread(target=watch, name="synthesis watchdog", daemon=True)
    watchdog.start()
    _settle()
    try:
        engine.runAndWait()
    finally:
        finished.set()
        watchdog.join()
    _settle()


def _settle() -> None:
    """Waits until eSpeak NG has put away the last sentence or setting (a millisecond); other drivers need none."""
    library = sys.modules.get("pyttsx3.drivers._espeak")
    until = time.monotonic() + _LONGEST_S
    while library is not None and library.IsPlaying() and time.monotonic() < until:
        time.sleep(0.0005)


def _without_silent_end(samples: Samples, rate_hz: int) -> Samples:
    loud = np.flatnonzero(np.abs(samples.astype(np.int32)) > _QUIET)
    return samples[: loud[-1] + 1 + round(_TAIL_S * rate_hz)] if len(loud) else samples[:0]

"""Edge: where a sound server (PulseAudio, or PipeWire in its place) leads this process's streams.

A server hides its devices behind one name, and moves a stream when its device goes: a microphone's to the
loudspeaker's own sound. The stream itself notices nothing; only the server can be asked. Every call to it runs in a
thread of its own, which hangs while the server is frozen.
"""

from __future__ import annotations

import os
import queue
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from concurrent.futures import TimeoutError as Unanswered
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Literal

__all__ = ["ANSWER_S", "Kind", "Place", "Route", "lead", "look", "misplaced", "opening_at", "places", "strays"]

Kind = Literal["input", "output"]

ANSWER_S = 0.15
"""A server that is well answers within a hundredth of this, in seconds."""

# the device that a program's new streams go to, where it names none itself: client.conf(5), pulseaudio(1)
_WISHES = {"input": "PULSE_SOURCE", "output": "PULSE_SINK"}
_NOWHERE = "auto_null"  # the output that a server makes up where there is none


@dataclass(frozen=True)
class Place:
    """A device of the server.

    Attributes:
        name: its name there.
        about: what a person reads.
        channels: how many it has. (Its rate does not matter: a server converts.)
        unreal: whether it is no microphone but a loudspeaker's own sound, or no loudspeaker but a made-up one.
        usual: whether it is the server's default.
    """

    name: str
    about: str
    channels: int
    unreal: bool
    usual: bool


@dataclass(frozen=True)
class Route:
    """Where this process's newest stream of one kind leads.

    Attributes:
        place: the device; None where the server knows no stream of ours.
        muted: whether it or the device is muted, or turned down to nothing.
        present: the names of all devices of that kind.
        stream: the server's number of the stream, never given twice; None where it knows none.
    """

    place: Place | None
    muted: bool
    present: frozenset[str]
    stream: int | None = None


def look(kind: Kind, timeout_s: float = ANSWER_S) -> Route | None:
    """Where our stream leads; None where there is no such server or it does not answer in time."""
    route: Route | None = _server().ask(lambda pulse: _route(pulse, kind), timeout_s)
    return route


def places(kind: Kind, timeout_s: float = 1.0) -> list[Place]:
    """The server's devices of this kind; empty where there is no such server or it does not answer in time."""
    found: list[Place] | None = _server().ask(
        lambda pulse: [_place(pulse, each, kind) for each in _all(pulse, kind)], timeout_s
    )
    return [place for place in found or [] if not place.unreal]


def lead(kind: Kind, name: str, timeout_s: float = ANSWER_S) -> bool:
    """Moves our stream to the device of that name; whether that was done."""
    return bool(_server().ask(lambda pulse: _lead(pulse, kind, name), timeout_s))


@contextmanager
def opening_at(kind: Kind, name: str) -> Iterator[None]:
    """A stream that is opened meanwhile begins at the device of that name; "" leaves it to the server.

    After each gap in its supply ALSA's way to the server makes a new stream in place of the old one (seen): that
    begins there too, since the wish is kept with the connection.
    """
    wish = _WISHES[kind]
    before = os.environ.get(wish)
    if name:
        os.environ[wish] = name
    try:
        yield
    finally:
        if name and before is None:
            del os.environ[wish]
        elif before is not None:
            os.environ[wish] = before


def strays(route: Route | None, home: str, known: int | None) -> bool:
    """Whether a stream that belongs to the device `home` began at another one, though `home` is there.

    `known` is the number of the stream that was seen there: one that a user moved since keeps its number.
    """
    return (
        route is not None
        and route.place is not None
        and route.stream != known
        and home in route.present
        and route.place.name != home
    )


def misplaced(route: Route | None, home: str, kind: Kind) -> str:
    """Why a stream that belongs to the device `home` ("" if not known yet) must not be used; "" where it may.

    A user may move it between devices that are there. A server that moves it because its device went must not.
    """
    if route is None or route.place is None:
        return ""
    place = route.place
    if place.unreal:
        missing = "microphone" if kind == "input" else "loudspeaker"
        return "it is gone" if home else f"there is no {missing}, only '{place.about}'"
    if home and place.name != home and home not in route.present:
        return f"it is gone, and '{place.about}' came in its place"
    return ""


class _Server:
    """The one connection of this process to its sound server."""

    def __init__(self) -> None:
        self._asked: queue.SimpleQueue[tuple[Callable[[Any], Any], Future[Any]]] = queue.SimpleQueue()
        self._busy = threading.Lock()
        self._pulse: Any = None  # touched by the one thread only
        threading.Thread(target=self._run, name="sound routing", daemon=True).start()

    def ask(self, question: Callable[[Any], Any], timeout_s: float) -> Any:
        """The answer; None where the server is missing, busy with an earlier question, or too slow."""
        if not self._busy.acquire(timeout=timeout_s):
            return None
        answer: Future[Any] = Future()
        answer.add_done_callback(lambda _: self._busy.release())
        self._asked.put((question, answer))
        try:
            return answer.result(timeout_s)
        except Unanswered:
            return None

    def _run(self) -> None:
        while True:
            question, answer = self._asked.get()
            try:
                answer.set_result(self._answer(question))
            except Exception as error:  # raised again where it was asked
                answer.set_exception(error)

    def _answer(self, question: Callable[[Any], Any]) -> Any:
        """The answer; None where there is no server. One that was started again is found again."""
        if self._pulse is None:
            self._pulse = _connect()
            return None if self._pulse is None else self._put(question)
        answer = self._put(question)
        return self._answer(question) if self._pulse is None else answer

    def _put(self, question: Callable[[Any], Any]) -> Any:
        import pulsectl

        try:
            return question(self._pulse)
        except pulsectl.PulseError:
            self._pulse = None
            return None


_only: list[_Server] = []
_only_lock = threading.Lock()


def _server() -> _Server:
    with _only_lock:
        if not _only:
            _only.append(_Server())
        return _only[0]


def _connect() -> Any:
    if sys.platform != "linux":
        return None
    try:
        import pulsectl
    except (ImportError, OSError):  # no such server can be here without its library
        return None
    try:
        return pulsectl.Pulse("benchvoice")
    except pulsectl.PulseError:
        return None


def _own_streams(pulse: Any, kind: Kind) -> list[Any]:
    """Our streams of this kind, oldest first."""
    streams = pulse.source_output_list() if kind == "input" else pulse.sink_input_list()
    ours = str(os.getpid())
    return sorted(
        (stream for stream in streams if stream.proplist.get("application.process.id") == ours),
        key=lambda stream: stream.index,
    )


def _all(pulse: Any, kind: Kind) -> list[Any]:
    listed: list[Any] = pulse.source_list() if kind == "input" else pulse.sink_list()
    return listed


def _route(pulse: Any, kind: Kind) -> Route:
    places = {place.index: place for place in _all(pulse, kind)}
    present = frozenset(place.name for place in places.values())
    streams = _own_streams(pulse, kind)
    if not streams:
        return Route(None, False, present)
    newest = streams[-1]
    place = places.get(newest.source if kind == "input" else newest.sink)
    if place is None:  # it is being moved just now
        return Route(None, False, present)
    muted = any(bool(muted.mute) or muted.volume.value_flat == 0 for muted in (place, newest))
    return Route(_place(pulse, place, kind), muted, present, newest.index)


def _place(pulse: Any, place: Any, kind: Kind) -> Place:
    info = pulse.server_info()
    return Place(
        name=place.name,
        about=place.description,
        channels=len(place.channel_list),
        unreal=place.proplist.get("device.class") == "monitor" or place.name == _NOWHERE,
        usual=place.name == (info.default_source_name if kind == "input" else info.default_sink_name),
    )


def _lead(pulse: Any, kind: Kind, name: str) -> bool:
    streams = _own_streams(pulse, kind)
    target = next((place for place in _all(pulse, kind) if place.name == name), None)
    if not streams or target is None:
        return False
    move = pulse.source_output_move if kind == "input" else pulse.sink_input_move
    move(streams[-1].index, target.index)
    return True

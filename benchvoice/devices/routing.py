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
from collections.abc import Callable
from concurrent.futures import Future
from concurrent.futures import TimeoutError as Unanswered
from dataclasses import dataclass
from typing import Any

from benchvoice.devices.listing import Kind

__all__ = ["ANSWER_S", "Place", "Route", "lead", "look", "misplaced"]

ANSWER_S = 0.15
"""A server that is well answers within a hundredth of this, in seconds."""

_NOWHERE = "auto_null"  # the output that a server makes up where there is none


@dataclass(frozen=True)
class Place:
    """A device of the server.

    Attributes:
        name: its name there.
        about: what a person reads.
        unreal: whether it is no microphone but a loudspeaker's own sound, or no loudspeaker but a made-up one.
    """

    name: str
    about: str
    unreal: bool


@dataclass(frozen=True)
class Route:
    """Where this process's newest stream of one kind leads.

    Attributes:
        place: the device; None where the server knows no stream of ours.
        muted: whether it or the device is muted, or turned down to nothing.
        present: the names of all devices of that kind.
    """

    place: Place | None
    muted: bool
    present: frozenset[str]


def look(kind: Kind, timeout_s: float = ANSWER_S) -> Route | None:
    """Where our stream leads; None where there is no such server or it does not answer in time."""
    route: Route | None = _server().ask(lambda pulse: _route(pulse, kind), timeout_s)
    return route


def lead(kind: Kind, name: str, timeout_s: float = ANSWER_S) -> bool:
    """Moves our stream to the device of that name; whether that was done."""
    return bool(_server().ask(lambda pulse: _lead(pulse, kind, name), timeout_s))


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
        pulse: Any = None
        while True:
            question, answer = self._asked.get()
            try:
                pulse = pulse or _connect()
                answer.set_result(None if pulse is None else question(pulse))
            except Exception as error:
                # which errors there are is known once the library is loaded
                if not _is_from_server(error):
                    answer.set_exception(error)
                    continue
                pulse = None
                answer.set_result(None)


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
    return pulsectl.Pulse("benchvoice", threading_lock=False)


def _is_from_server(error: Exception) -> bool:
    import pulsectl

    return isinstance(error, pulsectl.PulseError)


def _own_streams(pulse: Any, kind: Kind) -> list[Any]:
    """Our streams of this kind, oldest first."""
    streams = pulse.source_output_list() if kind == "input" else pulse.sink_input_list()
    ours = str(os.getpid())
    return sorted(
        (stream for stream in streams if stream.proplist.get("application.process.id") == ours),
        key=lambda stream: stream.index,
    )


def _places(pulse: Any, kind: Kind) -> list[Any]:
    listed: list[Any] = pulse.source_list() if kind == "input" else pulse.sink_list()
    return listed


def _route(pulse: Any, kind: Kind) -> Route:
    places = {place.index: place for place in _places(pulse, kind)}
    present = frozenset(place.name for place in places.values())
    streams = _own_streams(pulse, kind)
    if not streams:
        return Route(None, False, present)
    place = places.get(streams[-1].source if kind == "input" else streams[-1].sink)
    if place is None:  # it is being moved just now
        return Route(None, False, present)
    unreal = place.proplist.get("device.class") == "monitor" or place.name == _NOWHERE
    muted = any(bool(muted.mute) or muted.volume.value_flat == 0 for muted in (place, streams[-1]))
    return Route(Place(place.name, place.description, unreal), muted, present)


def _lead(pulse: Any, kind: Kind, name: str) -> bool:
    streams = _own_streams(pulse, kind)
    target = next((place for place in _places(pulse, kind) if place.name == name), None)
    if not streams or target is None:
        return False
    move = pulse.source_output_move if kind == "input" else pulse.sink_input_move
    move(streams[-1].index, target.index)
    return True

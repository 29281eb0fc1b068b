"""Edge: a stream that is kept open. It notices when its device goes, closes it, and opens it again when it returns.

What a stream shows when its device goes (measured): where the server dies it becomes inactive; where the server
freezes or the device is suspended its callbacks stop and closing it hangs; where the device alone is taken away, the
server moves the stream elsewhere and nothing shows. All three are watched, by a thread that may itself hang: what was
noticed is told before.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

from benchvoice.devices import routing
from benchvoice.devices.listing import Device, again, devices, find_device, opening_failed
from benchvoice.devices.portaudio import answered, calling, clean_terminal, renew
from benchvoice.devices.routing import Kind
from benchvoice.errors import DeviceError

__all__ = ["KeptStream"]

_TICK_S = 0.05
_STALLED_S = 0.4  # a device that has not called this long has stopped
_LOOK_S = 0.25  # between two questions to the sound server, and between two tries to open
_RENEW_S = 2.0  # of failing, until devices are looked for anew; twice as long after each time
_SELDOM_S = 16.0
_PATIENCE_S = 5.0  # for a device to open, at the beginning
_LIFE_S = 1.5  # for an opened device to show that it lives
_ALIVE_S = 0.1  # of calls, beyond its own delay: a device that has stopped still fills its buffer

_kept: set[KeptStream] = set()
"""Every stream of this process that is kept."""

_renewing = threading.Event()
"""Set while devices are looked for anew: no stream may be open then."""


class KeptStream:
    """One stream of the device that a user chose, for as long as it is wanted.

    Args:
        kind: its direction.
        wanted: name, part of a name or number of the device; None for the system's default. Only this very device is
            opened again later, never another one in its place.
        begin: opens a stream on a device, given the module `sounddevice`, the device and this, and does not start it.
            Its callback must call `beat()`.
        ended: called when the stream is lost.
        busy: whether it must not be interrupted just now so that another device may be looked for.

    Raises:
        DeviceError: PortAudio or the device is missing, busy or unfit, or gives no sign of life.
    """

    def __init__(
        self,
        kind: Kind,
        wanted: str | int | None,
        begin: Callable[[Any, Device, KeptStream], Any],
        *,
        ended: Callable[[], None] = lambda: None,
        busy: Callable[[], bool] = lambda: False,
    ) -> None:
        self._kind: Kind = kind
        self._begin = begin
        self._ended = ended
        self._busy = busy
        self._stream: Any = None
        self._beat_s = self._looked_s = self._tried_s = self._failing_s = 0.0  # monotonic clock
        self._renew_wait_s = _RENEW_S
        self._home = ""  # the sound server's name of the device, once known
        self._at_home: int | None = None  # the server's number of the stream that was seen there
        self._about = ""
        self._closing = threading.Event()
        self.delay_s = 0.0
        """The device's own delay in seconds, as it states it."""
        self.alive = False
        """Whether the device is taking or giving sound."""
        self.why = ""
        """Why no sound comes or goes, perhaps though it is alive; "" where all is well."""
        _kept.add(self)
        clean_terminal.__enter__()
        try:
            self._device, self._alike = answered(lambda: _find(wanted, kind), _PATIENCE_S)
            self._home = self._device.place
            answered(self._open, _PATIENCE_S)
        except DeviceError:
            self._leave()
            raise
        self._thread = threading.Thread(target=self._watch, name=f"{kind} stream", daemon=True)
        self._thread.start()

    @property
    def name(self) -> str:
        """The device's name: the one that the sound server gives, where there is one."""
        return self._about or self._device.name

    def beat(self) -> None:
        """The device has called: it lives."""
        self._beat_s = time.monotonic()

    def close(self) -> None:
        """Ends it. Returns within a second, even where the device hangs."""
        if not self._closing.is_set():
            self._closing.set()
            self._thread.join(0.5)
            self._leave()

    def _leave(self) -> None:
        self._closing.set()
        self.alive = False
        _kept.discard(self)
        clean_terminal.__exit__()

    # --- the watching thread --------------------------------------------------------------------------------------
    def _watch(self) -> None:
        due_s = time.monotonic() + _TICK_S
        while not self._closing.wait(_TICK_S):
            # where this process was held up, so were the device's calls
            held_up = time.monotonic() - due_s > _STALLED_S / 2
            if self._stream is None:
                self._return()
            elif not held_up:
                self._check()
            due_s = time.monotonic() + _TICK_S
        self._shut()

    def _check(self) -> None:
        now_s = time.monotonic()
        if not self._stream.active:
            self._lose("it is gone, or the sound server has ended")
        elif now_s - self._beat_s > _STALLED_S:
            self._lose("it has stopped")
        elif _renewing.is_set():
            self._shut()  # opened again when that is done
        elif now_s - self._looked_s >= _LOOK_S:
            why = self._look(routing.ANSWER_S)
            if why:
                self._lose(why)

    def _look(self, timeout_s: float) -> str:
        """Asks the sound server where the stream leads; why it must not be used, "" where it may."""
        route = routing.look(self._kind, timeout_s)
        self._looked_s = time.monotonic()
        if route is not None and route.place is not None and routing.strays(route, self._home, self._at_home):
            return f"the sound server leads it to '{route.place.about}'"
        why = routing.misplaced(route, self._home, self._kind)
        if not why:
            self.why = ""
            if route is not None and route.place is not None:
                self._home, self._about, self._at_home = route.place.name, route.place.about, route.stream
                if route.muted:
                    self.why = f"{self.name} is muted in the system"
        return why

    def _lose(self, why: str) -> None:
        self.alive, self.why = False, f"{self.name}: {why}"
        self._failing_s = time.monotonic()
        self._renew_wait_s = _RENEW_S
        self._ended()
        self._shut()

    def _return(self) -> None:
        """Tries now and then to open the stream again."""
        now_s = time.monotonic()
        if now_s - self._tried_s < _LOOK_S or _renewing.is_set():
            return
        self._tried_s = now_s
        if self._home:
            route = routing.look(self._kind)
            if route is not None and self._home not in route.present:
                return
        try:
            self._open()
        except DeviceError as error:
            if self.alive:  # it was closed for another one's sake, and does not come back
                self._lose(error.what)
            elif now_s - self._failing_s > self._renew_wait_s:
                self._renew()

    def _renew(self) -> None:
        """Looks for devices anew, with every other stream closed for that moment."""
        others = [kept for kept in list(_kept) if kept is not self]
        if _renewing.is_set() or any(kept._busy() for kept in others):
            return
        _renewing.set()
        try:
            until_s = time.monotonic() + 1.0
            while any(kept._stream is not None for kept in others) and time.monotonic() < until_s:
                time.sleep(_TICK_S / 5)
            if all(kept._stream is None for kept in others):
                renew()
        finally:
            _renewing.clear()
        self._failing_s = time.monotonic()
        self._renew_wait_s = min(_SELDOM_S, 2 * self._renew_wait_s)

    # --- the stream -----------------------------------------------------------------------------------------------
    def _open(self) -> None:
        """Opens and starts it and sees that it lives, at the place where it belongs."""
        with calling() as sounddevice:
            found = again(self._device, self._alike, _alike(self._device, self._kind))
            if found is None:
                raise DeviceError("it is gone", cure="Connect it again")
            self._beat_s = 0.0
            self._at_home = None
            try:
                with routing.opening_at(self._kind, self._home):
                    self._stream = self._begin(sounddevice, found, self)
                    self.delay_s = self._stream.latency
                    self._stream.start()
            except (sounddevice.PortAudioError, ValueError) as error:
                self._shut()
                raise opening_failed(error, found, self._kind) from error
        try:
            self._settle()
        except DeviceError:
            self._shut()
            raise
        if self._closing.is_set():  # whoever asked for it has given up waiting
            self._shut()
        else:
            self.alive = True

    def _settle(self) -> None:
        began_s = time.monotonic()
        while self._beat_s - began_s < _ALIVE_S + self.delay_s:
            if time.monotonic() - began_s > _LIFE_S:
                raise DeviceError(
                    f"{self._device.name} opens, but gives no sign of life", cure="Connect it again, or choose another"
                )
            time.sleep(_TICK_S / 25)
        if routing.strays(routing.look(self._kind, 1.0), self._home, self._at_home):  # our wish was not heeded
            routing.lead(self._kind, self._home, 1.0)
        why = self._look(1.0)
        if why:
            raise DeviceError(why, cure="Connect it, or choose another that 'benchvoice devices' lists")

    def _shut(self) -> None:
        stream, self._stream = self._stream, None
        if stream is not None:
            with calling():
                stream.close()


def _find(wanted: str | int | None, kind: Kind) -> tuple[Device, list[Device]]:
    """The device that is meant, and all that are alike.

    Devices are looked for anew where it is missing and nothing would be interrupted.
    """
    try:
        device = find_device(wanted, kind)
    except DeviceError:
        if any(kept._stream is not None for kept in list(_kept)):
            raise
        renew()
        device = find_device(wanted, kind)
    return device, _alike(device, kind)


def _alike(device: Device, kind: Kind) -> list[Device]:
    return [other for other in devices() if other.is_same(device) and other.channels(kind)]

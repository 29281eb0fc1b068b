"""What changes about the devices and the clock while a session runs."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from benchvoice.events import DeviceChange
from benchvoice.live.mouth import LiveMouth
from benchvoice.live.parts import Source
from benchvoice.live.timing import ClockWatch

__all__ = ["Change", "DeviceWatch"]


class Change(NamedTuple):
    """Something that happened to a device: what the journal's `device` event says, and the notice that tells of it."""

    device: str
    state: DeviceChange
    why: str = ""
    lost_s: float | None = None
    notice: str = ""


class DeviceWatch:
    """Compares the devices with how they were at the last look.

    Args:
        source: the microphone.
        mouth: the voice.
        monotonic, wall: the clocks, in seconds.
    """

    def __init__(
        self, source: Source, mouth: LiveMouth, monotonic: Callable[[], float], wall: Callable[[], float]
    ) -> None:
        self._source = source
        self._mouth = mouth
        self._clocks = ClockWatch(monotonic, wall)
        self._dropped_s = source.dropped_s
        self.deaf = False
        """Whether the microphone was lost at the last look."""
        self.mute = False
        """Whether the voice was."""

    def look(self) -> list[Change]:
        """What has changed since the last look."""
        found = []
        why = self._source.why_deaf
        if bool(why) != self.deaf:
            self.deaf = bool(why)
            notice = "microphone lost" if why else "microphone back"
            found.append(Change(self._source.name, "lost" if why else "back", why, notice=notice))
        why = self._mouth.mute_why
        if bool(why) != self.mute:
            self.mute = bool(why)
            found.append(Change("speaker", "lost" if why else "back", why, notice="" if why else "speaker back"))
        lost_s, self._dropped_s = self._source.dropped_s - self._dropped_s, self._source.dropped_s
        if lost_s > 0:
            found.append(Change(self._source.name, "dropped", "sound was lost", lost_s))
        jumped_s = self._clocks.jumped_s()
        if jumped_s is not None:
            found.append(Change("clock", "clock", "the machine slept, or its clock was set", jumped_s, "clock"))
        return found

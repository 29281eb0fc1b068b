"""What we say and when: the tone at once, the words when nothing more can follow, and when the ears must not listen."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from benchvoice.errors import BenchvoiceError, DeviceError
from benchvoice.live.parts import Speaker
from benchvoice.records import Reply

__all__ = ["LiveMouth"]

_KEPT_S = 60.0


class LiveMouth:
    """Speaks through a voice, and knows when its sound is in the room.

    A reply's tone and words are handed over one after the other: the tone needs no synthesis, so it sounds earlier.
    A voice that fails costs the words, never the session: `mute_why` then says so.

    Args:
        voice: what speaks; None says nothing.
        clock: seconds of the monotonic clock.
    """

    def __init__(self, voice: Speaker | None, clock: Callable[[], float]) -> None:
        self._voice = voice
        self._clock = clock
        self._waiting: list[Reply] = []  # words that wait to be let out
        self._holding = False
        self._failed = ""
        self._spans: deque[list[float]] = deque()  # [start, end] of our sound, the last one still open
        self._open = False

    def say(self, reply: Reply) -> None:
        """Say a reply; only its tone, where words are being held."""
        if reply.tone is not None:
            self._hand_over(Reply("", reply.tone), counts=not self._holding)
        if not reply.text:
            return
        if self._holding:
            self._waiting.append(Reply(reply.text))
        else:
            self._hand_over(Reply(reply.text))

    def hold(self) -> None:
        """Keep words back until `let_out`; tones sound all the same and are not counted as our sound."""
        self._holding = True

    def let_out(self) -> None:
        """Say the words that were held."""
        self._holding = False
        waiting, self._waiting = self._waiting, []
        for reply in waiting:
            self._hand_over(reply)

    def stop(self) -> None:
        """Fall silent and forget what was to be said."""
        self._holding = False
        self._waiting.clear()
        if self._voice is not None:
            self._voice.stop()

    def pause(self) -> None:
        """Fall silent until `go_on`, or until something else is said."""
        if self._voice is not None:
            self._voice.pause()

    def go_on(self) -> None:
        """Go on after a pause."""
        if self._voice is not None:
            self._voice.go_on()

    @property
    def speaking(self) -> bool:
        """Whether sound of ours is on its way."""
        return self._voice is not None and self._voice.speaking

    @property
    def mute_why(self) -> str:
        """Why nothing can be said, in words; empty while it can."""
        return (self._voice.mute_why if self._voice is not None else "") or self._failed

    def sounded(self, start_s: float, end_s: float, tail_s: float) -> bool:
        """Whether sound of ours, or its echo for `tail_s` after it, was in the room between these times.

        Monotonic seconds. Call it at least every tenth of a second: it also takes note of when our sound ends.
        """
        now_s = self._clock()
        if self._open:
            self._spans[-1][1] = now_s
            self._open = self.speaking
        while self._spans and self._spans[0][1] < now_s - _KEPT_S:
            self._spans.popleft()
        return any(start_s < end + tail_s and end_s > start for start, end in self._spans)

    def covered(self, start_s: float, end_s: float, tail_s: float) -> bool:
        """Whether sound of ours, with its echo's tail, was in the room all the time between these; as `sounded`."""
        self.sounded(start_s, end_s, tail_s)
        return any(start <= start_s and end_s <= end + tail_s for start, end in self._spans)

    def _hand_over(self, reply: Reply, *, counts: bool = True) -> None:
        if self._voice is None:
            return
        try:
            self._voice.go_on()
            self._voice.say(reply)
            self._failed = ""
        except DeviceError:
            return  # the voice itself says why, and when it is back
        except BenchvoiceError as error:
            self._failed = error.what
            return
        if counts and not self._open:
            now_s = self._clock()
            self._spans.append([now_s, now_s])
            self._open = True

"""What falls due while nobody speaks: a question that waited too long for its answer, and timers that are over."""

from __future__ import annotations

from benchvoice.errors import StorageError
from benchvoice.live.parts import Named
from benchvoice.live.teller import Teller
from benchvoice.loop import Bench

__all__ = ["Due"]

_RETRY_S = 5.0  # after a write that failed and that nobody waits for


class Due:
    """Ends what is due and tells it; where that cannot be kept, it is told once and tried again.

    Args:
        bench: the job.
        source: what is listened to.
        teller: says it.
    """

    def __init__(self, bench: Bench, source: Named, teller: Teller) -> None:
        self._bench = bench
        self._source = source
        self._teller = teller
        self._retry_s = 0.0
        self._failed = False

    def end_what_is_due(self, now_s: float, heard_to_s: float | None, *, quietly: bool = False) -> None:
        """End what is due. Call it only while nobody speaks: what is being said may be an answer.

        Args:
            now_s: monotonic clock, in seconds.
            heard_to_s: up to where the source was heard, in its seconds; None where it has no times.
            quietly: an answer is on its way that speech can still undo, and what is said now would be cut off with it:
                timers wait.
        """
        if now_s < self._retry_s:
            return
        try:
            lapsed = self._bench.lapse(self._source.name, heard_to_s)
            over = () if quietly else self._bench.ring(self._source.name, heard_to_s, by_clock=True)
        except StorageError as error:
            if not self._failed:
                self._teller.not_kept(error)
            self._failed, self._retry_s = True, now_s + _RETRY_S
            return
        if (lapsed or over) and self._failed:
            self._teller.notice("kept again")
        self._failed = False
        if lapsed:
            self._teller.notice("no answer")
        self._teller.forget_said_timers()
        if not quietly:
            self._teller.ring(over)

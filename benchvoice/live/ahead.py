"""Hearing ahead: what was said so far is heard in the first quiet, on the chance that nothing follows."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from typing import Self

import numpy as np

from benchvoice.loop import Bench, Speech
from benchvoice.records import Context, Utterance

__all__ = ["Ahead", "HearingThread"]

_PREPARED = 6
"""Contexts that count as prepared; the engines keep the networks of two more."""


@dataclass
class Ahead:
    """A hearing that was begun.

    Attributes:
        utterance: the sound that is heard.
        voiced_until_s: where its last voiced frame ends, in seconds of the stream.
        whole: whether all the quiet that belongs to it was there already.
        began_s, done_s: when it began and was done, by the monotonic clock; `done_s` 0 while it goes on.
    """

    utterance: Utterance
    voiced_until_s: float
    whole: bool
    future: Future[Speech]
    began_s: float
    done_s: float = 0.0

    @property
    def done(self) -> bool:
        """Whether it has been heard."""
        return self.future.done()


class HearingThread:
    """The one thread on which everything is heard, so that no engine hears two utterances at once.

    Args:
        bench: what hears.
        clock: seconds of the monotonic clock.
    """

    def __init__(self, bench: Bench, clock: Callable[[], float]) -> None:
        self._bench = bench
        self._clock = clock
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="ahead")
        self._last: Future[Speech] | None = None
        self._prepared: OrderedDict[Context, None] = OrderedDict()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        """End the thread once it has heard what it hears."""
        self._thread.shutdown(cancel_futures=True)

    def get_ready(self) -> None:
        """Make the engines ready for the first sentence, which takes a second or two."""
        self.prepare(self._bench.context)
        self.wait()

    @property
    def busy(self) -> bool:
        """Whether an utterance is being heard; one that nobody waits for any more cannot be broken off."""
        return self._last is not None and not self._last.done()

    def begin(self, utterance: Utterance, voiced_until_s: float, context: Context, *, whole: bool) -> Ahead:
        """Begin to hear an utterance."""
        began = Ahead(utterance, voiced_until_s, whole, Future(), self._clock())

        def hear() -> Speech:
            try:
                return self._bench.hear(utterance, context)
            finally:
                began.done_s = self._clock()

        began.future = self._last = self._thread.submit(hear)
        self._met(context)
        return began

    def prepare(self, *contexts: Context) -> None:
        """Make the engines ready for what may be said next, the likeliest first: a new context is slow to hear in."""
        for context in contexts:
            if context not in self._prepared and not self.busy:
                self._met(context)
                nothing = Utterance(np.zeros(0, dtype=np.int16), 0.0, 0.0, -100.0)
                self._last = self._thread.submit(self._bench.hear, nothing, context)

    def _met(self, context: Context) -> None:
        self._prepared[context] = None
        self._prepared.move_to_end(context)
        if len(self._prepared) > _PREPARED:
            self._prepared.popitem(last=False)

    def wait(self) -> None:
        """Block until what is being heard has been heard."""
        if self._last is not None:
            wait([self._last])

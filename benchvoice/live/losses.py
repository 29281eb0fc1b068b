"""What is done and told when a device is lost, is back, or loses sound."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from benchvoice.live.mouth import LiveMouth
from benchvoice.live.parts import LiveSettings
from benchvoice.live.teller import Teller
from benchvoice.live.watch import Change, DeviceWatch
from benchvoice.loop import Bench
from benchvoice.records import Outcome

__all__ = ["Losses"]

_LOST_S = 0.5  # of sound: what is said in less is hardly a sentence
_BACK_S = 0.5  # of a microphone's return before it is told: speech shows by then
_TOLD_AGAIN_S = 5.0  # one loss can come in several pieces


class Losses:
    """Keeps every change of a device in the journal, and tells those that matter.

    Args:
        bench: the job.
        mouth: our voice.
        watch: sees what changes.
        teller: says it.
        settings: whether a headset is worn, and how long our voice echoes.
        monotonic: the clock, in seconds.
        forget: drops what is being said to us, which the lost microphone cut off; returns whether anything was.
    """

    def __init__(
        self,
        bench: Bench,
        mouth: LiveMouth,
        watch: DeviceWatch,
        teller: Teller,
        *,
        settings: LiveSettings,
        monotonic: Callable[[], float],
        forget: Callable[[], bool],
    ) -> None:
        self._bench = bench
        self._mouth = mouth
        self._watch = watch
        self._teller = teller
        self._settings = settings
        self._now = monotonic
        self._forget = forget
        self._cut_off = False  # something was being said when the microphone was lost
        self._back_s: float | None = None  # since when it is back, while that was not said
        self._told_s = -_TOLD_AGAIN_S
        self._greeted_s = 0.0  # what was lost before that was not said to us

    @property
    def deaf(self) -> bool:
        """Whether the microphone is lost."""
        return self._watch.deaf

    def look(self) -> None:
        """See what has changed about the devices; keep it, and tell what is to be told at once."""
        for change in self._watch.look():
            note = partial(self._bench.note_device, change.device, change.state, change.why, change.lost_s)
            self._teller.keep(note)
            notice, text = self._see(change)
            if notice:
                self._teller.notice(notice, text=text)

    def greeted(self) -> None:
        """It listens from now on: sound that was lost until now is kept in the journal and not told."""
        self._greeted_s = math.inf
        self.look()
        self._greeted_s = self._now()

    def answered(self) -> None:
        """An answer was given, which says more than that the microphone is back."""
        self._back_s = None

    def say_that_it_hears(self) -> None:
        """Say that the microphone is back, if that is still to be said. Call it while nobody speaks."""
        if self._back_s is not None and self._now() - self._back_s >= _BACK_S:
            self._back_s = None
            self._teller.notice("microphone back again" if self._cut_off else "microphone back")

    def _see(self, change: Change) -> tuple[str, str]:
        """The notice that tells of a change, "" for none, and the words it carries."""
        match change.notice:
            case "microphone lost":
                self._back_s = None
                self._cut_off = self._forget()
            case "microphone back":
                self._hears_again()
                return "", ""
            case "speaker back":
                return change.notice, self._of_use()
        if change.state == "dropped" and self._lost_words(change.lost_s or 0.0):
            return "sound lost", ""
        return change.notice, ""

    def _hears_again(self) -> None:
        """The microphone is back. Speech may have brought it back, so that nothing is said now; later, if need be.

        A microphone that gates its noise gives nothing in a pause and begins again with the next sentence.
        """
        self._back_s = self._now()
        if self._teller.answer is None:
            self._teller.hush()  # that it was lost is no longer true

    def _of_use(self) -> str:
        """What is worth saying by a voice that was lost: how it stands now, or the last answer, while it holds."""
        if self.deaf:
            return self._teller.words("microphone lost")
        turn = self._teller.answer
        if turn is None or (turn.decision.outcome is Outcome.ASKED and self._bench.state.question is None):
            return ""
        return turn.reply.text

    def _lost_words(self, lost_s: float) -> bool:
        """Whether in the sound that was lost just now something may have been said, and that was not told already."""
        now_s = self._now()
        lost_s = min(lost_s, now_s - self._greeted_s)
        tail_s = self._settings.echo_tail_s
        covered = not self._settings.headset and self._mouth.covered(now_s - lost_s, now_s, tail_s)
        told = now_s - self._told_s < _TOLD_AGAIN_S
        if lost_s <= _LOST_S or told or covered or not self._bench.state.listening:
            return False
        self._told_s = now_s
        return True

"""What is said, and what of it has to be said again.

An answer that speech cuts off is gone, as it would be among people: who needs it asks. Timers that are over and
cautions are said again, since nobody would ask for them.
"""

from __future__ import annotations

from collections.abc import Callable

from benchvoice.errors import StorageError
from benchvoice.live.mouth import LiveMouth
from benchvoice.loop import Bench, Turn
from benchvoice.records import CautionTold, Decision, Outcome, Reply

__all__ = ["Notices", "Teller"]

Notices = Callable[..., Reply]
"""What words a notice: `Phrasebook.notice`."""


class Teller:
    """Says answers and notices, keeps that they were said, and shows them.

    Args:
        bench: the job; its mouth must be `mouth`.
        mouth: what speaks.
        notices: words what we say on our own account.
        show: shows what is said on our own account.
    """

    def __init__(self, bench: Bench, mouth: LiveMouth, notices: Notices, show: Callable[[Reply], None]) -> None:
        self._bench = bench
        self._mouth = mouth
        self._notices = notices
        self._show = show
        self.answer: Turn | None = None
        """What was said last, where it answered an utterance and was not taken back."""
        self._rung: tuple[Reply, ...] = ()  # what is being said of timers that are over
        self._to_ring_again: tuple[Reply, ...] = ()  # the same where speech cut it off
        self._cautions_cut: tuple[CautionTold, ...] = ()  # those whose answer speech cut off

    def say(self, reply: Reply) -> None:
        """Say something on our own account."""
        self.answer = None
        self.keep(lambda: self._bench.tell(reply))
        self._show(reply)

    def notice(self, name: str, **slots: str) -> None:
        """Say a notice by its name."""
        self.say(self._notices(name, **slots))

    def words(self, name: str) -> str:
        """The words of a notice, without saying it."""
        return self._notices(name).text

    def say_answer(self, turn: Turn) -> None:
        """Say what answers an utterance."""
        if turn.reply.text:
            self.answer = turn
        self.keep(lambda: self._bench.answer(turn))

    def keep(self, act: Callable[[], object]) -> None:
        """Do what only adds to the journal; where that fails it is told, and the session goes on."""
        try:
            act()
        except StorageError as error:
            self.not_kept(error)

    def not_kept(self, error: StorageError) -> None:
        """Tell that something could not be kept; that this was said is not kept either."""
        reply = self._notices("not kept", why=error.what)
        self._mouth.say(reply)
        self._show(reply)

    def hush(self) -> None:
        """Fall silent, and remember which timers and cautions were not said to their end."""
        if self.answer is not None and self._mouth.speaking:
            self._cautions_cut += self.answer.decision.cautions
        self._mouth.stop()
        self._to_ring_again, self._rung = (*self._to_ring_again, *self._rung), ()

    def take_back(self) -> None:
        """Fall silent: the last answer never was."""
        self.hush()
        self.answer = None

    def forget_said_timers(self) -> None:
        """Forget the timers that were said to their end. Call it often."""
        if self._rung and not self._mouth.speaking:
            self._rung = ()

    def ring(self, over: tuple[Reply, ...]) -> None:
        """Say which timers are over, and the cautions that speech cut off and nobody has acknowledged since."""
        told, self._to_ring_again = (*self._to_ring_again, *over), ()
        for reply in told:
            self.say(reply)
        self._rung += told
        if self._cautions_cut and self._bench.state.cautions.waiting:
            again = Decision(Outcome.ACCEPTED, "cautions", cautions=tuple(dict.fromkeys(self._cautions_cut)))
            self.say(self._bench.phrases.reply(again))
        self._cautions_cut = ()

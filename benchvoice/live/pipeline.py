"""The loop at the bench: blocks in, answers out, and what becomes of both when a device is lost.

One thread owns the segmenter, the session and the mouth; another hears. An utterance ends in one of four ways:

- after `end_wait_s` of quiet, whatever was said;
- sooner, where it was heard beyond doubt and nothing could follow it ("… four point one volts");
- a little sooner, where it was heard beyond doubt, could go on, and cannot be taken back (a correction);
- sooner, where it was heard beyond doubt as a reading to which more could be said ("… four"; "point one" may follow):
  the reading is kept and its tone sounds, but the utterance stays open and the words wait. Should speech go on, the
  tone is cut, the reading withdrawn, and the whole utterance judged at its end. A pause inside a value can so never
  leave half of it in the record.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace

from benchvoice.errors import StorageError
from benchvoice.hear.segment import Segmenter
from benchvoice.live.advice import Advice
from benchvoice.live.ahead import Ahead, HearingThread
from benchvoice.live.due import Due
from benchvoice.live.early import Early, How, beyond_doubt
from benchvoice.live.gauge import Gauge
from benchvoice.live.interruption import Interruption
from benchvoice.live.losses import Losses
from benchvoice.live.mouth import LiveMouth
from benchvoice.live.parts import SAME_S, USUAL, Ear, LiveSettings, Source, Timing, Watcher
from benchvoice.live.teller import Notices, Teller
from benchvoice.live.timing import StreamClock
from benchvoice.live.watch import DeviceWatch
from benchvoice.loop import Bench, Speech, Turn
from benchvoice.records import RATE_HZ, AudioBlock, Outcome, Reply, Trust, Utterance
from benchvoice.screen.view import EarState

__all__ = ["Live"]

_READ_S = 0.05
_READ_BUSY_S = 0.005  # while a hearing may be done at any moment
_SHOWN_EVERY_S = 0.1


@dataclass
class _Answered:
    """A reading that was answered while its utterance is still open."""

    turn: Turn
    voiced_until_s: float
    taken_back: bool = False


@dataclass
class _Held:
    """An answer that waits for the technician to pause."""

    turn: Turn
    timing: Timing


class Live:
    """A session at the bench.

    Args:
        bench: the job; its mouth must be `mouth`.
        source: the microphone.
        segmenter: cuts its sound; made with `settings.end_wait_s`.
        mouth: what speaks.
        notices: words what we say on our own account.
        watcher: shows it.
        hearing: the thread on which the bench hears.
        watch: sees what becomes of the source, the mouth and the clock.
        settings: how long is waited for what.
        monotonic: the clock, in seconds.
    """

    def __init__(
        self,
        bench: Bench,
        source: Source,
        segmenter: Segmenter,
        mouth: LiveMouth,
        *,
        notices: Notices,
        watcher: Watcher,
        hearing: HearingThread,
        watch: DeviceWatch,
        monotonic: Callable[[], float],
        settings: LiveSettings = USUAL,
    ) -> None:
        self.bench = bench
        self.source = source
        self.segmenter = segmenter
        self.mouth = mouth
        self.watcher = watcher
        self.settings = settings
        self._now = monotonic
        self._stream = StreamClock()
        self._teller = Teller(bench, mouth, notices, watcher.notice)
        self._due = Due(bench, source, self._teller)
        self._losses = Losses(
            bench,
            mouth,
            watch,
            self._teller,
            settings=settings,
            monotonic=monotonic,
            forget=self._forget_what_is_said,
        )
        self._gauge = Gauge()
        self._advice = Advice()
        self._interruption = Interruption(mouth, self._gauge)
        self._early = Early(bench, source, settings)
        self._hearing = hearing
        self._ahead: Ahead | None = None
        self._waiting: deque[tuple[Utterance, float]] = deque()  # ended ones with their last voiced moment
        self._answered: _Answered | None = None
        self._went_on = False  # the open utterance was answered once too early
        self._held: deque[_Held] = deque()
        self._heard_to_s = 0.0  # the end of the last block, in seconds of the stream
        self._began_s = 0.0  # the same, but where speech began while it lasts
        self._shown_s = 0.0

    # --- the loop -------------------------------------------------------------------------------------------------
    def run(self, ended: Callable[[], bool]) -> None:
        """Listen until the job is closed by voice or `ended()` says so; asked at least every 50 ms.

        Raises:
            BenchvoiceError: something the session cannot go on without; what was confirmed is kept.
        """
        while not self.bench.state.closed and not ended():
            self.step()

    def step(self) -> None:
        """Take the next block, if one comes soon, and do what can be done now."""
        self._losses.look()
        self._interruption.tick(self._now())
        block = self.source.read(_READ_BUSY_S if self._hearing.busy else _READ_S)
        if block is not None:
            self._take(block)
        if self._waiting:
            self._settle()
        else:
            self._look_ahead()
        if self._held and not self._waiting and not self.segmenter.speaking:
            held = self._held.popleft()
            self._answer(held.turn, held.timing)
        if not self._at_work:  # it would make our own sound stutter
            now = self.bench.context_at(self.source.name, self._began_s, self._began_s)
            self._hearing.prepare(now, self.bench.context)
        self._now_and_then()

    def greet(self, greeting: Reply) -> None:
        """Say the greeting. What was said before it is not heard, and a sentence that had begun is asked.

        Such a sentence may go on after a pause: what begins within `end_wait_s` counts as its rest.
        """
        while (block := self.source.read(0)) is not None:
            self.segmenter.mute(block.start_s, block.start_s + len(block.samples) / RATE_HZ)
            self._take(block)
        self.segmenter.mute(self._heard_to_s, self._heard_to_s + self.settings.end_wait_s)
        self._losses.greeted()
        self._teller.say(greeting)

    # --- sound in -------------------------------------------------------------------------------------------------
    def _take(self, block: AudioBlock) -> None:
        now_s = self._now()
        self._stream.see(block, now_s)
        self._gauge.see(block)
        end_s = self._heard_to_s = block.start_s + len(block.samples) / RATE_HZ
        since_s, until_s = self._stream.at(block.start_s) - self.source.delay_s, self._stream.at(end_s)
        ours = self.mouth.sounded(since_s, until_s, self.settings.echo_tail_s)
        if ours and not self.settings.headset:
            self.segmenter.mute(block.start_s, end_s)
        for utterance in self.segmenter.feed(block):
            self._ended(utterance)
        if not self.segmenter.speaking:
            self._began_s = end_s
        until = self.segmenter.voiced_until_s
        if self._answered is not None and until is not None and until > self._answered.voiced_until_s + SAME_S:
            self._take_back(self._answered)
        if self.settings.headset and self._interruption.after_block(self._now(), self.segmenter.voiced_s):
            self._teller.hush()

    def _ended(self, utterance: Utterance) -> None:
        """Quiet ended an utterance: it was answered already, or waits to be."""
        until_s = utterance.end_s - self.segmenter.settings.keep_s
        answered = self._answered
        if answered is not None and not utterance.cut and abs(until_s - answered.voiced_until_s) < SAME_S:
            self._answered = None
            self.mouth.let_out()
        else:
            if answered is not None:
                self._take_back(answered)
            self._waiting.append((utterance, until_s))
        self._went_on = False

    def _take_back(self, answered: _Answered) -> None:
        """Speech went on after its beginning had been answered: that answer never was."""
        self._teller.take_back()
        self._answered = None
        self._went_on = answered.taken_back = True
        self.bench.take_back(answered.turn, "speech went on")

    # --- hearing --------------------------------------------------------------------------------------------------
    def _look_ahead(self) -> None:
        """Hear the open utterance ahead, and answer it before its time where that is safe."""
        quiet_s, until_s = self.segmenter.quiet_s, self.segmenter.voiced_until_s
        if until_s is None or self._answered is not None:
            return
        ahead = self._matching(until_s)
        whole = quiet_s >= self.segmenter.settings.keep_s - SAME_S
        if ahead is None:
            if quiet_s >= self.settings.early_s - SAME_S:
                self._begin(self.segmenter.so_far(), until_s, whole=whole)
        elif ahead.done and not self._answered_early(ahead, quiet_s):
            doubtful = ahead.future.result().transcript.trust is not Trust.AGREED
            if whole and doubtful and not ahead.whole:
                self._begin(self.segmenter.so_far(), until_s, whole=True)

    def _begin(self, utterance: Utterance | None, until_s: float, *, whole: bool) -> None:
        if utterance is not None and not self._hearing.busy:  # else at a later step
            context = self.bench.context_of(utterance, self.source.name)
            self._ahead = self._hearing.begin(utterance, until_s, context, whole=whole)

    def _matching(self, until_s: float) -> Ahead | None:
        """The hearing of just that speech, if one was begun."""
        ahead = self._ahead
        return ahead if ahead is not None and abs(ahead.voiced_until_s - until_s) < SAME_S else None

    def _answered_early(self, ahead: Ahead, quiet_s: float) -> bool:
        speech = ahead.future.result()
        how = self._early.how(speech, quiet_s, went_on=self._went_on)
        if how is How.ENDED:
            self.segmenter.end()
        if how is not How.NOT_YET:
            self._decide(speech, ahead, how)
        return how is not How.NOT_YET

    def _settle(self) -> None:
        """See the first of the utterances that have ended through, once it has been heard."""
        utterance, until_s = self._waiting[0]
        ahead = self._matching(until_s)
        if ahead is None or (utterance.cut and not ahead.utterance.cut):
            self._begin(utterance, until_s, whole=True)
            return
        if not ahead.done:
            return
        speech = ahead.future.result()
        current = self.bench.is_current(speech, self.source.name)
        if not current or not (ahead.whole or beyond_doubt(self.bench, speech, self.source.name)):
            self._begin(utterance, until_s, whole=True)
            return
        self._waiting.popleft()
        self._decide(speech, ahead, How.NOT_YET)

    def _forget_what_is_said(self) -> bool:
        """The microphone was lost: what was being said will be asked again; whether anything was."""
        cut_off = self.segmenter.speaking or bool(self._waiting)
        if self._answered is not None:
            self._take_back(self._answered)
        self.segmenter.drop()
        return cut_off

    # --- answering ------------------------------------------------------------------------------------------------
    def _decide(self, speech: Speech, ahead: Ahead, how: How) -> None:
        ended_s, early = self._now(), how is How.OPEN
        self._ahead = None
        try:
            turn = self.bench.decide(speech, self.source.name)
            advice = self._advice.after(speech.utterance, turn.decision.outcome, self._now())
        except StorageError as error:  # the disk is full: nothing was taken, and that must be heard
            self._teller.not_kept(error)
            return
        until_s = self._stream.at(ahead.voiced_until_s) - self.source.delay_s
        timing = Timing(
            until_s, self._early.wait_s(speech, how), ahead.began_s, ahead.done_s, ended_s, self._now(), None
        )
        answered = _Answered(turn, ahead.voiced_until_s)
        if early:
            self._answered = answered
        while (block := self.source.read(0)) is not None:  # what came while we decided
            self._take(block)
        if answered.taken_back:
            self.watcher.turn(turn, timing)  # before a sound was made
        elif not early and self.segmenter.speaking:
            self._held.append(_Held(turn, timing))
        else:
            if self._answered is answered:
                self.mouth.hold()
            self._answer(turn, timing)
            if advice:
                self._teller.notice(advice)

    def _answer(self, turn: Turn, timing: Timing) -> None:
        if turn.decision.outcome is Outcome.ASKED and self.bench.state.question is None:
            self.watcher.turn(turn, timing)  # its question was settled or taken back meanwhile
            return
        said_s = self._now()
        if turn.reply.text:
            self._losses.answered()
        self._teller.say_answer(turn)
        spoken = bool(turn.reply.text or turn.reply.tone)
        self.watcher.turn(turn, replace(timing, said_s=said_s if spoken else None))

    # --- shown ----------------------------------------------------------------------------------------------------
    def _now_and_then(self) -> None:
        """What need not be done with every block: an old question lapses, and the state of the ears is shown."""
        now_s = self._now()
        if now_s - self._shown_s < _SHOWN_EVERY_S:
            return
        self._shown_s = now_s
        if not (self._at_work or self.segmenter.speaking):
            self._losses.say_that_it_hears()
        if not (self._waiting or self.segmenter.speaking):  # what is being said may be its answer
            self._due.end_what_is_due(now_s, self._heard_to_s, quietly=self._may_be_taken_back)
        state, deaf = self._state(), self._losses.deaf
        why = self.source.why_deaf if deaf else self.mouth.mute_why
        level_dbfs = None if deaf else self._gauge.level_dbfs
        self.watcher.ear(Ear(state, why, level_dbfs, self._gauge.noise_dbfs))

    @property
    def _at_work(self) -> bool:
        """Whether something is being heard or said, or waits to be."""
        return bool(self._waiting) or self._hearing.busy or self.mouth.speaking

    @property
    def _may_be_taken_back(self) -> bool:
        """Whether an answer is on its way that speech can still undo: what is said then would be cut off with it."""
        return self._answered is not None or bool(self._held)

    def _state(self) -> EarState:
        checks = (
            (self._losses.deaf, EarState.DEAF),
            (not self.bench.state.listening, EarState.NOT_LISTENING),
            (bool(self._waiting) or self._hearing.busy, EarState.THINKING),
            (self.mouth.speaking, EarState.SPEAKING),
            (self._gauge.clipped, EarState.CLIPPED),
            (self._gauge.too_loud, EarState.TOO_LOUD),
        )
        return next((state for true, state in checks if true), EarState.LISTENING)

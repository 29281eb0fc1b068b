"""One way through the rooms: what was heard is understood, decided upon, kept, and only then answered.

`Bench` knows the rooms by what they offer, never an engine or a device by name. It stamps the clock, keeps an
utterance's events in one write that is on the disk before a word is said, and journals what it said.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Protocol

from benchvoice.decide import session
from benchvoice.decide.caution_log import told_by
from benchvoice.decide.moment import Moment
from benchvoice.decide.session import SessionState
from benchvoice.decide.timer_log import Now
from benchvoice.events import DeviceChange, Event, Heard, Reading
from benchvoice.records import (
    Alternative,
    CautionTold,
    Context,
    Decision,
    Hearing,
    Parse,
    Reply,
    Samples,
    SpokenValue,
    TimerTold,
    Transcript,
    Trust,
    Utterance,
    WordNetwork,
)
from benchvoice.understand.attention import NOT_CALLED

__all__ = ["Bench", "Ears", "Keeper", "Mouth", "Phrases", "Speech", "Turn", "Understanding"]


class Ears(Protocol):
    """What hears: the panel, or one recogniser."""

    def hear(
        self,
        utterance: Utterance,
        network: WordNetwork,
        meaning_of: Callable[[str], str | None],
        slips: WordNetwork | None = None,
        uncalled: WordNetwork | None = None,
        *,
        number_of: Callable[[str], str | None] | None = None,
    ) -> Transcript:
        """What was said along `network`; `meaning_of` gives equal texts for sentences that mean the same.

        `number_of` does so as well for those that differ in the noughts behind a number, which need not be told apart.

        Where one of `slips` explains the sound about as well, what was heard is doubtful; where one of `uncalled` does,
        it was not meant for us.
        """
        ...


class Understanding(Protocol):
    """What understands: the grammar and its parser."""

    def network(self, context: Context) -> WordNetwork: ...

    def slip_network(self, context: Context) -> WordNetwork: ...

    def uncalled_network(self, context: Context) -> WordNetwork | None: ...

    def parse(self, text: str, context: Context) -> Parse: ...

    def parse_typed(self, text: str, context: Context) -> Parse: ...

    def unplaced(self, written: str, context: Context) -> Parse | None: ...


class Phrases(Protocol):
    """What words an answer."""

    def reply(self, decision: Decision, *, terse: bool = False) -> Reply: ...

    def question(self, decision: Decision) -> str: ...

    def timer_over(self, timer: TimerTold) -> Reply: ...


class Mouth(Protocol):
    """What speaks."""

    def say(self, reply: Reply) -> None: ...


class Keeper(Protocol):
    """What keeps: events on the disk when `append` returns, and clips."""

    def append(self, events: tuple[Event, ...]) -> None: ...

    def keep_clip(self, seq: int, samples: Samples) -> str: ...


@dataclass(frozen=True)
class Speech:
    """One utterance as it was heard, not yet decided upon.

    Attributes:
        utterance: the sound that was heard, and no other.
        context: what might be said when it was heard; where that has changed since, it has to be heard again.
        transcript: what was heard.
        parses: what each of the transcript's alternatives means.
        twins: the same for what sounds nearly like the first of them.
        complete: whether no sentence that may be said goes on where this one ends.
    """

    utterance: Utterance
    context: Context
    transcript: Transcript
    parses: tuple[Parse, ...]
    twins: tuple[Parse, ...] = ()
    complete: bool = False


@dataclass(frozen=True)
class Turn:
    """One utterance from hearing to answer.

    Attributes:
        hearing: what was heard and what it can mean.
        decision: what was decided.
        reply: what was answered; empty where nothing was.
        events: what was kept, in order, what was said included.
    """

    hearing: Hearing
    decision: Decision
    reply: Reply
    events: tuple[Event, ...]


class Bench:
    """A job in progress.

    Args:
        state: the session as it stands.
        understanding: grammar and parser of the board.
        phrases: the sentences of the language.
        mouth: speaks the replies.
        keeper: the job's journal and clips.
        clock: the present time, UTC.
        ears: hears utterances; not needed for text.
        terse: answer with verdict and value only.
        whole: entered while events are kept and the state follows them, which nothing may come between.
        clips: whether the sound of what was said is kept.
        private: keep neither words nor sound of talk that is not meant for the bench.
    """

    def __init__(
        self,
        state: SessionState,
        *,
        understanding: Understanding,
        phrases: Phrases,
        mouth: Mouth,
        keeper: Keeper,
        clock: Callable[[], datetime],
        ears: Ears | None = None,
        terse: bool = False,
        clips: bool = True,
        private: bool = False,
        whole: Callable[[], AbstractContextManager[object]] = nullcontext,
    ) -> None:
        self.state = state
        self.understanding = understanding
        self.phrases = phrases
        self.mouth = mouth
        self.keeper = keeper
        self.clock = clock
        self.ears = ears
        self.terse = terse
        self.clips = clips
        self.private = private
        self.whole = whole

    @property
    def context(self) -> Context:
        """What may be said next."""
        return self.state.context

    def context_at(self, source: str, start_s: float | None, end_s: float | None) -> Context:
        """What may be said between those seconds of a source."""
        return self.state.context_at(Moment(self.clock(), source, start_s, end_s))

    def context_of(self, utterance: Utterance, source: str) -> Context:
        """What may be said where an utterance of a source lies."""
        return self.context_at(source, utterance.start_s, utterance.end_s)

    def take_utterance(self, utterance: Utterance, source: str, remarks: tuple[str, ...] = ()) -> Turn:
        """Hear one utterance and see it through to its answer."""
        return self.answer(self.decide(self.hear(utterance, self.context_of(utterance, source)), source, remarks))

    def hear(self, utterance: Utterance, context: Context) -> Speech:
        """What was said. Changes nothing, so that it may run ahead on another thread, one utterance at a time."""
        if self.ears is None:
            raise ValueError("a bench without ears takes text only")
        meanings: dict[str, Parse] = {}

        def parse(text: str) -> Parse:
            if text not in meanings:
                meanings[text] = self.understanding.parse(text, context)
            return meanings[text]

        network, slips = self.understanding.network(context), self.understanding.slip_network(context)
        uncalled = self.understanding.uncalled_network(context)
        transcript = self.ears.hear(
            utterance,
            network,
            lambda text: parse(text).meaning,
            slips,
            uncalled,
            number_of=lambda text: self._number_of(parse(text), utterance),
        )
        if utterance.cut and transcript.trust is Trust.AGREED:
            # digits or a unit may be missing at its end: heard clearly is not heard whole
            transcript = replace(transcript, trust=Trust.DOUBTFUL, why="the sound was cut off")
        parses = tuple(parse(alternative.text) for alternative in transcript.alternatives)
        if parses and all(found.why == NOT_CALLED for found in parses):
            transcript = replace(transcript, trust=Trust.UNRELATED, why=NOT_CALLED)
        elif transcript.trust is Trust.UNRELATED and uncalled is None:
            # a value where no point is in hand is no sentence there: to say nothing would seem to have taken it
            alone = self.understanding.unplaced(transcript.free, context)
            if alone is not None:
                heard = (Alternative(alone.text, 0.0),)
                transcript = replace(transcript, alternatives=heard, twins=(), trust=Trust.DOUBTFUL, why=alone.why)
                parses = (alone,)
        if self.private and transcript.trust is Trust.UNRELATED:
            transcript, parses = replace(transcript, alternatives=(), twins=()), ()
        twins = tuple(parse(text) for text in transcript.twins)
        return Speech(utterance, context, transcript, parses, twins, network.ends(transcript.text))

    def _number_of(self, parse: Parse, utterance: Utterance) -> str | None:
        """Equal for texts that would be kept as the same number, with whatever noughts behind it; None for no meaning.

        "Two hundred and twenty k" is what "two hundred and twenty" is taken for where it can be nothing else. What
        would not be kept is equal only to what means the same.
        """
        transcript = Transcript("panel", (Alternative(parse.text, 0.0),), Trust.AGREED)
        hearing = Hearing(self.clock(), "", transcript, (parse,), utterance.start_s, utterance.end_s)
        events = session.step(self.state, hearing, word_question=self.phrases.question).events
        kept = [event for event in events if isinstance(event, Reading) and not event.follows_from]
        if len(kept) != 1:
            return parse.meaning
        value = SpokenValue(kept[0].value, kept[0].unit, unit_said=True, waveform=kept[0].waveform).without_noughts
        return f"kept|{kept[0].point}|{value.digits}|{value.unit}|{value.waveform}|{kept[0].corrects}"

    def is_current(self, speech: Speech, source: str) -> bool:
        """Whether what might be said when it was heard is what may be said there now; else it has to be heard again."""
        return speech.context == self.context_of(speech.utterance, source)

    def foresee(self, speech: Speech, source: str) -> tuple[Event, ...]:
        """The events that `decide` would keep now; nothing is kept or changed."""
        return session.step(self.state, self._hearing(speech, source), word_question=self.phrases.question).events

    def decide(self, speech: Speech, source: str, remarks: tuple[str, ...] = ()) -> Turn:
        """Decide upon what was heard and keep that on the disk; nothing is said yet.

        Raises:
            ValueError: it was heard with another context than the present one.
        """
        if not self.is_current(speech, source):
            raise ValueError("heard with another context than the present one: hear it again")
        return self._decide(self._hearing(speech, source, remarks), speech.utterance.samples)

    def _hearing(self, speech: Speech, source: str, remarks: tuple[str, ...] = ()) -> Hearing:
        utterance = speech.utterance
        # an announced note is free talk that is meant for us
        known = speech.transcript.trust not in (Trust.UNRELATED, Trust.FAILED)
        ours = known or self.state.note_opened is not None
        kept = self.clips and (ours or not self.private)
        return Hearing(
            at=self.clock(),
            source=source,
            transcript=speech.transcript,
            parses=speech.parses,
            start_s=utterance.start_s,
            end_s=utterance.end_s,
            clip=f"clips/{self.state.next_seq:06d}.flac" if kept else None,
            remarks=tuple(dict.fromkeys((*remarks, *_remarks(utterance)))),
            twins=speech.twins,
        )

    def take_text(self, text: str, source: str, *, start_s: float | None = None, end_s: float | None = None) -> Turn:
        """See one line of a transcript, as it was typed, through to its answer."""
        return self.answer(self.decide_text(text, source, start_s=start_s, end_s=end_s))

    def decide_text(self, text: str, source: str, *, start_s: float | None = None, end_s: float | None = None) -> Turn:
        """Decide upon a typed line and keep that on the disk; nothing is said yet."""
        parse = self.understanding.parse_typed(text, self.context_at(source, start_s, end_s))
        transcript = Transcript("text", (Alternative(parse.text, 0.0),), Trust.TYPED, "typed", free=text)
        return self._decide(Hearing(self.clock(), source, transcript, (parse,), start_s, end_s), None)

    def answer(self, turn: Turn) -> Turn:
        """Say the turn's reply, and keep that it was said; the turn with that event."""
        if not turn.reply.text and turn.reply.tone is None:
            return turn
        return replace(turn, events=(*turn.events, self.tell(turn.reply)))

    def tell(self, reply: Reply) -> Event:
        """Say a reply, or what answers no utterance, and keep that it was said; what is kept can be repeated."""
        self.mouth.say(reply)
        tone = None if reply.tone is None else reply.tone.value
        state, said = session.said(self.state, self.clock(), reply.text, tone)
        self._keep(state, (said,))
        return said

    def take_back(self, turn: Turn, why: str) -> tuple[Event, ...]:
        """Undo a turn that led to a reading or a question and nothing else, and keep that; empty where it did not."""
        state, events = session.take_back(self.state, self.clock(), turn.events, why)
        self._keep(state, events)
        return events

    def lapse(self, source: str, now_s: float | None) -> bool:
        """End a question that has waited too long for its answer, and keep that; whether there was one.

        `now_s` is up to where the source was heard, in its seconds; None where it has no times.
        """
        state, events = session.lapse(self.state, self.clock(), source, now_s)
        if events:
            self._keep(state, events)
        return bool(events)

    def first_cautions(self) -> tuple[CautionTold, ...]:
        """Keep the cautions for what a checklist measures first; they are to be said with the greeting."""
        state, events = session.cautions_at_hand(self.state, self.clock())
        if events:
            self._keep(state, events)
        return tuple(told_by(event) for event in events)

    def ring(self, source: str, now_s: float | None, *, by_clock: bool = False) -> tuple[Reply, ...]:
        """End the timers that are over, and keep that; what has to be told of them, which is not said yet.

        Args:
            source: what is listened to.
            now_s: up to where it was heard, in its seconds; None where it has no times.
            by_clock: whether the clock counts as well, as it does for a live source.
        """
        state, events, over = session.timers_over(self.state, Now(self.clock(), source, now_s, by_clock))
        if events:
            self._keep(state, events)
        return tuple(self.phrases.timer_over(timer) for timer in over)

    def announce(self, source: str, now_s: float | None) -> tuple[Reply, ...]:
        """Say which timers are over where a recording or transcript has come to; what was said."""
        told = () if self.state.closed else self.ring(source, now_s)
        for reply in told:
            self.tell(reply)
        return told

    def note_device(self, device: str, change: DeviceChange, why: str, lost_s: float | None = None) -> Event:
        """Keep that a device was lost, came back, or lost sound."""
        state, event = session.device(self.state, self.clock(), device, change, why=why, lost_s=lost_s)
        self._keep(state, (event,))
        return event

    def close(self, why: str) -> tuple[Event, ...]:
        """End the session and keep that it ended; a second call does nothing."""
        state, events = session.close(self.state, self.clock(), why)
        self._keep(state, events)
        return events

    def _decide(self, hearing: Hearing, samples: Samples | None) -> Turn:
        step = session.step(self.state, hearing, word_question=self.phrases.question)
        heard = step.events[0]
        if samples is not None and isinstance(heard, Heard) and heard.clip is not None:
            self.keeper.keep_clip(heard.seq, samples)
        self._keep(step.state, step.events)
        return Turn(hearing, step.decision, self.phrases.reply(step.decision, terse=self.terse), step.events)

    def _keep(self, state: SessionState, events: tuple[Event, ...]) -> None:
        with self.whole():
            self.keeper.append(events)
            self.state = state


def _remarks(utterance: Utterance) -> tuple[str, ...]:
    remarks = []
    if utterance.clipped:
        remarks.append("clipped")
    if utterance.narrow:
        remarks.append("narrow band")
    if utterance.cut:
        remarks.append("cut at the longest length or the end of the sound")
    return tuple(remarks)

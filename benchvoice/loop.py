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
from benchvoice.decide.session import SessionState
from benchvoice.decide.session_state import Moment
from benchvoice.events import Event, Heard
from benchvoice.records import (
    Alternative,
    Context,
    Decision,
    Hearing,
    Parse,
    Reply,
    Samples,
    Transcript,
    Trust,
    Utterance,
    WordNetwork,
)

__all__ = ["Bench", "Ears", "Keeper", "Mouth", "Phrases", "Turn", "Understanding"]


class Ears(Protocol):
    """What hears: the panel, or one recogniser."""

    def hear(
        self,
        utterance: Utterance,
        network: WordNetwork,
        meaning_of: Callable[[str], str | None],
        slips: WordNetwork | None = None,
    ) -> Transcript:
        """What was said along `network`; `meaning_of` gives equal texts for sentences that mean the same.

        Where one of `slips` explains the sound about as well, what was heard is doubtful.
        """
        ...


class Understanding(Protocol):
    """What understands: the grammar and its parser."""

    def network(self, context: Context) -> WordNetwork: ...

    def slip_network(self, context: Context) -> WordNetwork: ...

    def parse(self, text: str, context: Context) -> Parse: ...


class Phrases(Protocol):
    """What words an answer."""

    def reply(self, decision: Decision, *, terse: bool = False) -> Reply: ...

    def question(self, decision: Decision) -> str: ...


class Mouth(Protocol):
    """What speaks."""

    def say(self, reply: Reply) -> None: ...


class Keeper(Protocol):
    """What keeps: events on the disk when `append` returns, and clips."""

    def append(self, events: tuple[Event, ...]) -> None: ...

    def keep_clip(self, seq: int, samples: Samples) -> str: ...


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
        self.whole = whole

    @property
    def context(self) -> Context:
        """What may be said next."""
        return self.state.context

    def context_at(self, source: str, start_s: float | None, end_s: float | None) -> Context:
        """What may be said between those seconds of a source."""
        return self.state.context_at(Moment(self.clock(), source, start_s, end_s))

    def take_utterance(self, utterance: Utterance, source: str, remarks: tuple[str, ...] = ()) -> Turn:
        """Hear one utterance and see it through to its answer."""
        if self.ears is None:
            raise ValueError("a bench without ears takes text only")
        context = self.context_at(source, utterance.start_s, utterance.end_s)
        meanings: dict[str, Parse] = {}

        def parse(text: str) -> Parse:
            if text not in meanings:
                meanings[text] = self.understanding.parse(text, context)
            return meanings[text]

        network, slips = self.understanding.network(context), self.understanding.slip_network(context)
        transcript = self.ears.hear(utterance, network, lambda text: parse(text).meaning, slips)
        if utterance.cut and transcript.trust is Trust.AGREED:
            # digits or a unit may be missing at its end: heard clearly is not heard whole
            transcript = replace(transcript, trust=Trust.DOUBTFUL, why="the sound was cut off")
        hearing = Hearing(
            at=self.clock(),
            source=source,
            transcript=transcript,
            parses=tuple(parse(alternative.text) for alternative in transcript.alternatives),
            start_s=utterance.start_s,
            end_s=utterance.end_s,
            clip=f"clips/{self.state.next_seq:06d}.flac" if self.clips else None,
            remarks=(*remarks, *_remarks(utterance)),
        )
        return self._see_through(hearing, utterance.samples)

    def take_text(self, text: str, source: str, *, start_s: float | None = None, end_s: float | None = None) -> Turn:
        """See one line of a transcript through to its answer."""
        transcript = Transcript("text", (Alternative(text, 0.0),), Trust.TYPED, "typed")
        parse = self.understanding.parse(text, self.context_at(source, start_s, end_s))
        return self._see_through(Hearing(self.clock(), source, transcript, (parse,), start_s, end_s), None)

    def close(self, why: str) -> tuple[Event, ...]:
        """End the session and keep that it ended; a second call does nothing."""
        state, events = session.close(self.state, self.clock(), why)
        self._keep(state, events)
        return events

    def _see_through(self, hearing: Hearing, samples: Samples | None) -> Turn:
        step = session.step(self.state, hearing, word_question=self.phrases.question)
        heard = step.events[0]
        if samples is not None and isinstance(heard, Heard) and heard.clip is not None:
            self.keeper.keep_clip(heard.seq, samples)
        self._keep(step.state, step.events)
        reply = self.phrases.reply(step.decision, terse=self.terse)
        if not reply.text and reply.tone is None:
            return Turn(hearing, step.decision, reply, step.events)
        self.mouth.say(reply)
        tone = None if reply.tone is None else reply.tone.value
        state, said = session.said(self.state, self.clock(), reply.text, tone)
        self._keep(state, (said,))
        return Turn(hearing, step.decision, reply, (*step.events, said))

    def _keep(self, state: SessionState, events: tuple[Event, ...]) -> None:
        with self.whole():
            self.keeper.append(events)
            self.state = state


def _remarks(utterance: Utterance) -> tuple[str, ...]:
    remarks = []
    if utterance.clipped:
        remarks.append("clipped")
    if utterance.cut:
        remarks.append("cut at the longest length or the end of the sound")
    return tuple(remarks)

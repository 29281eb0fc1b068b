"""Whether what was said so far may be answered before the end wait is over, and how."""

from __future__ import annotations

from enum import StrEnum

from benchvoice.events import ChecklistStep, Event, Heard, Reading, Withdrawn
from benchvoice.live.parts import SAME_S, LiveSettings, Source
from benchvoice.loop import Bench, Speech
from benchvoice.records import CommandIntent, Intent, ReadingIntent, Trust, WorkIntent

__all__ = ["Early", "How", "beyond_doubt"]


class How(StrEnum):
    """What may be done with what was said so far."""

    NOT_YET = "not yet"
    ENDED = "ended"  # nothing more is waited for
    OPEN = "open"  # answered, and taken back should speech go on


def beyond_doubt(bench: Bench, speech: Speech, source: str) -> bool:
    """Whether the recognisers agreed, on what may be said just now."""
    return speech.transcript.trust is Trust.AGREED and bench.is_current(speech, source)


class Early:
    """Decides from the sentence, from what it would lead to, and from how long it has been quiet.

    Args:
        bench: the job.
        source: the microphone.
        settings: how long is waited for what.
    """

    def __init__(self, bench: Bench, source: Source, settings: LiveSettings) -> None:
        self._bench = bench
        self._source = source
        self._settings = settings

    def how(self, speech: Speech, quiet_s: float, *, went_on: bool) -> How:
        """What may be done with a speech after `quiet_s` seconds of quiet.

        `went_on`: it was answered once too early, so that it is no longer believed to have ended.
        """
        settings = self._settings
        if quiet_s < settings.end_wait_whole_s - SAME_S or not beyond_doubt(self._bench, speech, self._source.name):
            return How.NOT_YET
        if speech.complete:
            return How.ENDED
        if went_on:
            return How.NOT_YET
        if self._reading_only(speech):
            return How.OPEN if settings.headset or settings.tones_unheard else How.NOT_YET
        sure = quiet_s >= settings.end_wait_sure_s - SAME_S and self._rest_would_be_asked(speech)
        return How.ENDED if sure else How.NOT_YET

    def wait_s(self, speech: Speech, how: How) -> float:
        """The quiet after which a speech was answered so, in seconds."""
        settings = self._settings
        if how is How.NOT_YET:
            return settings.end_wait_s
        return settings.end_wait_whole_s if speech.complete or how is How.OPEN else settings.end_wait_sure_s

    def _reading_only(self, speech: Speech) -> bool:
        """Whether it would lead to a reading, what follows from it and its step, and so to what can be taken back."""
        if self._bench.state.question is not None or self._bench.state.note_opened is not None:
            return False
        match self._bench.foresee(speech, self._source.name):
            case (Heard(), Reading(corrects=None), *rest):
                return all(_goes_with(event) for event in rest)
        return False

    def _rest_would_be_asked(self, speech: Speech) -> bool:
        """Whether, should it go on, the rest could not be taken for something of its own in silence."""
        intents = speech.parses[0].intents
        if self._bench.state.question is not None:  # what follows a unit is asked
            return bool(intents) and all(
                isinstance(intent, ReadingIntent) and intent.value.unit_said for intent in intents
            )
        if any(isinstance(intent, WorkIntent) or _of_list(intent) for intent in intents):
            return False  # "out four screws", a pause, "long, top edge"
        values = [intent.value for intent in intents
                  if isinstance(intent, ReadingIntent | CommandIntent) and intent.value is not None]  # fmt: skip
        return all(value.unit for value in values)  # a row of digits has none


def _goes_with(event: Event) -> bool:
    """Whether an event only follows from the reading before it."""
    return isinstance(event, ChecklistStep | Withdrawn) or (isinstance(event, Reading) and bool(event.follows_from))


def _of_list(intent: Intent) -> bool:
    """Whether it is said to the checklist in words of the list's own, of which one may begin another."""
    return isinstance(intent, CommandIntent) and bool(intent.detail)

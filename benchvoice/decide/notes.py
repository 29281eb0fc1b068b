"""Observations: one of the bench's own sentences, or an announcement and then free words, kept as sound."""

from __future__ import annotations

from benchvoice.decide.commands import keep_note
from benchvoice.decide.intake import announced_complaint
from benchvoice.decide.turn import Step, Turn
from benchvoice.records import AnswerIntent, CommandIntent, Decision, Intent, NoteIntent, Outcome, ReadingIntent, Trust

__all__ = ["after_announcement", "take_note"]


def take_note(turn: Turn, intent: NoteIntent) -> Step:
    """Keeps an observation, or waits for the words of the one that was announced."""
    typed = _typed(turn)
    if intent.text:
        return keep_note(turn, intent.text, verified=typed or not intent.free)
    if not typed and turn.hearing.clip is None:
        return turn.refuse("a note is kept as sound, and no sound is kept")
    turn.accept("a note was announced")
    turn.lapse("something else was said")
    turn.command("note")
    return turn.step(Decision(Outcome.ACCEPTED, "note opened"))


def after_announcement(turn: Turn, sure: tuple[Intent, ...]) -> Step | None:
    """What was said after a note was announced; None where that was no note but a sentence of its own.

    Ears that know only sentences of the bench make one of any words: so a note is its sound, beside what a model made
    out that is bound to nothing, never verified. A clear "no" or "strike that" drops the note.

    Args:
        turn: the utterance.
        sure: its meanings, where they are beyond doubt.
    """
    hearing, typed = turn.hearing, _typed(turn)
    match sure:
        case (AnswerIntent("no"),) | (CommandIntent("strike"),):
            turn.accept("the note was dropped")
            turn.command("no")
            return turn.step(Decision(Outcome.ACCEPTED, "refused"))
        case (ReadingIntent(point=str(), near=False, alone=False),) if not typed:
            return None
        case (NoteIntent(free=False, text=str(text)),) if text and not typed:
            return None
    text = hearing.transcript.free or (hearing.transcript.text if typed else "")
    if hearing.clip is None and not (typed and text):
        return turn.ignore("nothing was heard")
    if turn.state.announced != "note":
        return announced_complaint(turn, text, verified=typed)
    return keep_note(turn, text, verified=typed, why="the note that was announced")


def _typed(turn: Turn) -> bool:
    return turn.hearing.transcript.trust is Trust.TYPED

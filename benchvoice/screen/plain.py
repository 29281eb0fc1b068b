"""The same in plain lines, for screen readers, logs and the smallest terminals: what changed, in words."""

from __future__ import annotations

from benchvoice.screen.view import SIGNS, EarState, View

__all__ = ["changes", "ear_words", "judgement", "last_reading", "standing"]

_UNREMARKABLE = (EarState.LISTENING, EarState.THINKING, EarState.SPEAKING)


def ear_words(view: View) -> str:
    """The state of the ears, and why: "deaf: the microphone was unplugged"."""
    return f"{view.ear}: {view.why}" if view.why else str(view.ear)


def judgement(view: View) -> str:
    """ "fail, high", or "" without a reading."""
    return ", ".join(word for word in (view.statement, view.direction) if word)


def last_reading(view: View) -> str:
    """ "!! fail, high: rail 3.3, 4.0 V", or "" without a reading."""
    if view.statement is None:
        return ""
    return f"{SIGNS[view.statement]} {judgement(view)}: {view.point}, {f'{view.value_text} {view.unit}'.rstrip()}"


def standing(view: View) -> str:
    """The point in hand with what counts there and its limits."""
    if not view.point:
        return "nothing read yet"
    told = last_reading(view) or f"{view.point}, not read"
    limits = f"limits {view.limits_text}" if view.limits_text else "no limits"
    return "; ".join(part for part in (told, limits, view.uncertainty_text) if part)


def changes(before: View | None, view: View) -> tuple[str, ...]:
    """What is new since `before`, a line each; everything where there was no view before.

    Listening, thinking and speaking follow each other at every utterance and go without saying; all other states of
    the ears are told, and when they end, and so is why nothing that we say can be heard.
    """
    lines = []
    if before is None:
        left = f"{view.left} not read" if view.left else "all points read"
        lines += [f"{view.board}, job {view.job}, {view.stage} the repair, {left}", f"journal: {view.journal}"]
    if before is None or view.turns != before.turns:
        lines += _turn(before, view)
    if before is not None and view.notices != before.notices:
        lines.append(f"said: {view.said}")
    if before is None or view.step != before.step:
        lines += [f"step: {view.step}"] if view.step else []
    if before is None:
        lines.append(ear_words(view))
    elif _remarkable(before) != _remarkable(view):
        lines.append(_remarkable(view) or ("can be heard again" if before.ear in _UNREMARKABLE else "listening again"))
    return tuple(lines)


def _turn(before: View | None, view: View) -> list[str]:
    lines = [f"heard: {view.heard}"] if view.heard else []
    if before is None or (view.reading, view.point, view.stage) != (before.reading, before.point, before.stage):
        lines.append(standing(view))
    if view.said and not view.heard.startswith("("):  # ignored talk has no answer of its own
        lines.append(f"question: {view.said}" if view.said == view.question else f"said: {view.said}")
    return lines


def _remarkable(view: View) -> str:
    if view.ear in _UNREMARKABLE:
        return f"cannot be heard: {view.why}" if view.why else ""
    return ear_words(view)

"""The checklist's step at hand, told before anything is heard, with what to beware of there."""

from __future__ import annotations

from benchvoice.answer.phrases import Phrasebook
from benchvoice.decide.guide import told_of
from benchvoice.loop import Bench
from benchvoice.records import Reply

__all__ = ["first_step"]


def first_step(bench: Bench, phrases: Phrasebook) -> Reply | None:
    """Says the step at hand, and keeps that it was said; what was said, None without a checklist."""
    cautions, step = bench.first_cautions(), told_of(bench.state)
    if step is None:
        return None
    reply = phrases.begun(Reply(""), step, cautions)
    bench.tell(reply)
    return reply

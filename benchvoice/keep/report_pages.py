"""What the printed pages share: how text becomes part of a page, and how numbers and verdicts are written there."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from benchvoice.keep import wording
from benchvoice.keep.record_models import STATEMENTS, TakenOut
from benchvoice.keep.record_timers import seconds_text
from benchvoice.keep.strip import PATTERNS, tolerance_strip

if TYPE_CHECKING:
    import jinja2

__all__ = ["template_environment"]

MARKS = {"pass": "✓", "conditional pass": "(✓)", "conditional fail": "(✗)", "fail": "✗", "recorded": "•"}
"""A sign per statement, so that colour is never the only one."""


@cache
def template_environment() -> jinja2.Environment:
    """What the pages are made with: every text is escaped, and nothing that hides or reorders stays hidden."""
    import jinja2
    from markupsafe import Markup

    def shown(content: object) -> object:
        # every string of the record passes here before it is escaped; only our own markup is left as it is
        return wording.visible(content) if isinstance(content, str) and not isinstance(content, Markup) else content

    loader = jinja2.FileSystemLoader(Path(__file__).parent)
    environment = jinja2.Environment(
        loader=loader,
        autoescape=True,
        finalize=shown,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "clock": wording.clock,
        "seconds": seconds_text,
        "day_and_clock": wording.day_and_clock,
        "limits": wording.limits_of,
        "rounded": wording.rounded_uncertainty,
        "probability": wording.probability_text,
        "verdict": wording.verdict_text,
        "percent": wording.share_text,
        "strip": lambda reading: Markup(tolerance_strip(reading)),
        "taken_out": _taken_out,
        "part_used": wording.part_text,
        "duration": wording.duration_text,
        "unlike": wording.unlike_text,
    }
    environment.globals |= {
        "amount": wording.amount,
        "signed": wording.signed,
        "marks": MARKS,
        "statements": STATEMENTS,
        "patterns": Markup(PATTERNS),
    }
    return environment


def _taken_out(row: TakenOut) -> str:
    """What was taken out: "4 × screw, M3 by 8, long, top edge"."""
    name = f"{row.count} × {row.name}" if row.kind == "fastener" else row.name
    return ", ".join(filter(None, (name, row.size, row.length, row.place, row.what)))

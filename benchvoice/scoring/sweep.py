"""Accepted wrong against asked while the thresholds of a panel vary.

Every setting judges the same hearings as the panel itself would with those thresholds (`commands/score_hearing.py`), so
it shows what a lower threshold accepts as well as what a higher one asks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from benchvoice.hear.arbiter import Arbiter
from benchvoice.hear.votes import Voter
from benchvoice.scoring.bounds import Rate
from benchvoice.scoring.tallies import Scored

__all__ = ["SETTINGS", "Point", "Setting", "arbiter_set_to", "set_to", "swept", "varies"]


@dataclass(frozen=True)
class Setting:
    """One threshold moved, all others as they are.

    Attributes:
        threshold: "margin" (all least margins of engines whose scores rank meanings) or "gap" (their greatest gap).
        shift: by how much, on the engine's own scale: natural log for margins, log per frame for gaps.
    """

    threshold: str
    shift: float


SETTINGS = (
    *(Setting("margin", shift) for shift in (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0, 30.0)),
    *(Setting("gap", shift) for shift in (-0.16, -0.12, -0.08, -0.04, 0.0, 0.04, 0.08, 0.16)),
)
"""What is tried; a shift of 0 is the panel as it is."""


@dataclass(frozen=True)
class Point:
    """How the whole corpus ends under one setting."""

    setting: Setting
    accepted_wrong: Rate
    asked: Rate
    ignored: Rate

    def as_json(self) -> dict[str, Any]:
        rates = {"accepted wrong": self.accepted_wrong, "asked": self.asked, "ignored": self.ignored}
        named = {name: rate.as_json() for name, rate in rates.items()}
        return {"threshold": self.setting.threshold, "shift": self.setting.shift, **named}


def varies(voters: Iterable[Voter]) -> bool:
    """Whether a sweep changes anything for these: one at least must rank meanings."""
    return any(voter.margin_least is not None for voter in voters)


def set_to(voter: Voter, setting: Setting) -> Voter:
    """The voter with the setting's threshold moved; the same where its scores do not rank meanings."""
    if voter.margin_least is None:
        return voter
    if setting.threshold == "gap":
        return replace(
            voter,
            gap_most=None if voter.gap_most is None else voter.gap_most + setting.shift,
            alone_gap=None if voter.alone_gap is None else voter.alone_gap + setting.shift,
        )
    return replace(
        voter,
        margin_least=voter.margin_least + setting.shift,
        margin_split=voter.margin_split + setting.shift,
        alone_margin=None if voter.alone_margin is None else voter.alone_margin + setting.shift,
    )


def arbiter_set_to(arbiter: Arbiter | None, setting: Setting) -> Arbiter | None:
    """The arbiter with the setting's threshold moved: leads with margins; its own gap stays, being of another scale."""
    if arbiter is None or setting.threshold == "gap":
        return arbiter
    return replace(
        arbiter,
        lead_backed=arbiter.lead_backed + setting.shift,
        lead_unbacked=arbiter.lead_unbacked + setting.shift,
        lead_near=arbiter.lead_near + setting.shift,
    )


def swept(scored: Sequence[Scored], settings: Sequence[Setting] = SETTINGS) -> list[Point]:
    """The corpus under each setting, in the settings' order.

    Raises:
        ValueError: an utterance lacks the result of a setting.
    """
    points = []
    if any(len(item.sweep) != len(settings) for item in scored):
        raise ValueError("every utterance needs a result for every setting")
    for place, setting in enumerate(settings):
        counts = Counter(item.sweep[place] for item in scored)
        rates = (Rate(counts[result], len(scored)) for result in ("accepted wrong", "asked", "ignored"))
        points.append(Point(setting, *rates))
    return points

"""What the job record says at the hand-over: checks, parts used, time spent. Times are UTC, spans whole seconds."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict

__all__ = ["ACTIVITIES", "Activity", "CheckRecord", "CheckStatus", "PartUsed", "Stage", "TimeSpent", "TimesRecord"]

Stage = Literal["before", "after"]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


CheckStatus = Literal["passed", "failed", "noted", "skipped", "does not apply", "not done"]


class CheckRecord(_Frozen):
    """A step of the checklist that counts as proof, and what came of it.

    `status`: "noted" is an answer, a wait or a value without a right and a wrong. `outcome` is the answer, or the value
    with its statement; `reading` is the reading that counts at its point. `reason` tells why it was skipped, or why it
    counts as not done. `outdated`: it was done before the repair, or before the unit was last worked on.
    """

    proof: Literal["function test", "safety check"]
    part: str
    step: str
    status: CheckStatus
    expected: str = ""
    outcome: str = ""
    reason: str = ""
    outdated: str = ""
    seq: int | None = None
    at: datetime | None = None
    stage: Stage | None = None
    reading: int | None = None

    @property
    def proven(self) -> bool:
        """Whether it was done since the unit was last worked on, and not found wrong."""
        return self.status in ("passed", "noted") and not self.outdated


class PartUsed(_Frozen):
    """A part that was fitted: reference, what it is, value with its code (IEC 60062), part number, as far as told."""

    seq: int
    at: datetime
    ref: str
    what: str = ""
    value: str | None = None
    unit: str | None = None
    code: str = ""
    part_number: str = ""


Activity = Literal["intake", "finding the fault", "work on the unit", "proof"]
ACTIVITIES: tuple[Activity, ...] = ("intake", "finding the fault", "work on the unit", "proof")


class TimeSpent(_Frozen):
    """How long something took, in whole seconds."""

    activity: Activity
    seconds: int


class TimesRecord(_Frozen):
    """How long a visit took, as far as the journal tells, all in whole seconds.

    `activities` has those that took any time, `worked_s` is their sum. A quiet time of more than `pause_after_s` is a
    pause: `pauses` of them, `paused_s` in all, are not in it, nor is the time between the `sessions`.
    """

    activities: tuple[TimeSpent, ...] = ()
    worked_s: int = 0
    pauses: int = 0
    paused_s: int = 0
    pause_after_s: int = 600
    sessions: int = 0

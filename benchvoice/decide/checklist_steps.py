"""A checklist: its steps, numbered in one row with every sub-list laid out where it is done, and what follows what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import Literal

from benchvoice.time_units import SECONDS_IN

__all__ = [
    "BOTH_WAYS",
    "KINDS",
    "SKIPPED",
    "STATEMENTS",
    "CheckStep",
    "Checklist",
    "Kind",
    "Only",
    "Power",
    "Proof",
    "Stage",
]  # fmt: skip

Kind = Literal["say", "ask", "measure", "inspect", "wait", "warn", "do"]
KINDS: tuple[Kind, ...] = ("say", "ask", "measure", "inspect", "wait", "warn", "do")
Power = Literal["powered", "unpowered"]
Stage = Literal["before", "after"]
Only = Literal["before", "after", "powered", "unpowered"]
Proof = Literal["function test", "safety check"]

STATEMENTS = ("pass", "conditional pass", "conditional fail", "fail", "recorded")
"""What a reading can be stated to be, as in `records.Statement`."""
SKIPPED = "skipped"
"""The outcome of a step that was skipped; a file may branch on it."""
BOTH_WAYS: Mapping[str, tuple[str, ...]] = MappingProxyType({"ask": ("yes", "no"), "inspect": ("pass", "fail")})
"""The outcomes of steps that are answered by yes or no, in that order."""
_PROVES: tuple[Kind, ...] = ("ask", "measure", "inspect", "wait")
"""What has an outcome that can be proof; the rest only tells what to do."""


@dataclass(frozen=True)
class CheckStep:
    """One step as it is carried out. Steps are named by their number; the number after the last one is the end.

    Attributes:
        number: its place in the row, from 0.
        kind: what it does.
        text: what is said or asked; the point's name for `measure`, the sub-list's for `do`.
        follows: the step that comes next where nothing branches.
        name: its name in the file; empty for none.
        part: the name of the sub-list that it stands in; empty for the list itself.
        point: the point that is measured.
        choices: the answers that are offered; none where yes and no are.
        wait_s: how long is waited, in seconds.
        needs: how the supply must stand before it is done.
        only: the one state in which it applies.
        most: how often it is come to before `otherwise` is taken instead; None for any number of times.
        otherwise: the step that is taken then.
        branches: outcome → the step that comes next.
        proof: with a name, what the outcomes of that whole part are proof of.
        expected: the answer to `ask` that is right; empty where none is.
        inside: for `do`, the first and the last number (past the end) of its sub-list's steps.
    """

    number: int
    kind: Kind
    text: str
    follows: int
    name: str = ""
    part: str = ""
    point: str | None = None
    choices: tuple[str, ...] = ()
    wait_s: int = 0
    needs: Power | None = None
    only: Only | None = None
    most: int | None = None
    otherwise: int = 0
    branches: Mapping[str, int] = field(default_factory=dict)
    proof: Proof | None = None
    expected: str = ""
    inside: tuple[int, int] = (0, 0)

    @property
    def answers(self) -> tuple[str, ...]:
        """The outcomes that an answer can give; none where it is not answered by words."""
        return self.choices or BOTH_WAYS.get(self.kind, ())

    @property
    def power(self) -> Power | None:
        """The state of the supply that it needs or applies in."""
        return self.needs or (self.only if self.only in ("powered", "unpowered") else None)

    @property
    def label(self) -> str:
        """What it is, in a few words, for the record."""
        if self.kind == "wait":
            unit, size = next(each for each in SECONDS_IN.items() if self.wait_s % each[1] == 0)
            return f"wait {self.wait_s // size} {unit}" + (f": {self.text}" if self.text else "")
        return f"{self.kind} {self.text}" if self.kind in ("measure", "do") else self.text

    def after(self, outcome: str) -> int:
        """The step that comes after an outcome: "yes", "fail, high", "skipped", or a choice.

        Of a reading's names the closest counts: "conditional fail", then "high", then "fail", then "else".
        """
        for name in _names_of(outcome) if self.kind == "measure" else (outcome,):
            if name in self.branches:
                return self.branches[name]
        return self.follows if outcome == SKIPPED else self.branches.get("else", self.follows)


def _names_of(outcome: str) -> tuple[str, ...]:
    statement, _, direction = outcome.partition(", ")
    if statement == "conditional fail":
        return statement, direction, "fail"
    if statement == "fail":
        return direction, "fail"
    return (statement, "pass") if statement == "conditional pass" else (statement,)


@dataclass(frozen=True)
class Checklist:
    """A checklist, ready to be gone through. `sha256` is that of the file's text in UTF-8, as hexadecimal."""

    name: str
    steps: tuple[CheckStep, ...]
    sha256: str

    @property
    def end(self) -> int:
        """The number past the last step: nothing is left there."""
        return len(self.steps)

    @cached_property
    def named(self) -> Mapping[str, int]:
        """Name → number of the steps that can be jumped to: those of the list itself that have one."""
        return MappingProxyType({step.name: step.number for step in self.steps if step.name and not step.part})

    @property
    def minds_power(self) -> bool:
        """Whether a step needs the supply on or off."""
        return any(step.power is not None for step in self.steps)

    def section(self, number: int) -> str:
        """The named part in which a step lies: the nearest name of the list itself at or before it; empty for none."""
        own = (step.name for step in reversed(self.steps[: number + 1]) if step.name and not step.part)
        return next(own, "")

    @cached_property
    def checks(self) -> tuple[tuple[CheckStep, Proof], ...]:
        """The steps whose outcomes are proof, in their order, each with what it proves: those of the marked parts."""
        found: list[tuple[CheckStep, Proof]] = []
        mark: Proof | None = None
        for step in self.steps:
            if step.name and not step.part:
                mark = step.proof
            if mark is not None and step.kind in _PROVES:
                found.append((step, mark))
        return tuple(found)

"""A checklist, validated from the text of its file: what is written there, and whether it can be gone through."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from benchvoice.decide.board import Board
from benchvoice.decide.checklist_layout import Source, lay_out
from benchvoice.decide.checklist_names import check_choices, check_names
from benchvoice.decide.checklist_steps import BOTH_WAYS, KINDS, SKIPPED, Checklist, Kind, Power, Proof
from benchvoice.decide.fields import Count, FileModel, Line, checked, file_schema, nearest
from benchvoice.decide.yaml_text import Document, Path, load_document
from benchvoice.errors import BoardError
from benchvoice.spelling import unspoken_sign
from benchvoice.time_units import SECONDS_IN

__all__ = ["checklist_schema", "read_checklist"]

_DURATION = re.compile(r"([0-9]{1,5})\s*(s|min|h)")
_LONGEST_S = 24 * 3600
_OF_A_READING = ("pass", "conditional pass", "conditional fail", "fail", "high", "low", "recorded")


def _duration(text: Any) -> int:
    match = _DURATION.fullmatch(text) if isinstance(text, str) else None
    seconds = int(match[1]) * SECONDS_IN[match[2]] if match else 0
    if not 0 < seconds <= _LONGEST_S:
        told = {"what": f"'{text}' is not a time to wait", "cure": "Write 30 s, 5 min or 1 h"}
        raise PydanticCustomError("benchvoice", "{what}", told)
    return seconds


Duration = Annotated[
    int, BeforeValidator(_duration), WithJsonSchema({"type": "string", "pattern": r"^[0-9]{1,5}\s*(s|min|h)$"})
]


class _StepInFile(FileModel):
    name: Line | None = None
    say: Line | None = None
    ask: Line | None = None
    measure: Line | None = None
    inspect: Line | None = None
    wait: Duration | None = None
    warn: Line | None = None
    do: Line | None = None
    why: Line | None = None
    choices: tuple[Line, ...] | None = Field(default=None, min_length=2)
    needs: Literal["powered", "unpowered"] | None = None
    only: Literal["before", "after", "powered", "unpowered"] | None = None
    branches: dict[Line, Line] | None = Field(default=None, alias="if", min_length=1)
    go_to: Line | None = Field(default=None, alias="go to")
    most: Count | None = Field(default=None, alias="at most")
    otherwise: Line | None = None
    proof: Proof | None = None
    expected: Line | None = None


_Steps = Annotated[tuple[_StepInFile, ...], Field(min_length=1)]


class _ChecklistInFile(FileModel):
    checklist: Line
    board: Line | None = None
    steps: _Steps
    lists: dict[Line, _Steps] = Field(default_factory=dict)


def checklist_schema() -> dict[str, Any]:
    """JSON Schema (Draft 2020-12) of a checklist file, for editors."""
    return file_schema(_ChecklistInFile, "benchvoice checklist file")


def _nothing(_name: str) -> str:
    return ""


def read_checklist(text: str, file: str, board: Board, *, taken_for: Callable[[str], str] = _nothing) -> Checklist:
    """The checklist that a file's text gives for a board.

    Args:
        text: the file's text.
        file: its name, for messages.
        board: the board that is gone through; every point that is measured is one of its.
        taken_for: what words already mean at the bench ("a value"), empty for none; no choice may have such a name.

    Raises:
        BoardError: naming file, line, field and what to do.
    """
    document = load_document(text, file)
    written = checked(document, _ChecklistInFile)
    if written.board is not None and written.board != board.name:
        cure = "Name the checklist of that board, or leave the line out where it serves several"
        raise document.error(f"this is for '{written.board}', not for '{board.name}'", ("board",), cure)
    lists: dict[str, tuple[Path, tuple[_StepInFile, ...]]] = {"": (("steps",), written.steps)}
    lists |= {name: (("lists", name), steps) for name, steps in written.lists.items()}
    check_names(document, {name: (path, tuple(step.name for step in steps)) for name, (path, steps) in lists.items()})
    sources = {
        name: tuple(
            _Reader(document, board, step, (*path, index), taken_for).source(written.lists)
            for index, step in enumerate(steps)
        )
        for name, (path, steps) in lists.items()
    }
    steps = lay_out(document, sources)
    checklist = Checklist(written.checklist, steps, hashlib.sha256(text.encode()).hexdigest())
    _refuse_empty_proof(document, written.steps, checklist)
    return checklist


def _refuse_empty_proof(document: Document, steps: tuple[_StepInFile, ...], checklist: Checklist) -> None:
    proving = {checklist.section(step.number) for step, _ in checklist.checks}
    for index, step in enumerate(steps):
        if step.proof is not None and step.name not in proving:
            what = f"nothing in '{step.name}' is asked, measured, inspected or waited for"
            raise document.error(what, ("steps", index, "proof"), "Leave the line out, or add such a step")


class _Reader:
    """One step as it is written, and where."""

    def __init__(
        self, document: Document, board: Board, step: _StepInFile, path: Path, taken_for: Callable[[str], str]
    ) -> None:
        self.document = document
        self.board = board
        self.step = step
        self.path = path
        self.taken_for = taken_for

    def source(self, lists: Mapping[str, object]) -> Source:
        """The step, with all that can be told of it alone found right."""
        kind = self._kind()
        self._refuse_strangers(kind)
        if kind == "do" and self.step.do not in lists:
            close = nearest(str(self.step.do), lists)
            cure = f"Did you mean '{close}'?" if close else "Write it under lists:"
            raise self._error(f"there is no list '{self.step.do}'", "do", cure=cure)
        if (self.step.most is None) != (self.step.otherwise is None):
            given, lacks = ("at most", "otherwise") if self.step.otherwise is None else ("otherwise", "at most")
            cure = "Write both: how often it is come to, and the step that is taken then"
            raise self._error(f"'{given}' is given without '{lacks}'", given, cure=cure)
        if self.step.most == 0:
            raise self._error("at most 0 times is never", "at most", cure="Write 1 or more, or leave the step out")
        choices = self.step.choices or ()
        check_choices(self.document, choices, (*self.path, "choices"), self.taken_for)
        needs = self._needs(kind)
        if needs is not None and self.step.only in ("powered", "unpowered"):
            raise self._error("both needs and only name the supply", "only", cure="Keep one of them")
        self._check_branches(kind)
        self._check_said("why" if kind == "wait" else kind)
        self._check_proof(kind)
        text = getattr(self.step, kind)
        return Source(
            path=self.path,
            kind=kind,
            text=(self.step.why or "") if kind == "wait" else str(text),
            name=self.step.name or "",
            point=self.step.measure,
            choices=choices,
            wait_s=self.step.wait or 0,
            needs=needs,
            only=self.step.only,
            branches=self.step.branches or {},
            go_to=self.step.go_to,
            most=self.step.most,
            otherwise=self.step.otherwise,
            proof=self.step.proof,
            expected=self.step.expected or "",
        )

    def _check_said(self, key: str) -> None:
        """What is said aloud must not lose a sign that changes a number. A point is said by its name."""
        sign = "" if key == "measure" else unspoken_sign(str(getattr(self.step, key) or ""))
        if sign:
            raise self._error(f"'{sign}' cannot be said as it is written", key, cure="Write it in words: below 50 V")

    def _error(self, what: str, *field: str | int, cure: str | None = None) -> BoardError:
        return self.document.error(what, (*self.path, *field), cure)

    def _kind(self) -> Kind:
        given = [kind for kind in KINDS if getattr(self.step, kind) is not None]
        if not given:
            raise self._error("this step does nothing", cure=f"Give it one of: {', '.join(KINDS)}")
        if len(given) > 1:
            cure = "Make two steps of it"
            raise self._error(f"this step has both {given[0]} and {given[1]}", given[1], cure=cure)
        return given[0]

    def _refuse_strangers(self, kind: Kind) -> None:
        """Keys that mean nothing in a step of this kind."""
        of_kind: dict[str, tuple[Kind, ...]] = {
            "why": ("wait",),
            "choices": ("ask",),
            "expected": ("ask",),
            "branches": ("ask", "inspect", "measure"),
        }
        for key, kinds in of_kind.items():
            if getattr(self.step, key) is not None and kind not in kinds:
                name = "if" if key == "branches" else key
                cure = f"It goes with {', '.join(kinds)}"
                raise self._error(f"'{name}' means nothing in a step that has '{kind}'", name, cure=cure)

    def _needs(self, kind: Kind) -> Power | None:
        """The state of the supply: what is written, else that in which the board has the point measured."""
        if kind != "measure":
            return self.step.needs
        point = self.board.by_name.get(str(self.step.measure))
        if point is None:
            close = nearest(str(self.step.measure), self.board.by_name)
            cure = f"Did you mean '{close}'?" if close else f"The points are: {', '.join(self.board.by_name)}"
            raise self._error(f"the board has no point '{self.step.measure}'", "measure", cure=cure)
        if point.computed is not None:
            inputs = self.board.measured_for(point.name)
            what = f"'{point.name}' is computed, not measured"
            raise self._error(what, "measure", cure=f"Measure {' and '.join(inputs)}: it follows from the last of them")
        for key in ("needs", "only"):
            told = getattr(self.step, key)
            if told in ("powered", "unpowered") and point.supply not in (None, told):
                cure = f"Write {point.supply}, or leave the line out"
                raise self._error(f"the board has '{point.name}' measured {point.supply}", key, cure=cure)
        return self.step.needs or (None if self.step.only in ("powered", "unpowered") else point.supply)

    def _check_proof(self, kind: Kind) -> None:
        """What a part is proof of stands where the part begins; the right answer is one that can be given."""
        if self.step.proof is not None and (self.step.name is None or self.path[0] == "lists"):
            what = "what counts as proof is a named part of steps:"
            raise self._error(what, "proof", cure="Give the first step of that part a name, and write it there")
        answers = self.step.choices or BOTH_WAYS.get(kind, ())
        if self.step.expected is not None and self.step.expected not in answers:
            cure = f"Write one of: {', '.join(answers)}"
            raise self._error(f"'{self.step.expected}' is no answer to this step", "expected", cure=cure)

    def _check_branches(self, kind: Kind) -> None:
        branches = self.step.branches
        if branches is None:
            return
        own = _OF_A_READING if kind == "measure" else self.step.choices or BOTH_WAYS[kind]
        known = (*own, "else", SKIPPED)
        for name in branches:
            if name not in known:
                cure = f"Write one of: {', '.join(known)}"
                raise self._error(f"'{name}' is no outcome of this step", "if", name, cure=cure)
        if "else" in branches:
            return
        if kind == "measure":
            self._check_verdicts(branches)
        missing = [name for name in self.step.choices or () if name not in branches]
        if missing and set(branches) - {SKIPPED}:
            what = f"there is no branch for {', '.join(missing)}"
            raise self._error(what, "if", cure="Add one for each, or else: next")

    def _check_verdicts(self, branches: Mapping[str, str]) -> None:
        """A fail that has no branch would go on as if it had passed."""
        point = self.board.point(str(self.step.measure))
        if not point.judged:
            told = [name for name in branches if name not in ("recorded", SKIPPED)]
            if told:
                what = f"'{point.name}' has no limits: its value neither passes nor fails"
                raise self._error(what, "if", told[0], cure="Give the point limits, or branch on recorded")
            return
        if "fail" in branches:
            return
        lacks = {"high": "low", "low": "high"}
        one = [name for name in ("high", "low") if name in branches]
        if len(one) == 1 and getattr(point, lacks[one[0]]) is not None:
            what = f"there is no branch for {lacks[one[0]]}"
            raise self._error(what, "if", cure=f"Add {lacks[one[0]]}: or fail:")
        if "conditional fail" in branches and not one:
            raise self._error("there is no branch for fail", "if", cure="Add fail:")

"""The lists of a checklist file laid out in one row of steps, with every target found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from benchvoice.decide.checklist_flow import circle, reached
from benchvoice.decide.checklist_names import END, NEXT
from benchvoice.decide.checklist_steps import CheckStep, Kind, Only, Power, Proof
from benchvoice.decide.fields import nearest
from benchvoice.decide.yaml_text import Document, Path

__all__ = ["MOST_STEPS", "Source", "lay_out"]

MOST_STEPS = 1000
"""How many steps a checklist may have with every sub-list laid out; nobody goes through more in one job."""


@dataclass(frozen=True)
class Source:
    """A step as it is written. Fields as in `CheckStep`; targets are still names."""

    path: Path
    kind: Kind
    text: str
    name: str
    point: str | None
    choices: tuple[str, ...]
    wait_s: int
    needs: Power | None
    only: Only | None
    branches: Mapping[str, str]
    go_to: str | None
    most: int | None
    otherwise: str | None
    proof: Proof | None = None
    expected: str = ""


class _Place:
    """A place in the row that may not be numbered yet."""

    def __init__(self) -> None:
        self.number = 0


@dataclass(frozen=True)
class _Supply:
    """How the supply must stand for a step: what the list around it needs holds in it too, unless it says otherwise.

    So that, should the supply be forgotten in the middle of that list, it is asked before its next step.
    """

    needs: Power | None = None
    only: Only | None = None

    def inside(self, source: Source) -> _Supply:
        """The same for a step in the list."""
        if source.needs is not None or source.only in ("powered", "unpowered"):
            return _Supply(source.needs, source.only)
        around: Power | None = self.only if self.only in ("powered", "unpowered") else None
        if source.only is None:
            return _Supply(self.needs, None if self.needs is not None else around)
        return _Supply(self.needs or around, source.only)


@dataclass
class _Laid:
    """One step in the row, its targets as places."""

    source: Source
    part: str
    follows: _Place
    otherwise: _Place
    branches: dict[str, _Place]
    supply: _Supply
    inside: tuple[int, int] = (0, 0)


def lay_out(document: Document, lists: Mapping[str, Sequence[Source]]) -> tuple[CheckStep, ...]:
    """The steps of the list "" with every sub-list in place, once for each step that does it.

    Raises:
        BoardError: a target is missing, a list does itself, a step cannot be reached or a way never ends.
    """
    layout = _Layout(document, lists)
    steps = layout.steps()
    _refuse_unreached(document, lists, layout.row, steps)
    _refuse_circles(document, layout.row, steps)
    return steps


class _Layout:
    def __init__(self, document: Document, lists: Mapping[str, Sequence[Source]]) -> None:
        self.document = document
        self.lists = lists
        self.row: list[_Laid] = []

    def steps(self) -> tuple[CheckStep, ...]:
        """The row."""
        end = _Place()
        self._lay("", "", end, (), _Supply())
        end.number = len(self.row)
        return tuple(_numbered(number, laid) for number, laid in enumerate(self.row))

    def _lay(self, name: str, part: str, end: _Place, inside_of: tuple[str, ...], supply: _Supply) -> None:
        sources = self.lists[name]
        places = [*(_Place() for _ in sources), end]
        by_name = {source.name: place for source, place in zip(sources, places, strict=False) if source.name}
        for index, source in enumerate(sources):
            if len(self.row) >= MOST_STEPS:
                what = f"the lists make more than {MOST_STEPS} steps"
                raise self.document.error(what, source.path, "Do fewer lists inside others")
            targets = by_name | {NEXT: places[index + 1], END: end}
            number = places[index].number = len(self.row)
            laid = _Laid(
                source,
                part,
                follows=self._target(source.go_to or NEXT, targets, (*source.path, "go to")),
                otherwise=self._target(source.otherwise or NEXT, targets, (*source.path, "otherwise")),
                branches={
                    outcome: self._target(target, targets, (*source.path, "if", outcome))
                    for outcome, target in source.branches.items()
                },
                supply=supply.inside(source),
            )
            self.row.append(laid)
            if source.kind == "do":
                if source.text in inside_of:
                    what = f"the list '{source.text}' would be done inside itself"
                    raise self.document.error(what, (*source.path, "do"), "Branch back with a limit instead")
                self._lay(source.text, source.text, laid.follows, (*inside_of, source.text), laid.supply)
                laid.inside = (number + 1, len(self.row))

    def _target(self, name: str, targets: Mapping[str, _Place], path: Path) -> _Place:
        if name in targets:
            return targets[name]
        close = nearest(name, targets)
        cure = f"Did you mean '{close}'?" if close else f"The targets here are: {', '.join(targets)}"
        raise self.document.error(f"there is no step '{name}' in this list", path, cure)


def _numbered(number: int, laid: _Laid) -> CheckStep:
    source = laid.source
    return CheckStep(
        number=number,
        kind=source.kind,
        text=source.point or source.text,
        follows=laid.follows.number,
        name=source.name,
        part=laid.part,
        point=source.point,
        choices=source.choices,
        wait_s=source.wait_s,
        needs=laid.supply.needs,
        only=laid.supply.only,
        most=source.most,
        otherwise=laid.otherwise.number,
        branches={outcome: place.number for outcome, place in laid.branches.items()},
        proof=source.proof,
        expected=source.expected,
        inside=laid.inside,
    )


def _refuse_unreached(
    document: Document, lists: Mapping[str, Sequence[Source]], row: Sequence[_Laid], steps: Sequence[CheckStep]
) -> None:
    laid = {entry.source.path for entry in row}
    for name, sources in lists.items():
        if name and sources[0].path not in laid:
            cure = f"Add a step with do: {name}, or remove the list"
            raise document.error(f"the list '{name}' is never done", ("lists", name), cure)
    found = {row[number].source.path for number in reached(steps)}
    for entry in row:
        if entry.source.path not in found:
            what = "this step is never reached"
            raise document.error(what, entry.source.path, "Branch to it, or remove it")


def _refuse_circles(document: Document, row: Sequence[_Laid], steps: Sequence[CheckStep]) -> None:
    round_ = circle(steps)
    if not round_:
        return
    names = ", then ".join(f"'{steps[number].name or steps[number].label}'" for number in round_)
    cure = "Give one of them 'at most: 3' and 'otherwise: end', or where it shall go on then"
    raise document.error(f"this can go round without end: {names}", row[round_[0]].source.path, cure)

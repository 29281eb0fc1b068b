"""`alike:` and `known good within:` of a board file: which points should read alike, and how far they may differ."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from pydantic import Field

from benchvoice.decide.board import Alike, Point
from benchvoice.decide.fields import FileModel, Line, Tolerance, nearest
from benchvoice.decide.yaml_text import Document, Path
from benchvoice.records import Quantity

__all__ = ["AlikeInFile", "read_alike", "read_within"]

_WITHIN = Decimal(10)


class AlikeInFile(FileModel):
    """Points that should read alike."""

    points: tuple[Line, ...] = Field(min_length=2)
    within: Tolerance | None = None


def read_within(document: Document, written: Quantity | None, path: Path) -> Decimal:
    """How far two values may lie apart, in per cent: 10 where nothing is given.

    Raises:
        BoardError: it is no percentage above zero.
    """
    if written is None:
        return _WITHIN
    if written.unit != "%" or not 0 < written.number <= 100:
        raise document.error(f"'{written}' is not a percentage above 0, up to 100", path, "Write 10 %")
    return written.number


def read_alike(document: Document, written: Sequence[AlikeInFile], points: Sequence[Point]) -> tuple[Alike, ...]:
    """The groups of points that should read alike.

    Raises:
        BoardError: a point is not there, named twice, or of another quantity or waveform than the
            first.
    """
    by_name = {point.name: point for point in points}
    for index, group in enumerate(written):
        for at, name in enumerate(group.points):
            path: Path = ("alike", index, "points", at)
            if name not in by_name:
                close = nearest(name, by_name)
                cure = f"Did you mean '{close}'?" if close else f"The points are: {', '.join(by_name)}"
                raise document.error(f"there is no point '{name}'", path, cure)
            if name in group.points[:at]:
                raise document.error(f"'{name}' is named twice", path, "Name each once")
            first, this = by_name[group.points[0]], by_name[name]
            if this.quantity != first.quantity:
                what = f"'{name}' is {this.quantity}, '{first.name}' is {first.quantity}"
                raise document.error(what, path, "Compare points of one quantity")
            waveforms = [point.usual_waveform for point in (this, first)]
            if all(waveforms) and waveforms[0] != waveforms[1]:
                what = f"'{name}' is {waveforms[0]}, '{first.name}' is {waveforms[1]}"
                raise document.error(what, path, "Compare AC with AC, or DC with DC")
    return tuple(
        Alike(group.points, read_within(document, group.within, ("alike", index, "within")))
        for index, group in enumerate(written)
    )

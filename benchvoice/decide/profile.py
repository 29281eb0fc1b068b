"""The board profile, validated from the text of a board file: what is written there, and whether it makes sense."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Literal

from pydantic import Field

from benchvoice.decide.alike_file import AlikeInFile, read_alike, read_within
from benchvoice.decide.board import Board, FedBy, Part, Point
from benchvoice.decide.computed_file import ComputedInFile, check_computed, form_of, quantity_of, read_formula
from benchvoice.decide.fields import (
    Count,
    FileModel,
    Flag,
    Line,
    QuantityName,
    Refs,
    Tolerance,
    Written,
    checked,
    file_schema,
    in_unit,
    nearest,
)
from benchvoice.decide.hazards import HazardInFile, read_hazards
from benchvoice.decide.intake_file import IndicatorInFile, read_intake
from benchvoice.decide.meter import Meter, read_meter
from benchvoice.decide.point_names import NameBook
from benchvoice.decide.yaml_text import Document, Path, load_document
from benchvoice.errors import BoardError
from benchvoice.records import Quantity
from benchvoice.units import QUANTITIES, UNITS, QuantityKind, convert, quantity_kind

__all__ = ["Board", "FedBy", "Meter", "Part", "Point", "json_schema", "read_board", "read_meter", "unlisted_parts"]


class _LimitsInFile(FileModel):
    low: Written | None = None
    high: Written | None = None
    source: Line | None = None


class _FedByInFile(FileModel):
    point: Line
    through: Refs | None = None


class _PointInFile(FileModel):
    name: Line
    say: tuple[Line, ...] | None = Field(default=None, min_length=1)
    quantity: QuantityName | None = None
    nominal: Written | None = None
    tolerance: Tolerance | None = None
    limits: _LimitsInFile | None = None
    fed_by: _FedByInFile | None = None
    loads: Refs | None = None
    load_of: Line | None = None
    state: Literal["powered", "unpowered", "either"] | None = None
    alone: Flag = False
    display: Literal["V", "mV"] | None = None
    decimals: Count | None = None
    waveform: Literal["AC", "DC"] | None = None
    expected: Line | None = None
    shape: Literal["sine", "square", "triangle", "pulse", "distorted"] | None = None
    known_good: Written | None = Field(default=None, alias="known good")
    computed: ComputedInFile | None = None


class _PartInFile(FileModel):
    ref: Line
    what: Line = Field(alias="is")
    fails: Literal["often", "seldom"] | None = None


class _BoardInFile(FileModel):
    board: Line
    revision: Line | None = None
    points: tuple[_PointInFile, ...] = Field(min_length=1)
    parts: tuple[_PartInFile, ...] = ()
    hazards: tuple[HazardInFile, ...] = ()
    alike: tuple[AlikeInFile, ...] = ()
    known_good_within: Tolerance | None = Field(default=None, alias="known good within")
    complaints: tuple[Line, ...] = ()
    accessories: tuple[Line, ...] = ()
    indicators: tuple[IndicatorInFile, ...] = ()


def json_schema() -> dict[str, Any]:
    """JSON Schema (Draft 2020-12) of a board file, for editors."""
    return file_schema(_BoardInFile, "benchvoice board file")


def _nothing(_name: str) -> str:
    return ""


def read_board(text: str, file: str, *, taken_for: Callable[[str], str] = _nothing) -> Board:
    """The board profile that a board file's text gives.

    Args:
        text: the file's text.
        file: its name, for messages.
        taken_for: what a spoken name already means at the bench ("an answer"), empty for none; such a name is refused.

    Raises:
        BoardError: naming file, line, field and what to do.
    """
    document = load_document(text, file)
    written = checked(document, _BoardInFile)
    _refuse_twice(document, tuple(point.name for point in written.points), "points", "name")
    points = tuple(_point(document, point, ("points", index)) for index, point in enumerate(written.points))
    points = _with_names(
        NameBook(document, taken_for), written.points, _with_formulas(document, written.points, points)
    )
    _check_supplies(document, points)
    check_computed(document, points)
    _refuse_twice(document, tuple(part.ref for part in written.parts), "parts", "ref")
    return Board(
        name=written.board,
        points=points,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
        revision=written.revision,
        parts=tuple(Part(part.ref, part.what, part.fails) for part in written.parts),
        hazards=read_hazards(document, written.hazards, tuple(point.name for point in points)),
        alike=read_alike(document, written.alike, points),
        known_good_within=read_within(document, written.known_good_within, ("known good within",)),
        intake=read_intake(document, written.complaints, written.accessories, written.indicators, taken_for),
    )


def _refuse_twice(document: Document, names: tuple[str, ...], items: str, key: str) -> None:
    seen: dict[str, int] = {}
    for index, name in enumerate(names):
        first = seen.setdefault(name.casefold(), index)
        if first != index:
            line = document.lines.get((items, first))
            raise document.error(f"'{name}' is given twice, first on line {line}", (items, index, key), "Rename one")


@dataclass(frozen=True)
class _PointReader:
    """One point as it is written, and where."""

    document: Document
    written: _PointInFile
    path: Path
    kind: QuantityKind
    unit: str

    def error(self, what: str, *field: str, cure: str | None = None) -> BoardError:
        return self.document.error(what, (*self.path, *field), cure)

    def number(self, value: Quantity | None, *field: str) -> Decimal | None:
        return None if value is None else self.exact(value, *field)

    def exact(self, value: Quantity, *field: str) -> Decimal:
        return in_unit(self.document, value, self.kind, self.unit, (*self.path, *field))

    def limits(self, nominal: Decimal | None) -> tuple[Decimal | None, Decimal | None]:
        """Low and high in the point's unit, as written or from the tolerance."""
        limits = self.written.limits
        if self.written.tolerance is not None:
            if limits is not None:
                raise self.error("both tolerance and limits are given", "tolerance", cure="Keep one of them")
            return self._from_tolerance(nominal, self.written.tolerance)
        if limits is None:
            return None, None
        if limits.low is None and limits.high is None:
            raise self.error("limits need a low or a high value", "limits")
        low = self.number(limits.low, "limits", "low")
        high = self.number(limits.high, "limits", "high")
        self._check_order(low, high)
        if nominal is not None and ((low is not None and nominal < low) or (high is not None and nominal > high)):
            what = f"nominal {nominal:f} {self.unit} lies outside the limits"
            raise self.error(what.replace("  ", " "), "nominal", cure="Check both")
        return low, high

    def _from_tolerance(self, nominal: Decimal | None, tolerance: Quantity) -> tuple[Decimal, Decimal]:
        if nominal is None:
            cure = "Write nominal too, or limits instead"
            raise self.error("a tolerance needs a nominal value", "tolerance", cure=cure)
        if tolerance.unit == "" and self.kind.base:
            cure = f"Write {tolerance} % of nominal, or {tolerance} {self.kind.base}"
            raise self.error(f"'{tolerance}' has neither a unit nor %", "tolerance", cure=cure)
        if tolerance.number < 0:
            cure = f"Write {str(tolerance).lstrip('-')}"
            raise self.error("a tolerance cannot be below zero", "tolerance", cure=cure)
        if tolerance.unit == "%":
            if tolerance.number > 100:
                raise self.error("a tolerance above 100 % says nothing", "tolerance", cure="Write limits instead")
            half = abs(nominal) * tolerance.number / 100
        else:
            half = self.exact(tolerance, "tolerance")
        if nominal < half and not self.kind.signed:
            what = f"the tolerance allows {self.kind.name} below zero"
            raise self.error(what, "tolerance", cure="Write limits instead")
        return nominal - half, nominal + half

    def _check_order(self, low: Decimal | None, high: Decimal | None) -> None:
        if low is None or high is None or low <= high:
            return
        low_text, high_text = f"{low:f} {self.unit}".rstrip(), f"{high:f} {self.unit}".rstrip()
        cure = f"Write low: {high_text}, high: {low_text}"
        if high < 0:
            cure += "; limits below zero are ordered by value too"
        raise self.error(f"the low limit {low_text} lies above the high limit {high_text}", "limits", "low", cure=cure)


def _kind_of(written: _PointInFile) -> QuantityKind:
    """The quantity that is given, else the one that the first unit measures; a voltage where none tells."""
    if written.quantity is not None:
        return quantity_kind(written.quantity)
    if written.computed is not None:
        return quantity_kind(quantity_of(written.computed))
    limits = written.limits or _LimitsInFile()
    values = (written.nominal, limits.low, limits.high, written.tolerance, written.known_good)
    units = [value.unit for value in values if value is not None and value.unit in UNITS]
    # volts measure a voltage unless it is said otherwise; it stands before ripple and diode drop in the table
    return next((kind for unit in units for kind in QUANTITIES.values() if unit in kind.units), QUANTITIES["voltage"])


def _point(document: Document, written: _PointInFile, path: Path) -> Point:
    kind = _kind_of(written)
    limits = written.limits or _LimitsInFile()
    values = (written.nominal, limits.low, limits.high, written.known_good)
    given = [value.unit for value in values if value is not None]
    # a wrong unit is reported where it stands; until then the base unit serves
    unit = next((unit for unit in given if unit in kind.units), kind.base)
    reader = _PointReader(document, written, path, kind, unit)
    if written.display is not None and kind.name != "diode drop":
        raise reader.error("display is for a diode drop only", "display", cure="Leave the line out")
    if written.waveform is not None and kind.base not in ("V", "A"):
        raise reader.error(f"{kind.name} has no waveform", "waveform", cure="Leave the line out")
    if written.computed is not None:
        _check_follows(reader, written.computed)
    right = _right(reader)
    nominal = reader.number(written.nominal, "nominal")
    low, high = reader.limits(nominal)
    return Point(
        name=written.name,
        say=(),
        quantity=kind.name,
        unit=unit,
        nominal=nominal,
        low=low,
        high=high,
        source=limits.source,
        fed_by=None if written.fed_by is None else _fed_by(written.fed_by),
        loads=written.loads or (),
        load_of=written.load_of,
        state=written.state,
        alone=written.alone,
        display=written.display,
        decimals=written.decimals,
        waveform=written.waveform,
        right=right,
        shape=_shape(reader),
        known_good=_known_good(reader, low is not None or high is not None),
    )


def _shape(reader: _PointReader) -> Literal["square", "triangle", "pulse", "distorted"] | None:
    """The wave where it is no sine; only AC has one."""
    shape = reader.written.shape
    if shape is not None and reader.written.waveform != "AC" and reader.kind.name != "ripple":
        raise reader.error("only AC has a shape", "shape", cure="Write waveform: AC too, or leave the line out")
    return None if shape == "sine" else shape


def _known_good(reader: _PointReader, judged: bool) -> Decimal | None:
    written = reader.written.known_good
    if written is None:
        return None
    if reader.kind.words:
        raise reader.error(f"{reader.kind.name} is not compared", "known good", cure="Write expected instead")
    if judged:
        what = "a point with limits is judged by them, not compared"
        raise reader.error(what, "known good", cure="Keep the limits, or the known-good value")
    return reader.exact(written, "known good")


def _right(reader: _PointReader) -> str | None:
    """The right value, where values are words: nothing else can then be given."""
    words, expected = reader.kind.words, reader.written.expected
    if not words:
        if expected is not None:
            cure = "Write nominal and tolerance, or limits"
            raise reader.error(f"{reader.kind.name} is a number", "expected", cure=cure)
        return None
    for key in ("nominal", "tolerance", "limits"):
        if getattr(reader.written, key) is not None:
            raise reader.error(f"{reader.kind.name} has no {key}", key, cure=f"Write expected: {words[0]}")
    if reader.written.state == "powered":
        what = f"{reader.kind.name} is measured on a unit without power"
        raise reader.error(what, "state", cure="Write state: unpowered, or leave the line out")
    if expected is not None and expected not in words:
        raise reader.error(f"'{expected}' is not {' or '.join(words)}", "expected")
    return expected


_OF_MEASURED = ("fed_by", "loads", "load_of", "state", "display", "decimals", "waveform", "shape", "expected")
"""Keys of a point that mean nothing where its value is computed."""


def _check_follows(reader: _PointReader, computed: ComputedInFile) -> None:
    form_of(reader.document, computed, (*reader.path, "computed"))
    quantity = quantity_of(computed)
    if reader.kind.name != quantity:
        raise reader.error(f"what is computed here is a {quantity}", "quantity", cure="Leave the line out")
    for key in _OF_MEASURED:
        if getattr(reader.written, key) is not None:
            raise reader.error(f"'{key}' is for a point that is measured", key, cure="Leave the line out")
    if reader.written.alone:
        raise reader.error("a computed value is not said", "alone", cure="Leave the line out")


def _with_formulas(
    document: Document, written: tuple[_PointInFile, ...], points: tuple[Point, ...]
) -> tuple[Point, ...]:
    names = tuple(point.name for point in points)
    formulas = (
        None if entry.computed is None else read_formula(document, entry.computed, ("points", index, "computed"), names)
        for index, entry in enumerate(written)
    )
    return tuple(replace(point, computed=formula) for point, formula in zip(points, formulas, strict=True))


def _with_names(book: NameBook, written: tuple[_PointInFile, ...], points: tuple[Point, ...]) -> tuple[Point, ...]:
    """The points with their spoken names; a name that two points would share is refused."""
    for index, entry in enumerate(written):
        book.add(index, entry.name, entry.say or ())
    for index, point in enumerate(points):
        if not written[index].say and point.quantity == "voltage" and point.nominal is not None:
            book.add_nominal(index, point.name, convert(point.nominal, point.unit, "V"))
    for index, entry in enumerate(written):
        book.add_written(index, entry.name)
    return tuple(replace(point, say=book.names(index)) for index, point in enumerate(points))


def _fed_by(written: _FedByInFile) -> FedBy:
    return FedBy(written.point, tuple(written.through or ()))


def _check_supplies(document: Document, points: tuple[Point, ...]) -> None:
    supply = {point.name: point.fed_by.point for point in points if point.fed_by is not None}
    names = dict.fromkeys(point.name for point in points)
    for index, point in enumerate(points):
        if point.load_of is not None:
            _check_load_of(document, index, point, names)
        if point.fed_by is None:
            continue
        path: Path = ("points", index, "fed_by", "point")
        _check_named(document, point.fed_by.point, names, path)
        at, steps = point.name, 0
        while at in supply and steps <= len(points):
            at, steps = supply[at], steps + 1
            if at == point.name:
                raise document.error(f"'{point.name}' would feed itself", path, "Name the supply it comes from")


def _check_load_of(document: Document, index: int, point: Point, names: Iterable[str]) -> None:
    path: Path = ("points", index, "load_of")
    _check_named(document, str(point.load_of), names, path)
    if point.load_of == point.name:
        raise document.error(f"'{point.name}' would show its own load", path, "Name the rail that it is measured on")
    if point.fed_by is not None:
        cure = "Keep load_of for what is measured unpowered, fed_by for the rail itself"
        raise document.error("both fed_by and load_of are given", path, cure)


def _check_named(document: Document, name: str, names: Iterable[str], path: Path) -> None:
    if name not in names:
        close = nearest(name, names)
        cure = f"Did you mean '{close}'?" if close else f"The points are: {', '.join(names)}"
        raise document.error(f"there is no point '{name}'", path, cure)


def unlisted_parts(text: str, file: str) -> tuple[str, ...]:
    """A sentence for each part that a point or a hazard of the board file names and its `parts` do not, with the line.

    Such a board serves, but what the part is cannot be said, and a slip of the pen makes two suspects of one.

    Raises:
        BoardError: the file is no board file.
    """
    document = load_document(text, file)
    written = checked(document, _BoardInFile)
    refs = [part.ref for part in written.parts]
    named: list[tuple[Path, Iterable[str]]] = []
    for index, point in enumerate(written.points):
        through = () if point.fed_by is None else point.fed_by.through or ()
        named.append((("points", index, "fed_by", "through"), through))
        named.append((("points", index, "loads"), point.loads or ()))
    for index, hazard in enumerate(written.hazards):
        named.append((("hazards", index, "ref"), () if hazard.ref is None else (hazard.ref,)))
    return tuple(_unlisted(document, path, ref, refs) for path, each in named for ref in each if ref not in refs)


def _unlisted(document: Document, path: Path, ref: str, refs: list[str]) -> str:
    close = nearest(ref, refs)
    cure = f"Did you mean '{close}'?" if close else f"Add {{ref: {ref}, is: …}} to parts"
    return str(document.error(f"'{ref}' is not among the parts", path, cure))

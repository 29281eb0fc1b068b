"""The meter: what it shows and how far that can be trusted, by function and range, validated from its file's text.

```yaml
name: bench multimeter
diode_display: V
functions:
  - quantity: voltage
    ranges:
      - {up_to: 600 mV, resolution: 0.1 mV, accuracy: {reading: 0.5 %, counts: 2}}
      - {up_to: 6 V, resolution: 0.001 V, accuracy: {reading: 0.5 %, counts: 2}}
  - quantities: [resistance]
    ranges:
      - {up_to: 6 kohm, resolution: 1 ohm, accuracy: {reading: 0.8 %, range: 0.01 %}}
```
A function may say `waveform: AC` or `DC`; without it, it serves both. `range` is in per cent of `up_to`. One that
measures AC may say `responds: true rms` or `average`: how it does decides whether a wave that is no sine is judged.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from pydantic import Field

from benchvoice.decide.fields import Count, FileModel, Line, QuantityName, Written, checked, file_schema, in_unit
from benchvoice.decide.yaml_text import Document, Path, load_document
from benchvoice.units import convert, quantity_kind

__all__ = ["Meter", "MeterFunction", "MeterRange", "meter_schema", "read_meter"]


@dataclass(frozen=True)
class MeterRange:
    """One range of a function.

    Attributes:
        up_to: the largest value it shows, in `unit`.
        resolution: one count, in `unit`.
        unit: the unit in which the file gives the range, which is taken as the one that the meter shows.
        reading_percent: accuracy, part in per cent of the reading.
        counts: accuracy, part in counts of the resolution.
        range_percent: accuracy, part in per cent of `up_to`.
    """

    up_to: Decimal
    resolution: Decimal
    unit: str
    reading_percent: Decimal = Decimal(0)
    counts: int = 0
    range_percent: Decimal = Decimal(0)

    @property
    def decimals(self) -> int:
        """Digits after the point that it shows."""
        exponent = self.resolution.as_tuple().exponent
        return max(0, -exponent) if isinstance(exponent, int) else 0


@dataclass(frozen=True)
class MeterFunction:
    """A function of the meter. `ranges` are ordered from the smallest to the largest.

    `responds` is how it responds to AC: to the true r.m.s. value, or to the average, shown as if the wave were a sine.
    """

    quantities: tuple[str, ...]
    ranges: tuple[MeterRange, ...]
    waveform: Literal["AC", "DC"] | None = None
    responds: Literal["true rms", "average"] | None = None


@dataclass(frozen=True)
class Meter:
    """A meter. `sha256` is that of the file's text in UTF-8, as hexadecimal."""

    name: str
    functions: tuple[MeterFunction, ...]
    sha256: str
    diode_display: Literal["V", "mV"] | None = None

    def function(self, quantity: str, waveform: Literal["AC", "DC"] | None = None) -> MeterFunction | None:
        """The function for a quantity; None where the meter has none.

        Where no waveform is said, DC is meant if the meter tells the two apart for that quantity.
        """
        fitting = [function for function in self.functions if quantity in function.quantities]
        exact = [function for function in fitting if function.waveform == (waveform or "DC")]
        both = [function for function in fitting if function.waveform is None]
        any_other = fitting if waveform is None else []
        return next(iter(exact + both + any_other), None)

    def range_for(
        self, quantity: str, number: Decimal, unit: str, waveform: Literal["AC", "DC"] | None = None
    ) -> MeterRange | None:
        """The smallest range that covers the value, as a meter that ranges by itself chooses it; None beyond all."""
        function = self.function(quantity, waveform)
        if function is None:
            return None
        for meter_range in function.ranges:
            if abs(number) <= convert(meter_range.up_to, meter_range.unit, unit):
                return meter_range
        return None

    def decimals(self, quantity: str) -> int | None:
        """The most digits after the point that it shows for a quantity; None where it does not measure that."""
        shown = [
            meter_range.decimals
            for function in self.functions
            if quantity in function.quantities
            for meter_range in function.ranges
        ]
        return max(shown, default=None)


class _AccuracyInFile(FileModel):
    reading: Written | None = None
    counts: Count | None = None
    range: Written | None = None


class _RangeInFile(FileModel):
    up_to: Written
    resolution: Written
    accuracy: _AccuracyInFile


class _FunctionInFile(FileModel):
    quantity: QuantityName | None = None
    quantities: tuple[QuantityName, ...] | None = None
    waveform: Literal["AC", "DC"] | None = None
    responds: Literal["true rms", "average"] | None = None
    ranges: tuple[_RangeInFile, ...] = Field(min_length=1)


class _MeterInFile(FileModel):
    name: Line
    diode_display: Literal["V", "mV"] | None = None
    functions: tuple[_FunctionInFile, ...] = Field(min_length=1)


def meter_schema() -> dict[str, Any]:
    """JSON Schema (Draft 2020-12) of a meter file, for editors."""
    return file_schema(_MeterInFile, "benchvoice meter file")


def read_meter(text: str, file: str) -> Meter:
    """The meter that a meter file's text describes.

    Args:
        text: the file's text.
        file: its name, for messages.

    Raises:
        BoardError: naming file, line, field and what to do.
    """
    document = load_document(text, file)
    written = checked(document, _MeterInFile)
    functions = tuple(
        _function(document, function, ("functions", index)) for index, function in enumerate(written.functions)
    )
    _refuse_twice(document, functions)
    sha256 = hashlib.sha256(text.encode()).hexdigest()
    return Meter(written.name, functions, sha256, written.diode_display)


def _refuse_twice(document: Document, functions: tuple[MeterFunction, ...]) -> None:
    seen: set[tuple[str, str | None]] = set()
    for index, function in enumerate(functions):
        for quantity in function.quantities:
            if (quantity, function.waveform) in seen:
                raise document.error(f"{quantity} is described twice", ("functions", index), "Keep one of them")
            seen.add((quantity, function.waveform))


def _function(document: Document, written: _FunctionInFile, path: Path) -> MeterFunction:
    if (written.quantity is None) == (not written.quantities):
        raise document.error("a function needs either quantity or quantities", path, "Write quantity: voltage")
    quantities = written.quantities or (str(written.quantity),)
    if len({quantity_kind(quantity).base for quantity in quantities}) > 1:
        raise document.error("these quantities have different units", (*path, "quantities"), "Describe each alone")
    ranges = [
        _range(document, entry, quantities[0], (*path, "ranges", index)) for index, entry in enumerate(written.ranges)
    ]
    base = quantity_kind(quantities[0]).base
    tops = [convert(entry.up_to, entry.unit, base) if base else entry.up_to for entry in ranges]
    for index, top in enumerate(tops):
        if top in tops[:index]:
            raise document.error("two ranges reach up to the same value", (*path, "ranges", index), "Keep one of them")
    ordered = tuple(entry for _, entry in sorted(zip(tops, ranges, strict=True), key=lambda pair: pair[0]))
    if written.responds is not None and (base not in ("V", "A") or written.waveform == "DC"):
        cure = "Write it for a function that measures AC"
        raise document.error("only AC is responded to in one way or the other", (*path, "responds"), cure)
    return MeterFunction(quantities, ordered, written.waveform, written.responds)


def _range(document: Document, written: _RangeInFile, quantity: str, path: Path) -> MeterRange:
    kind = quantity_kind(quantity)
    unit = written.up_to.unit
    up_to = in_unit(document, written.up_to, kind, unit, (*path, "up_to"))
    resolution = in_unit(document, written.resolution, kind, unit, (*path, "resolution"))
    if up_to <= 0:
        raise document.error("a range must reach above zero", (*path, "up_to"))
    if not 0 < resolution < up_to:
        cure = "Write one count of the display in this range"
        raise document.error("a resolution lies between zero and the range", (*path, "resolution"), cure)
    accuracy = written.accuracy
    if accuracy.reading is None and accuracy.counts is None and accuracy.range is None:
        cure = "Write {reading: 0.5 %, counts: 2}"
        raise document.error("accuracy needs reading, counts or range", (*path, "accuracy"), cure)
    return MeterRange(
        up_to=up_to,
        resolution=resolution,
        unit=unit,
        reading_percent=_percent(document, accuracy.reading, (*path, "accuracy", "reading")),
        counts=accuracy.counts or 0,
        range_percent=_percent(document, accuracy.range, (*path, "accuracy", "range")),
    )


def _percent(document: Document, value: Written | None, path: Path) -> Decimal:
    if value is None:
        return Decimal(0)
    if value.unit != "%" or value.number < 0 or value.number > 100:
        raise document.error(f"'{value}' is not a percentage from 0 to 100", path, "Write 0.5 %")
    return value.number

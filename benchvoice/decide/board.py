"""A board: its points with their limits and names, and its parts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from types import MappingProxyType
from typing import Literal

from benchvoice.decide.discharge import is_hazardous
from benchvoice.decide.formulas import Formula
from benchvoice.decide.hazards import Hazard
from benchvoice.decide.intake_file import BoardIntake
from benchvoice.decide.meter import Meter
from benchvoice.part_values import part_quantity
from benchvoice.records import SpokenPart, SpokenPoint
from benchvoice.spelling import name_in_words
from benchvoice.units import QuantityKind, convert, quantity_kind

__all__ = ["Alike", "Board", "FedBy", "Part", "Point"]

_DEFAULT_DECIMALS = 4

_WITHOUT_POWER = ("resistance", "diode drop", "continuity")
"""What a meter measures with a current of its own: under power it shows nonsense, and can be damaged."""

_WITH_POWER = ("voltage", "ripple", "current", "frequency", "power", "level")
"""What a unit without power shows nothing of, or what is left in its capacitors."""


@dataclass(frozen=True)
class FedBy:
    """Where a point's supply comes from: another point, and the parts between them, each of which it needs.

    `parts` are their references in the order in which the file names them.
    """

    point: str
    parts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Part:
    """A part on the board: its reference ("U4"), what it is ("3.3 V regulator"), and whether it fails more than others.

    `fails` is "often" or "seldom", None for neither.
    """

    ref: str
    what: str
    fails: Literal["often", "seldom"] | None = None


@dataclass(frozen=True)
class Point:
    """A place to measure.

    Attributes:
        name: its name in the board file.
        say: what it may be called, in words, lower case.
        quantity: the quantity's name, a key of `units.QUANTITIES`.
        unit: the unit its values are written in: that of its nominal, else of its limits, else the base unit.
        nominal, low, high: in `unit`; None where not given.
        source: where the limits come from.
        fed_by: its supply.
        loads: references of parts that hang on it and can pull it down.
        load_of: the point whose loads it shows, as a resistance from a rail to ground does.
        state: whether the board is to be powered while it is measured; "either" where that does not matter.
        alone: whether its value may be said at any time without naming it.
        display: for a diode drop, the unit that the meter shows.
        decimals: the most digits after the point, where the file says so.
        waveform: what is measured there, where the file says so.
        right: the right value where its values are words ("open circuit"); None where none is given.
        shape: of AC, the wave where it is no sine.
        known_good: what a known-good board reads there, in `unit`.
        computed: how its value follows from those of other points; None where it is measured.
    """

    name: str
    say: tuple[str, ...]
    quantity: str
    unit: str
    nominal: Decimal | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    source: str | None = None
    fed_by: FedBy | None = None
    loads: tuple[str, ...] = ()
    load_of: str | None = None
    state: Literal["powered", "unpowered", "either"] | None = None
    alone: bool = False
    display: Literal["V", "mV"] | None = None
    decimals: int | None = None
    waveform: Literal["AC", "DC"] | None = None
    right: str | None = None
    shape: Literal["square", "triangle", "pulse", "distorted"] | None = None
    known_good: Decimal | None = None
    computed: Formula | None = None

    @property
    def judged(self) -> bool:
        """Whether there is anything to judge its values by."""
        return self.low is not None or self.high is not None or self.right is not None

    @property
    def kind(self) -> QuantityKind:
        """What is known of its quantity."""
        return quantity_kind(self.quantity)

    @property
    def unpowered(self) -> bool:
        """Whether it must not be measured while the unit is powered."""
        return self.quantity in _WITHOUT_POWER or self.state == "unpowered"

    @property
    def powered(self) -> bool:
        """Whether its value tells something only while the unit is powered, as far as the point itself says."""
        if self.quantity in _WITHOUT_POWER:
            return False
        if self.state is not None:
            return self.state == "powered"
        return self.computed is None and self.quantity in _WITH_POWER

    @property
    def supply(self) -> Literal["powered", "unpowered"] | None:
        """How the file says that the supply has to stand while it is measured; None where it need not."""
        return None if self.state == "either" else self.state

    @property
    def hazardous(self) -> bool:
        """Whether the voltage that is expected there lies above what is commonly held hazardous live."""
        if self.kind.base != "V" or self.expected is None:
            return False
        return is_hazardous(convert(self.expected, self.unit, "V"), self.usual_waveform)

    @property
    def usual_waveform(self) -> Literal["AC", "DC"] | None:
        """What is measured there where nothing else is said; a ripple is AC."""
        return self.waveform or ("AC" if self.quantity == "ripple" else None)

    @property
    def expected(self) -> Decimal | None:
        """The size that is expected, above zero, in `unit`: nominal, else the limit farther from zero.

        None where nothing bounds it: a resistance with a low limit alone may be anything above.
        """
        if self.nominal:
            return abs(self.nominal)
        if self.high is None and self.quantity == "resistance":
            return None
        return max((abs(limit) for limit in (self.low, self.high) if limit), default=None)

    @property
    def sign(self) -> int:
        """1 or -1 where all values that make sense have that sign, else 0; a low limit below zero alone tells none."""
        if self.nominal:
            return 1 if self.nominal > 0 else -1
        if self.low is not None and self.low >= 0:
            return 1
        if self.high is None or (self.low is not None and self.high > 0):
            return 0
        return 1 if self.high > 0 else -1


@dataclass(frozen=True)
class Alike:
    """Points that should read alike, such as two channels, within so many per cent."""

    points: tuple[str, ...]
    within: Decimal


@dataclass(frozen=True)
class Board:
    """A board profile. `sha256` is that of the file's text in UTF-8, as hexadecimal.

    `known_good_within`: how far a reading may lie from a known-good board's, in per cent.
    """

    name: str
    points: tuple[Point, ...]
    sha256: str
    revision: str | None = None
    parts: tuple[Part, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    alike: tuple[Alike, ...] = ()
    known_good_within: Decimal = Decimal(10)
    intake: BoardIntake = field(default_factory=BoardIntake)

    @cached_property
    def by_name(self) -> Mapping[str, Point]:
        """The points by their names."""
        return MappingProxyType({point.name: point for point in self.points})

    def point(self, name: str) -> Point:
        """The point of that name. Raises KeyError where there is none."""
        return self.by_name[name]

    @cached_property
    def computed(self) -> tuple[Point, ...]:
        """The points whose values are computed, each behind those that it follows from."""
        found: dict[str, Point] = {}

        def add(point: Point) -> None:
            if point.computed is not None and point.name not in found:
                for name in point.computed.inputs:
                    add(self.point(name))
                found[point.name] = point

        for point in self.points:
            add(point)
        return tuple(found.values())

    def measured_for(self, name: str) -> tuple[str, ...]:
        """The points that have to be measured for a point's value, each once: the point itself, unless it follows."""
        formula = self.point(name).computed
        if formula is None:
            return (name,)
        return tuple(dict.fromkeys(each for given in formula.inputs for each in self.measured_for(given)))

    @cached_property
    def minds_power(self) -> bool:
        """Whether it matters here that the unit is powered or not, so that it is worth listening for."""
        return bool(self.hazards) or any(point.supply or point.unpowered or point.hazardous for point in self.points)

    @cached_property
    def judged_with_power(self) -> frozenset[str]:
        """The points whose values, or what follows from them, can be judged only while the unit is powered."""
        judged = {point.name for point in self.points if point.judged or point.known_good is not None}
        judged |= {name for point in self.computed if point.name in judged for name in self.measured_for(point.name)}
        return frozenset(
            point.name for point in self.points if point.powered and (point.name in judged or point.state is not None)
        )

    def spoken_points(self, meter: Meter | None = None) -> tuple[SpokenPoint, ...]:
        """What the grammar needs to know of each point; decimals follow the meter where the file gives none."""
        return tuple(_spoken(point, meter) for point in self.points)

    def spoken_parts(self) -> tuple[SpokenPart, ...]:
        """The parts, each with its reference designator and with what it is, in words."""
        return tuple(_spoken_part(part) for part in self.parts)


def _spoken_part(part: Part) -> SpokenPart:
    said = (name_in_words(part.ref), name_in_words(part.what))
    return SpokenPart(part.ref, tuple(name for name in said if name is not None), part_quantity(part.ref))


def _spoken(point: Point, meter: Meter | None) -> SpokenPoint:
    decimals = point.decimals
    if decimals is None and point.quantity == "digits":
        decimals = 0
    if decimals is None and meter is not None:
        decimals = meter.decimals(point.quantity)
    display = point.display or (meter.diode_display if meter is not None else None)
    return SpokenPoint(
        name=point.name,
        say=point.say,
        quantity=point.quantity,
        unit=point.unit,
        decimals=_DEFAULT_DECIMALS if decimals is None else decimals,
        alone=point.alone,
        volts_shown=None if display is None or point.quantity != "diode drop" else display == "V",
        expected=None if point.quantity == "digits" else point.expected,
    )

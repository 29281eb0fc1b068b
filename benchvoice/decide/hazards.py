"""The hazards that a board file declares, read and checked: mains, high voltage, charged capacitors and the like."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from pydantic import Field

from benchvoice.decide.discharge import HAZARDOUS_V, discharge_s, energy_j
from benchvoice.decide.fields import FileModel, Line, Refs, Written, in_unit, nearest
from benchvoice.decide.yaml_text import Document, Path
from benchvoice.records import Quantity
from benchvoice.units import quantity_kind

__all__ = ["Capacitor", "Declared", "Hazard", "HazardInFile", "read_hazards"]

Declared = Literal["mains", "high voltage", "capacitor", "moving parts", "laser", "battery"]
"""The hazards that a board can have."""

_AT_POINTS = ("mains", "high voltage")
_OF_CAPACITORS = ("ref", "capacitance", "voltage", "bleeder", "safe")


@dataclass(frozen=True)
class Capacitor:
    """A reservoir capacitor that can hold a charge.

    Attributes:
        ref: its reference.
        farads: its capacitance.
        volts: its working voltage.
        bleeder_ohms: the resistor across it; None where there is none.
        safe_volts: what counts as empty; None where the working voltage lies below what is commonly held hazardous.
    """

    ref: str
    farads: Decimal
    volts: Decimal
    bleeder_ohms: Decimal | None = None
    safe_volts: Decimal | None = None

    @property
    def joules(self) -> Decimal:
        """What it holds at its working voltage."""
        return energy_j(self.farads, self.volts)

    @property
    def seconds(self) -> Decimal | None:
        """How long its bleeder takes, if whole, to `safe_volts`; None without a bleeder."""
        if self.bleeder_ohms is None or self.safe_volts is None:
            return None
        return discharge_s(self.farads, self.bleeder_ohms, self.volts, self.safe_volts)


@dataclass(frozen=True)
class Hazard:
    """A hazard of the board: its kind, the points at which it is met, and what the file says of it."""

    kind: Declared
    at: tuple[str, ...] = ()
    what: str = ""
    capacitor: Capacitor | None = None


class HazardInFile(FileModel):
    """A hazard as the board file writes it."""

    kind: Declared = Field(alias="is")
    at: Refs | None = None
    what: Line | None = None
    ref: Line | None = None
    capacitance: Written | None = None
    voltage: Written | None = None
    bleeder: Written | None = None
    safe: Written | None = None


def read_hazards(document: Document, written: tuple[HazardInFile, ...], points: tuple[str, ...]) -> tuple[Hazard, ...]:
    """The hazards of a board file.

    Args:
        document: the file, for errors.
        written: its entries under `hazards`.
        points: the names of the board's points.

    Raises:
        BoardError: naming file, line and field of the first that makes no sense.
    """
    found: list[Hazard] = []
    refs: set[str] = set()
    for index, entry in enumerate(written):
        path: Path = ("hazards", index)
        _check_fields(document, entry, path, points)
        capacitor = _capacitor(document, entry, path) if entry.kind == "capacitor" else None
        if capacitor is not None:
            if capacitor.ref.casefold() in refs:
                raise document.error(f"'{capacitor.ref}' is given twice", (*path, "ref"), "Keep one of them")
            refs.add(capacitor.ref.casefold())
        found.append(Hazard(entry.kind, entry.at or (), entry.what or "", capacitor))
    return tuple(found)


def _check_fields(document: Document, entry: HazardInFile, path: Path, points: tuple[str, ...]) -> None:
    for field in _OF_CAPACITORS:
        if entry.kind != "capacitor" and getattr(entry, field) is not None:
            raise document.error(f"{field} is for a capacitor only", (*path, field), "Leave it out")
    if entry.at is not None and entry.kind not in _AT_POINTS:
        cure = f"Keep at for {' and '.join(_AT_POINTS)}; say where in what"
        raise document.error(f"at does not go with {entry.kind}", (*path, "at"), cure)
    for name in entry.at or ():
        if name not in points:
            close = nearest(name, points)
            cure = f"Did you mean '{close}'?" if close else f"The points are: {', '.join(points)}"
            raise document.error(f"there is no point '{name}'", (*path, "at"), cure)


def _capacitor(document: Document, entry: HazardInFile, path: Path) -> Capacitor:
    if entry.ref is None:
        raise document.error("a capacitor needs its ref", path, "Write ref: C1")
    farads = _above_zero(document, entry.capacitance, "capacitance", (*path, "capacitance"), "470 uF")
    volts = _above_zero(document, entry.voltage, "voltage", (*path, "voltage"), "400 V")
    ohms = None
    if entry.bleeder is not None:
        ohms = _above_zero(document, entry.bleeder, "resistance", (*path, "bleeder"), "100 kohm")
    safe = HAZARDOUS_V["DC"] if volts > HAZARDOUS_V["DC"] else None
    if entry.safe is not None:
        safe = _above_zero(document, entry.safe, "voltage", (*path, "safe"), "50 V")
        if safe >= volts:
            what = f"the safe voltage {entry.safe} is not below the working voltage {entry.voltage}"
            raise document.error(what, (*path, "safe"), "Check both")
    return Capacitor(entry.ref, farads, volts, ohms, safe)


def _above_zero(document: Document, value: Quantity | None, quantity: str, path: Path, example: str) -> Decimal:
    field = path[-1]
    if value is None:
        raise document.error(f"a capacitor needs its {field}", path[:-1], f"Write {field}: {example}")
    kind = quantity_kind(quantity)
    number = in_unit(document, value, kind, kind.base, path)
    if number <= 0:
        raise document.error(f"{field} must be above zero", path, f"Write {field}: {example}")
    return number

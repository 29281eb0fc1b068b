"""`computed:` of a board file: what it says, and whether it can be worked out from the board's points.

```yaml
computed: {drop: shunt drop, across: 0.1 ohm, tolerance: 1 %}    # a current
computed: {voltage: load voltage, current: load current}         # a power; with AC also: power factor: 0.9
computed: {temperature: regulator body, over: ambient}           # a temperature rise
computed: {voltage: output, ratio to: input}                     # a level in dB; also of currents, powers; to: 1 mW
computed: {voltage: input, divided by: {upper: 10 kohm, lower: 3.3 kohm}, tolerance: 1 %}
```
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType

from pydantic import Field

from benchvoice.decide.board import Point
from benchvoice.decide.fields import FileModel, Line, Tolerance, Written, in_unit, nearest
from benchvoice.decide.formulas import Constant, Form, Formula
from benchvoice.decide.yaml_text import Document, Path
from benchvoice.errors import BoardError, UnitError
from benchvoice.records import Quantity
from benchvoice.units import quantity_kind, read_typed

__all__ = ["ComputedInFile", "check_computed", "form_of", "quantity_of", "read_formula"]


class DividerInFile(FileModel):
    """The two resistors of a divider; the voltage is taken across the lower one."""

    upper: Written
    lower: Written


class ComputedInFile(FileModel):
    """How a value follows from others; which keys are given tells which form it is."""

    drop: Line | None = None
    across: Written | None = None
    voltage: Line | None = None
    current: Line | None = None
    power_factor: Written | None = Field(default=None, alias="power factor")
    temperature: Line | None = None
    over: Line | None = None
    power: Line | None = None
    ratio_to: Line | None = Field(default=None, alias="ratio to")
    divided_by: DividerInFile | None = Field(default=None, alias="divided by")
    tolerance: Tolerance | None = None


_KEYS: Mapping[Form, tuple[frozenset[str], frozenset[str]]] = MappingProxyType(
    {
        # form: what it needs, and what it may have
        "current": (frozenset({"drop", "across"}), frozenset({"tolerance"})),
        "power": (frozenset({"voltage", "current"}), frozenset({"power factor"})),
        "rise": (frozenset({"temperature", "over"}), frozenset()),
        "divided": (frozenset({"voltage", "divided by"}), frozenset({"tolerance"})),
    }
)
_RATIOS = MappingProxyType({"voltage": 20, "current": 20, "power": 10})
"""Decibels per factor of ten (IEC 60027-3, from memory): 20 for what goes into a power squared, 10 for a power."""
_QUANTITIES: Mapping[Form, str] = MappingProxyType(
    {"current": "current", "power": "power", "rise": "temperature rise", "level": "level", "divided": "voltage"}
)
_CURE = (
    "Write {drop: …, across: …}, {voltage: …, current: …}, {temperature: …, over: …}, {voltage: …, ratio to: …} "
    "or {voltage: …, divided by: {upper: …, lower: …}}"
)


def _given(written: ComputedInFile) -> frozenset[str]:
    fields = type(written).model_fields
    return frozenset(fields[name].alias or name for name in fields if getattr(written, name) is not None)


def _form(given: frozenset[str]) -> Form | None:
    if "ratio to" in given:
        return "level" if len(given) == 2 and not given.isdisjoint(_RATIOS) else None
    return next((form for form, (needs, may) in _KEYS.items() if needs <= given <= needs | may), None)


def form_of(document: Document, written: ComputedInFile, path: Path) -> Form:
    """Which form it is.

    Raises:
        BoardError: the keys that are given make none.
    """
    given = _given(written)
    form = _form(given)
    if form is None:
        named = ", ".join(sorted(given)) or "nothing"
        raise document.error(f"it does not follow what is computed from {named}", path, _CURE)
    return form


def quantity_of(written: ComputedInFile) -> str:
    """The quantity of what is computed; a voltage where the keys make no form, which `form_of` refuses."""
    form = _form(_given(written))
    return "voltage" if form is None else _QUANTITIES[form]


def read_formula(document: Document, written: ComputedInFile, path: Path, names: Sequence[str]) -> Formula:
    """How the value follows; whether its inputs make sense is for `check_computed`.

    Args:
        document: the board file.
        written: what it says there.
        path: where.
        names: the board's points.

    Raises:
        BoardError: a known value cannot be one.
    """
    form_of(document, written, path)
    reader = _Reader(document, written, path, names)
    if written.across is not None:
        return reader.current(written.across)
    if written.divided_by is not None:
        return reader.divided(written.divided_by)
    if written.ratio_to is not None:
        return reader.level(written.ratio_to)
    if written.temperature is not None:
        inputs = (written.temperature, str(written.over))
        return Formula("rise", inputs, text=f"{written.temperature} over {written.over}")
    return reader.power()


class _Reader:
    """One `computed:` as it is written, and where."""

    def __init__(self, document: Document, written: ComputedInFile, path: Path, names: Sequence[str]) -> None:
        self.document = document
        self.written = written
        self.path = path
        self.names = names

    def current(self, across: Quantity) -> Formula:
        """The current that a drop across a resistor tells."""
        text = f"{self.written.drop} across {across}{self._tolerance_text()}"
        return Formula("current", (str(self.written.drop),), (self._resistance(across, "across"),), text=text)

    def power(self) -> Formula:
        """Volts times amps, and the power factor, where it is given."""
        inputs = (str(self.written.voltage), str(self.written.current))
        factor = self._power_factor()
        text = " times ".join(inputs) + (f", power factor {factor[0].number}" if factor else "")
        return Formula("power", inputs, factor, text=text)

    def divided(self, resistors: DividerInFile) -> Formula:
        """What a divider leaves of a voltage."""
        both = tuple(self._resistance(getattr(resistors, name), "divided by", name) for name in ("upper", "lower"))
        text = f"{self.written.voltage} divided by {resistors.upper} and {resistors.lower}{self._tolerance_text()}"
        return Formula("divided", (str(self.written.voltage),), both, text=text)

    def level(self, under: str) -> Formula:
        """A ratio in decibels, to another point or to a known value of the same quantity."""
        quantity = next(name for name in _RATIOS if getattr(self.written, name) is not None)
        over = str(getattr(self.written, quantity))
        text = f"{over} in ratio to {under}"
        if under in self.names:
            return Formula("level", (over, under), (), _RATIOS[quantity], quantity, text)
        path = (*self.path, "ratio to")
        try:
            reference = Quantity(*read_typed(under))
        except UnitError:
            raise _no_point(self.document, under, self.names, path) from None
        kind = quantity_kind(quantity)
        number = in_unit(self.document, reference, kind, kind.base, path)
        if number <= 0:
            raise self.document.error("a level refers to a value above zero", path)
        return Formula("level", (over,), (Constant(number),), _RATIOS[quantity], quantity, text)

    def _resistance(self, value: Quantity, *field: str) -> Constant:
        """A resistor in ohms with its tolerance."""
        path = (*self.path, *field)
        number = in_unit(self.document, value, quantity_kind("resistance"), "ohm", path)
        if number <= 0:
            raise self.document.error("a resistor has more than 0 ohm", path)
        return Constant(number, number * self._tolerance() / 100)

    def _tolerance(self) -> Decimal:
        """In per cent; 0 where none is given."""
        tolerance = self.written.tolerance
        if tolerance is None:
            return Decimal(0)
        if tolerance.unit != "%" or not 0 <= tolerance.number < 100:
            what = f"'{tolerance}' is not the tolerance of a resistor"
            raise self.document.error(what, (*self.path, "tolerance"), "Write 1 %")
        return tolerance.number

    def _tolerance_text(self) -> str:
        return " (taken as exact)" if self.written.tolerance is None else f" ({self.written.tolerance})"

    def _power_factor(self) -> tuple[Constant, ...]:
        factor = self.written.power_factor
        if factor is None:
            return ()
        if factor.unit or not 0 < factor.number <= 1:
            what = f"'{factor}' is not a power factor"
            raise self.document.error(what, (*self.path, "power factor"), "Write a number above 0, up to 1")
        return (Constant(factor.number),)


def _no_point(document: Document, name: str, names: Sequence[str], path: Path) -> BoardError:
    close = nearest(name, names)
    cure = f"Did you mean '{close}'?" if close else f"The points are: {', '.join(names)}"
    return document.error(f"there is no point '{name}'", path, cure)


# --- all of them together ---------------------------------------------------------------------------------------------
def check_computed(document: Document, points: Sequence[Point]) -> None:
    """Checks that all inputs are there, of the right quantity, and follow from something measured.

    Raises:
        BoardError: naming file, line, field and what to do.
    """
    by_name = {point.name: point for point in points}
    for index, point in enumerate(points):
        if point.computed is None:
            continue
        path: Path = ("points", index, "computed")
        for key, name, quantity in _inputs(point.computed):
            given = by_name.get(name)
            if given is None:
                raise _no_point(document, name, list(by_name), (*path, key))
            if given.quantity != quantity:
                what = f"'{name}' is {given.quantity}, and {quantity} is needed here"
                fits = [each.name for each in points if each.quantity == quantity]
                cure = f"Points of that quantity: {', '.join(fits)}" if fits else f"Add a point of quantity {quantity}"
                raise document.error(what, (*path, key), cure)
        if point.name in _behind(point, by_name):
            raise document.error(f"'{point.name}' would follow from itself", path, "Name points that are measured")
        _refuse_apparent(document, point, by_name, path)
        _refuse_mixed(document, point, by_name, path)


def _inputs(formula: Formula) -> Iterator[tuple[str, str, str]]:
    """For each input the key that names it, the point, and the quantity that it must have."""
    keys: Mapping[Form, tuple[tuple[str, str], ...]] = {
        "current": (("drop", "voltage"),),
        "power": (("voltage", "voltage"), ("current", "current")),
        "rise": (("temperature", "temperature"), ("over", "temperature")),
        "divided": (("voltage", "voltage"),),
        "level": ((formula.of, formula.of), ("ratio to", formula.of)),
    }
    for name, (key, quantity) in zip(formula.inputs, keys[formula.form], strict=False):
        yield key, name, quantity


def _behind(point: Point, by_name: Mapping[str, Point]) -> set[str]:
    """All points from which a point follows, at any remove."""
    found: set[str] = set()
    left = [point]
    while left:
        formula = left.pop().computed
        for name in () if formula is None else formula.inputs:
            if name in by_name and name not in found:
                found.add(name)
                left.append(by_name[name])
    return found


def _refuse_apparent(document: Document, point: Point, by_name: Mapping[str, Point], path: Path) -> None:
    """Volts times amps of AC is apparent power: watts only with the power factor."""
    formula = point.computed
    if formula is None or formula.form != "power" or formula.constants:
        return
    if any(by_name[name].usual_waveform == "AC" for name in formula.inputs):
        what = "volts times amps of AC are volt-amperes, not watts"
        raise document.error(what, path, "Add power factor: 1 for a resistive load, or what it is")


def _refuse_mixed(document: Document, point: Point, by_name: Mapping[str, Point], path: Path) -> None:
    """AC over DC is no level, and AC times DC no power, whatever the power factor."""
    formula = point.computed
    if formula is None or len(formula.inputs) < 2:
        return
    (_, over, _), (key, under, _) = _inputs(formula)
    if over == under:
        raise document.error(f"'{over}' is compared with itself", (*path, key), "Name two points")
    waveforms = [_waveforms(by_name[name], by_name) for name in (over, under)]
    if all(len(each) == 1 for each in waveforms) and waveforms[0] != waveforms[1]:
        what = " and ".join(
            f"'{name}' is {next(iter(each))}" for name, each in zip((over, under), waveforms, strict=True)
        )
        raise document.error(what, (*path, key), "Take both as AC, or both as DC")


def _waveforms(point: Point, by_name: Mapping[str, Point]) -> set[str]:
    """What the board file says is measured where a value comes from."""
    behind = (by_name[name] for name in {point.name, *_behind(point, by_name)})
    return {each.usual_waveform for each in behind if each.computed is None and each.usual_waveform is not None}

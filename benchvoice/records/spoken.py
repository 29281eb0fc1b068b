"""Values as they are said, and what may be said just now.

Measured numbers are `Decimal` and keep their spoken digits.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from benchvoice.units import convert, same_size

__all__ = [
    "Context",
    "Quantity",
    "SpokenIntake",
    "SpokenPart",
    "SpokenPoint",
    "SpokenSteps",
    "SpokenValue",
]


@dataclass(frozen=True)
class Quantity:
    """A number with its unit, such as a limit; the unit is a symbol known to `units`."""

    number: Decimal
    unit: str

    def __str__(self) -> str:
        return f"{self.number} {self.unit}".rstrip()


@dataclass(frozen=True)
class SpokenValue:
    """A measured value exactly as it was said.

    Attributes:
        digits: the number with its spoken digits ("4.0", "-0.5", "01803"), "over range", or a value that is words
            ("open circuit").
        unit: the unit's symbol as spoken, or the quantity's base unit where none was said; "" for bare digits.
        unit_said: whether the unit was spoken.
        waveform: "AC" or "DC" where that was said, else None.
    """

    digits: str
    unit: str
    unit_said: bool = False
    waveform: Literal["AC", "DC"] | None = None

    @property
    def over_range(self) -> bool:
        """Whether the meter showed over range instead of a number."""
        return self.digits == "over range"

    @property
    def has_number(self) -> bool:
        """Whether it is a number: neither over range nor words."""
        return not self.digits[:1].isalpha()

    @property
    def number(self) -> Decimal:
        """The number. Must not be asked for when there is none."""
        return Decimal(self.digits)

    @property
    def without_noughts(self) -> SpokenValue:
        """The same number with no nought at the end of its decimals: 2 for 2.00. Bare digits are no number."""
        if not (self.has_number and self.unit and "." in self.digits):
            return self
        return replace(self, digits=self.digits.rstrip("0").rstrip("."))

    def __str__(self) -> str:
        return f"{self.digits} {self.unit}".rstrip() if self.has_number else self.digits


@dataclass(frozen=True)
class SpokenPoint:
    """What the grammar needs to know of one point of the board.

    Attributes:
        name: its name in the board file.
        say: what it may be called, in words, lower case, without digits ("rail three point three").
        quantity: its quantity's name.
        unit: the unit its values are written in on the board file, "" for bare digits.
        decimals: the most digits after the point that the meter shows there.
        alone: whether its value may be said at any time without naming the point.
        volts_shown: for a diode drop, whether the meter shows volts (True), millivolts (False) or is unknown (None).
        expected: the size of the values that are expected there, above zero, in `unit`; None where nothing tells.
    """

    name: str
    say: tuple[str, ...]
    quantity: str
    unit: str
    decimals: int = 4
    alone: bool = False
    volts_shown: bool | None = None
    expected: Decimal | None = None

    def expects(self, value: SpokenValue) -> bool:
        """Whether a value is of the size that is expected there."""
        if self.expected is None or not value.has_number or not value.unit:
            return False
        return same_size(convert(value.number, value.unit, self.unit), self.expected)


@dataclass(frozen=True)
class SpokenSteps:
    """What the grammar needs to know of a checklist. Words are lower case, without digits.

    Attributes:
        parts: (what it may be called, its name in the file) of the parts that can be jumped to.
        choices: every answer that any step offers, in words.
    """

    parts: tuple[tuple[str, str], ...] = ()
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class SpokenPart:
    """What the grammar needs to know of one part of the board.

    Attributes:
        ref: its reference designator as the board file writes it ("U4").
        say: what it may be called, in words: its reference first, then what it is ("u four", "flyback diode").
        quantity: the quantity of its value, "" where it has none that can be said.
    """

    ref: str
    say: tuple[str, ...]
    quantity: str = ""


@dataclass(frozen=True)
class SpokenIntake:
    """What the grammar needs to know of a board's own words for the intake, in words, lower case.

    Attributes:
        complaints, accessories: what may be said of them beside the language's own.
        indicators: (what it may be called, its name in the board file) of lamps and beepers.
    """

    complaints: tuple[str, ...] = ()
    accessories: tuple[str, ...] = ()
    indicators: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Context:
    """What the session expects, as far as it changes what may be said next.

    Attributes:
        current: the point to which a value alone belongs: the one that "on …" named; none after a mere reading
            (while a question is open: the question's point).
        last: the point of the last reading, which "correction" would replace; while a question is open, the question's.
        question_open: whether yes, no, "the first" and "the second" can mean something.
        choices: the answers that the checklist's step at hand offers, in words.
        listening: whether more than "start listening" is to be heard.
        follows: the words of a reading that ended a moment before, which may go on after a pause; else empty.
        taken_out: whether the unit was opened and not closed since: what goes back can be said.
        reworked: whether a part was removed or fitted: how it was done, and what was found, can be said.
        fitted: the quantity of the value of the part that was fitted last, "" where it has none or none was fitted.
        part_fitted: whether a part was fitted last, so that its part number can be told.
        power: whether it matters on this board that the unit is powered or not.
        cautions: whether there is a caution that can be asked for again.
        unacknowledged: whether a caution waits to be acknowledged.
        timing: whether a timer runs.
        intake: whether what a unit came in with can be told.
        spelling: whether a serial or part number was asked back and may go on.
    """

    current: str | None = None
    last: str | None = None
    question_open: bool = False
    listening: bool = True
    follows: str = ""
    choices: tuple[str, ...] = ()
    taken_out: bool = False
    reworked: bool = False
    fitted: str = ""
    part_fitted: bool = False
    power: bool = False
    cautions: bool = False
    unacknowledged: bool = False
    timing: bool = False
    intake: bool = False
    spelling: bool = False

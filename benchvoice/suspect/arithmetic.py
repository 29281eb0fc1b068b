"""Circuits whose components calculate: values run forwards and backwards through those taken for normal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

__all__ = ["Calculator", "Circuit"]


@dataclass(frozen=True)
class Calculator:
    """A component that, while it is normal, makes `output` the sum or product of its two inputs."""

    name: str
    makes: Literal["sum", "product"]
    inputs: tuple[str, str]
    output: str

    def implied(self, known: Mapping[str, Fraction]) -> Iterator[tuple[str, Fraction, frozenset[str]]]:
        """What it makes of known values: the place, its value, and the places from which it follows."""
        first, second = self.inputs
        if first in known and second in known:
            one, other = known[first], known[second]
            made = one + other if self.makes == "sum" else one * other
            yield self.output, made, frozenset(self.inputs)
        if self.output not in known or first == second:
            return
        for wanted, other_input in ((first, second), (second, first)):
            if other_input not in known:
                continue
            made, other = known[self.output], known[other_input]
            if self.makes == "sum":
                yield wanted, made - other, frozenset((self.output, other_input))
            elif other:  # what was multiplied by nothing may have been anything
                yield wanted, made / other, frozenset((self.output, other_input))


@dataclass(frozen=True)
class Circuit:
    """Calculators, and what was seen at places of theirs; a `sets.Theory`.

    A contradiction is found where one place gets two values, one step after the other: equations that only together
    have no solution are not solved.
    """

    calculators: tuple[Calculator, ...]
    seen: Mapping[str, Fraction]

    @property
    def components(self) -> Sequence[str]:
        """The calculators' names."""
        return tuple(each.name for each in self.calculators)

    @cached_property
    def _places(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(place for each in self.calculators for place in (*each.inputs, each.output)))

    def conflict(self, normal: frozenset[str]) -> frozenset[str] | None:
        """Some of `normal` that cannot all be normal; None where no contradiction is found."""
        return self._run(normal)[1]

    def predicted(self, failed: frozenset[str]) -> dict[str, Fraction | None]:
        """The value of each place if these and no others have failed; None where nothing tells it."""
        known, _ = self._run(frozenset(self.components) - failed)
        return {place: known.get(place) for place in self._places}

    def _run(self, normal: frozenset[str]) -> tuple[dict[str, Fraction], frozenset[str] | None]:
        known = dict(self.seen)
        because = dict.fromkeys(known, frozenset[str]())
        working = [each for each in self.calculators if each.name in normal]
        grew = True
        while grew:
            grew = False
            for each in working:
                for place, value, premises in tuple(each.implied(known)):
                    reasons = frozenset((each.name,)).union(*(because[premise] for premise in premises))
                    if place not in known:
                        known[place], because[place] = value, reasons
                        grew = True
                    elif known[place] != value:
                        return known, reasons | because[place]
        return known, None

"""The meaning that a sampled sentence brings along, folded from its tags without the parser."""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.records import Context
from benchvoice.understand.templates import Sampled
from tests.understand.boards import grammar


@dataclass(frozen=True)
class Meant:
    """Intent kind and name, point, digits, unit; empty where the sentence has none."""

    intent: str
    point: str = ""
    digits: str = ""
    unit: str = ""


def meant(sampled: Sampled, context: Context) -> Meant:
    """What the sentence was drawn to mean."""
    intent = point = digits = unit = infix = ""
    for tag in sampled.tags:
        if tag.kind == "intent":
            intent = tag.text
        elif tag.kind == "point":
            point = tag.text
        elif tag.kind == "digits":
            digits += tag.text
        elif tag.kind == "infix":
            digits += "."
            infix = tag.text
        elif tag.kind == "unit":
            unit = tag.text
        elif tag.kind == "over range":
            digits = "over range"
    whole, dot, decimals = digits.partition(".")
    if dot and whole in ("", "-"):
        digits = f"{whole}0.{decimals}"
    if digits and not (unit or infix):
        owner = point or (context.last if intent.startswith("commands") else context.current) or ""
        unit = grammar().by_name[owner].unit
        if grammar().by_name[owner].quantity == "diode drop" and len(digits) >= 2 and digits.isdigit():
            unit = "mV"  # a meter that shows 462 shows millivolts
    return Meant(intent, point, digits, infix or unit)

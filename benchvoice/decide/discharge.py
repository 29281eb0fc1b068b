"""What is stored in a capacitor, how long a resistor takes to empty it, and what is commonly held hazardous live.

Arithmetic alone, in exact decimals. It tells when to speak a caution; it never says that something is safe.
"""

from __future__ import annotations

from decimal import Decimal

__all__ = ["HAZARDOUS_V", "discharge_s", "energy_j", "hazardous_above", "is_hazardous", "peak_w"]

HAZARDOUS_V = {"AC": Decimal(30), "DC": Decimal(60), "peak": Decimal("42.4")}
"""Above these voltages (AC as r.m.s.) parts are commonly held hazardous live.

Meter manuals quote them; IEC 61010-1 and IEC 62368-1 ES1 (clauses from memory). Editions and local rules differ.
"""


def hazardous_above(waveform: str | None) -> Decimal:
    """The common limit in volts for "AC" (r.m.s.), "DC" or "peak"; that of DC where the waveform is not known."""
    return HAZARDOUS_V[waveform or "DC"]


def is_hazardous(volts: Decimal, waveform: str | None) -> bool:
    """Whether a voltage, of either sign, lies above the common limit."""
    return abs(volts) > hazardous_above(waveform)


def energy_j(farads: Decimal, volts: Decimal) -> Decimal:
    """The energy in a capacitor, in joules: half of C times V squared."""
    return farads * volts * volts / 2


def peak_w(volts: Decimal, ohms: Decimal) -> Decimal:
    """The power in a resistor as it begins to empty a capacitor charged to that voltage, in watts."""
    return volts * volts / ohms


def discharge_s(farads: Decimal, ohms: Decimal, start_v: Decimal, end_v: Decimal) -> Decimal:
    """How long a resistor takes to bring a capacitor from one voltage to another, in seconds: RC times ln(V0 / V1).

    Nought where it is there already.

    Raises:
        ValueError: a voltage, the resistance or the capacitance is not above zero.
    """
    if min(farads, ohms, start_v, end_v) <= 0:
        raise ValueError("capacitance, resistance and both voltages must be above zero")
    if start_v <= end_v:
        return Decimal(0)
    return ohms * farads * (start_v / end_v).ln()

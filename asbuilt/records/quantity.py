"""Numbers with units, kept as they were typed.

Conversion factors are exact by definition: the international inch and foot, the avoirdupois
pound (BIPM, The International System of Units, 9th ed.; NIST SP 811, appendix B).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from asbuilt.problem import quoted

# dimension → unit → how many of the first (base) unit one of it is
UNITS: Final[dict[str, dict[str, Decimal]]] = {
    "length": {
        "m": Decimal(1),
        "mm": Decimal("0.001"),
        "cm": Decimal("0.01"),
        "km": Decimal(1000),
        "in": Decimal("0.0254"),
        "ft": Decimal("0.3048"),
    },
    "rack height": {"U": Decimal(1)},
    "power": {"W": Decimal(1), "kW": Decimal(1000)},
    "apparent power": {"VA": Decimal(1), "kVA": Decimal(1000)},
    "current": {"A": Decimal(1), "mA": Decimal("0.001")},
    "voltage": {"V": Decimal(1)},
    "speed": {
        "Mb/s": Decimal(1),
        "Gb/s": Decimal(1000),
        "kb/s": Decimal("0.001"),
    },
    "mass": {"kg": Decimal(1), "g": Decimal("0.001"), "lb": Decimal("0.45359237")},
    "loss": {"dB": Decimal(1)},
    "time": {"min": Decimal(1), "h": Decimal(60)},
    "share": {"%": Decimal(1)},
}

_WRITTEN = re.compile(r"(-?[0-9]{1,9}(?:\.[0-9]{1,6})?)\s*([A-Za-z%/]+)")


@dataclass(frozen=True, slots=True)
class Quantity:
    """`value` in `unit`, of a `dimension` of UNITS."""

    value: Decimal
    unit: str
    dimension: str

    def to(self, unit: str) -> float:
        """The number of `unit` this is. Raises KeyError for a unit of another dimension."""
        factors = UNITS[self.dimension]
        return float(self.value * factors[self.unit] / factors[unit])

    def __str__(self) -> str:
        return f"{self.value} {self.unit}"


def read_quantity(text: str, dimension: str, signed: bool = False) -> Quantity | str:
    """The quantity `text` says, or a sentence on what is wrong with it. Only a `signed` one may
    be less than nothing."""
    units = UNITS[dimension]
    match = _WRITTEN.fullmatch(text.strip())
    if match and (signed or not text.strip().startswith("-")):
        number, unit = match.groups()
        if unit in units:
            return Quantity(Decimal(number), unit, dimension)
        return f"{quoted(unit)} is no unit of {dimension}"
    if re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", text.strip()):
        return f"{quoted(text)} has no unit"
    return f"{quoted(text)} is no {dimension}"

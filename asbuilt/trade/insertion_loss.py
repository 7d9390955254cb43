"""Insertion loss: how much weaker a signal is at the end of balanced cabling.

The limits are formulas of the frequency. ANSI/TIA-568.2-D has one for 100 m of cable and one for a
connection; a channel is 1.02 × the cable of 100 m and four connections, a permanent link 0.9 × and
three, and category 6 adds a term for the mismatch of its parts. Category 6A counts 1.05 × cable.
ISO/IEC 11801's class E is not category 6: 21.7 against 21.3 dB at 100 MHz. dB, MHz, metres, °C.
"""

import math
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class _CategoryLoss:
    """Loss of 100 m of cable: a√f + bf + c/√f; of a connection: d√f; defined up to `top`."""

    a: float
    b: float
    c: float
    d: float
    max_frequency: float

    def cable(self, f: float) -> float:
        root = math.sqrt(f)
        return self.a * root + self.b * f + self.c / root

    def connection(self, f: float) -> float:
        return self.d * math.sqrt(f)


_CATEGORY_LOSSES: Final = {
    "5e": _CategoryLoss(1.967, 0.023, 0.05, 0.04, 100),
    "6": _CategoryLoss(1.808, 0.017, 0.2, 0.02, 250),
    "6A": _CategoryLoss(1.82, 0.0091, 0.25, 0.02, 500),
    "E": _CategoryLoss(1.82, 0.0169, 0.25, 0.02, 250),  # ISO/IEC 11801, what its channel is made of
}
CORD_EXTRA_LOSS: Final = 0.2  # a stranded cord loses so much more than solid cable
_MIN_CONNECTION_LOSS: Final = 0.1  # no table prints less for a connection


def cable_loss(category: str, frequency: float, length: float = 100.0) -> float | None:
    """The most solid cable of this length may lose; None beyond the category's frequencies."""
    grade = _category_loss(category, frequency)
    return grade.cable(frequency) * length / 100 if grade else None


def cord_loss(category: str, frequency: float, length: float = 100.0) -> float | None:
    """The same for a cord with stranded wires."""
    solid = cable_loss(category, frequency, length)
    return None if solid is None else solid * (1 + CORD_EXTRA_LOSS)


def connection_loss(category: str, frequency: float) -> float | None:
    """The most one connection may lose, as the tables print it."""
    grade = _category_loss(category, frequency)
    return max(_MIN_CONNECTION_LOSS, grade.connection(frequency)) if grade else None


def channel_loss(category: str, frequency: float) -> float | None:
    """The most a channel may lose: category 5e, 6 or 6A, or ISO/IEC 11801's class E."""
    grade = _category_loss(category, frequency)
    if grade is None:
        return None
    share = 1.05 if category in ("6A", "E") else 1.02
    mismatch = 0.0003 * frequency**1.5 if category == "6" else 0.0
    return share * grade.cable(frequency) + 4 * grade.connection(frequency) + mismatch


def link_loss(category: str, frequency: float) -> float | None:
    """The most a permanent link may lose: category 5e or 6. The mismatch of category 6 is a fit
    to its table. No figure is given for 6A, on which TIA and ISO/IEC differ."""
    grade = _category_loss(category, frequency)
    if grade is None or category not in ("5e", "6"):
        return None
    mismatch = 0.00015 * frequency**1.5 if category == "6" else 0.0
    return 0.9 * grade.cable(frequency) + 3 * grade.connection(frequency) + mismatch


def temperature_factor(celsius: float, screened: bool = False) -> float | None:
    """How many times the loss at 20 °C a cable has when it is warm: unscreened cable gains 0.4 %
    for each degree to 40 °C and 0.6 % from there to 60 °C, screened cable 0.2 %
    (ANSI/TIA-568-C.2, 6.4.7). None above 60 °C: nothing is said of that."""
    if celsius > 60:
        return None
    if screened:
        return 1 + 0.002 * max(0.0, celsius - 20)
    return 1 + 0.004 * max(0.0, min(celsius, 40) - 20) + 0.006 * max(0.0, celsius - 40)


def max_link_length_at(celsius: float) -> float | None:
    """The longest unscreened permanent link for a cable this warm, with 10 m of cords at 20 °C:
    a fit to the table of ANSI/TIA-568 (straight lines, within half a metre of each cell)."""
    if celsius > 60:
        return None
    return 90 - 0.3 * max(0.0, min(celsius, 40) - 20) - 0.45 * max(0.0, celsius - 40)


def _category_loss(category: str, frequency: float) -> _CategoryLoss | None:
    grade = _CATEGORY_LOSSES.get(category)
    return grade if grade and 1 <= frequency <= grade.max_frequency else None

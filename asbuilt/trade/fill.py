"""How full a conduit, sleeve or tray is, and how many more cables it takes.

NEC chapter 9, table 1: of the inside of a conduit one cable may take 53 %, two 31 %, three and more
40 %; a cable counts as one conductor with the area of its outside diameter (table 4 has the inside
of each conduit). ANSI/TIA-569 designs for 40 %, trays for 50 % of a depth of 150 mm at most. For
communications cable these are limits of design: the NEC does not impose chapter 9 on it.

Millimetres and square millimetres: counts made in inches rounded to three places differ by one in
a few cells.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from asbuilt.trade.limit import Limit

#: Outside diameter by kind of cable (common practice: makers differ by a millimetre; a cable
#: nobody has named is taken to be as thick as a category 6A one).
CABLE_DIAMETERS: Final = {
    "cat3": 5.0, "cat5": 5.2, "cat5e": 5.3, "cat6": 6.1, "cat6A": 7.6, "cat7": 7.8, "cat7A": 8.0,
    "cat8": 8.2, "OM1": 6.0, "OM2": 6.0, "OM3": 6.0, "OM4": 6.0, "OM5": 6.0, "OS1": 6.0,
    "OS2": 6.0, "coax": 6.9, "unknown": 7.6,
}  # fmt: skip

#: Inside diameter of electrical metallic tubing by trade size in inches (NEC chapter 9, table 4).
EMT_DIAMETERS: Final = {
    "1/2": 15.80, "3/4": 20.93, "1": 26.64, "1 1/4": 35.05, "1 1/2": 40.89, "2": 52.50,
    "2 1/2": 69.37, "3": 85.24, "3 1/2": 97.38, "4": 110.08,
}  # fmt: skip

CONDUIT_SOURCE: Final = "NEC chapter 9, table 1"
DESIGN_SOURCE: Final = "ANSI/TIA-569"
TRAY_FILL_RATIO: Final = 0.50
MAX_TRAY_DEPTH: Final = 150.0
DESIGN_FILL_RATIO: Final = 0.40
PULL_LENGTH: Final = Limit("a run between pull points", 30, "m", DESIGN_SOURCE)
PULL_BENDS: Final = Limit("90° bends between pull points", 2, "bends", DESIGN_SOURCE)
_ROUNDING: Final = 1e-9


def conduit_fill_ratio(cables: int) -> float:
    """The share of a conduit's inside that so many cables may take."""
    return {0: 0.53, 1: 0.53, 2: 0.31}.get(cables, 0.40)


def circle_area(diameter: float) -> float:
    """The area of a round thing: π/4 · d²."""
    return math.pi / 4 * diameter**2


@dataclass(frozen=True, slots=True)
class CrossSection:
    """The inside of a pathway: its area, and the share of it to be taken by cables; a conduit's
    share (`share` None) goes with the number of cables."""

    area: float
    fill_ratio: float | None
    source: str

    def allowed_area(self, cables: int) -> float:
        """The area so many cables may take together."""
        return self.area * (
            conduit_fill_ratio(cables) if self.fill_ratio is None else self.fill_ratio
        )


def conduit_section(bore: float) -> CrossSection:
    """A conduit or sleeve of this inside diameter."""
    return CrossSection(circle_area(bore), None, CONDUIT_SOURCE)


def tray_section(width: float, depth: float) -> CrossSection:
    """A tray or basket; what is deeper than 150 mm is not counted."""
    return CrossSection(width * min(depth, MAX_TRAY_DEPTH), TRAY_FILL_RATIO, DESIGN_SOURCE)


def duct_section(width: float, height: float) -> CrossSection:
    """Trunking or a duct with straight sides."""
    return CrossSection(width * height, DESIGN_FILL_RATIO, DESIGN_SOURCE)


def cables_area(diameters: Sequence[float]) -> float:
    """The area of cables of these diameters."""
    return sum(circle_area(diameter) for diameter in diameters)


def is_within_fill(inside: CrossSection, diameters: Sequence[float]) -> bool:
    """Whether these cables keep within the share allowed to so many."""
    return cables_area(diameters) <= inside.allowed_area(len(diameters)) + _ROUNDING


def max_more_cables(inside: CrossSection, diameters: Sequence[float], diameter: float) -> int:
    """How many more cables of this diameter keep within the share, beside those there are."""
    present, each, there = cables_area(diameters), circle_area(diameter), len(diameters)
    more = math.floor((inside.allowed_area(3) - present) / each + _ROUNDING)
    if there + more >= 3:
        return max(0, more)
    # One or two cables in all have shares of their own.
    for total in (2, 1):
        if total > there and is_within_fill(inside, [*diameters, *[diameter] * (total - there)]):
            return total - there
    return 0


def max_cables(inside: CrossSection, diameter: float) -> int:
    """How many cables of one diameter an empty pathway takes."""
    return max_more_cables(inside, (), diameter)


def smallest_emt(cables: int, diameter: float) -> str | None:
    """The smallest trade size of tubing that takes so many; None when none does."""
    for size, bore in EMT_DIAMETERS.items():
        if is_within_fill(conduit_section(bore), [diameter] * cables):
            return size
    return None


def reduced_for_long_run(cables: int) -> int:
    """What is left of a conduit's count for a run of 15 to 30 m: 15 % less (common practice)."""
    return math.floor(cables * 0.85)

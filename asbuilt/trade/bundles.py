"""Cables side by side: how many make a bundle, and what current a powered bundle may carry.

Common practice: a bundle is one row of a panel, 24 cables. TIA TSB-184-A recommends the same for
power over Ethernet. For sources of more than 60 W the NEC (725.144 in the editions of 2017 and
2020) has a table of amperes for each conductor by wire gauge, cables in the bundle and the
temperature the cable is made for, at 30 °C around it.

The table is data, one for each edition: the 2020 edition raised some of its numbers and lowered
none. Amperes, °C.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from asbuilt.trade.limit import Limit
from asbuilt.trade.poe import POWER_CLASSES, current_per_conductor

BUNDLE_SIZE: Final = 24
POWERED_BUNDLE: Final = Limit("cables in a powered bundle", BUNDLE_SIZE, "cables", "TIA TSB-184-A")
#: Up to here no table applies: sources of so many watts, and wire this thick at this current.
EXEMPT_WATTS: Final = 60.0
EXEMPT_GAUGE: Final = 24
EXEMPT_AMPERES: Final = 0.3


def count_bundles(cables: int) -> tuple[int, int]:
    """So many cables as bundles: how many are begun, and the room left in the last."""
    begun = math.ceil(cables / BUNDLE_SIZE)
    return begun, begun * BUNDLE_SIZE - cables


@dataclass(frozen=True, slots=True)
class AmpacityTable:
    """Amperes a conductor by AWG number and, in that order, by `ratings` for each of `sizes`
    (the most cables of each column)."""

    edition: str
    provenance: str  # how the numbers are known
    bundle_sizes: tuple[int, ...]
    temperature_ratings: tuple[int, ...]
    amperes: Mapping[int, tuple[tuple[float, ...], ...]]


NEC_2017: Final = AmpacityTable(
    edition="NEC 2017, table 725.144",
    provenance="recalled, not read: hold it against the edition in force",
    bundle_sizes=(1, 7, 19, 37, 61, 91, 192),
    temperature_ratings=(60, 75, 90),
    amperes={
        26: ((1, 1, 1), (1, 1, 1), (0.7, 0.8, 1), (0.5, 0.6, 0.7), (0.4, 0.5, 0.6),
             (0.4, 0.5, 0.6)),
        24: ((2, 2, 2), (1, 1.4, 1.6), (0.8, 1, 1.1), (0.6, 0.7, 0.9), (0.5, 0.6, 0.7),
             (0.4, 0.5, 0.6), (0.3, 0.4, 0.5)),
        23: ((2.5, 2.5, 2.5), (1.2, 1.5, 1.7), (0.8, 1.1, 1.2), (0.6, 0.8, 0.9), (0.5, 0.7, 0.8),
             (0.5, 0.7, 0.8), (0.4, 0.5, 0.6)),
        22: ((3, 3, 3), (1.4, 1.8, 2.1), (1, 1.2, 1.4), (0.7, 0.9, 1.1), (0.6, 0.8, 0.9),
             (0.6, 0.8, 0.9), (0.5, 0.6, 0.7)),
    },
)  # fmt: skip


def ampacity_table_applies(power_class: int, gauge: int) -> bool:
    """Whether the NEC's table is asked at all for a class of power on wire of this AWG number."""
    if POWER_CLASSES[power_class].pse <= EXEMPT_WATTS:
        return False
    thick = gauge <= EXEMPT_GAUGE
    return not (thick and current_per_conductor(power_class) <= EXEMPT_AMPERES)


def ambient_correction(rating: int, celsius: float) -> float:
    """How much of the table's current is left where it is warmer than 30 °C around the bundle:
    √((rating − ambient) / (rating − 30)), as NEC 310.15 rounds it to two digits."""
    if celsius <= 30:
        return 1.0
    if celsius >= rating:
        return 0.0
    return round(math.sqrt((rating - celsius) / (rating - 30)), 2)


def ampacity(
    table: AmpacityTable, gauge: int, rating: int, cables: int, celsius: float = 30.0
) -> float | None:
    """The table's current for a conductor; None outside the table, where it refers to
    engineering supervision."""
    columns = table.amperes.get(gauge)
    if columns is None or rating not in table.temperature_ratings or cables < 1:
        return None
    row = table.temperature_ratings.index(rating)
    for size, column in zip(table.bundle_sizes, columns, strict=False):
        if cables <= size:
            return column[row] * ambient_correction(rating, celsius)
    return None


def largest_bundle(
    table: AmpacityTable, gauge: int, rating: int, amperes: float, celsius: float = 30.0
) -> int:
    """The most cables of a bundle whose conductors all carry `amperes`, by this table."""
    fitting = [
        size
        for size in table.bundle_sizes
        if (ampacity(table, gauge, rating, size, celsius) or 0.0) >= amperes
    ]
    return max(fitting, default=0)

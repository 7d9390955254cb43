"""Rack units: how high they are, where their holes sit, how high a panel is that fills them.

EIA/ECA-310-E and IEC 60297: a unit is 44.45 mm (1.75 in). The universal hole pattern repeats
every unit with 15.875, 15.875 and 12.70 mm between centres, the 12.70 mm gap across the border of
two units. Units count from the bottom, from 1. All lengths are in millimetres.
"""

from typing import Final

RACK_UNIT: Final = 44.45
HOLE_OFFSETS: Final = (6.35, 22.225, 38.1)  # centres above the lower edge of a unit
PANEL_WIDTH: Final = 482.6  # 19 in
HOLE_CENTRES: Final = 465.1  # across, from the left column of holes to the right one
MIN_RAIL_OPENING: Final = 450.0  # the least clear width between the rails
PANEL_GAP: Final = 0.79  # a panel is 1/32 in lower than the units it fills


def height_of_units(units: int) -> float:
    """The height of so many units."""
    return round(units * RACK_UNIT, 2)


def panel_height(units: int) -> float:
    """The height of a front panel that fills so many units."""
    return round(units * RACK_UNIT - PANEL_GAP, 2)


def lower_edge(unit: int) -> float:
    """The lower edge of a unit, above the lower edge of unit 1."""
    return round((unit - 1) * RACK_UNIT, 2)


def hole_centres(unit: int) -> tuple[float, float, float]:
    """The hole centres of a unit, above the lower edge of unit 1."""
    low, middle, high = (round(lower_edge(unit) + hole, 3) for hole in HOLE_OFFSETS)
    return low, middle, high


def units_from_bottom(at: tuple[int, int], height: int, numbered_from: str) -> tuple[int, int]:
    """The lowest and highest unit, counted from the bottom, of what is written as `at` in an
    enclosure of `height` units numbered from its bottom or its top."""
    low, high = at
    return (height + 1 - high, height + 1 - low) if numbered_from == "top" else (low, high)

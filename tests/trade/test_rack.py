"""Rack geometry against EIA/ECA-310-E and IEC 60297 as restated in public secondary documents.

“seen”: read in a document other than the standard; “memory”: recalled, not read.
"""

from itertools import pairwise

import pytest

from asbuilt.trade import rack


@pytest.mark.parametrize(
    ("units", "millimetres"),
    [(1, 44.45), (12, 533.40), (42, 1866.90), (45, 2000.25), (48, 2133.60)],
)
def test_height_of_units(units: int, millimetres: float) -> None:
    # 1U = 44.45 mm = 1.750 in (seen)
    assert rack.height_of_units(units) == millimetres


def test_a_unit_is_an_inch_and_three_quarters() -> None:
    # the inch is 25.4 mm by definition
    assert abs(rack.RACK_UNIT - 1.75 * 25.4) < 1e-9
    assert abs(rack.PANEL_WIDTH - 19 * 25.4) < 1e-9  # 482.6 mm (seen)
    assert abs(rack.HOLE_CENTRES - (18 + 5 / 16) * 25.4) < 0.1  # 18 5/16 in (seen)


@pytest.mark.parametrize(
    ("unit", "holes"),
    [
        (1, (6.35, 22.225, 38.10)),
        (2, (50.80, 66.675, 82.55)),
        (42, (1828.80, 1844.675, 1860.55)),
    ],
)
def test_holes_of_a_unit(unit: int, holes: tuple[float, ...]) -> None:
    # centres follow from the spacing; that the 12.70 mm gap straddles the border: memory
    assert rack.hole_centres(unit) == holes


def test_hole_pattern_repeats() -> None:
    # 15.875 - 15.875 - 12.70 mm, summing to a unit (seen)
    centres = [hole for unit in range(1, 43) for hole in rack.hole_centres(unit)]
    assert len(centres) == 126
    gaps = [round(high - low, 3) for low, high in pairwise(centres)]
    assert gaps == ([15.875, 15.875, 12.7] * 42)[:-1]


@pytest.mark.parametrize(("units", "millimetres"), [(1, 43.66), (2, 88.11), (3, 132.56)])
def test_panel_is_lower_than_its_units(units: int, millimetres: float) -> None:
    # n × 44.45 − 0.79 mm (memory)
    assert rack.panel_height(units) == millimetres


def test_units_count_from_the_bottom() -> None:
    # numbering from the bottom (memory); some racks are printed the other way (common practice)
    assert rack.units_from_bottom((10, 13), 42, "bottom") == (10, 13)
    assert rack.units_from_bottom((1, 1), 42, "top") == (42, 42)
    assert rack.units_from_bottom((1, 2), 12, "top") == (11, 12)
    assert rack.lower_edge(1) == 0
    assert rack.lower_edge(12) == 488.95

"""Lengths of cords inside an enclosure: common practice, held against itself and 1 U = 44.45 mm."""

import pytest

from asbuilt.trade import cords


@pytest.mark.parametrize(
    ("units", "stock"),
    [(0, 0.3), (1, 0.3), (2, 0.5), (6, 0.5), (7, 1.0), (14, 1.5), (29, 2.0), (30, 3.0)],
)
def test_stock_for_so_many_units(units: int, stock: float) -> None:
    assert cords.stock_length(cords.required_cord_length(units)) == stock
    assert cords.required_cord_length(-units) == cords.required_cord_length(units)


def test_half_a_metre_reaches_just_as_far_as_a_cord_runs_straight() -> None:
    assert (
        cords.required_cord_length(cords.MAX_STRAIGHT_UNITS)
        <= 0.5
        < cords.required_cord_length(cords.MAX_STRAIGHT_UNITS + 1)
    )


def test_further_never_needs_less() -> None:
    runs = [cords.required_cord_length(units) for units in range(48)]
    assert runs == sorted(runs)
    assert cords.required_cord_length(42) - cords.required_cord_length(41) == pytest.approx(0.04445)


def test_beyond_the_longest_stock_whole_metres() -> None:
    assert cords.stock_length(10) == 10
    assert cords.stock_length(10.1) == 11
    assert cords.stock_length(0.1 + 0.2) == 0.3


def test_feet() -> None:
    assert cords.stock_length_feet(0.3048) == 1
    assert cords.stock_length_feet(0.31) == 2
    assert cords.stock_length_feet(20) == 66

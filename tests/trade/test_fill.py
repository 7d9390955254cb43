"""Pathway fill against NEC chapter 9 and published examples.

“seen”: read in a document other than the standard; “memory”: recalled, not read.
"""

import math

import pytest

from asbuilt.records.links import CABLES
from asbuilt.trade import fill

INCH = 25.4
_SQUARE_INCH = INCH**2

#: NEC chapter 9, table 4, EMT: inside diameter in, whole area, 31 %, 40 %, 53 % in² (seen).
TABLE_4 = {
    "1/2": (0.622, 0.304, 0.094, 0.122, 0.161),
    "3/4": (0.824, 0.533, 0.165, 0.213, 0.283),
    "1": (1.049, 0.864, 0.268, 0.346, 0.458),
    "1 1/4": (1.380, 1.496, 0.464, 0.598, 0.793),
    "1 1/2": (1.610, 2.036, 0.631, 0.814, 1.079),
    "2": (2.067, 3.356, 1.040, 1.342, 1.778),
    "2 1/2": (2.731, 5.858, 1.816, 2.343, 3.105),
    "3": (3.356, 8.846, 2.742, 3.538, 4.688),
    "3 1/2": (3.834, 11.545, 3.579, 4.618, 6.119),
    "4": (4.334, 14.753, 4.573, 5.901, 7.819),
}


@pytest.mark.parametrize("size", TABLE_4)
def test_table_4(size: str) -> None:
    inches, whole, two, many, one = TABLE_4[size]
    assert fill.EMT_DIAMETERS[size] == pytest.approx(inches * INCH, abs=0.006)
    inside = fill.conduit_section(inches * INCH)
    for area, printed in (
        (inside.area, whole),
        (inside.allowed_area(2), two),
        (inside.allowed_area(3), many),
        (inside.allowed_area(1), one),
    ):
        assert round(area / _SQUARE_INCH, 3) == pytest.approx(printed, abs=0.00051)


def test_table_1() -> None:
    # One cable of 0.40 in in ½ EMT takes 41.3 %, within 53 %; two of 0.28 in take 40.5 %, over 31 %
    half = fill.conduit_section(0.622 * INCH)
    assert fill.cables_area([0.40 * INCH]) / half.area == pytest.approx(0.413, abs=0.0007)
    assert fill.is_within_fill(half, [0.40 * INCH])
    assert fill.cables_area([0.28 * INCH] * 2) / half.area == pytest.approx(0.405, abs=0.0007)
    assert not fill.is_within_fill(half, [0.28 * INCH] * 2)


def test_area_of_a_cable() -> None:
    # 6.1 mm: 29.22 mm² or 0.0453 in² (seen as × 0.7854)
    assert fill.circle_area(6.1) == pytest.approx(29.22, abs=0.005)
    assert fill.circle_area(6.1) / _SQUARE_INCH == pytest.approx(0.0453, abs=0.00005)


@pytest.mark.parametrize(
    ("diameter", "counts"),
    [
        # arithmetic from the table, in millimetres; the rules for one and two cables hold too
        (5.8, (2, 5, 8, 14, 19, 32, 57, 86, 112, 144)),
        (6.1, (2, 4, 7, 13, 17, 29, 51, 78, 101, 130)),
        (7.2, (1, 3, 5, 9, 12, 21, 37, 56, 73, 93)),
        (7.6, (1, 3, 4, 8, 11, 19, 33, 50, 65, 83)),
    ],
)
def test_most_cables_in_tubing(diameter: float, counts: tuple[int, ...]) -> None:
    found = tuple(
        fill.max_cables(fill.conduit_section(bore), diameter)
        for bore in fill.EMT_DIAMETERS.values()
    )
    assert found == counts


def test_six_cables_want_one_inch() -> None:
    # MIL-HDBK-1012/3: six cables of 6.1 mm, a 1 in conduit (seen)
    assert fill.smallest_emt(6, 6.1) == "1"
    assert fill.smallest_emt(1000, 6.1) is None


def test_wires_of_several_sizes() -> None:
    # A published example (seen): 0.0399 + 0.0844 + 0.2928 in² want 1¼ in EMT; 1 in gives 0.346 in².
    # The three sums stand for many wires each, so they are held against the 40 %.
    together = 0.0399 + 0.0844 + 0.2928
    fitting = [
        size
        for size, bore in fill.EMT_DIAMETERS.items()
        if together * _SQUARE_INCH <= fill.conduit_section(bore).allowed_area(3)
    ]
    assert fitting[0] == "1 1/4"


def test_never_fewer_than_the_older_table() -> None:
    # ANSI/TIA-569-A’s own table is more cautious (seen): 6.1 mm and 7.4 mm, ¾ in and up
    older = {
        6.1: (3, 6, 10, 15, 20, 30, 40),
        7.4: (2, 3, 6, 7, 14, 17, 20),
    }
    for diameter, counts in older.items():
        for bore, count in zip(list(fill.EMT_DIAMETERS.values())[1:], counts, strict=False):
            assert fill.max_cables(fill.conduit_section(bore), diameter) >= count


def test_more_beside_what_is_there_never_passes_the_share() -> None:
    for bore in fill.EMT_DIAMETERS.values():
        inside = fill.conduit_section(bore)
        for there in range(6):
            diameters = [7.6] * there
            more = fill.max_more_cables(inside, diameters, 6.1)
            if more:
                assert fill.is_within_fill(inside, [*diameters, *[6.1] * more])
            # No larger number keeps either, whatever share it has.
            for larger in range(more + 1, more + 4):
                assert not fill.is_within_fill(inside, [*diameters, *[6.1] * larger])


def test_tray() -> None:
    # 300 × 100 mm at 50 %: 513 cables of 6.1 mm (arithmetic; the 50 % is memory)
    assert fill.max_cables(fill.tray_section(300, 100), 6.1) == 513
    assert fill.tray_section(300, 200).area == fill.tray_section(300, 150).area  # 150 mm at most
    assert fill.duct_section(100, 50).allowed_area(1) == pytest.approx(2000)


def test_pulling() -> None:
    # two 90° bends and 30 m between pull points (seen); 29 cables in 2 in: 24 on a long pull (seen)
    assert fill.PULL_BENDS.is_met_by(2) and not fill.PULL_BENDS.is_met_by(3)
    assert fill.PULL_LENGTH.is_met_by(30) and not fill.PULL_LENGTH.is_met_by(31)
    assert (
        fill.reduced_for_long_run(
            fill.max_cables(fill.conduit_section(fill.EMT_DIAMETERS["2"]), 6.1)
        )
        == 24
    )


def test_every_kind_of_cable_has_a_diameter() -> None:
    assert set(fill.CABLE_DIAMETERS) == set(CABLES)
    assert all(
        3 < diameter < 10 and math.isfinite(diameter) for diameter in fill.CABLE_DIAMETERS.values()
    )
    # what nobody named is counted as thick as the thicker of the two usual kinds
    assert fill.CABLE_DIAMETERS["unknown"] == max(
        fill.CABLE_DIAMETERS["cat6"], fill.CABLE_DIAMETERS["cat6A"]
    )

"""Link and cord lengths against ANSI/TIA-568 as restated in public secondary documents.

“seen”: read in a document other than the standard; “memory”: recalled, not read.
"""

import pytest

from asbuilt.trade import lengths


def test_limits() -> None:
    # ANSI/TIA-568.2-D: permanent link 90 m, channel 100 m of which 10 m are cords (seen)
    assert lengths.MAX_PERMANENT_LINK == 90
    assert lengths.MAX_CHANNEL == 100
    assert lengths.max_cords_length(lengths.MAX_PERMANENT_LINK) == 10


@pytest.mark.parametrize(
    ("horizontal", "gauge", "cords", "at_work"),
    [
        # The published table of 568-B.1, C.0 and 568.0. The 20 % and 50 % derating, the 5 m and
        # the 22 m: seen; the formula and the cells: memory.
        (90, 24, 10, 5),
        (85, 24, 14, 9),
        (80, 24, 18, 13),
        (75, 24, 22, 17),
        (70, 24, 27, 22),
        (90, 26, 8, 4),
        (85, 26, 11, 7),
        (80, 26, 15, 11),
        (75, 26, 18, 14),
        (70, 26, 21, 17),
    ],
)
def test_cords_for_so_much_horizontal_cable(
    horizontal: float, gauge: int, cords: int, at_work: int
) -> None:
    assert lengths.max_cords_length(horizontal, gauge) == cords
    assert lengths.max_work_area_cord(horizontal, gauge) == at_work


def test_no_cord_is_left_for_a_link_that_is_far_too_long() -> None:
    assert lengths.max_cords_length(120) == 0
    assert lengths.max_work_area_cord(120) == 0


def test_less_horizontal_cable_never_allows_less_cord() -> None:
    allowed = [lengths.max_work_area_cord(horizontal) for horizontal in range(90, 0, -1)]
    assert allowed == sorted(allowed)
    assert max(allowed) == 22  # no more than 22 m of 24 AWG cord at the work area (seen)

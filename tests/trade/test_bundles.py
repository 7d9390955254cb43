"""Bundles of powered cables against the NEC and TSB-184-A as far as they are known publicly.

“seen”: read in a document other than the standard; “memory”: recalled, not read. The cells of the
table are memory: so what is tested of it first is what holds in every edition.
"""

import itertools

import pytest

from asbuilt.trade import bundles
from asbuilt.trade.bundles import NEC_2017
from asbuilt.trade.poe import current_per_conductor


def test_a_bundle_is_a_row_of_a_panel() -> None:
    # 24 or fewer (common practice, seen; TSB-184-A: memory)
    assert bundles.count_bundles(24) == (1, 0)
    assert bundles.count_bundles(25) == (2, 23)
    assert bundles.count_bundles(0) == (0, 0)
    assert not bundles.POWERED_BUNDLE.is_met_by(25)


def _allowed(gauge: int, rating: int, cables: int) -> float:
    return bundles.ampacity(NEC_2017, gauge, rating, cables) or 0.0


@pytest.mark.parametrize(
    ("gauge", "rating"), list(itertools.product((22, 23, 24, 26), (60, 75, 90)))
)
def test_more_cables_never_allow_more(gauge: int, rating: int) -> None:
    allowed = [_allowed(gauge, rating, cables) for cables in range(1, 193)]
    assert allowed == sorted(allowed, reverse=True)


@pytest.mark.parametrize("cables", (1, 2, 7, 8, 19, 20, 37, 38, 61, 62, 91, 92, 192))
def test_thicker_wire_and_hotter_ratings_never_allow_less(cables: int) -> None:
    for gauge in (22, 23, 24, 26):
        by_rating = [_allowed(gauge, rating, cables) for rating in (60, 75, 90)]
        assert by_rating == sorted(by_rating)
    for rating in (60, 75, 90):
        by_gauge = [_allowed(gauge, rating, cables) for gauge in (26, 24, 23, 22)]
        assert by_gauge == sorted(by_gauge)


@pytest.mark.parametrize(("last", "first"), [(1, 2), (7, 8), (19, 20), (37, 38), (61, 62)])
def test_edges_of_the_columns(last: int, first: int) -> None:
    # the columns: seen in a maker’s note of the NEC’s rule, their exact edges: memory
    assert _allowed(24, 60, last) > _allowed(24, 60, first)


def test_outside_the_table() -> None:
    assert bundles.ampacity(NEC_2017, 24, 60, 193) is None
    assert bundles.ampacity(NEC_2017, 28, 60, 1) is None
    assert bundles.ampacity(NEC_2017, 24, 85, 1) is None
    assert bundles.ampacity(NEC_2017, 24, 60, 0) is None
    assert bundles.ampacity(NEC_2017, 26, 60, 92) is None


@pytest.mark.parametrize("gauge", (22, 23))
def test_half_an_ampere_at_75_degrees(gauge: int) -> None:
    # 22 and 23 AWG at 75 °C carry 0.5 A in bundles up to 192 (seen)
    assert _allowed(gauge, 75, 192) >= 0.5


@pytest.mark.parametrize(
    ("gauge", "rating", "cables"),
    [(24, 60, 61), (23, 60, 91), (23, 75, 192), (26, 60, 37)],  # worked with the table (memory)
)
def test_largest_bundle_of_class_8(gauge: int, rating: int, cables: int) -> None:
    amperes = current_per_conductor(8)
    assert bundles.largest_bundle(NEC_2017, gauge, rating, amperes) == cables


@pytest.mark.parametrize(
    ("rating", "left"),
    [(60, 0.71), (75, 0.82), (90, 0.87)],  # NEC 310.15(B)(1) at 41 to 45 °C (memory)
)
def test_warmer_around_the_bundle(rating: int, left: float) -> None:
    assert bundles.ambient_correction(rating, 45) == left
    assert bundles.ambient_correction(rating, 30) == bundles.ambient_correction(rating, 20) == 1
    assert bundles.ambient_correction(rating, rating) == 0
    # 24 AWG, 60 °C, 20 to 37 cables: 0.6 × 0.71 = 0.426 A (arithmetic)
    assert bundles.ampacity(NEC_2017, 24, 60, 37, 45) == pytest.approx(0.426)


def test_when_the_table_is_asked() -> None:
    # sources over 60 W (seen), and not 24 AWG at 0.3 A or less (memory)
    assert not bundles.ampacity_table_applies(6, 26)  # exactly 60 W
    assert bundles.ampacity_table_applies(7, 24)
    assert bundles.ampacity_table_applies(8, 23)


def test_the_edition_says_how_it_is_known() -> None:
    assert "2017" in NEC_2017.edition
    assert "recalled" in NEC_2017.provenance

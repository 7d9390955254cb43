"""Circuits and supplies against NEC 210.20(A) and published worked values.

“seen”: read in a document other than the code; the rest is arithmetic.
"""

import pytest

from asbuilt.trade import supply


@pytest.mark.parametrize(
    ("rating", "amperes", "watts"),
    [(15, 12, 1440), (20, 16, 1920)],  # 120 V (seen)
)
def test_continuous_load(rating: float, amperes: float, watts: float) -> None:
    assert supply.max_continuous_amperes(rating) == pytest.approx(amperes)
    assert supply.max_continuous_watts(rating, 120) == pytest.approx(watts)


def test_breaker() -> None:
    assert supply.min_breaker_rating(24) == 30  # seen
    assert supply.min_breaker_rating(8, 10) == 20
    assert supply.min_breaker_rating(16.1) > 20


def test_the_two_ways_to_say_it_agree() -> None:
    for rating in (10, 13, 15, 16, 20, 30, 32):
        assert supply.min_breaker_rating(supply.max_continuous_amperes(rating)) == pytest.approx(
            rating
        )
    assert supply.max_continuous_amperes(20, share=1.0) == 20  # a breaker listed for all of it


def test_higher_voltage() -> None:
    assert supply.max_continuous_watts(30, 208) == pytest.approx(4992)
    three = supply.load_watts(supply.max_continuous_amperes(30), 208, phases=3)
    assert three == pytest.approx(8646, abs=1)


def test_two_feeds() -> None:
    # two feeds of 20 A: 8 A each is well; 9 A each looks fine and fails when one is lost
    assert supply.one_feed_carries_all([8, 8], 20)
    assert not supply.one_feed_carries_all([9, 9], 20)


def test_run_time_by_the_battery() -> None:
    # 9 Ah, 12 V, 300 W: 21.6 min ideal, 19.4 at 0.9 (seen)
    assert supply.battery_run_time(9, 12, 300) == pytest.approx(19.4, abs=0.05)
    assert supply.battery_run_time(9, 12, 300, efficiency=1) == pytest.approx(21.6)
    assert supply.battery_run_time(9, 12, 0) is None


#: A maker’s table for a 1400 VA supply: load in VA, minutes (seen).
TABLE = ((100, 190), (200, 99), (400, 42), (500, 29), (800, 16), (1000, 11), (1200, 8.8))


@pytest.mark.parametrize(("load", "minutes"), TABLE)
def test_a_line_of_the_table_is_given_as_it_stands(load: float, minutes: float) -> None:
    assert supply.battery_run_time_by_table(TABLE, load) == pytest.approx(minutes)


def test_between_the_lines() -> None:
    # the same maker prints 23 min at 600 VA, a line left out above
    assert supply.battery_run_time_by_table(TABLE, 600) == pytest.approx(23, abs=0.5)


def test_half_the_load_lasts_more_than_twice() -> None:
    for load in (400, 800, 1000):
        half, full = (supply.battery_run_time_by_table(TABLE, x) for x in (load / 2, load))
        assert half is not None and full is not None
        assert half > 2 * full


def test_nothing_is_said_beyond_the_table() -> None:
    assert supply.battery_run_time_by_table(TABLE, 1201) is None
    assert supply.battery_run_time_by_table(TABLE, 99) is None
    assert supply.battery_run_time_by_table((), 100) is None


def test_apparent_power() -> None:
    assert supply.real_power(1000, 0.9) == 900

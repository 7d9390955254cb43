"""Power over Ethernet against IEEE 802.3 as restated in public secondary documents.

“seen”: read in a document other than the standard; “memory”: recalled, not read.
"""

import pytest

from asbuilt.trade import poe


@pytest.mark.parametrize(
    ("number", "pse", "pd", "pd_volts"),
    [
        # PSE and PD watts and least volts at the device: seen (one restatement misprints
        # class 8 as 99 W at the switch; it is 90).
        (0, 15.4, 12.95, 37.0),
        (1, 4.0, 3.84, 42.2),
        (2, 7.0, 6.49, 40.8),
        (3, 15.4, 12.95, 37.0),
        (4, 30.0, 25.5, 42.5),
        (5, 45.0, 40.0, 44.4),
        (6, 60.0, 51.0, 42.5),
        (7, 75.0, 62.0, 43.0),
        (8, 90.0, 71.3, 41.1),
    ],
)
def test_classes(number: int, pse: float, pd: float, pd_volts: float) -> None:
    row = poe.POWER_CLASSES[number]
    assert poe.pse_watts(number) == pse
    assert poe.pd_watts(number) == pd
    # The published loss is I²R at the least voltage; every row agrees within rounding.
    assert poe.power_at_device(pse, row.volts, row.ohms) == pytest.approx(pd, abs=0.07)
    assert row.volts - poe.class_current(number) * row.ohms == pytest.approx(pd_volts, abs=0.1)


@pytest.mark.parametrize(("number", "milliamperes"), [(3, 350), (4, 600)])
def test_current_of_two_pairs(number: int, milliamperes: float) -> None:
    # 350 mA for type 1, 600 mA for type 2 (seen)
    assert poe.class_current(number) * 1000 == pytest.approx(milliamperes)


@pytest.mark.parametrize(
    ("number", "amperes"), [(3, 0.175), (4, 0.300), (6, 0.300), (7, 0.361), (8, 0.433)]
)
def test_current_of_a_conductor(number: int, amperes: float) -> None:
    # arithmetic from the rows above
    assert poe.current_per_conductor(number) == pytest.approx(amperes, abs=0.0005)


@pytest.mark.parametrize(
    ("pd", "volts", "ohms", "pse"),
    [
        # The inverse of the class rows (memory; the arithmetic is exact).
        (25.5, 50, 12.5, 30.0),
        (51.0, 50, 6.25, 60.0),
        (71.3, 52, 6.25, 90.04),
        (12.95, 44, 20, 15.4),
    ],
)
def test_power_needed_at_the_switch(pd: float, volts: float, ohms: float, pse: float) -> None:
    needed = poe.pse_power_needed(pd, volts, ohms)
    assert needed == pytest.approx(pse, abs=0.005)
    assert needed is not None
    assert poe.power_at_device(needed, volts, ohms) == pytest.approx(pd)


def test_no_power_is_enough() -> None:
    # V² < 4RP has no solution: 44 V over 20 Ω can't deliver more than 24.2 W
    assert poe.pse_power_needed(24.2, 44, 20) == pytest.approx(48.4)
    assert poe.pse_power_needed(24.3, 44, 20) is None


@pytest.mark.parametrize(
    ("number", "length", "pse"),
    [
        (4, 100, 30.00),
        (4, 90, 29.386),
        (4, 50, 27.373),
        (4, 10, 25.834),
        (4, 0, 25.5),
        (8, 100, 90.04),
        (8, 50, 78.404),
    ],
)
def test_a_shorter_link_needs_less(number: int, length: float, pse: float) -> None:
    # resistance goes with length (arithmetic)
    assert poe.pse_power_at_length(number, length) == pytest.approx(pse, abs=0.005)


def test_budget_arithmetic() -> None:
    # 24 × class 3 = 369.6 W fit 370 W, 25 don't; 12 × class 4 = 360 W fit, 13 don't (arithmetic)
    assert 24 * poe.pse_watts(3) == pytest.approx(369.6)
    assert 25 * poe.pse_watts(3) > 370
    assert 12 * poe.pse_watts(4) <= 370 < 13 * poe.pse_watts(4)

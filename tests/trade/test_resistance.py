"""Direct-current resistance against ANSI/TIA-568 and IEEE 802.3 as restated publicly."""

import pytest

from asbuilt.trade import poe, resistance


def test_conductor() -> None:
    # 28.6 Ω in 1000 ft, as a category 6 cable’s data sheet prints it (seen)
    in_100_m = 28.6 / 304.8 * 100
    assert in_100_m == pytest.approx(resistance.MAX_CONDUCTOR_RESISTANCE, abs=0.005)
    assert resistance.conductor_resistance(50) == pytest.approx(4.69)


def test_loop() -> None:
    # 25 Ω a channel, 21 Ω a permanent link (memory); 90 m of the worst cable stay below the latter
    assert resistance.loop_resistance(90) == pytest.approx(16.884)
    assert resistance.LINK_LOOP.is_met_by(resistance.loop_resistance(90))
    assert resistance.CHANNEL_LOOP.value == 25


@pytest.mark.parametrize(("number", "pairs"), [(4, 2), (6, 4), (8, 4)])
def test_channel_limit_is_what_power_over_ethernet_counts_with(number: int, pairs: int) -> None:
    # IEEE 802.3 counts 12.5 Ω over two pairs (seen) and 6.25 Ω over four: the channel’s 25 Ω shared
    assert resistance.CHANNEL_LOOP.value / pairs == poe.POWER_CLASSES[number].ohms


def test_powered_loop_shares_its_conductors() -> None:
    one_pair = resistance.loop_resistance(100)
    assert resistance.powered_loop_resistance(100, 2) == pytest.approx(one_pair / 2)
    assert resistance.powered_loop_resistance(100, 4) == pytest.approx(one_pair / 4)
    assert resistance.powered_loop_resistance(100, 4) < poe.POWER_CLASSES[8].ohms


def test_warm_copper() -> None:
    # IEC 60028: 0.393 % a degree at 20 °C (memory): 40 °C make 7.86 % more
    warm = resistance.loop_resistance(100, 40)
    assert warm / resistance.loop_resistance(100) == pytest.approx(1.0786)

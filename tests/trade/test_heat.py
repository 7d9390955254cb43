"""Heat against published worked values (“seen”), the rest arithmetic."""

import pytest

from asbuilt.trade import heat, poe


@pytest.mark.parametrize(
    ("watts", "btu"),
    [(1, 3.412), (12_500, 42_650), (754, 2572.6), (153, 522)],  # seen, to 0.2 %
)
def test_btu(watts: float, btu: float) -> None:
    assert heat.btu_per_hour(watts) == pytest.approx(btu, rel=0.002)


def test_tons() -> None:
    assert heat.refrigeration_tons(12_500) == pytest.approx(3.55, abs=0.01)
    assert heat.btu_per_hour(3516.85) == pytest.approx(heat.BTU_PER_HOUR_PER_TON, rel=1e-4)


def test_where_the_heat_of_24_powered_devices_goes() -> None:
    # 24 × class 3: 310.8 W leave the room, 58.8 W stay in the cables (arithmetic, IEEE 802.3)
    lost = heat.heat_in_cable(3, 100)
    assert lost is not None
    assert 24 * poe.pd_watts(3) == pytest.approx(310.8)
    assert 24 * lost == pytest.approx(58.8, abs=0.01)
    assert heat.heat_left_in_room(450, 24 * poe.pse_watts(3)) == pytest.approx(80.4)
    assert heat.heat_left_in_room(300, 369.6) == 0


def test_a_shorter_cable_warms_less() -> None:
    long, short = heat.heat_in_cable(4, 90), heat.heat_in_cable(4, 10)
    assert long == pytest.approx(29.386 - 25.5, abs=0.001)
    assert short == pytest.approx(25.834 - 25.5, abs=0.001)
    assert heat.heat_in_cable(4, 0) == pytest.approx(0)


def test_what_cannot_arrive() -> None:
    assert heat.heat_in_cable(3, 100, watts=24.3) is None

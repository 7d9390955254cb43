"""Bends and pulls against ANSI/TIA-568.0-D and -569 as restated publicly (seen)."""

import pytest

from asbuilt.trade import bending


@pytest.mark.parametrize(
    ("kind", "diameter", "radius"),
    [
        ("four-pair cable", 6.1, 24.4),
        ("four-pair cable", 7.6, 30.4),
        ("four-pair cord", 5.0, 6.4),  # never under a quarter of an inch
        ("four-pair cord", 7.0, 7.0),
        ("multi-pair backbone", 20, 200),
        ("fibre, pulled", 12, 240),
        ("fibre, at rest", 12, 120),
    ],
)
def test_cable(kind: str, diameter: float, radius: float) -> None:
    assert bending.min_bend_radius(kind, diameter) == pytest.approx(radius)


def test_conduit() -> None:
    # 2 in EMT: 315 mm; 4 in: 1101 mm (arithmetic from 6 × and 10 ×)
    assert bending.min_conduit_radius(52.5) == pytest.approx(315)
    assert bending.min_conduit_radius(110.1) == pytest.approx(1101)
    assert bending.min_conduit_radius(52.5, fibre=True) == pytest.approx(525)


def test_pull() -> None:
    # 110 N, in print as 25 lbf, which is 111.2 N: the metric figure is the rounded one
    assert bending.PULLING_TENSION.is_met_by(110)
    assert not bending.PULLING_TENSION.is_met_by(111)
    pounds = 25 * 4.4482216
    assert pounds == pytest.approx(111.2, abs=0.01)
    assert bending.FIBRE_PULLING_TENSION.value == 222

"""Delay and skew against ANSI/TIA-568 as restated in public documents.

“seen”: read in a document other than the standard; “memory”: recalled, not read.
"""

import pytest

from asbuilt.trade import delay


@pytest.mark.parametrize(
    ("frequency", "nanoseconds"),
    [
        # All eight as printed in a category 6A cable’s data sheet (seen); the formula: memory.
        (1, 570),
        (4, 552),
        (8, 546.7),
        (10, 545.4),
        (16, 543),
        (100, 537.6),
        (250, 536.3),
        (500, 535.6),
    ],
)
def test_cable(frequency: float, nanoseconds: float) -> None:
    assert delay.cable_delay(frequency) == pytest.approx(nanoseconds, abs=0.05)


def test_channel_and_link() -> None:
    # 548 ns at 100 MHz (seen); 555 ns and 498 ns at 10 MHz (memory)
    assert round(delay.channel_delay(100)) == 548
    assert round(delay.channel_delay(delay.REFERENCE_FREQUENCY)) == 555 == delay.CHANNEL_DELAY.value
    assert round(delay.link_delay(delay.REFERENCE_FREQUENCY)) == 498 == delay.LINK_DELAY.value


def test_skew() -> None:
    # cable 45 ns and channel 50 ns (seen), permanent link 44 ns (memory)
    assert delay.cable_skew(100) == 45
    assert delay.CHANNEL_SKEW.is_met_by(49)
    assert not delay.CHANNEL_SKEW.is_met_by(51)
    assert delay.LINK_SKEW.value == 44


def test_a_shorter_cable_takes_less() -> None:
    assert delay.cable_delay(10, 45) == pytest.approx(delay.cable_delay(10, 90) / 2)
    assert delay.cable_skew(50) == 22.5

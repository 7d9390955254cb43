"""Power over Ethernet by class: what a switch sets aside, what reaches the device.

IEEE 802.3 (af, at, bt). A class stands for power at the switch (PSE) and for the power the device
(PD) is sure of behind 100 m of the worst cable the standard allows; the difference heats the
cable. Class 0 is treated as class 3. Watts, volts, ohms, amperes, metres.
"""

import math
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class PowerClass:
    """`volts` is the least voltage at the switch, `ohms` the loop of 100 m of cable."""

    number: int
    type: int
    pse: float
    pd: float
    volts: float
    ohms: float

    @property
    def pairs(self) -> int:
        return 4 if self.type >= 3 else 2


POWER_CLASSES: Final = {
    row.number: row
    for row in (
        PowerClass(0, 1, 15.4, 12.95, 44.0, 20.0),
        PowerClass(1, 1, 4.0, 3.84, 44.0, 20.0),
        PowerClass(2, 1, 7.0, 6.49, 44.0, 20.0),
        PowerClass(3, 1, 15.4, 12.95, 44.0, 20.0),
        PowerClass(4, 2, 30.0, 25.5, 50.0, 12.5),
        PowerClass(5, 3, 45.0, 40.0, 50.0, 6.25),
        PowerClass(6, 3, 60.0, 51.0, 50.0, 6.25),
        PowerClass(7, 4, 75.0, 62.0, 52.0, 6.25),
        PowerClass(8, 4, 90.0, 71.3, 52.0, 6.25),
    )
}


def pse_watts(number: int) -> float:
    """What a switch sets aside for a device of this class."""
    return POWER_CLASSES[number].pse


def pd_watts(number: int) -> float:
    """What a device of this class is sure of."""
    return POWER_CLASSES[number].pd


def class_current(number: int) -> float:
    """The current of a class at full power, all pairs taken together."""
    return POWER_CLASSES[number].pse / POWER_CLASSES[number].volts


def current_per_conductor(number: int) -> float:
    """Each pair of a powered cable carries its share on two conductors in parallel; half of the
    pairs carry it out, half back."""
    return class_current(number) / POWER_CLASSES[number].pairs


def power_at_device(pse: float, volts: float, ohms: float) -> float:
    """What arrives at the device of `pse` watts sent: P − I²R."""
    return pse - (pse / volts) ** 2 * ohms


def pse_power_needed(pd: float, volts: float, ohms: float) -> float | None:
    """What has to be sent for `pd` watts to arrive: V (V − √(V² − 4RP)) / 2R.

    None where no power is enough: the cable would eat whatever is added.
    """
    under = volts**2 - 4 * ohms * pd
    if under < 0:
        return None
    if ohms == 0:
        return pd
    return volts * (volts - math.sqrt(under)) / (2 * ohms)


def pse_power_at_length(number: int, length: float, pd: float | None = None) -> float | None:
    """What a switch has to send over `length` metres for `pd` watts (by default what the class is
    sure of) to arrive: the loop's resistance goes with the length."""
    row = POWER_CLASSES[number]
    watts = row.pd if pd is None else pd
    return pse_power_needed(watts, row.volts, row.ohms * length / 100)

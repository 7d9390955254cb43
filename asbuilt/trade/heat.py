"""Heat: electricity that goes in and doesn't leave over a cable.

1 W is 3.412142 BTU/h (international table), 12 000 BTU/h a ton of refrigeration. What a switch
sends over its cables heats the pathway (the cable's loss) and the far room, not its own.
"""

from typing import Final

from asbuilt.trade.poe import pd_watts, pse_power_at_length

BTU_PER_HOUR_PER_WATT: Final = 3.412142
BTU_PER_HOUR_PER_TON: Final = 12_000.0


def btu_per_hour(watts: float) -> float:
    return watts * BTU_PER_HOUR_PER_WATT


def refrigeration_tons(watts: float) -> float:
    """Tons of refrigeration."""
    return btu_per_hour(watts) / BTU_PER_HOUR_PER_TON


def heat_left_in_room(input_watts: float, sent_watts: float) -> float:
    """What a switch that takes so much and sends so much over its cables leaves where it is."""
    return max(0.0, input_watts - sent_watts)


def heat_in_cable(power_class: int, length: float, watts: float | None = None) -> float | None:
    """What a cable of `length` metres turns to heat while a device behind it takes `watts` (by
    default what its class is sure of). None where that much can't arrive."""
    arriving = pd_watts(power_class) if watts is None else watts
    sent = pse_power_at_length(power_class, length, arriving)
    return None if sent is None else sent - arriving

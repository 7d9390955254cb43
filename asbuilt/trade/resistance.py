"""Direct-current resistance of balanced cabling.

ANSI/TIA-568.2-D: a conductor has 9.38 Ω in 100 m at 20 °C at most; a pair's loop 25 Ω in a
channel, 21 Ω in a permanent link. Copper's resistance rises by 0.393 % for each degree above 20 °C
(IEC 60028). Ohms, metres, °C.
"""

from typing import Final

from asbuilt.trade.limit import Limit

MAX_CONDUCTOR_RESISTANCE: Final = 9.38  # in 100 m
CHANNEL_LOOP: Final = Limit("a channel’s loop resistance", 25, "Ω", "ANSI/TIA-568.2-D")
LINK_LOOP: Final = Limit("a permanent link’s loop resistance", 21, "Ω", "ANSI/TIA-568.2-D")
_PER_DEGREE: Final = 0.00393


def conductor_resistance(length: float, celsius: float = 20.0) -> float:
    """The most one conductor of this length may have."""
    return MAX_CONDUCTOR_RESISTANCE * length / 100 * (1 + _PER_DEGREE * (celsius - 20))


def loop_resistance(length: float, celsius: float = 20.0) -> float:
    """The most a pair may have, there and back."""
    return 2 * conductor_resistance(length, celsius)


def powered_loop_resistance(length: float, pairs: int, celsius: float = 20.0) -> float:
    """The loop that powers a device over two pairs or four: in each direction the current has the
    conductors of half of the pairs side by side."""
    return 2 * conductor_resistance(length, celsius) / pairs

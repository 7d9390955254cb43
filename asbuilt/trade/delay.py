"""How long a signal takes through balanced cabling, and how far its pairs drift apart.

ANSI/TIA-568.2-D (as its predecessors 568-B.2 and 568-C.2): a cable takes 534 + 36/√f ns for 100 m,
f in MHz; a connection adds 2.5 ns. A channel is counted as 100 m of cable and four connections, a
permanent link as 90 m and three. Limits are quoted at 10 MHz. Nanoseconds, metres, MHz.
"""

import math
from typing import Final

from asbuilt.trade.limit import Limit

CONNECTION_DELAY: Final = 2.5
REFERENCE_FREQUENCY: Final = 10.0

CHANNEL_DELAY: Final = Limit("a channel’s delay", 555, "ns", "ANSI/TIA-568.2-D")
LINK_DELAY: Final = Limit("a permanent link’s delay", 498, "ns", "ANSI/TIA-568.2-D")
CHANNEL_SKEW: Final = Limit("a channel’s delay skew", 50, "ns", "ANSI/TIA-568.2-D")
LINK_SKEW: Final = Limit("a permanent link’s delay skew", 44, "ns", "ANSI/TIA-568.2-D")
#: Of 100 m of cable.
CABLE_SKEW: Final = Limit("a cable’s delay skew", 45, "ns", "ANSI/TIA-568.2-D")


def cable_delay(frequency: float, length: float = 100.0) -> float:
    """The most a cable of this length may take."""
    return (534 + 36 / math.sqrt(frequency)) * length / 100


def channel_delay(frequency: float, length: float = 100.0, connections: int = 4) -> float:
    """The most a channel of this length with so many connections may take."""
    return cable_delay(frequency, length) + connections * CONNECTION_DELAY


def link_delay(frequency: float, length: float = 90.0, connections: int = 3) -> float:
    """The most a permanent link of this length with so many connections may take."""
    return cable_delay(frequency, length) + connections * CONNECTION_DELAY


def cable_skew(length: float) -> float:
    """The most the pairs of a cable of this length may drift apart."""
    return CABLE_SKEW.value * length / 100

"""How long a balanced copper link and its cords may be.

ANSI/TIA-568.2-D: the permanent link has 90 m at most, the whole channel 100 m. Where cords are
longer than usual (open offices), the same standard family gives less horizontal cable for more
cord, since a stranded cord loses more a metre than the solid cable it is joined to. Metres.
"""

import math
from dataclasses import dataclass
from typing import Final

MAX_PERMANENT_LINK: Final = 90.0
MAX_CHANNEL: Final = 100.0


@dataclass(frozen=True, slots=True)
class CordGauge:
    """A gauge of cord: how much more it loses than solid cable, the length taken up in the
    telecommunications space, and the longest work-area cord."""

    derating: float
    telecommunications_space_length: float
    max_work_area: int


#: By AWG number of the cord's wire.
CORD_GAUGES: Final = {24: CordGauge(0.2, 5.0, 22), 26: CordGauge(0.5, 3.5, 17)}


def max_cords_length(horizontal: float, gauge: int = 24) -> int:
    """The cords of a channel taken together, for so much horizontal cable: (102 − H) / (1 + D).

    Rounded to the nearest metre, a half downward, as the published table is.
    """
    exact = round((102 - horizontal) / (1 + CORD_GAUGES[gauge].derating), 6)
    return max(0, math.ceil(exact - 0.5))


def max_work_area_cord(horizontal: float, gauge: int = 24) -> int:
    """The longest cord at the work area, for so much horizontal cable."""
    wire = CORD_GAUGES[gauge]
    left = math.floor(max_cords_length(horizontal, gauge) - wire.telecommunications_space_length)
    return max(0, min(left, wire.max_work_area))

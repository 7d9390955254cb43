"""Self-laminating labels: a printed band and a clear tail that goes around the cable over it.

Common practice: the label is at least as long as the cable is around, π·d, and the overlap, which
is the printed band: so the clear part covers all of it. Millimetres.
"""

import math
from typing import Final

#: The least band one can print a label on.
MIN_BAND: Final = 6.0


def wrap_length(diameter: float, overlap: float) -> float:
    """How long a label has to be that goes around a cable once and `overlap` further."""
    return math.pi * diameter + overlap


def printed_band(length: float, diameter: float) -> float:
    """How much of a label of this length may be printed, so that the rest covers it; no more
    than the cable is around, and below zero where the label is too short."""
    return min(length - math.pi * diameter, math.pi * diameter)

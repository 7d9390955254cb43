"""How long the cord between two ports of an enclosure has to be.

Common practice, here as data: the way up or down is counted in rack units; each plug takes a hand's
breadth to turn in; the ports are seldom exactly above each other; beyond a few units a cord goes
out to the side and back. It is bought in stock lengths. Metres.
"""

import math
from typing import Final

from asbuilt.trade.rack import RACK_UNIT

PLUG_ALLOWANCE: Final = 0.06  # for the plug and its bend, at each end
OFFSET_ALLOWANCE: Final = 0.10  # between ports that are not above each other
#: Up to so many units apart a cord runs straight; half a metre reaches that far.
MAX_STRAIGHT_UNITS: Final = 6
SIDE_ALLOWANCE: Final = 0.45  # out to the side and back
BETWEEN_ENCLOSURES: Final = 3.0  # to the enclosure beside it
STOCK_LENGTHS: Final = (0.3, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0)
STOCK_LENGTHS_FEET: Final = (1, 2, 3, 5, 7, 10, 14, 25, 35)
_FOOT: Final = 0.3048


def required_cord_length(units_apart: int) -> float:
    """What a cord needs between ports so many units apart in one enclosure."""
    side = SIDE_ALLOWANCE if abs(units_apart) > MAX_STRAIGHT_UNITS else 0.0
    return abs(units_apart) * RACK_UNIT / 1000 + 2 * PLUG_ALLOWANCE + OFFSET_ALLOWANCE + side


def stock_length(metres: float) -> float:
    """The shortest stock length that reaches; beyond the longest, whole metres."""
    reaching = [length for length in STOCK_LENGTHS if length >= metres - 1e-9]
    return reaching[0] if reaching else float(math.ceil(metres))


def stock_length_feet(metres: float) -> int:
    """The same in feet."""
    reaching = [feet for feet in STOCK_LENGTHS_FEET if feet * _FOOT >= metres - 1e-9]
    return reaching[0] if reaching else math.ceil(metres / _FOOT)

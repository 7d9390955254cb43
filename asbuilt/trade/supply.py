"""What a circuit and an uninterruptible supply may carry.

NEC 210.20(A): a breaker is rated for 1.25 × the continuous load (three hours and more) and 1 × the
rest; turned round, a continuous load may take 80 % of the rating. Breakers listed for 100 % are
exempt, so the share is an argument. Two feeds that back each other up must each carry the whole.
Amperes, volts, watts, minutes. Information for an electrician, who decides.
"""

import itertools
import math
from collections.abc import Sequence
from typing import Final

CONTINUOUS_SHARE: Final = 0.8
CONTINUOUS_SOURCE: Final = "NEC 210.20(A)"
_ROUNDING: Final = 1e-9


def min_breaker_rating(continuous: float, other: float = 0.0) -> float:
    """The least rating of a breaker for these loads."""
    return 1.25 * continuous + other


def max_continuous_amperes(rating: float, share: float = CONTINUOUS_SHARE) -> float:
    """What a breaker may carry for three hours and more."""
    return rating * share


def load_watts(amperes: float, volts: float, phases: int = 1) -> float:
    """The power of a load with a power factor of 1; between three phases √3 times as much."""
    return amperes * volts * (math.sqrt(3) if phases == 3 else 1)


def max_continuous_watts(rating: float, volts: float, share: float = CONTINUOUS_SHARE) -> float:
    """What a circuit may carry for three hours and more."""
    return load_watts(max_continuous_amperes(rating, share), volts)


def one_feed_carries_all(
    loads: Sequence[float], rating: float, share: float = CONTINUOUS_SHARE
) -> bool:
    """Whether one of several feeds of a rating may carry what all of them carry now."""
    return sum(loads) <= max_continuous_amperes(rating, share) + _ROUNDING


def real_power(apparent: float, power_factor: float) -> float:
    """W = VA × power factor."""
    return apparent * power_factor


def battery_run_time(
    ampere_hours: float, volts: float, load: float, efficiency: float = 0.9
) -> float | None:
    """Minutes by the battery's label: Ah · V · η / P · 60. An upper bound: a lead battery gives
    less the faster it is emptied. None where there is no load."""
    return ampere_hours * volts * efficiency / load * 60 if load > 0 else None


def battery_run_time_by_table(table: Sequence[tuple[float, float]], load: float) -> float | None:
    """Minutes by a maker's table of (load, minutes), between two of its lines along the power law
    that joins them. None outside the table: run times must not be extended beyond it."""
    lines = sorted(table)
    for (less, longer), (more, shorter) in itertools.pairwise(lines):
        if less <= load <= more:
            steep = math.log(shorter / longer) / math.log(more / less)
            return float(longer * (load / less) ** steep)
    return None

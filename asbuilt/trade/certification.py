"""What a certification result is held against.

By how much a tested length may differ from the recorded one, and for how long an instrument's
calibration is taken to hold, are data: the first is the allowance a tester makes for a nominal
velocity of propagation that isn't exactly the cable's (10 %, ANSI/TIA-1152 and 568.2-D, recalled
from memory), the second common practice (a year; makers' own terms differ). Metres.

A limit is named as testers name it. The channel classes of ISO/IEC 11801 stand beside the
categories of ANSI/TIA-568: D and 5e, E and 6, EA and 6A, F and 7, FA and 7A, I or II and 8
(ISO/IEC 11801-1:2017, recalled from memory).
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Final

LENGTH_TOLERANCE: Final = 0.10
#: So much may always be between them: loops are taken up, tapes are read, figures rounded.
MIN_LENGTH_TOLERANCE: Final = 2.0
CALIBRATION_YEARS: Final = 1

#: Categories from the least to the most.
CATEGORIES: Final = ("3", "5", "5e", "6", "6A", "7", "7A", "8")
_CATEGORY_OF_CLASS: Final = {
    "C": "3", "D": "5e", "E": "6", "EA": "6A", "F": "7", "FA": "7A", "I": "8", "II": "8",
}  # fmt: skip
_CATEGORY = re.compile(r"\bcat(?:egory|\.)?\s*(3|5e|5|6A|6|7A|7|8)(?![0-9A-Za-z])", re.IGNORECASE)
_CLASS = re.compile(r"\bclass\s*(EA|E|FA|F|II|I|C|D)(?![0-9A-Za-z])", re.IGNORECASE)
_FIBRE = re.compile(r"\b(OM[1-5]|OS[12])(?![0-9A-Za-z])", re.IGNORECASE)


def length_from_delay(nanoseconds: float, nvp: float) -> float:
    """The length a signal of `nvp` (a share of the speed of light, 299 792 458 m/s) goes in so
    many nanoseconds: how a tester measures length."""
    return nanoseconds * 1e-9 * nvp * 299_792_458


def lengths_agree(tested: float, recorded: float) -> bool:
    """Whether a tested length is the recorded one, as far as a tester can tell."""
    return abs(tested - recorded) <= max(LENGTH_TOLERANCE * recorded, MIN_LENGTH_TOLERANCE) + 1e-9


def category_of_limit(limit: str) -> str | None:
    """The category or kind of fibre a limit's name speaks of (`6A`, `OM4`), if it does."""
    category = _CATEGORY.search(limit)
    if category:
        return category[1].lower().replace("a", "A")
    fibre = _FIBRE.search(limit)
    if fibre:
        return fibre[1].upper()
    grade = _CLASS.search(limit)
    return _CATEGORY_OF_CLASS[grade[1].upper()] if grade else None


def last_calibrated_day(calibrated: dt.date) -> dt.date:
    """The last day an instrument calibrated on this day is taken to be in calibration."""
    year = calibrated.year + CALIBRATION_YEARS
    try:
        return calibrated.replace(year=year)
    except ValueError:  # 29 February
        return dt.date(year, 2, 28)

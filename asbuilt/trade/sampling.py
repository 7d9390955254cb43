"""How sure a sample makes one.

Of `total` records `seen` are looked at, drawn so that each is as likely as any other, and `wrong`
of them are found wrong. How many of all may be wrong follows from the hypergeometric distribution,
drawing without putting back (exact, one-sided; see any table of attribute sampling). Where the
total is large, the binomial distribution gives the same: 59 right out of 59 say that less than one
in twenty is wrong, at 95 %.
"""

from __future__ import annotations

import math
from typing import Final

CONFIDENCE: Final = 0.95


def probability_of_at_most(total: int, bad: int, seen: int, wrong: int) -> float:
    """The chance to find at most `wrong` in a sample, if `bad` of the total are wrong."""
    ways = sum(
        math.comb(bad, found) * math.comb(total - bad, seen - found)
        for found in range(min(wrong, seen) + 1)
    )
    return ways / math.comb(total, seen)


def max_wrong_records(total: int, seen: int, wrong: int, confidence: float = CONFIDENCE) -> int:
    """The most of all records that may be wrong: more would have shown in the sample, with this
    confidence."""
    low, high = wrong, total - (seen - wrong)
    while low < high:
        middle = (low + high + 1) // 2
        if probability_of_at_most(total, middle, seen, wrong) > 1 - confidence:
            low = middle
        else:
            high = middle - 1
    return low


def sample_size(total: int, share: float, confidence: float = CONFIDENCE) -> int:
    """How many have to be looked at, and all found right, to say that less than this share of
    all is wrong."""
    bad = math.ceil(share * total - 1e-9)
    if bad < 1 or total < 1:
        return total
    low, high = 0, total - bad + 1
    while low < high:
        middle = (low + high) // 2
        if probability_of_at_most(total, bad, middle, 0) <= 1 - confidence:
            high = middle
        else:
            low = middle + 1
    return low


def sample_size_of_many(share: float, confidence: float = CONFIDENCE) -> int:
    """The same where the total is large: ln(1 − confidence) / ln(1 − share), rounded up."""
    return math.ceil(math.log(1 - confidence) / math.log(1 - share) - 1e-9)

"""Many sites together: how full they were over the years, and which have no room left."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

#: A day, how much was used, how much there was.
UsagePoint = tuple[dt.date, float, float]


def sum_trends(trends: Iterable[Sequence[UsagePoint]]) -> tuple[UsagePoint, ...]:
    """The sum of several trends. Each counts as nothing before its first reading, and stays as it
    was after each until the next."""
    steps: dict[dt.date, list[float]] = {}
    for trend in trends:
        before = (0.0, 0.0)
        for day, used, total in sorted(trend):
            step = steps.setdefault(day, [0.0, 0.0])
            step[0] += used - before[0]
            step[1] += total - before[1]
            before = (used, total)
    found: list[UsagePoint] = []
    used = total = 0.0
    for day in sorted(steps):
        used, total = used + steps[day][0], total + steps[day][1]
        found.append((day, used, total))
    return tuple(found)

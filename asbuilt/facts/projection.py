"""When something runs out at the pace seen, with an interval; silent where too little is known.

Used against time is fitted with a straight line by least squares. The interval is where the line
may cross the capacity at all: Fieller's limits of an inverse estimate (Draper and Smith, Applied
Regression Analysis, section 3.2), with Student's t for as many points as there are. Its
distribution is summed exactly for whole degrees of freedom (Abramowitz and Stegun, 26.7.3 and
26.7.4). The interval knows of scatter about a line, not of next year's plans.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

DAYS_PER_YEAR: Final = 365.25  # days
MIN_DAYS: Final = 365
MIN_CHANGES: Final = 5
CONFIDENCE_LEVEL: Final = 0.9
#: Beyond so many years from the last point nothing is said.
MAX_YEARS: Final = 50

#: A date, how much was used, how much there was.
UsagePoint = tuple[dt.date, float, float]


@dataclass(frozen=True, slots=True)
class LineFit:
    """A straight line: `at_mean` is its value at `mean`, `slope` what it gains a day."""

    mean_day: float  # days since the first reading
    value_at_mean: float
    slope: float
    sum_of_squares: float  # Σ (x − mean)²
    standard_deviation: float  # standard deviation about the line
    count: int

    def value(self, day: float) -> float:
        return self.value_at_mean + self.slope * (day - self.mean_day)


@dataclass(frozen=True, slots=True)
class Projection:
    """`runs_out` is None where `reason` says why. `latest` is None where the readings don't rule
    out that it never does."""

    points: tuple[UsagePoint, ...]
    per_year: float | None = None
    runs_out: dt.date | None = None
    earliest: dt.date | None = None
    latest: dt.date | None = None
    confidence_level: float = CONFIDENCE_LEVEL
    reason: str = ""

    @property
    def changes(self) -> int:
        """How often use changed from one reading to the next."""
        return count_changes(self.points)


def project_usage(readings: Sequence[UsagePoint], level: float = CONFIDENCE_LEVEL) -> Projection:
    """The date at which use reaches the capacity of the last reading, at the pace seen.

    Of several readings of a day the last counts.
    """
    days = {date: (date, used, capacity) for date, used, capacity in readings}
    series = tuple(days[date] for date in sorted(days))
    if not series:
        return Projection(series, confidence_level=level, reason="nothing was counted yet")
    first, last, capacity = series[0][0], series[-1][0], series[-1][2]
    if (last - first).days < MIN_DAYS:
        reason = f"less than a year of records: {_days_text(last - first)}"
        return Projection(series, confidence_level=level, reason=reason)
    changes = count_changes(series)
    if changes < MIN_CHANGES:
        times = "once" if changes == 1 else f"{changes} times"
        reason = (
            f"use changed {times}, fewer than {MIN_CHANGES}" if changes else "use never changed"
        )
        return Projection(series, confidence_level=level, reason=reason)
    fit = fit_line([((date - first).days, used) for date, used, _ in series])
    pace = fit.slope * DAYS_PER_YEAR
    if series[-1][1] >= capacity:
        return Projection(series, pace, confidence_level=level, reason="it is full already")
    if fit.slope <= 0:
        return Projection(series, pace, confidence_level=level, reason="use isn't growing")
    crossing = fit.mean_day + (capacity - fit.value_at_mean) / fit.slope
    end = (last - first).days
    if crossing > end + MAX_YEARS * DAYS_PER_YEAR:
        reason = f"not within {MAX_YEARS} years at this pace"
        return Projection(series, pace, confidence_level=level, reason=reason)
    if crossing < end:
        reason = "at that pace it would be full already, so use has slowed"
        return Projection(series, pace, confidence_level=level, reason=reason)
    earliest, latest = crossing_limits(fit, capacity, level)
    bounded = latest is not None and latest <= end + MAX_YEARS * DAYS_PER_YEAR
    return Projection(
        series,
        pace,
        _date(first, crossing),
        _date(first, max(earliest, end)),  # it isn't full today, whatever the limits say
        _date(first, latest) if bounded and latest is not None else None,
        level,
    )


def count_changes(series: Sequence[UsagePoint]) -> int:
    return sum(one[1] != other[1] for one, other in itertools.pairwise(series))


def fit_line(points: Sequence[tuple[float, float]]) -> LineFit:
    """The line of least squares through two points or more that don't share one x."""
    count = len(points)
    mean_x = sum(x for x, _ in points) / count
    mean_y = sum(y for _, y in points) / count
    spread = sum((x - mean_x) ** 2 for x, _ in points)
    slope = sum((x - mean_x) * (y - mean_y) for x, y in points) / spread
    left = sum((y - mean_y - slope * (x - mean_x)) ** 2 for x, y in points)
    deviation = math.sqrt(left / (count - 2)) if count > 2 else 0.0
    return LineFit(mean_x, mean_y, slope, spread, deviation, count)


def crossing_limits(fit: LineFit, value: float, level: float) -> tuple[float, float | None]:
    """Between which x the true line reaches a value, at a level of confidence; the second is None
    where the slope may as well be nothing."""
    t = student_t(level, fit.count - 2)
    distance = (value - fit.value_at_mean) / fit.slope
    noise = (t * fit.standard_deviation / fit.slope) ** 2
    # (value − line)² ≤ t²s² (1/n + (x − mean)²/spread), solved for x: Fieller's quadratic.
    g = noise / fit.sum_of_squares
    root = distance**2 * g + noise * (1 - g) / fit.count
    if g >= 1:
        # The slope isn't told from nothing: only the near limit is one, where there is any.
        near = (distance - math.sqrt(root)) / (1 - g) if root >= 0 and g > 1 else -math.inf
        return fit.mean_day + near, None
    half = math.sqrt(root)
    return fit.mean_day + (distance - half) / (1 - g), fit.mean_day + (distance + half) / (1 - g)


def student_t(level: float, freedom: int) -> float:
    """The t that lies between −t and t with probability `level`, for whole degrees of freedom."""
    low, high = 0.0, 1.0
    while probability_within_t(high, freedom) < level:
        high *= 2
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if probability_within_t(middle, freedom) < level:
            low = middle
        else:
            high = middle
    return high


def probability_within_t(t: float, freedom: int) -> float:
    """The probability that Student's t lies between −t and t (A&S 26.7.3 and 26.7.4)."""
    angle = math.atan(t / math.sqrt(freedom))
    cosine = math.cos(angle)
    term, total = 1.0, 0.0
    if freedom % 2:
        term = cosine
        for k in range(3, freedom + 1, 2):
            total += term
            term *= cosine**2 * (k - 1) / k
        return 2 / math.pi * (angle + math.sin(angle) * total)
    for k in range(2, freedom + 1, 2):
        total += term
        term *= cosine**2 * (k - 1) / k
    return math.sin(angle) * total


def _date(first: dt.date, days: float) -> dt.date:
    return first + dt.timedelta(days=round(days))


def _days_text(span: dt.timedelta) -> str:
    return "one day" if span.days == 1 else f"{span.days} days"

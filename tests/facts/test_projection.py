"""When it runs out: the line against numpy, Student's t and the limits against scipy."""

from __future__ import annotations

import datetime as dt
import math
from random import Random

import numpy as np
import pytest
from scipy import optimize, stats  # type: ignore[import-untyped]

from asbuilt.facts.projection import (
    MAX_YEARS,
    UsagePoint,
    count_changes,
    crossing_limits,
    fit_line,
    project_usage,
    student_t,
)

START = dt.date(2021, 3, 1)


def _readings(used: list[float], capacity: float = 48, every: int = 91) -> list[UsagePoint]:
    return [(START + dt.timedelta(days=every * n), u, capacity) for n, u in enumerate(used)]


def _noisy(seed: int) -> list[tuple[float, float]]:
    rng = Random(seed)
    count = rng.randint(6, 40)
    days = sorted(rng.sample(range(1500), count))
    slope, base = rng.uniform(0.005, 0.1), rng.uniform(0, 60)
    return [(float(d), base + slope * d + rng.gauss(0, rng.choice((0.5, 3, 20)))) for d in days]


@pytest.mark.parametrize("seed", range(25))
def test_the_line_against_numpy(seed: int) -> None:
    points = _noisy(seed)
    x, y = np.array(points).T
    slope, start = np.polyfit(x, y, 1)
    fit = fit_line(points)
    assert fit.slope == pytest.approx(slope, rel=1e-9, abs=1e-12)
    assert fit.value(0) == pytest.approx(start, rel=1e-9, abs=1e-9)
    left = float(np.sum((y - np.polyval([slope, start], x)) ** 2))
    assert fit.standard_deviation == pytest.approx(math.sqrt(left / (len(points) - 2)), rel=1e-6)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 8, 13, 30, 61, 200])
@pytest.mark.parametrize("level", [0.5, 0.8, 0.9, 0.95, 0.99])
def test_students_t_against_scipy(freedom: int, level: float) -> None:
    assert student_t(level, freedom) == pytest.approx(stats.t.ppf((1 + level) / 2, freedom))


@pytest.mark.parametrize(
    ("freedom", "t"),
    # Student's table as printed in any handbook, 95 % two-sided
    [(1, 12.706), (2, 4.303), (5, 2.571), (10, 2.228), (30, 2.042)],
)
def test_students_t_as_printed(freedom: int, t: float) -> None:
    assert student_t(0.95, freedom) == pytest.approx(t, abs=0.0005)


@pytest.mark.parametrize("seed", range(25))
def test_limits_are_where_the_band_of_the_line_meets_the_capacity(seed: int) -> None:
    points = _noisy(seed)
    fit = fit_line(points)
    if fit.slope <= 0:
        pytest.fail("the case is meant to grow")
    value = fit.value(2500)
    t = stats.t.ppf(0.95, fit.count - 2)

    def gap(day: float, sign: int) -> float:
        """The upper (1) or lower (-1) border of the band about the line, less the capacity."""
        error = fit.standard_deviation * math.sqrt(
            1 / fit.count + (day - fit.mean_day) ** 2 / fit.sum_of_squares
        )
        return fit.value(day) + sign * float(t) * error - value

    earliest, latest = crossing_limits(fit, value, 0.9)
    if latest is None:
        # The lower border never gets there, however long one waits.
        assert gap(1e7, -1) < 0
    else:
        assert latest == pytest.approx(optimize.brentq(gap, 2500, 1e7, args=(-1,)), rel=1e-6)
    if gap(fit.mean_day, 1) < 0:
        expected = optimize.brentq(gap, fit.mean_day, 2500, args=(1,))
        assert earliest == pytest.approx(expected, rel=1e-6)
    else:
        assert earliest <= fit.mean_day


def test_a_straight_line_runs_out_where_it_points() -> None:
    # two more each quarter from 10: 48 are taken 19 quarters after the first reading
    found = project_usage(_readings([10, 12, 14, 16, 18, 20, 22]))
    assert found.reason == ""
    assert found.runs_out == START + dt.timedelta(days=19 * 91)
    assert found.earliest == found.latest == found.runs_out
    assert found.per_year == pytest.approx(2 / 91 * 365.25)


def test_scatter_opens_the_interval() -> None:
    found = project_usage(_readings([10, 11, 15, 15, 17, 21, 22, 23]))
    assert found.earliest and found.runs_out and found.latest
    assert found.earliest < found.runs_out < found.latest
    wider = project_usage(_readings([10, 11, 15, 15, 17, 21, 22, 23]), level=0.99)
    assert wider.earliest and wider.latest
    assert wider.earliest < found.earliest and found.latest < wider.latest


def test_no_later_bound_where_the_pace_may_be_nothing() -> None:
    found = project_usage(_readings([20, 26, 21, 27, 22, 25, 24, 26], capacity=48))
    assert found.runs_out is not None
    assert found.latest is None
    assert found.earliest is not None and found.earliest <= found.runs_out


@pytest.mark.parametrize(
    ("readings", "reason"),
    [
        ([], "nothing was counted yet"),
        (_readings([10]), "less than a year of records: 0 days"),
        (
            _readings([10, 12, 14, 16, 18, 20, 22], every=60),
            "less than a year of records: 360 days",
        ),
        (_readings([10, 12, 12, 12, 12, 12]), "use changed once, fewer than 5"),
        (_readings([10, 12, 14, 16, 18], every=92), "use changed 4 times, fewer than 5"),
        (_readings([10, 10, 10, 10, 10, 10]), "use never changed"),
        (_readings([20, 18, 16, 14, 12, 10]), "use isn't growing"),
        (_readings([38, 40, 42, 44, 46, 48]), "it is full already"),
        (_readings([1, 2, 1, 2, 1, 2, 1, 2], capacity=4000), f"not within {MAX_YEARS} years"),
        (
            _readings([10, 40, 40, 47, 46, 47, 46]),
            "at that pace it would be full already, so use has slowed",
        ),
    ],
)
def test_silent_with_a_reason(readings: list[UsagePoint], reason: str) -> None:
    found = project_usage(readings)
    assert found.runs_out is None and found.earliest is None and found.latest is None
    assert found.reason.startswith(reason)


def test_a_year_and_five_changes_are_enough() -> None:
    days = [0, 73, 146, 219, 292, 365]
    readings = [(START + dt.timedelta(days=d), 10.0 + n, 48.0) for n, d in enumerate(days)]
    assert count_changes(readings) == 5
    assert project_usage(readings).runs_out is not None
    assert project_usage(readings[1:]).runs_out is None


def test_order_doesn_t_matter_and_the_last_of_a_day_counts() -> None:
    readings = _readings([10, 12, 14, 16, 18, 20, 22])
    first = (readings[3][0], 99.0, 48.0)
    shuffled = [readings[5], first, *readings[:5], readings[6]]
    assert project_usage(shuffled) == project_usage(readings)


def test_capacity_is_that_of_the_last_reading() -> None:
    readings = _readings([10, 12, 14, 16, 18, 20, 22], capacity=24)
    grown = [*readings[:-1], (readings[-1][0], 22, 96)]
    late, soon = project_usage(grown).runs_out, project_usage(readings).runs_out
    assert late and soon and late > soon

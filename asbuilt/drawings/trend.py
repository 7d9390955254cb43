"""What was used against what there was, over the years, as a line drawing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Final

from asbuilt.drawings.svg_elements import coordinate
from asbuilt.escape import html

_WIDTH: Final = 560.0
_HEIGHT: Final = 150.0
_LEFT: Final = 44.0
_BOTTOM: Final = 22.0
_TOP: Final = 10.0

#: A date, how much was used, how much there was.
UsagePoint = tuple[dt.date, float, float]


def draw_trend(readings: Sequence[UsagePoint], what: str, unit: str = "") -> str:
    """Two stepped lines, thick for what was used and thin for what there was, from the first
    reading to the last. The figures themselves belong in a table beside it."""
    first, last = readings[0][0], readings[-1][0]
    days = max(1, (last - first).days)
    most = max(max(used, capacity) for _, used, capacity in readings) or 1.0

    def x(day: dt.date) -> float:
        return _LEFT + (_WIDTH - _LEFT - 8) * (day - first).days / days

    def y(value: float) -> float:
        return _TOP + (_HEIGHT - _TOP - _BOTTOM) * (1 - value / most)

    capacity = _stepped([(x(day), y(total)) for day, _, total in readings])
    used = _stepped([(x(day), y(taken)) for day, taken, _ in readings])
    words = (
        f"{what}: {readings[0][1]:g} of {readings[0][2]:g} {unit}used on {first}, "
        f"{readings[-1][1]:g} of {readings[-1][2]:g} on {last}"
    )
    years = "".join(
        f'<line class="trend-tick" x1="{coordinate(x(day))}" x2="{coordinate(x(day))}" '
        f'y1="{coordinate(_HEIGHT - _BOTTOM)}" y2="{coordinate(_HEIGHT - _BOTTOM + 5)}"/>'
        f'<text class="trend-text" x="{coordinate(x(day))}" y="{coordinate(_HEIGHT - 4)}" '
        f'text-anchor="middle">{day.year}</text>'
        for day in (dt.date(year, 1, 1) for year in range(first.year + 1, last.year + 1))
    )
    return (
        f'<svg class="trend" viewBox="0 0 {coordinate(_WIDTH)} {coordinate(_HEIGHT)}" role="img" '
        f'aria-label="{html(words)}">'
        f'<line class="trend-tick" x1="{coordinate(_LEFT)}" x2="{coordinate(_WIDTH - 8)}" '
        f'y1="{coordinate(_HEIGHT - _BOTTOM)}" y2="{coordinate(_HEIGHT - _BOTTOM)}"/>'
        f'<text class="trend-text" x="{coordinate(_LEFT - 6)}" y="{coordinate(y(most) + 4)}" '
        f'text-anchor="end">{most:g}</text>'
        f'<text class="trend-text" x="{coordinate(_LEFT - 6)}" y="{coordinate(y(0) + 4)}" '
        f'text-anchor="end">0</text>'
        f'{years}<path class="trend-capacity" d="{capacity}"/><path class="trend-used" d="{used}"/>'
        "</svg>"
    )


def _stepped(points: Sequence[tuple[float, float]]) -> str:
    """A line that stays level until the next reading."""
    x, y = points[0]
    parts = [f"M{coordinate(x)} {coordinate(y)}"]
    parts += [f"H{coordinate(x)}V{coordinate(y)}" for x, y in points[1:]]
    return "".join(parts)

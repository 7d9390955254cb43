"""How labels lie on a sheet, as its maker's leaflet has it in millimetres."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

_PAIR = re.compile(r"([0-9]{1,4}(?:\.[0-9]{1,3})?)\s*[x×]\s*([0-9]{1,4}(?:\.[0-9]{1,3})?)")


@dataclass(frozen=True, slots=True)
class LabelCell:
    """The place of one label, from the top left corner of its sheet."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """`margins` are left and right, top and bottom; `gaps` between columns, between rows."""

    width: float = 210.0
    height: float = 297.0
    columns: int = 3
    rows: int = 8
    margins: tuple[float, float] = (8.0, 13.0)
    gaps: tuple[float, float] = (0.0, 0.0)

    @property
    def label_width(self) -> float:
        free = self.width - 2 * self.margins[0] - (self.columns - 1) * self.gaps[0]
        return free / self.columns

    @property
    def label_height(self) -> float:
        free = self.height - 2 * self.margins[1] - (self.rows - 1) * self.gaps[1]
        return free / self.rows

    @property
    def capacity(self) -> int:
        return self.columns * self.rows

    def cell_of(self, number: int) -> tuple[int, LabelCell]:
        """Sheet and place of a label, both counted from 0, row by row."""
        sheet, at = divmod(number, self.capacity)
        row, column = divmod(at, self.columns)
        width, height = self.label_width, self.label_height
        x = self.margins[0] + column * (width + self.gaps[0])
        y = self.margins[1] + row * (height + self.gaps[1])
        return sheet, LabelCell(x, y, width, height)

    def error(self) -> str | None:
        """Why no labels fit so, if they don't."""
        if self.columns < 1 or self.rows < 1:
            return "a sheet has one column and one row at least"
        if self.label_width < MIN_LABEL_SIDE or self.label_height < MIN_LABEL_SIDE:
            size = f"{self.label_width:.1f} × {self.label_height:.1f} mm"
            return f"labels would be {size}; {MIN_LABEL_SIDE:g} mm is the least either way"
        return None


MIN_LABEL_SIDE: Final = 5.0

#: Columns and rows where none are said. Wraps are tall: they go around the cable.
DEFAULT_GRIDS: Final = {
    "panels": (3, 12),
    "faceplates": (4, 16),
    "cables": (4, 6),
    "cords": (4, 6),
    "enclosures": (2, 6),
}


def parse_pair(text: str) -> tuple[float, float] | None:
    """`210x297` as two numbers; None where it isn't such a pair."""
    match = _PAIR.fullmatch(text.strip())
    return (float(match[1]), float(match[2])) if match else None

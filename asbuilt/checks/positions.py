"""Positions: a cell of a grid is one that the plan's grid has.

A floor may lay a grid over its plan (`grid columns:`, `grid rows:`): A and on from the left, 1 and
on from the top. An outlet whose position is a cell, like C4, stands in the middle of it; so the
cell must be there, and the room's floor must be recorded.
"""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem, quoted
from asbuilt.records.fields import GridCell


def check_positions(site: Site, _: CablingGraph) -> Iterator[Problem]:
    for outlet in site.outlets.values():
        cell = outlet.position
        if not isinstance(cell, GridCell):
            continue
        floor = site.floor_of(outlet.room)
        columns, rows = (floor.grid_columns, floor.grid_rows) if floor else (None, None)
        if floor is None:
            message = f"{quoted(str(cell))} is a cell of no plan: the outlet's floor isn't recorded"
            hint = "name its room, and the room's floor"
        elif columns is None or rows is None:
            message = f"{quoted(str(cell))} is a cell, but floor {floor.key} has no grid"
            hint = "say the floor's “grid columns” and “grid rows”, or give the position in metres"
        elif cell.column > columns or cell.row > rows:
            last = GridCell(columns, rows)
            message = f"{quoted(str(cell))} isn't on the grid of floor {floor.key}"
            hint = f"its cells are A1 to {last}"
        else:
            continue
        yield outlet.error("position", "position-off-grid", message, hint)

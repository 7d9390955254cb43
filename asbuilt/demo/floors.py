"""Invented floors, drawn to scale: where rooms lie, where a plate in them sits, how long its
cable gets, and the plan as a picture. Metres from the plan's lower left corner.
"""

from __future__ import annotations

import html
import re
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class DrawnRoom:
    key: str
    name: str
    use: str
    left: float
    low: float
    width: float
    depth: float


@dataclass(frozen=True, slots=True)
class DrawnFloor:
    key: str
    width: float
    depth: float
    rooms: tuple[DrawnRoom, ...]

    def room(self, key: str) -> DrawnRoom:
        return next(room for room in self.rooms if room.key == key)


def floor(key: str, width: float, depth: float, rows: str) -> DrawnFloor:
    """A floor from a table: number, name, use, left, lower, width and depth of each room, two
    blanks or more between them."""
    rooms = []
    for row in filled(rows):
        number, name, use, *box = row
        left, low, wide, deep = (float(side) for side in box)
        rooms.append(DrawnRoom(number, name, use, left, low, wide, deep))
    return DrawnFloor(key, width, depth, tuple(rooms))


def filled(rows: str) -> Iterable[list[str]]:
    """The rows of a typed table, cut into cells at two blanks or more."""
    for line in rows.strip().splitlines():
        if line.strip():
            yield re.split(r"\s{2,}", line.strip())


def vary(key: str, low: float, high: float) -> float:
    """A figure between two, always the same one for a key: sites are varied, histories aren't."""
    share = zlib.crc32(key.encode()) % 10_000 / 9_999
    return low + share * (high - low)


def spot(room: DrawnRoom, plate: str, key: str) -> tuple[float, float]:
    """Where a plate sits, by what it is called: `west wall`, `ceiling`, `floor box`, `bench`."""
    along = vary(f"{key} along", 0.12, 0.88)
    across = vary(f"{key} across", 0.3, 0.7)
    sides = {
        "west": (0.1, along * room.depth),
        "east": (room.width - 0.1, along * room.depth),
        "south": (along * room.width, 0.1),
        "north": (along * room.width, room.depth - 0.1),
    }
    ends = {"west end": (0.6, room.depth / 2), "east end": (room.width - 0.6, room.depth / 2)}
    for end, place in ends.items():
        if end in plate:
            return _rounded(room, *place)
    for side, place in sides.items():
        if side in plate:
            return _rounded(room, *place)
    if "ceiling" in plate:
        return _rounded(room, (0.3 + 0.4 * along) * room.width, across * room.depth)
    return _rounded(room, along * room.width, across * room.depth)


def _rounded(room: DrawnRoom, x: float, y: float) -> tuple[float, float]:
    return round(room.left + x, 1), round(room.low + y, 1)


def cell_of(drawn: DrawnFloor, where: tuple[float, float], side: float) -> str:
    """The cell of the grid over a plan, `side` metres wide and deep, in which a spot lies."""
    column = min(int(where[0] / side), round(drawn.width / side) - 1)
    row = min(int((drawn.depth - where[1]) / side), round(drawn.depth / side) - 1)
    return f"{chr(ord('A') + column)}{row + 1}"


def cable_run(start: tuple[float, float], end: tuple[float, float], key: str) -> float:
    """A plausible installed length in metres: square along the corridor, up and down at both
    ends, three metres of slack, and what a crew leaves more or less."""
    across = abs(start[0] - end[0]) + abs(start[1] - end[1])
    return round(across * 1.05 + 2 * 2.6 + 3.0 + vary(f"{key} run", 0.0, 2.4), 1)


_INK: Final = "#33312c"
_PAPER: Final = "#fbf9f4"
_SCALE: Final = 20  # picture units a metre


def plan_picture(title: str, drawn: DrawnFloor) -> str:
    """The floor as an SVG of its walls, room numbers and names, exactly as wide as the floor."""
    wide, deep = round(drawn.width * _SCALE), round(drawn.depth * _SCALE)
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {deep}">',
        f"  <title>{html.escape(title)}</title>",
        f'  <rect width="{wide}" height="{deep}" fill="{_PAPER}"/>',
        f'  <g fill="none" stroke="{_INK}" stroke-width="2">',
    ]
    for room in drawn.rooms:
        top = drawn.depth - room.low - room.depth
        x, y, w, h = (round(v * _SCALE) for v in (room.left, top, room.width, room.depth))
        lines.append(f'    <rect x="{x}" y="{y}" width="{w}" height="{h}"/>')
    lines += [
        f'    <rect x="2" y="2" width="{wide - 4}" height="{deep - 4}" stroke-width="4"/>',
        *_doors(drawn),
        "  </g>",
        f'  <g fill="{_INK}" font-family="sans-serif" font-size="13" text-anchor="middle">',
    ]
    for room in drawn.rooms:
        x = round((room.left + room.width / 2) * _SCALE)
        y = round((drawn.depth - room.low - room.depth / 2) * _SCALE)
        lines.append(f'    <text x="{x}" y="{y - 3}" font-weight="bold">{room.key}</text>')
        if len(room.name) * 7 < room.width * _SCALE:
            name = html.escape(room.name)
            lines.append(f'    <text x="{x}" y="{y + 13}" font-size="11">{name}</text>')
    return "\n".join([*lines, "  </g>", "</svg>"]) + "\n"


def _doors(drawn: DrawnFloor) -> Iterable[str]:
    """An opening of 1 m from each room to the corridor, with the swing of its leaf."""
    halls = [room for room in drawn.rooms if room.use == "corridor"]
    for room in drawn.rooms:
        for hall in halls if room not in halls else ():
            below = room.low + room.depth == hall.low
            if not below and hall.low + hall.depth != room.low:
                continue
            wall = round((drawn.depth - (hall.low if below else room.low)) * _SCALE)
            x, leaf = round((room.left + 0.6) * _SCALE), _SCALE
            tip, sweep = (wall + leaf, 1) if below else (wall - leaf, 0)
            yield f'    <path stroke="{_PAPER}" stroke-width="4" d="M{x} {wall}h{leaf}"/>'
            arc = f"M{x} {wall}V{tip}A{leaf} {leaf} 0 0 {1 - sweep} {x + leaf} {wall}"
            yield f'    <path stroke-width="1" d="{arc}"/>'


def room_lines(drawn: DrawnFloor, quote: bool = False) -> str:
    """The rooms of a floor as they stand in site.yml, columns lined up."""
    mark = '"' if quote else ""
    names = [f"{mark}{room.key}{mark}: {{name: {room.name}," for room in drawn.rooms]
    width = max(len(name) for name in names)
    floor_key = f'"{drawn.key}"' if drawn.key.isdigit() else drawn.key
    return "\n".join(
        f"  {name.ljust(width)} floor: {floor_key}, use: {room.use}}}"
        for name, room in zip(names, drawn.rooms, strict=True)
    )

"""Outlets on a floor plan: a sign each, by what it serves, laid over the plan's picture.

A sign is told by its shape and its letter; one that is patched is inked in, one that is dead or
abandoned is struck through. The layer is a thousand units wide, whatever the floor measures, and
takes its colours from the page it lies in.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from asbuilt.drawings.svg_elements import Box, coordinate, line, linked, text_line, title_element
from asbuilt.escape import html

LAYER_WIDTH: Final = 1000.0
SYMBOL_SIZE: Final = 20.0

#: What an outlet serves → the shape and the letter of its sign. A shape is a family: work places
#: square, telephones round, radio a triangle, what watches or locks a diamond, machines a hexagon.
SYMBOLS: Final[Mapping[str, tuple[str, str]]] = {
    "desk": ("square", "D"),
    "meeting table": ("square", "G"),
    "printer": ("square", "P"),
    "display": ("square", "V"),
    "till": ("square", "K"),
    "phone": ("round", "T"),
    "access point": ("triangle", "A"),
    "camera": ("diamond", "C"),
    "alarm": ("diamond", "L"),
    "door": ("diamond", "E"),
    "server": ("hexagon", "S"),
    "machine": ("hexagon", "M"),
    "building control": ("hexagon", "B"),
    "spare": ("dashed", "–"),
    "other": ("dashed", "O"),
    "unknown": ("dashed", "?"),
    "device": ("dashed", "•"),
}
_SHAPES: Final = {
    "square": '<rect x="2" y="2" width="16" height="16" class="sign-shape"/>',
    "round": '<circle cx="10" cy="10" r="8.6" class="sign-shape"/>',
    "triangle": '<path d="M10 .6L19.6 18.4H.4Z" class="sign-shape"/>',
    "diamond": '<path d="M10 .2L19.8 10L10 19.8L.2 10Z" class="sign-shape"/>',
    "hexagon": '<path d="M5.4 1.8H14.6L19.4 10L14.6 18.2H5.4L.6 10Z" class="sign-shape"/>',
    "dashed": '<rect x="2" y="2" width="16" height="16" class="sign-shape sign-dashed"/>',
}
_BASELINES: Final = {"triangle": 16.4}


@dataclass(frozen=True, slots=True)
class PlanSymbol:
    """An outlet as it is drawn: `x` and `y` in metres from the plan's lower left corner; `words`
    is what is said of it."""

    outlet_key: str
    serves: str
    state: str  # patched, loose or dead
    description: str
    href: str | None
    x: float
    y: float


def symbol_name(serves: str | None) -> str:
    return serves if serves and serves in SYMBOLS else "unknown"


def symbol_id(serves: str) -> str:
    return f"sign-{serves.replace(' ', '-')}"


def define_symbols(kinds: Iterable[str]) -> str:
    """The signs of a page, to be drawn once and shown wherever they are named."""
    symbols = "".join(_symbol_definition(kind) for kind in SYMBOLS if kind in set(kinds))
    cross = '<symbol id="sign-cross" viewBox="0 0 20 20"><path d="M1 19L19 1" /></symbol>'
    return (
        f'<svg class="signs-drawn" width="0" height="0" aria-hidden="true">{symbols}{cross}</svg>'
    )


def _symbol_definition(kind: str) -> str:
    shape, letter = SYMBOLS[kind]
    return (
        f'<symbol id="{symbol_id(kind)}" viewBox="0 0 20 20">{_SHAPES[shape]}'
        f'<text x="10" y="{coordinate(_BASELINES.get(shape, 14.4))}" font-size="12" '
        f'text-anchor="middle" class="sign-letter">{html(letter)}</text></symbol>'
    )


def draw_inline_symbol(serves: str, state: str) -> str:
    """A sign in a line of text."""
    strike = (
        _use("sign-cross", Box(0, 0, SYMBOL_SIZE, SYMBOL_SIZE), "sign-strike")
        if state == "dead"
        else ""
    )
    return (
        f'<svg class="sign {state}" viewBox="0 0 20 20" width="20" height="20" '
        f'aria-hidden="true">{_use(symbol_id(serves), Box(0, 0, SYMBOL_SIZE, SYMBOL_SIZE))}'
        f"{strike}</svg>"
    )


def _use(name: str, box: Box, names: str = "") -> str:
    shown = f' class="{names}"' if names else ""
    return (
        f'<use href="#{name}" x="{coordinate(box.x)}" y="{coordinate(box.y)}" '
        f'width="{coordinate(box.width)}" height="{coordinate(box.height)}"{shown}/>'
    )


def draw_plan_layer(
    name: str,
    marks: Sequence[PlanSymbol],
    wide: float,
    deep: float,
    heading: str,
    grid: tuple[int, int] | None = None,
) -> str:
    """The outlets of a floor as SVG text, to lie over a picture of `wide` by `deep` metres, over
    the columns and rows of its grid if it has one.
    Outlets at one spot stand side by side; where signs would hide each other they are
    moved apart, with a line to where each belongs."""
    scale = LAYER_WIDTH / wide
    height = deep * scale
    area = Box(0, 0, LAYER_WIDTH, height)
    drawn = [_grid_lines(*grid, height)] if grid else []
    blocks = list(_place_groups(marks, scale, area))
    for _, spot, box in blocks:
        moved = math.dist(spot, (box.x + box.width / 2, box.centre_y)) > SYMBOL_SIZE
        if moved:
            drawn.append(line(*spot, box.x + box.width / 2, box.centre_y, "plan-lead"))
    for block, _, box in blocks:
        across = _columns_for(len(block))
        for index, mark in enumerate(block):
            row, column = divmod(index, across)
            cell = Box(
                box.x + column * SYMBOL_SIZE, box.y + row * SYMBOL_SIZE, SYMBOL_SIZE, SYMBOL_SIZE
            )
            drawn.append(_draw_symbol(mark, cell))
    return (
        f'<svg class="plan-layer" viewBox="0 0 {coordinate(LAYER_WIDTH)} {coordinate(height)}" '
        f'role="group" aria-label="{html(heading)}" id="{html(name)}">{"".join(drawn)}</svg>'
    )


def _grid_lines(columns: int, rows: int, height: float) -> str:
    """Lines between the cells, their letters along the top and their numbers down the left."""
    wide, deep = LAYER_WIDTH / columns, height / rows
    lines = [line(wide * at, 0, wide * at, height, "grid-line") for at in range(1, columns)]
    lines += [line(0, deep * at, LAYER_WIDTH, deep * at, "grid-line") for at in range(1, rows)]
    words = [
        text_line(wide * (at + 0.5), 12, chr(ord("A") + at), 12, names="grid-word")
        for at in range(columns)
    ]
    words += [
        text_line(2, deep * (at + 0.5) + 4, str(at + 1), 12, names="grid-word")
        for at in range(rows)
    ]
    return f'<g class="plan-grid" aria-hidden="true">{"".join((*lines, *words))}</g>'


def _draw_symbol(mark: PlanSymbol, cell: Box) -> str:
    ring = cell.inset(-3, -3)
    strike = _use("sign-cross", cell, "sign-strike") if mark.state == "dead" else ""
    inner = (
        title_element(mark.description)
        + f'<rect x="{coordinate(ring.x)}" y="{coordinate(ring.y)}" '
        f'width="{coordinate(ring.width)}" height="{coordinate(ring.height)}" class="sign-ring"/>'
        + _use(symbol_id(mark.serves), cell)
        + strike
    )
    drawn = linked(mark.href, inner, f"on-plan {mark.state}")
    return drawn.replace(" class=", f' data-outlet="{html(mark.outlet_key)}" class=', 1)


def _columns_for(count: int) -> int:
    return min(count, 2 if count <= 4 else 3)


def _place_groups(
    marks: Sequence[PlanSymbol], scale: float, area: Box
) -> Iterator[tuple[list[PlanSymbol], tuple[float, float], Box]]:
    """The outlets of each spot with the box their signs take, no two boxes on top of each other
    while there is room beside."""
    spots: dict[tuple[float, float], list[PlanSymbol]] = {}
    for mark in marks:
        spots.setdefault((mark.x, mark.y), []).append(mark)
    taken: dict[tuple[int, int], list[Box]] = {}
    for (x, y), block in spots.items():
        spot = (x * scale, area.bottom - y * scale)
        columns = _columns_for(len(block))
        rows = -(-len(block) // columns)
        box = _nearest_free_box(spot, columns * SYMBOL_SIZE, rows * SYMBOL_SIZE, taken, area)
        for place in _hash_cells(box):
            taken.setdefault(place, []).append(box)
        yield block, spot, box


_HASH_CELL: Final = 3 * SYMBOL_SIZE


def _hash_cells(box: Box) -> list[tuple[int, int]]:
    columns = range(int(box.x // _HASH_CELL), int(box.right // _HASH_CELL) + 1)
    rows = range(int(box.y // _HASH_CELL), int(box.bottom // _HASH_CELL) + 1)
    return [(column, row) for column in columns for row in rows]


def _nearest_free_box(
    spot: tuple[float, float],
    width: float,
    height: float,
    taken: Mapping[tuple[int, int], Sequence[Box]],
    area: Box,
) -> Box:
    """A box around `spot`, or the nearest one to it that meets none of those taken."""
    for ring in range(7):
        steps = max(1, 8 * ring)
        for step in range(steps):
            turn = 2 * math.pi * step / steps
            x = spot[0] + ring * SYMBOL_SIZE * 0.8 * math.cos(turn) - width / 2
            y = spot[1] + ring * SYMBOL_SIZE * 0.8 * math.sin(turn) - height / 2
            box = Box(
                min(max(x, area.x), area.right - width),
                min(max(y, area.y), area.bottom - height),
                width,
                height,
            )
            if not any(
                box.overlaps(other) for at in _hash_cells(box) for other in taken.get(at, ())
            ):
                return box
    return Box(spot[0] - width / 2, spot[1] - height / 2, width, height)


def draw_scale_bar(wide: float, measures: str) -> str:
    """A bar of a round length, to lie under a plan that shows `wide` metres: about a sixth of it.

    1 ft = 0.3048 m exactly (NIST SP 811, appendix B).
    """
    unit, name = (0.3048, "ft") if measures == "customary" else (1.0, "m")
    most = wide / 6 / unit
    tens = 10.0 ** math.floor(math.log10(most))
    length = max(step * tens for step in (1, 2, 5) if step * tens <= most)
    long = length * unit * LAYER_WIDTH / wide
    halves = "".join(
        f'<rect x="{coordinate(14 + half * long / 2)}" y="9" width="{coordinate(long / 2)}" '
        f'height="6" class="scale-{"dark" if half else "light"}"/>'
        for half in (0, 1)
    )
    words = text_line(24 + long, 17, f"{length:g} {name}", 14, names="scale-words")
    return f'<svg class="plan-scale" viewBox="0 0 1000 24" aria-hidden="true">{halves}{words}</svg>'

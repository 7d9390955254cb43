"""Where the ports of an item sit on its face, and the sign of each state."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from asbuilt.drawings.sheet import FindHref
from asbuilt.drawings.svg_elements import Box, circle, coordinate, linked, path, rect, text_line
from asbuilt.escape import html
from asbuilt.model.site import PortState, PortUse
from asbuilt.records.enclosures import Panel, PortedItem, Switch

#: Ports in a row of a panel, and columns of two ports each on active equipment: common practice.
PORTS_IN_ROW: Final = 24
#: The most ports active equipment has in a single row: common practice.
MAX_IN_SINGLE_ROW: Final = 12
_BLOCK_GAP: Final = 0.35  # between blocks of six or eight, in columns
_UPLINK_GAP: Final = 1.3
_MAX_PITCH: Final = 18.4  # mm, the most a port takes: eight-position jacks sit about so far apart
_ROW_NUMBER_SIZE: Final = 9.5  # mm, the size of the numbers at the ends of a row


@dataclass(frozen=True, slots=True)
class PortPosition:
    """A port's place in rows and columns; uplinks and named ports stand `apart`, counted anew."""

    name: str
    row: int
    column: int
    separate: bool = False


def port_positions(item: PortedItem) -> tuple[PortPosition, ...]:
    """The ports of an item as they sit on its face, each once.

    Panels count along the row. Active equipment with more than a dozen ports counts down the
    columns, odd above even; uplinks and named ports stand apart at the right. Common practice:
    the records don't say.
    """
    return _positions(*_numbering_of(item))


def _numbering_of(item: PortedItem) -> tuple[bool, tuple[str, ...], tuple[str, ...]]:
    """Whether ports count along the row, and their names: those in order, those apart."""
    names = item.port_names()
    if isinstance(item, Panel):
        return True, names, ()
    main = tuple(name for name in names if name.isdigit() and not _is_uplink(item, name))
    if not main:
        return False, names, ()
    return False, main, tuple(n for n in names if not n.isdigit() or _is_uplink(item, n))


@lru_cache(maxsize=256)  # few faces differ
def _positions(
    along: bool, names: tuple[str, ...], apart: tuple[str, ...]
) -> tuple[PortPosition, ...]:
    slots = _in_rows(names) if along else _in_columns(names)
    rows = 2 if any(slot.row for slot in slots) else 1
    return (
        *slots,
        *(PortPosition(name, i % rows, i // rows, True) for i, name in enumerate(apart)),
    )


def rows_of(item: PortedItem) -> int:
    return _rows(port_positions(item))


def _rows(slots: Sequence[PortPosition]) -> int:
    return 1 + max((slot.row for slot in slots), default=-1)


def _is_uplink(item: PortedItem, name: str) -> bool:
    return isinstance(item, Switch) and item.is_uplink(name)


def _in_rows(names: Sequence[str]) -> tuple[PortPosition, ...]:
    if not names:
        return ()
    columns = -(-len(names) // -(-len(names) // PORTS_IN_ROW))
    return tuple(PortPosition(name, i // columns, i % columns) for i, name in enumerate(names))


def _in_columns(names: Sequence[str]) -> tuple[PortPosition, ...]:
    if len(names) <= MAX_IN_SINGLE_ROW:
        return _in_rows(names)
    blocks = -(-len(names) // (2 * PORTS_IN_ROW))
    columns = -(-len(names) // (2 * blocks))
    slots = []
    for i, name in enumerate(names):
        block, place = divmod(i, 2 * columns)
        slots.append(PortPosition(name, 2 * block + place % 2, place // 2))
    return tuple(slots)


@dataclass(frozen=True, slots=True)
class PortGrid:
    """The ports of an item on its face: a box a port, and the numbers its rows begin with."""

    boxes: Mapping[str, Box]
    row_numbers: str


def grid_of(item: PortedItem, area: Box) -> PortGrid:
    """The ports laid out within `area`, no larger than in life, never much wider than high."""
    return _grid(*_numbering_of(item), area)


@lru_cache(maxsize=1024)  # a face is drawn on several sheets, in the same place
def _grid(along: bool, names: tuple[str, ...], apart: tuple[str, ...], area: Box) -> PortGrid:
    slots = _positions(along, names, apart)
    if not slots:
        return PortGrid({}, "")
    across = _column_offsets(slots)
    margin = 1.5 * _ROW_NUMBER_SIZE if area.width > 300 else 0
    rows = _rows(slots)
    rise = min(_MAX_PITCH, area.height / rows)
    columns = 1 + max(across.values())
    pitch = min(_MAX_PITCH, (area.width - 2 * margin) / columns, 1.4 * rise)
    rise = min(rise, pitch)
    width, height = pitch * 0.84, rise * 0.84
    left = area.x + margin
    top = area.centre_y - rows * rise / 2
    boxes = {
        slot.name: Box(
            left + across[slot.name] * pitch + (pitch - width) / 2,
            top + slot.row * rise + (rise - height) / 2,
            width,
            height,
        )
        for slot in slots
    }
    return PortGrid(boxes, _row_numbers(slots, boxes) if margin else "")


def _column_offsets(slots: Sequence[PortPosition]) -> dict[str, float]:
    """How far to the right each port sits, in columns, gaps included."""
    columns = 1 + max(slot.column for slot in slots if not slot.separate)
    block = next((size for size in (6, 8) if columns % size == 0), columns)
    apart = columns + _BLOCK_GAP * ((columns - 1) // block) + _UPLINK_GAP
    return {
        slot.name: apart + slot.column
        if slot.separate
        else slot.column + _BLOCK_GAP * (slot.column // block)
        for slot in slots
    }


def _row_numbers(slots: Sequence[PortPosition], boxes: Mapping[str, Box]) -> str:
    """The first number of each row, as printed on many a panel."""
    drawn = []
    for slot in slots:
        if slot.column == 0 and not slot.separate and slot.name.isdigit():
            box = boxes[slot.name]
            size = min(_ROW_NUMBER_SIZE, box.height)
            base = box.centre_y + size * 0.36
            drawn.append(text_line(box.x - 3, base, slot.name, size, names="quiet", anchor="end"))
    return "".join(drawn)


@lru_cache(maxsize=2**14)
def port_symbol(state: PortState, box: Box, marked: bool = False) -> str:
    """The sign of a state: it differs in shape, not in colour alone."""
    x, y, right, bottom = box.x, box.y, box.right, box.bottom
    cross = (
        f"M{coordinate(x)} {coordinate(y)}L{coordinate(right)} {coordinate(bottom)}"
        f"M{coordinate(right)} {coordinate(y)}L{coordinate(x)} {coordinate(bottom)}"
    )
    middle = x + box.width / 2
    match state:
        case PortState.IN_USE:
            drawn = rect(box, "line on-ink")
        case PortState.CABLED:
            half = (
                f"M{coordinate(x)} {coordinate(bottom)}"
                f"V{coordinate(box.centre_y)}H{coordinate(right)}"
            )
            drawn = rect(box, "line on-paper") + path(
                f"{half}V{coordinate(bottom)}Z", "on-ink bare"
            )
        case PortState.FREE:
            drawn = rect(box, "line on-paper")
        case PortState.DEAD:
            drawn = rect(box, "line on-paper by-accent") + path(cross, "line by-accent")
        case PortState.ABANDONED:
            drawn = rect(box, "line dots on-paper") + path(cross, "line dots")
        case PortState.RESERVED:
            dot = circle(middle, box.centre_y, box.height * 0.19, "on-ink bare")
            drawn = rect(box, "line on-paper") + dot
        case PortState.UNKNOWN:
            size = box.height * 0.9
            sign = text_line(
                middle, box.centre_y + size * 0.36, "?", size, anchor="middle", bold=True
            )
            drawn = rect(box, "line on-paper") + sign
    return drawn + rect(box.inset(-1.6, -1.6), "thick by-accent") if marked else drawn


def port_symbols(state: PortState, boxes: Sequence[Box]) -> str:
    """The signs of many ports of one state that nothing is asked of one by one: far fewer bytes."""
    grounds = {PortState.IN_USE: "line on-ink", PortState.CABLED: "line on-paper"}
    grounds[PortState.FREE] = "line on-paper"
    if state not in grounds:
        return "".join(port_symbol(state, box) for box in boxes)
    drawn = path("".join(map(_outline, boxes)), grounds[state])
    if state is PortState.CABLED:
        lower = (Box(box.x, box.centre_y, box.width, box.height / 2) for box in boxes)
        drawn += path("".join(map(_outline, lower)), "on-ink bare")
    return drawn


def _outline(box: Box) -> str:
    across, down = coordinate(box.width), coordinate(box.height)
    return f"M{coordinate(box.x)} {coordinate(box.y)}h{across}v{down}h-{across}z"


def state_class(state: PortState) -> str:
    """`in-use`, `cabled`, … for a style sheet to hold on to."""
    return state.name.lower().replace("_", "-")


LEGEND_ROW: Final = 25.0
_LEGEND_SIZE: Final = 14.5


def draw_legend(uses: Iterable[PortUse], area: Box, marked: bool) -> str:
    """Each sign with its word and how many ports of that state there are."""
    counts = Counter(use.state for use in uses)
    drawn = []
    entries = [f"{state} {counts[state]}" for state in PortState]
    places = _legend_places(area)
    for state, words, (x, y, width) in zip(PortState, entries, places, strict=False):
        sign = port_symbol(state, Box(x, y + 5, 14, 14))
        label = text_line(x + 20, y + 17, words, _LEGEND_SIZE, width=width - 24)
        drawn.append(f"<g>{sign}{label}</g>")
    if marked:
        x, y, width = places[-1]
        drawn.append(revision_mark(x + 7, y + 12))
        drawn.append(text_line(x + 20, y + 17, "changed", _LEGEND_SIZE, width=width - 24))
    return f'<g class="legend">{"".join(drawn)}</g>'


def _legend_places(area: Box) -> list[tuple[float, float, float]]:
    """x, y and width of two rows of four; the second word is the longest."""
    places = []
    for row in range(2):
        x = area.x
        for share in (0.22, 0.36, 0.21, 0.21):
            places.append((x, area.y + row * LEGEND_ROW, share * area.width))
            x += share * area.width
    return places


def revision_mark(x: float, y: float) -> str:
    """The small triangle by which drawing offices mark what a revision changed."""
    points = (
        f"M{coordinate(x)} {coordinate(y - 8)}"
        f"L{coordinate(x + 8)} {coordinate(y + 6)}H{coordinate(x - 8)}Z"
    )
    return path(points, "line by-accent on-paper")


def linked_port(use: PortUse, inner: str, link: FindHref) -> str:
    """A port as one thing that leads to its outlet when it has one, else to its own line. Where it
    leads elsewhere, `data-port` says its own address, by which paths name it."""
    own, href = link("port", str(use.id)), port_href(use, link)
    extra = f' data-port="{html(own)}"' if own and href != own else ""
    return linked(href, inner, f"port {state_class(use.state)}", extra)


def port_href(use: PortUse, link: FindHref) -> str | None:
    """Where a port leads: to its outlet when it has one, else to its own line."""
    if len(use.outlets) == 1:
        page = link("outlet", use.outlets[0].key)
        if page is not None:
            return page
    return link("port", str(use.id))

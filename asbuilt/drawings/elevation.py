"""Elevations: an enclosure seen from the front or the rear, in true proportion, one unit of the
drawing a millimetre."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from asbuilt.drawings.port_symbols import (
    LEGEND_ROW,
    draw_legend,
    grid_of,
    linked_port,
    port_symbol,
    port_symbols,
    revision_mark,
    rows_of,
)
from asbuilt.drawings.rack_positions import (
    OTHER_FACE,
    FreeUnits,
    PlacedItem,
    clip_to_opening,
    free_halves,
    free_units,
    items_on_face,
    items_opposite,
    printed_units,
)
from asbuilt.drawings.sheet import FindHref, TitleBlock, draw_sheet, identifier, no_href
from asbuilt.drawings.svg_elements import (
    Box,
    circle,
    coordinate,
    line,
    linked,
    path,
    rect,
    text_line,
    title_element,
)
from asbuilt.drawings.text_metrics import text_width
from asbuilt.model.describe import (
    describe_enclosure,
    describe_item,
    describe_port,
    format_depth,
    format_quantity,
    format_state_counts,
    format_unit_position,
    format_units,
    item_name,
    unit_count,
)
from asbuilt.model.site import PortState, PortUse, Site
from asbuilt.records.enclosures import (
    CableManager,
    Enclosure,
    Item,
    PortedItem,
    Reserve,
    Shelf,
)
from asbuilt.records.quantity import Quantity
from asbuilt.trade.rack import (
    HOLE_CENTRES,
    HOLE_OFFSETS,
    MIN_RAIL_OPENING,
    PANEL_GAP,
    RACK_UNIT,
    height_of_units,
    lower_edge,
)

#: Half the width of the cabinet's outline, and half the clear opening between the rails.
_HALF_WIDTH: Final = 300.0
_HALF_OPENING: Final = MIN_RAIL_OPENING / 2
_RAIL: Final = 30.0
_CAP: Final = 20.0  # thickness of roof and floor


@dataclass(frozen=True, slots=True)
class _ElevationView:
    """What is looked at, from where."""

    site: Site
    enclosure: Enclosure
    face: str
    find_href: FindHref
    highlight: frozenset[str]
    drawing_id: str
    separate_ports: bool

    @property
    def units(self) -> int:
        return unit_count(self.enclosure)

    @property
    def top(self) -> float:
        return -height_of_units(self.units)


def draw_elevation(
    site: Site,
    enclosure_key: str,
    face: str,
    title: TitleBlock,
    *,
    link: FindHref = no_href,
    highlight: Collection[str] = (),
    twin: str = "",
    ports_apart: bool = True,
) -> str:
    """An enclosure's `front` or `rear` on a drawing sheet, as SVG text.

    `highlight` holds keys of items (`1A/A`) and ports (`1A/A/01`) to be marked as changed; `twin`
    tells it from another drawing of the same face on one page. Unless `ports_apart`, ports are
    drawn, but can't be asked where they go.
    """
    enclosure = site.enclosures[enclosure_key]
    name = f"elevation-{enclosure_key}-{face}{twin}"
    view = _ElevationView(site, enclosure, face, link, frozenset(highlight), name, ports_apart)
    own = items_on_face(site, enclosure_key, face, face)
    behind = items_on_face(site, enclosure_key, face, OTHER_FACE[face])
    ghosts = behind if face == "rear" else ()
    halves = free_halves(own, ghosts)
    aside = _items_without_unit(view, {placed.item.key for placed in (*own, *behind)})
    drawn = [
        _patterns(view),
        _caption(view),
        _cabinet(view),
        _unit_numbers(view),
        *(_draw_free_units(view, run) for run in _free_runs(view, own, behind)),
        *(_draw_item_on_other_face(view, placed) for placed in ghosts),
        *(_draw_hatched(view, clip_to_opening(half), "half free", ()) for half in halves),
        *(_draw_item(view, placed, items_opposite(placed, behind)) for placed in own),
    ]
    bottom = _bottom_of(view)
    listed, bottom = _draw_items_without_unit(view, aside, bottom)
    drawn.append(listed)
    shown = [placed.item for placed in own] + (aside if face == "front" else [])
    uses = [use for item in shown for use in site.ports_of(item)]
    if uses or highlight:
        area = Box(-_HALF_WIDTH, bottom + 8, 2 * _HALF_WIDTH, 2 * LEGEND_ROW)
        drawn.append(draw_legend(uses, area, marked=bool(highlight)))
        bottom = area.bottom + 4
    top = view.top - _CAP - 40
    area = Box(-_HALF_WIDTH, top, 2 * _HALF_WIDTH, bottom - top)
    heading = f"{face.capitalize()} of {_enclosure_name(enclosure)}"
    words = _description(view, own, behind, aside)
    return draw_sheet(name, "".join(drawn), area, title, heading, words)


def _enclosure_name(enclosure: Enclosure) -> str:
    return enclosure.label or enclosure.key


# ---- the cabinet


def _patterns(view: _ElevationView) -> str:
    """Hatching for what is free, and the holes of the rails, which repeat every unit."""
    holes = "".join(
        rect(Box(HOLE_CENTRES / 2 - 4.75, RACK_UNIT - hole - 4.75, 9.5, 9.5), "thin on-paper")
        for hole in HOLE_OFFSETS
    )
    hatch = path("M-2 2L2 -2M0 12L12 0M10 14L14 10", "thin grey")
    return (
        "<defs>"
        f'<pattern id="{identifier(view.drawing_id)}-free" width="12" height="12" '
        f'patternUnits="userSpaceOnUse">{hatch}</pattern>'
        f'<pattern id="{identifier(view.drawing_id)}-holes" width="{coordinate(HOLE_CENTRES)}" '
        f'height="{coordinate(RACK_UNIT)}" patternUnits="userSpaceOnUse">{holes}</pattern>'
        "</defs>"
    )


def _caption(view: _ElevationView) -> str:
    enclosure = view.enclosure
    base = view.top - _CAP - 16
    words = [describe_enclosure(enclosure)]
    if enclosure.numbered_from == "top":
        words.append("numbered from the top")
    if enclosure.depth:
        words.append(f"{format_quantity(view.site, enclosure.depth)} deep")
    face = view.face.upper()
    width = 2 * _HALF_WIDTH - text_width(face, 24, bold=True) - 20
    return text_line(-_HALF_WIDTH, base, face, 24, bold=True) + text_line(
        _HALF_WIDTH, base, ", ".join(words), 15.5, width=width, anchor="end"
    )


def _cabinet(view: _ElevationView) -> str:
    top, height = view.top, -view.top
    rails = Box(-_HALF_OPENING - _RAIL, top, 2 * (_HALF_OPENING + _RAIL), height)
    drawn = []
    kind = view.enclosure.kind
    if kind in ("open rack", "wall bracket"):
        head = Box(rails.x, top - _CAP, rails.width, _CAP)
        foot = (
            Box(-_HALF_WIDTH, 0, 2 * _HALF_WIDTH, _CAP)
            if kind == "open rack"
            else Box(rails.x, 0, rails.width, _CAP)
        )
        drawn += [rect(head, "thick on-paper"), rect(foot, "thick on-paper")]
    else:
        outside = Box(-_HALF_WIDTH, top - _CAP, 2 * _HALF_WIDTH, height + 2 * _CAP)
        drawn += [rect(outside, "thick"), rect(outside.inset(5, 5), "thin")]
    if kind == "floor-standing cabinet":
        drawn += [
            rect(Box(x, _CAP, 60, 11), "line on-faint")
            for x in (-_HALF_WIDTH + 30, _HALF_WIDTH - 90)
        ]
    for x in (rails.x, _HALF_OPENING):
        drawn.append(rect(Box(x, top, _RAIL, height), "line on-faint"))
    holes = f' fill="url(#{identifier(view.drawing_id)}-holes)"'
    drawn.append(rect(rails, "holes", holes))
    return f'<g class="cabinet">{"".join(drawn)}</g>'


def _bottom_of(view: _ElevationView) -> float:
    feet = 11.0 if view.enclosure.kind == "floor-standing cabinet" else 0.0
    return _CAP + feet


def _unit_numbers(view: _ElevationView) -> str:
    drawn = []
    x = (_HALF_OPENING + _RAIL + _HALF_WIDTH - 5) / 2
    for position in range(1, view.units + 1):
        printed = str(printed_units(view.enclosure, position, position)[0])
        base = -lower_edge(position) - RACK_UNIT / 2 + 6.5
        drawn += [text_line(side * x, base, printed, 18, anchor="middle") for side in (-1, 1)]
        if position > 1:
            y = -lower_edge(position)
            for side in (-1, 1):
                inner, outer = side * (_HALF_OPENING + _RAIL), side * (_HALF_WIDTH - 5)
                drawn.append(line(inner, y, outer, y, "thin grey"))
    return f'<g class="units">{"".join(drawn)}</g>'


# ---- what is free


def _free_runs(
    view: _ElevationView, own: Sequence[PlacedItem], behind: Sequence[PlacedItem]
) -> list[FreeUnits]:
    """From the rear, a unit with an item in front isn't free: its ghost is drawn instead."""
    taken = (*own, *behind) if view.face == "rear" else own
    return list(free_units(view.units, taken, behind))


def _free_text(view: _ElevationView, run: FreeUnits) -> str:
    size = run.high - run.low + 1
    words = "free" if size == 1 else f"free, {size} U"
    return words + _opposite_text(view, run.opposite)


def _draw_free_units(view: _ElevationView, run: FreeUnits) -> str:
    top, bottom = -lower_edge(run.high + 1), -lower_edge(run.low)
    box = Box(-_HALF_OPENING, top, 2 * _HALF_OPENING, bottom - top)
    return _draw_hatched(view, box, _free_text(view, run), range(run.low + 1, run.high + 1))


def _draw_hatched(view: _ElevationView, box: Box, words: str, borders: Iterable[int]) -> str:
    """A free space with its words on a plate, ruled at the borders of its units."""
    edges = (-lower_edge(unit) for unit in borders)
    ruled = "".join(line(box.x, edge, box.right, edge, "thin grey") for edge in edges)
    room = box.width - 40
    width = min(text_width(words, 16), room) + 20
    middle = box.x + box.width / 2
    plate = Box(middle - width / 2, box.centre_y - 12, width, 24)
    return (
        f'<g class="free-units">{title_element(words)}'
        + rect(box, "hatched", f' fill="url(#{identifier(view.drawing_id)}-free)"')
        + ruled
        + rect(plate, "on-paper bare")
        + text_line(middle, box.centre_y + 5.6, words, 16, width=room, anchor="middle")
        + "</g>"
    )


# ---- what is mounted


def _draw_item(view: _ElevationView, placed: PlacedItem, across: Sequence[PlacedItem]) -> str:
    item, box = placed.item, placed.box
    marked = item.key in view.highlight
    reserve = isinstance(item, Reserve)
    outline = "line dash on-paper" if reserve else "line on-paper"
    drawn = [rect(box, outline), "" if reserve else _mounting_ears(box)]
    if marked:
        drawn.append(rect(box.inset(1.5, 1.5), "thick by-accent"))
    words = describe_item(item) + _opposite_text(view, across)
    drawn.append(_item_face(view, item, words, clip_to_opening(box), marked))
    words = f"{format_unit_position(item)}: {item_name(item)}, {words}"
    return (
        f'<g class="item {item.role.replace(" ", "-")}">{title_element(words)}{"".join(drawn)}</g>'
    )


def _opposite_text(view: _ElevationView, across: Sequence[PlacedItem]) -> str:
    """What shares the units of an item from the other side, and how deep it is."""
    if not across:
        return ""
    where = "behind it" if view.face == "front" else "in front"
    return f"; {where} {_names_with_depths(view, across)}"


def _names_with_depths(view: _ElevationView, those: Sequence[PlacedItem]) -> str:
    return ", ".join(f"{item_name(one.item)}, {format_depth(view.site, one.item)}" for one in those)


def _mounting_ears(box: Box) -> str:
    """The parts that lie on the rails, with a screw in the outer holes of each."""
    drawn = []
    for side in (-1, 1):
        edge, x = side * _HALF_OPENING, side * HOLE_CENTRES / 2
        if not box.x <= x <= box.right:
            continue
        drawn.append(line(edge, box.y, edge, box.bottom, "thin"))
        inset = HOLE_OFFSETS[0] - PANEL_GAP / 2
        drawn += [circle(x, y, 3, "thin on-faint") for y in (box.y + inset, box.bottom - inset)]
    return "".join(drawn)


def _item_face(view: _ElevationView, item: Item, words: str, box: Box, marked: bool) -> str:
    """Label, words and ports of an item within `box`, the width between its ears."""
    uses = view.site.ports_of(item)
    size = 16.5 if box.height < 1.5 * RACK_UNIT else 18.0
    inner = box.inset(6)
    base = box.y + size - 1 if uses else box.centre_y + size * 0.36
    if box.height > 1.5 * RACK_UNIT and uses:
        base += 3
    right = inner.right
    drawn = []
    if isinstance(item, CableManager):
        drawn.append(_cable_manager_fingers(box))
    if isinstance(item, Shelf):
        drawn.append(line(box.x, box.bottom - 5, box.right, box.bottom - 5, "line"))
    if uses:
        free = f"{sum(use.state is PortState.FREE for use in uses)} free"
        drawn.append(text_line(right, base, free, size - 1.5, anchor="end"))
        right -= text_width(free, size - 1.5) + 10
    if marked:
        drawn.append(revision_mark(right - 9, base - size * 0.3))
        right -= 24
    label = _title_line(item_name(item), words, inner.x, base, right - inner.x, size)
    drawn.insert(0, linked(view.find_href("item", item.key), label, "label"))
    if isinstance(item, PortedItem) and uses:
        top = base + 3.5
        height = min(box.bottom - 2.5 - top, 26.0 * rows_of(item))
        drawn.append(_ports(view, uses, Box(inner.x, top, inner.width, height)))
    return "".join(drawn)


def _title_line(title: str, words: str, x: float, base: float, width: float, size: float) -> str:
    """The label in bold, then words on the thing; the label comes first when room is short."""
    plain = size - 1.5
    label = text_line(x, base, title, size, width=width, bold=True)
    used = min(text_width(title, size, bold=True), width) + 9
    room = width - used
    return label + (text_line(x + used, base, words, plain, width=room) if room > 40 else "")


def _cable_manager_fingers(box: Box) -> str:
    """A cable manager's fingers, along its lower edge."""
    count = int(box.width // 30)
    step = box.width / count
    return "".join(
        line(box.x + i * step, box.bottom - 9, box.x + i * step, box.bottom - 2, "thin")
        for i in range(1, count)
    )


def _ports(view: _ElevationView, uses: Sequence[PortUse], area: Box) -> str:
    grid = grid_of(uses[0].item, area)
    single = [use for use in uses if view.separate_ports or str(use.id) in view.highlight]
    drawn = [_port(view, use, grid.boxes[use.id.name]) for use in single]
    together: dict[PortState, list[Box]] = {}
    for use in uses if len(single) < len(uses) else ():
        if use not in single:
            together.setdefault(use.state, []).append(grid.boxes[use.id.name])
    drawn += [port_symbols(state, together[state]) for state in sorted(together)]
    return f'<g class="ports">{grid.row_numbers}{"".join(drawn)}</g>'


def _port(view: _ElevationView, use: PortUse, box: Box) -> str:
    sign = port_symbol(use.state, box, marked=str(use.id) in view.highlight)
    inner = title_element(describe_port(view.site, use)) + sign
    return linked_port(use, inner, view.find_href)


def _draw_item_on_other_face(view: _ElevationView, placed: PlacedItem) -> str:
    """An item of the other face, seen from behind: how deep it reaches, and what is left."""
    item, box = placed.item, clip_to_opening(placed.box).inset(1, 2)
    parts = [item_name(item), "reserved" if isinstance(item, Reserve) else "in front"]
    if not isinstance(item, Reserve):
        parts.append(format_depth(view.site, item))
        left = _depth_left(view.enclosure, item)
        if left:
            parts.append(f"{format_quantity(view.site, left)} left")
    words = ", ".join(parts)
    text = text_line(
        box.x + 8, box.centre_y + 5.2, words, 14.5, width=box.width - 16, names="quiet"
    )
    inner = (
        title_element(f"{format_unit_position(item)}: {words}") + rect(box, "line dash grey") + text
    )
    return linked(view.find_href("item", item.key), inner, "ghost")


def _depth_left(enclosure: Enclosure, item: Item) -> Quantity | None:
    if enclosure.depth is None or item.depth is None:
        return None
    left = round(enclosure.depth.to("mm") - item.depth.to("mm"))
    return Quantity(Decimal(left), "mm", "length") if left > 0 else None


# ---- what takes no unit


def _items_without_unit(view: _ElevationView, placed: Collection[str]) -> list[Item]:
    items = view.site.items_in.get(view.enclosure.key, ())
    return [item for item in items if item.key not in placed]


def _location_text(item: Item) -> str:
    if item.at is not None:
        return f"{format_units(item.at)}, which this enclosure doesn't have"
    return item.where or ("place not recorded" if item.face == "none" else "unit not recorded")


def _draw_items_without_unit(
    view: _ElevationView, aside: Sequence[Item], top: float
) -> tuple[str, float]:
    """The items that take no unit, one a line; their ports are drawn on the front's sheet."""
    if not aside:
        return "", top
    y = top + 24
    drawn = [text_line(-_HALF_WIDTH, y, "Takes no unit", 15.5, names="quiet")]
    for item in aside:
        marked = item.key in view.highlight
        uses = view.site.ports_of(item) if view.face == "front" else ()
        y += 25
        words = f"{describe_item(item)}; {_location_text(item)}"
        used = text_width(item_name(item), 16, bold=True)
        line_of_text = text_line(
            -_HALF_WIDTH, y, item_name(item), 16, width=2 * _HALF_WIDTH, bold=True
        ) + text_line(-_HALF_WIDTH + used + 10, y, words, 15, width=2 * _HALF_WIDTH - used - 34)
        entry = title_element(f"{item_name(item)}, {words}") + line_of_text
        drawn.append(linked(view.find_href("item", item.key), entry, "aside"))
        if marked:
            drawn.append(revision_mark(_HALF_WIDTH - 9, y - 5))
        if uses and isinstance(item, PortedItem):
            area = Box(-_HALF_WIDTH, y + 5, 2 * _HALF_OPENING, 20.0 * rows_of(item))
            drawn.append(_ports(view, uses, area))
            y = area.bottom
    return f'<g class="no-unit">{"".join(drawn)}</g>', y + 8


# ---- in words


def _description(
    view: _ElevationView,
    own: Sequence[PlacedItem],
    behind: Sequence[PlacedItem],
    aside: Sequence[Item],
) -> str:
    """All that the drawing shows, top down, for who can't see it."""
    enclosure = view.enclosure
    first = f"{describe_enclosure(enclosure)}, numbered from the {enclosure.numbered_from}."
    told_units = [(placed.highest, _item_description(view, placed.item)) for placed in own]
    if view.face == "rear":
        for placed in behind:
            words = f"{item_name(placed.item)} in front, {format_depth(view.site, placed.item)}"
            told_units.append((placed.highest, f"{format_unit_position(placed.item)}: {words}"))
    for run in _free_runs(view, own, behind):
        printed = format_units(printed_units(enclosure, run.low, run.high))
        told_units.append((run.high, f"{printed}: {_free_text(view, run)}"))
    lines = [text for _, text in sorted(told_units, key=lambda pair: -pair[0])]
    lines += [
        f"Takes no unit: {item_name(item)}, {describe_item(item)}; {_location_text(item)}"
        for item in aside
    ]
    return " ".join([first, *(f"{text}." for text in lines)])


def _item_description(view: _ElevationView, item: Item) -> str:
    words = f"{format_unit_position(item)}: {item_name(item)}, {describe_item(item)}"
    tally = format_state_counts(view.site.ports_of(item))
    return f"{words} ({tally})" if tally else words

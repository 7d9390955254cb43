"""Elevations: an enclosure seen from the front or the rear, in true proportion, one unit of the
drawing a millimetre."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from asbuilt.drawings.ink import Box, circle, lettering, line, linked, number, path, rect, told
from asbuilt.drawings.lettering import width_of
from asbuilt.drawings.placing import (
    OTHER_FACE,
    Placed,
    Run,
    between_rails,
    free_halves,
    free_runs,
    opposite,
    placed_on,
    printed_units,
)
from asbuilt.drawings.ports import (
    LEGEND_ROW,
    draw_legend,
    grid_of,
    linked_port,
    port_sign,
    port_signs,
    revision_mark,
    rows_of,
)
from asbuilt.drawings.sheet import Link, TitleBlock, draw_sheet, identifier, no_link
from asbuilt.model.describe import (
    depth_words,
    enclosure_words,
    item_name,
    item_words,
    length_words,
    port_words,
    tally_words,
    unit_words,
    units,
    where_words,
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
    HOLES,
    OPENING,
    PANEL_GAP,
    UNIT,
    height_of,
    lower_edge,
)

#: Half the width of the cabinet's outline, and half the clear opening between the rails.
_WALL: Final = 300.0
_OPENING: Final = OPENING / 2
_RAIL: Final = 30.0
_CAP: Final = 20.0  # thickness of roof and floor


@dataclass(frozen=True, slots=True)
class _View:
    """What is looked at, from where."""

    site: Site
    enclosure: Enclosure
    face: str
    link: Link
    highlight: frozenset[str]
    name: str
    apart: bool

    @property
    def units(self) -> int:
        return units(self.enclosure)

    @property
    def top(self) -> float:
        return -height_of(self.units)


def draw_elevation(
    site: Site,
    enclosure_key: str,
    face: str,
    title: TitleBlock,
    *,
    link: Link = no_link,
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
    view = _View(site, enclosure, face, link, frozenset(highlight), name, ports_apart)
    own = placed_on(site, enclosure_key, face, face)
    behind = placed_on(site, enclosure_key, face, OTHER_FACE[face])
    ghosts = behind if face == "rear" else ()
    halves = free_halves(own, ghosts)
    aside = _aside(view, {placed.item.key for placed in (*own, *behind)})
    drawn = [
        _definitions(view),
        _caption(view),
        _cabinet(view),
        _unit_numbers(view),
        *(_free(view, run) for run in _free_runs(view, own, behind)),
        *(_ghost(view, placed) for placed in ghosts),
        *(_hatched(view, between_rails(half), "half free", ()) for half in halves),
        *(_mounted(view, placed, opposite(placed, behind)) for placed in own),
    ]
    bottom = _floor_of(view)
    listed, bottom = _list_aside(view, aside, bottom)
    drawn.append(listed)
    shown = [placed.item for placed in own] + (aside if face == "front" else [])
    uses = [use for item in shown for use in site.ports_of(item)]
    if uses or highlight:
        area = Box(-_WALL, bottom + 8, 2 * _WALL, 2 * LEGEND_ROW)
        drawn.append(draw_legend(uses, area, marked=bool(highlight)))
        bottom = area.bottom + 4
    top = view.top - _CAP - 40
    area = Box(-_WALL, top, 2 * _WALL, bottom - top)
    heading = f"{face.capitalize()} of {_enclosure_name(enclosure)}"
    words = _in_words(view, own, behind, aside)
    return draw_sheet(name, "".join(drawn), area, title, heading, words)


def _enclosure_name(enclosure: Enclosure) -> str:
    return enclosure.label or enclosure.key


# ---- the cabinet


def _definitions(view: _View) -> str:
    """Hatching for what is free, and the holes of the rails, which repeat every unit."""
    holes = "".join(
        rect(Box(HOLE_CENTRES / 2 - 4.75, UNIT - hole - 4.75, 9.5, 9.5), "thin on-paper")
        for hole in HOLES
    )
    hatch = path("M-2 2L2 -2M0 12L12 0M10 14L14 10", "thin grey")
    return (
        "<defs>"
        f'<pattern id="{identifier(view.name)}-free" width="12" height="12" '
        f'patternUnits="userSpaceOnUse">{hatch}</pattern>'
        f'<pattern id="{identifier(view.name)}-holes" width="{number(HOLE_CENTRES)}" '
        f'height="{number(UNIT)}" patternUnits="userSpaceOnUse">{holes}</pattern>'
        "</defs>"
    )


def _caption(view: _View) -> str:
    enclosure = view.enclosure
    base = view.top - _CAP - 16
    words = [enclosure_words(enclosure)]
    if enclosure.numbered_from == "top":
        words.append("numbered from the top")
    if enclosure.depth:
        words.append(f"{length_words(view.site, enclosure.depth)} deep")
    face = view.face.upper()
    width = 2 * _WALL - width_of(face, 24, bold=True) - 20
    return lettering(-_WALL, base, face, 24, bold=True) + lettering(
        _WALL, base, ", ".join(words), 15.5, width=width, anchor="end"
    )


def _cabinet(view: _View) -> str:
    top, height = view.top, -view.top
    rails = Box(-_OPENING - _RAIL, top, 2 * (_OPENING + _RAIL), height)
    drawn = []
    kind = view.enclosure.kind
    if kind in ("open rack", "wall bracket"):
        head = Box(rails.x, top - _CAP, rails.width, _CAP)
        foot = (
            Box(-_WALL, 0, 2 * _WALL, _CAP)
            if kind == "open rack"
            else Box(rails.x, 0, rails.width, _CAP)
        )
        drawn += [rect(head, "thick on-paper"), rect(foot, "thick on-paper")]
    else:
        outside = Box(-_WALL, top - _CAP, 2 * _WALL, height + 2 * _CAP)
        drawn += [rect(outside, "thick"), rect(outside.inset(5, 5), "thin")]
    if kind == "floor-standing cabinet":
        drawn += [rect(Box(x, _CAP, 60, 11), "line on-faint") for x in (-_WALL + 30, _WALL - 90)]
    for x in (rails.x, _OPENING):
        drawn.append(rect(Box(x, top, _RAIL, height), "line on-faint"))
    holes = f' fill="url(#{identifier(view.name)}-holes)"'
    drawn.append(rect(rails, "holes", holes))
    return f'<g class="cabinet">{"".join(drawn)}</g>'


def _floor_of(view: _View) -> float:
    feet = 11.0 if view.enclosure.kind == "floor-standing cabinet" else 0.0
    return _CAP + feet


def _unit_numbers(view: _View) -> str:
    drawn = []
    x = (_OPENING + _RAIL + _WALL - 5) / 2
    for position in range(1, view.units + 1):
        printed = str(printed_units(view.enclosure, position, position)[0])
        base = -lower_edge(position) - UNIT / 2 + 6.5
        drawn += [lettering(side * x, base, printed, 18, anchor="middle") for side in (-1, 1)]
        if position > 1:
            y = -lower_edge(position)
            for side in (-1, 1):
                inner, outer = side * (_OPENING + _RAIL), side * (_WALL - 5)
                drawn.append(line(inner, y, outer, y, "thin grey"))
    return f'<g class="units">{"".join(drawn)}</g>'


# ---- what is free


def _free_runs(view: _View, own: Sequence[Placed], behind: Sequence[Placed]) -> list[Run]:
    """From the rear, a unit with an item in front isn't free: its ghost is drawn instead."""
    taken = (*own, *behind) if view.face == "rear" else own
    return list(free_runs(view.units, taken, behind))


def _free_words(view: _View, run: Run) -> str:
    size = run.high - run.low + 1
    words = "free" if size == 1 else f"free, {size} U"
    return words + _across_words(view, run.across)


def _free(view: _View, run: Run) -> str:
    top, bottom = -lower_edge(run.high + 1), -lower_edge(run.low)
    box = Box(-_OPENING, top, 2 * _OPENING, bottom - top)
    return _hatched(view, box, _free_words(view, run), range(run.low + 1, run.high + 1))


def _hatched(view: _View, box: Box, words: str, borders: Iterable[int]) -> str:
    """A free space with its words on a plate, ruled at the borders of its units."""
    edges = (-lower_edge(unit) for unit in borders)
    ruled = "".join(line(box.x, edge, box.right, edge, "thin grey") for edge in edges)
    room = box.width - 40
    width = min(width_of(words, 16), room) + 20
    middle = box.x + box.width / 2
    plate = Box(middle - width / 2, box.middle - 12, width, 24)
    return (
        f'<g class="free-units">{told(words)}'
        + rect(box, "hatched", f' fill="url(#{identifier(view.name)}-free)"')
        + ruled
        + rect(plate, "on-paper bare")
        + lettering(middle, box.middle + 5.6, words, 16, width=room, anchor="middle")
        + "</g>"
    )


# ---- what is mounted


def _mounted(view: _View, placed: Placed, across: Sequence[Placed]) -> str:
    item, box = placed.item, placed.box
    marked = item.key in view.highlight
    reserve = isinstance(item, Reserve)
    outline = "line dash on-paper" if reserve else "line on-paper"
    drawn = [rect(box, outline), "" if reserve else _ears(box)]
    if marked:
        drawn.append(rect(box.inset(1.5, 1.5), "thick by-accent"))
    words = item_words(item) + _across_words(view, across)
    drawn.append(_face(view, item, words, between_rails(box), marked))
    words = f"{where_words(item)}: {item_name(item)}, {words}"
    return f'<g class="item {item.role.replace(" ", "-")}">{told(words)}{"".join(drawn)}</g>'


def _across_words(view: _View, across: Sequence[Placed]) -> str:
    """What shares the units of an item from the other side, and how deep it is."""
    if not across:
        return ""
    where = "behind it" if view.face == "front" else "in front"
    return f"; {where} {_with_depths(view, across)}"


def _with_depths(view: _View, those: Sequence[Placed]) -> str:
    return ", ".join(f"{item_name(one.item)}, {depth_words(view.site, one.item)}" for one in those)


def _ears(box: Box) -> str:
    """The parts that lie on the rails, with a screw in the outer holes of each."""
    drawn = []
    for side in (-1, 1):
        edge, x = side * _OPENING, side * HOLE_CENTRES / 2
        if not box.x <= x <= box.right:
            continue
        drawn.append(line(edge, box.y, edge, box.bottom, "thin"))
        inset = HOLES[0] - PANEL_GAP / 2
        drawn += [circle(x, y, 3, "thin on-faint") for y in (box.y + inset, box.bottom - inset)]
    return "".join(drawn)


def _face(view: _View, item: Item, words: str, box: Box, marked: bool) -> str:
    """Label, words and ports of an item within `box`, the width between its ears."""
    uses = view.site.ports_of(item)
    size = 16.5 if box.height < 1.5 * UNIT else 18.0
    inner = box.inset(6)
    base = box.y + size - 1 if uses else box.middle + size * 0.36
    if box.height > 1.5 * UNIT and uses:
        base += 3
    right = inner.right
    drawn = []
    if isinstance(item, CableManager):
        drawn.append(_fingers(box))
    if isinstance(item, Shelf):
        drawn.append(line(box.x, box.bottom - 5, box.right, box.bottom - 5, "line"))
    if uses:
        free = f"{sum(use.state is PortState.FREE for use in uses)} free"
        drawn.append(lettering(right, base, free, size - 1.5, anchor="end"))
        right -= width_of(free, size - 1.5) + 10
    if marked:
        drawn.append(revision_mark(right - 9, base - size * 0.3))
        right -= 24
    label = _title_line(item_name(item), words, inner.x, base, right - inner.x, size)
    drawn.insert(0, linked(view.link("item", item.key), label, "label"))
    if isinstance(item, PortedItem) and uses:
        top = base + 3.5
        height = min(box.bottom - 2.5 - top, 26.0 * rows_of(item))
        drawn.append(_ports(view, uses, Box(inner.x, top, inner.width, height)))
    return "".join(drawn)


def _title_line(title: str, words: str, x: float, base: float, width: float, size: float) -> str:
    """The label in bold, then words on the thing; the label comes first when room is short."""
    plain = size - 1.5
    label = lettering(x, base, title, size, width=width, bold=True)
    used = min(width_of(title, size, bold=True), width) + 9
    room = width - used
    return label + (lettering(x + used, base, words, plain, width=room) if room > 40 else "")


def _fingers(box: Box) -> str:
    """A cable manager's fingers, along its lower edge."""
    count = int(box.width // 30)
    step = box.width / count
    return "".join(
        line(box.x + i * step, box.bottom - 9, box.x + i * step, box.bottom - 2, "thin")
        for i in range(1, count)
    )


def _ports(view: _View, uses: Sequence[PortUse], area: Box) -> str:
    grid = grid_of(uses[0].item, area)
    single = [use for use in uses if view.apart or str(use.id) in view.highlight]
    drawn = [_port(view, use, grid.boxes[use.id.name]) for use in single]
    together: dict[PortState, list[Box]] = {}
    for use in uses if len(single) < len(uses) else ():
        if use not in single:
            together.setdefault(use.state, []).append(grid.boxes[use.id.name])
    drawn += [port_signs(state, together[state]) for state in sorted(together)]
    return f'<g class="ports">{grid.marks}{"".join(drawn)}</g>'


def _port(view: _View, use: PortUse, box: Box) -> str:
    sign = port_sign(use.state, box, marked=str(use.id) in view.highlight)
    inner = told(port_words(view.site, use)) + sign
    return linked_port(use, inner, view.link)


def _ghost(view: _View, placed: Placed) -> str:
    """An item of the other face, seen from behind: how deep it reaches, and what is left."""
    item, box = placed.item, between_rails(placed.box).inset(1, 2)
    parts = [item_name(item), "reserved" if isinstance(item, Reserve) else "in front"]
    if not isinstance(item, Reserve):
        parts.append(depth_words(view.site, item))
        left = _left_behind(view.enclosure, item)
        if left:
            parts.append(f"{length_words(view.site, left)} left")
    words = ", ".join(parts)
    text = lettering(box.x + 8, box.middle + 5.2, words, 14.5, width=box.width - 16, names="quiet")
    inner = told(f"{where_words(item)}: {words}") + rect(box, "line dash grey") + text
    return linked(view.link("item", item.key), inner, "ghost")


def _left_behind(enclosure: Enclosure, item: Item) -> Quantity | None:
    if enclosure.depth is None or item.depth is None:
        return None
    left = round(enclosure.depth.to("mm") - item.depth.to("mm"))
    return Quantity(Decimal(left), "mm", "length") if left > 0 else None


# ---- what takes no unit


def _aside(view: _View, placed: Collection[str]) -> list[Item]:
    items = view.site.items_in.get(view.enclosure.key, ())
    return [item for item in items if item.key not in placed]


def _place_words(item: Item) -> str:
    if item.at is not None:
        return f"{unit_words(item.at)}, which this enclosure doesn't have"
    return item.where or ("place not recorded" if item.face == "none" else "unit not recorded")


def _list_aside(view: _View, aside: Sequence[Item], top: float) -> tuple[str, float]:
    """The items that take no unit, one a line; their ports are drawn on the front's sheet."""
    if not aside:
        return "", top
    y = top + 24
    drawn = [lettering(-_WALL, y, "Takes no unit", 15.5, names="quiet")]
    for item in aside:
        marked = item.key in view.highlight
        uses = view.site.ports_of(item) if view.face == "front" else ()
        y += 25
        words = f"{item_words(item)}; {_place_words(item)}"
        used = width_of(item_name(item), 16, bold=True)
        line_of_text = lettering(
            -_WALL, y, item_name(item), 16, width=2 * _WALL, bold=True
        ) + lettering(-_WALL + used + 10, y, words, 15, width=2 * _WALL - used - 34)
        entry = told(f"{item_name(item)}, {words}") + line_of_text
        drawn.append(linked(view.link("item", item.key), entry, "aside"))
        if marked:
            drawn.append(revision_mark(_WALL - 9, y - 5))
        if uses and isinstance(item, PortedItem):
            area = Box(-_WALL, y + 5, 2 * _OPENING, 20.0 * rows_of(item))
            drawn.append(_ports(view, uses, area))
            y = area.bottom
    return f'<g class="no-unit">{"".join(drawn)}</g>', y + 8


# ---- in words


def _in_words(
    view: _View, own: Sequence[Placed], behind: Sequence[Placed], aside: Sequence[Item]
) -> str:
    """All that the drawing shows, top down, for who can't see it."""
    enclosure = view.enclosure
    first = f"{enclosure_words(enclosure)}, numbered from the {enclosure.numbered_from}."
    told_units = [(placed.high, _item_in_words(view, placed.item)) for placed in own]
    if view.face == "rear":
        for placed in behind:
            words = f"{item_name(placed.item)} in front, {depth_words(view.site, placed.item)}"
            told_units.append((placed.high, f"{where_words(placed.item)}: {words}"))
    for run in _free_runs(view, own, behind):
        printed = unit_words(printed_units(enclosure, run.low, run.high))
        told_units.append((run.high, f"{printed}: {_free_words(view, run)}"))
    lines = [text for _, text in sorted(told_units, key=lambda pair: -pair[0])]
    lines += [
        f"Takes no unit: {item_name(item)}, {item_words(item)}; {_place_words(item)}"
        for item in aside
    ]
    return " ".join([first, *(f"{text}." for text in lines)])


def _item_in_words(view: _View, item: Item) -> str:
    words = f"{where_words(item)}: {item_name(item)}, {item_words(item)}"
    tally = tally_words(view.site.ports_of(item))
    return f"{words} ({tally})" if tally else words

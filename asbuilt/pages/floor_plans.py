"""Floor plans: a page a floor with its outlets, on the plan's picture where there is one and room
by room in any case."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from asbuilt.drawings.floor_plan import (
    SYMBOLS,
    PlanSymbol,
    define_symbols,
    draw_inline_symbol,
    draw_plan_layer,
    draw_scale_bar,
    symbol_name,
)
from asbuilt.drawings.picture import Picture
from asbuilt.model.describe import outlet_use
from asbuilt.model.paths import Part
from asbuilt.model.site import Site, natural
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Asset, Page, SearchEntry
from asbuilt.pages.view import PageView, render
from asbuilt.records.enclosures import Enclosure
from asbuilt.records.fields import GridCell, Spot
from asbuilt.records.links import DEVICE, Outlet
from asbuilt.records.places import Floor, Room

PATCHING_STATES = {
    "patched": "patched to a switch",
    "loose": "not patched",
    "dead": "dead or abandoned",
}


@dataclass(frozen=True, slots=True)
class PlanOutlet:
    """An outlet as a plan's page speaks of it. Its `panels`, `switches` and `parts` (numbers of
    what it loses service without) are what the page is filtered by."""

    outlet: Outlet
    label: str
    serves: str
    state: str
    description: str
    panels: tuple[str, ...]
    switches: tuple[str, ...]
    failing_parts: tuple[int, ...]

    @property
    def symbol(self) -> Markup:
        return Markup(draw_inline_symbol(self.serves, self.state))  # noqa: S704


@dataclass(frozen=True, slots=True)
class RoomCard:
    """A room with what is in it; `room` is None for outlets whose room isn't recorded."""

    room: Room | None
    outlets: tuple[PlanOutlet, ...]
    enclosures: tuple[Enclosure, ...]


@dataclass(frozen=True, slots=True)
class FailureImpact:
    """Something that may fail, and the outlets of this floor that lose service with it."""

    number: int
    kind: str
    key: str
    name: str
    outlets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlanSheet:
    """A floor's plan ready to be shown: where its picture is, and what lies over it."""

    picture: Picture
    picture_href: str
    symbol_layer: Markup


def pages(book: PageContext) -> Iterator[Page | Asset]:
    floors = floors_in_order(book.site)
    if not floors and not book.site.rooms:
        return
    path = "plans.html"
    nowhere = [room for room in book.site.rooms.values() if room.floor is None]
    cells = _room_cards(book, nowhere, {}, with_homeless=True)
    html = render(
        "floor_plans.html",
        PageView(book, path),
        floors=[(floor, *_counts(book, floor)) for floor in floors],
        signs=_symbol_definitions(cells),
        cells=[cell for cell in cells if cell.room or cell.outlets],
    )
    yield Page(path, "Floor plans", html, nav="Floor plans", search=(SearchEntry("Floor plans"),))
    for floor in floors:
        yield from _floor_page(book, floor)


def floors_in_order(site: Site) -> list[Floor]:
    """Building by building, from the ground up."""
    buildings = list(site.buildings)

    def order(floor: Floor) -> tuple[object, ...]:
        known = floor.building in buildings
        place = buildings.index(floor.building) if known and floor.building else len(buildings)
        return (place, floor.level is None, floor.level or 0, natural(floor.key))

    return sorted(site.floors.values(), key=order)


def floor_name(site: Site, floor: Floor) -> str:
    """`ground floor, North house`."""
    building = site.buildings.get(floor.building or "")
    where = f", {building.name or building.key}" if building else ""
    return f"{floor.name or f'floor {floor.key}'}{where}"


def _counts(book: PageContext, floor: Floor) -> tuple[int, int, bool]:
    """Rooms and outlets of a floor, and whether its plan can be shown."""
    rooms = [room.key for room in book.site.rooms.values() if room.floor == floor.key]
    outlets = sum(len(_visible_outlets(book, room)) for room in rooms)
    return len(rooms), outlets, floor.key in book.plan_pictures


def _visible_outlets(book: PageContext, room: str | None) -> list[Outlet]:
    return [o for o in book.site.outlets_in.get(room, ()) if o.serves != DEVICE]


def _floor_page(book: PageContext, floor: Floor) -> Iterator[Page | Asset]:
    site = book.site
    path = links.plan(floor.key)
    view = PageView(book, path)
    rooms = [room for room in site.rooms.values() if room.floor == floor.key]
    failing = _failure_impacts(
        book, {o.key for room in rooms for o in _visible_outlets(book, room.key)}
    )
    cells = _room_cards(book, rooms, failing)
    shown = [outlet for cell in cells for outlet in cell.outlets]
    name = floor_name(site, floor)
    sheet, off_plan = _plan_sheet(book, view, floor, shown)
    if sheet:
        yield Asset(_picture_path(floor, sheet.picture), sheet.picture.data)
    html = render(
        "floor_plan.html",
        view,
        floor=floor,
        name=name,
        sheet=sheet,
        off_plan=[outlet.outlet.key for outlet in off_plan],
        cells=cells,
        total=len(shown),
        signs=_symbol_definitions(cells),
        legend=_legend(shown),
        states={
            word: text
            for word, text in PATCHING_STATES.items()
            if any(o.state == word for o in shown)
        },
        panels=_sorted_keys(key for o in shown for key in o.panels),
        switches=_sorted_keys(key for o in shown for key in o.switches),
        failing=sorted(failing.values(), key=lambda part: part.number),
        others=[other for other in floors_in_order(site) if other.key != floor.key],
        floor_name=floor_name,
    )
    first = name[:1].upper() + name[1:]
    yield Page(
        path,
        f"Plan of {name}",
        html,
        parent="plans.html",
        search=(SearchEntry(f"Plan: {first}", " ".join(site.room_name(r.key) for r in rooms)),),
    )


def plan_sheets(
    book: PageContext, view: PageView
) -> tuple[Markup, list[tuple[str, Markup, int]], list[tuple[str, Floor, PlanSheet]]]:
    """Every floor that has a plan, with its name, for another page; and before them the signs
    used on them and what they stand for."""
    site = book.site
    found: list[tuple[str, Floor, PlanSheet]] = []
    used: list[RoomCard] = []
    for floor in floors_in_order(site):
        cells = _room_cards(book, [r for r in site.rooms.values() if r.floor == floor.key], {})
        sheet, _ = _plan_sheet(book, view, floor, [o for cell in cells for o in cell.outlets])
        if sheet:
            found.append((floor_name(site, floor), floor, sheet))
            used += cells
    return _symbol_definitions(used), _legend([o for cell in used for o in cell.outlets]), found


def _picture_path(floor: Floor, picture: Picture) -> str:
    return f"plans/{floor.key}.{picture.suffix}"


def _plan_sheet(
    book: PageContext, view: PageView, floor: Floor, shown: Sequence[PlanOutlet]
) -> tuple[PlanSheet | None, list[PlanOutlet]]:
    """A floor's plan with the outlets that stand on it, and those that have no place there."""
    picture = book.plan_pictures.get(floor.key)
    if picture is None:
        return None, []
    marks, rest = _split_by_position(view, floor, picture, shown)
    name = floor_name(book.site, floor)
    layer = _layer(book.site, floor, picture, marks, name)
    return PlanSheet(picture, view.href(_picture_path(floor, picture)), layer), rest


def _layer(
    site: Site, floor: Floor, picture: Picture, marks: Sequence[PlanSymbol], name: str
) -> Markup:
    wide, deep = _size_in_metres(floor, picture)
    grid = _grid(floor)
    if floor.plan_width is None and grid is None:
        return Markup("")
    heading = f"Outlets on the plan of {name}"
    drawn = draw_plan_layer(f"layer-{floor.key}", marks, wide, deep, heading, grid)
    if floor.plan_width:
        drawn += draw_scale_bar(wide, site.info.measures)
    return Markup(drawn)  # noqa: S704 - ours, and escaped where it is drawn


def _size_in_metres(floor: Floor, picture: Picture) -> tuple[float, float]:
    """How wide and deep the plan is in metres; 1 wide where that isn't recorded, as cells of a
    grid can be placed all the same."""
    wide = (floor.plan_width.to("m") if floor.plan_width else 0.0) or 1.0
    return wide, wide * picture.height / picture.width


def _grid(floor: Floor) -> tuple[int, int] | None:
    return (floor.grid_columns, floor.grid_rows) if floor.grid_columns and floor.grid_rows else None


def _position_in_metres(
    floor: Floor, position: Spot | GridCell | None, wide: float, deep: float
) -> Spot | None:
    """Where a position is in metres, a cell by its middle; None where it isn't on the plan."""
    if isinstance(position, GridCell):
        grid = _grid(floor)
        if grid is None or position.column > grid[0] or position.row > grid[1]:
            return None
        across, down = (position.column - 0.5) / grid[0], (position.row - 0.5) / grid[1]
        return Spot(across * wide, (1 - down) * deep)
    if position is None or not floor.plan_width:
        return None
    return position if 0 <= position.x <= wide and 0 <= position.y <= deep else None


def _split_by_position(
    view: PageView, floor: Floor, picture: Picture, shown: Sequence[PlanOutlet]
) -> tuple[list[PlanSymbol], list[PlanOutlet]]:
    """Those that stand on the plan, and the rest."""
    marks: list[PlanSymbol] = []
    rest: list[PlanOutlet] = []
    wide, deep = _size_in_metres(floor, picture)
    for one in shown:
        spot = _position_in_metres(floor, one.outlet.position, wide, deep)
        if spot is None:
            rest.append(one)
            continue
        href = view.href(links.outlet(one.outlet.key))
        key = one.outlet.key
        marks.append(PlanSymbol(key, one.serves, one.state, one.description, href, spot.x, spot.y))
    return marks, rest


def _room_cards(
    book: PageContext,
    rooms: Iterable[Room],
    failing: Mapping[Part, FailureImpact],
    with_homeless: bool = False,
) -> list[RoomCard]:
    site = book.site
    enclosures = list(site.enclosures.values())
    parts: dict[str, list[int]] = {}
    for part in failing.values():
        for key in part.outlets:
            parts.setdefault(key, []).append(part.number)
    cells = [
        RoomCard(
            room,
            tuple(_plan_outlet(book, o, parts) for o in _visible_outlets(book, room.key)),
            tuple(e for e in enclosures if e.room == room.key),
        )
        for room in rooms
    ]
    if with_homeless:
        homeless = tuple(_plan_outlet(book, o, parts) for o in _visible_outlets(book, None))
        cells.append(RoomCard(None, homeless, ()))
    return cells


def _plan_outlet(
    book: PageContext, outlet: Outlet, parts: Mapping[str, Sequence[int]]
) -> PlanOutlet:
    site = book.site
    ports = [way.switch_port for way in book.paths[outlet.key] if way.switch_port]
    state = "patched" if ports else "loose"
    if outlet.state in ("dead", "abandoned"):
        state = "dead"
    label = site.label_of(outlet)
    where = f"switch port {' and '.join(map(str, ports))}" if ports else PATCHING_STATES[state]
    words = f"{label}: {outlet_use(outlet)}, {site.room_name(outlet.room)}; {where}"
    return PlanOutlet(
        outlet,
        label,
        symbol_name(outlet.serves),
        state,
        words,
        tuple(dict.fromkeys(port.item for port in outlet.port)),
        tuple(dict.fromkeys(port.item for port in ports)),
        tuple(parts.get(outlet.key, ())),
    )


def _failure_impacts(book: PageContext, here: set[str]) -> dict[Part, FailureImpact]:
    """What may fail, with the outlets of this floor that lose service; for engineers only."""
    if not book.internal:
        return {}
    found: dict[Part, FailureImpact] = {}
    for part, keys in book.outlets_losing_service.items():
        dark = tuple(key for key in keys if key in here)
        if dark:
            kind = "item" if part.kind == "device" else part.kind
            words = _part_name(book.site, part)
            found[part] = FailureImpact(len(found), kind, part.key, words, dark)
    return found


def _part_name(site: Site, part: Part) -> str:
    if part.kind == "circuit":
        circuit = site.circuits[part.key]
        said = " ".join(part for part in (circuit.carrier, circuit.service) if part)
        return f"circuit {said or circuit.key}"
    if part.kind == "backbone":
        return f"backbone {site.backbones[part.key].label or part.key}"
    return part.key


def _symbol_definitions(cells: Iterable[RoomCard]) -> Markup:
    return Markup(define_symbols({o.serves for cell in cells for o in cell.outlets}))  # noqa: S704


def _legend(shown: Sequence[PlanOutlet]) -> list[tuple[str, Markup, int]]:
    """What each sign on the page stands for, drawn, and how often it does."""
    counts = {kind: sum(1 for o in shown if o.serves == kind) for kind in SYMBOLS}
    return [
        (kind, Markup(draw_inline_symbol(kind, "loose")), number)  # noqa: S704
        for kind, number in counts.items()
        if number
    ]


def _sorted_keys(keys: Iterable[str]) -> list[str]:
    return sorted(set(keys), key=natural)

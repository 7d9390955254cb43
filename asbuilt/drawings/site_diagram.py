"""The site as a whole: circuits, active equipment, backbones, and outlets counted by room.

Nothing is drawn a port or an outlet at a time. Panels of an enclosure are one node, apart from
those a backbone ends at; outlets are one node a floor and enclosure; equipment that is joined to
the same others is one node. A site that is large even so is drawn a node an enclosure: what is
in it stands in the diagram of its patching.
"""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from asbuilt.drawings.dot_text import NodeLine, cell, cluster, digraph, edge, node, node_of_rows
from asbuilt.drawings.sheet import FindHref, no_href
from asbuilt.model.describe import (
    backbone_name,
    cable_name,
    circuit_name,
    describe_enclosure,
    describe_item,
    format_quantity,
    item_name,
)
from asbuilt.model.paths import ACTIVE, CablingGraph
from asbuilt.model.site import PortState, Site, natural
from asbuilt.records.enclosures import Item, Panel
from asbuilt.records.fields import PortId
from asbuilt.records.links import FIBRE_CABLES, Backbone, Outlet

#: With more nodes than these, a node an enclosure is enough.
_MAX_NODES = 24
#: By how many names alike things are told.
_MAX_NAMES = 6
#: How many backbones between the same two panels are told one by one.
_MAX_BACKBONES = 2
#: How many rooms are counted one by one, in an enclosure's own node fewer; in how many columns.
_MAX_ROOMS = 12
_MAX_ROOMS_IN_ENCLOSURE = 6
_COLUMNS = 3


@dataclass(frozen=True, slots=True)
class _OutletGroup:
    """Where outlets are counted together: a floor, and the enclosure their cables end in."""

    floor: str | None
    enclosure: str | None

    @property
    def node_name(self) -> str:
        return f"outlets {self.floor or '-'} {self.enclosure or '-'}"


@dataclass(frozen=True, slots=True)
class _NodeMap:
    """Which node stands for each item, and which outlets each spot holds. On a `coarse` map a node
    stands for a whole enclosure."""

    site: Site
    node_of: Mapping[str, str]
    outlet_groups: Mapping[_OutletGroup, tuple[Outlet, ...]]
    by_enclosure: bool = False

    def node_of_port(self, port: PortId) -> str | None:
        return self.node_of.get(port.item)

    def node_of_group(self, spot: _OutletGroup) -> str:
        own = self.by_enclosure and spot.enclosure is not None
        return f"enclosure {spot.enclosure}" if own else spot.node_name

    def items_of_node(self, node: str) -> list[Item]:
        keys = sorted((key for key, name in self.node_of.items() if name == node), key=natural)
        return [self.site.items[key] for key in keys]


def site_dot(site: Site, net: CablingGraph, *, link: FindHref = no_href) -> str:
    """The site, as a graph from its circuits down to its floors."""
    plan = _node_map_of(site)
    ties = _cables_between(plan)
    order = _distances_from_roots(
        ties, {f"circuit {root.key}" for root in net.roots} | _root_nodes(plan, net)
    )
    body = [*_circuit_nodes(site, link), *_building_clusters(plan, link)]
    body += [_edge(plan, pair, cables, order, link) for pair, cables in sorted(ties.items())]
    return digraph(f"Connections of site {site.key}", body, "TB", ranksep=0.45)


# ---- what is one node


def _node_map_of(site: Site) -> _NodeMap:
    trunks = {port.item for b in site.backbones.values() for port in (*b.from_, *b.to)}
    node_of: dict[str, str] = {}
    for item in site.items.values():
        if isinstance(item, Panel) and item.key not in trunks:
            node_of[item.key] = f"panels {item.enclosure}"
        elif isinstance(item, (*ACTIVE, Panel)):
            node_of[item.key] = f"item {item.key}"
    plan = _NodeMap(site, node_of, _group_outlets(site, node_of))
    fine = _NodeMap(site, node_of | _merge_similar(plan), plan.outlet_groups)
    if len(set(fine.node_of.values())) + len(fine.outlet_groups) + len(site.circuits) <= _MAX_NODES:
        return fine
    coarse = {key: f"enclosure {site.items[key].enclosure}" for key in node_of}
    return _NodeMap(site, coarse, plan.outlet_groups, by_enclosure=True)


def _merge_similar(plan: _NodeMap) -> dict[str, str]:
    """One node for the equipment of an enclosure that is joined to the same others, and one for
    what isn't joined to anything."""
    near: dict[str, set[str]] = defaultdict(set)
    for one, other in _cables_between(plan):
        near[one].add(other)
        near[other].add(one)
    alike: dict[tuple[str, str, frozenset[str]], list[str]] = defaultdict(list)
    for key, name in plan.node_of.items():
        item, joined = plan.site.items[key], frozenset(near[name])
        if isinstance(item, ACTIVE):
            alike[item.enclosure, item.role if joined else "", joined].append(key)
    node_of: dict[str, str] = {}
    for (enclosure, _, joined), keys in alike.items():
        first = plan.node_of[min(keys, key=natural)]
        node_of |= dict.fromkeys(keys, first if joined else f"loose {enclosure}")
    return node_of


def _group_outlets(site: Site, known: Mapping[str, str]) -> dict[_OutletGroup, tuple[Outlet, ...]]:
    found: dict[_OutletGroup, list[Outlet]] = defaultdict(list)
    for outlet in site.outlets.values():
        floor = site.floor_of(outlet.room)
        ends = [port.enclosure for port in outlet.port if port.item in known]
        found[_OutletGroup(floor.key if floor else None, ends[0] if ends else None)].append(outlet)
    return {spot: tuple(outlets) for spot, outlets in found.items()}


# ---- what joins them


@dataclass(slots=True)
class _CablesBetween:
    """All that runs between two nodes."""

    cords: int = 0
    drops: int = 0
    backbones: tuple[Backbone, ...] = ()
    circuit: bool = False

    @property
    def is_thick(self) -> bool:
        return bool(self.backbones) or self.circuit


def _cables_between(plan: _NodeMap) -> dict[tuple[str, str], _CablesBetween]:
    ties: dict[tuple[str, str], _CablesBetween] = {}

    def between(one: str | None, other: str | None) -> _CablesBetween:
        if one is None or other is None or one == other:
            return _CablesBetween()  # nobody looks at it
        pair = (one, other) if natural(one) <= natural(other) else (other, one)
        return ties.setdefault(pair, _CablesBetween())

    site = plan.site
    for cord in site.cords.values():
        between(plan.node_of_port(cord.from_), plan.node_of_port(cord.to)).cords += 1
    for backbone in site.backbones.values():
        tie = between(plan.node_of_port(backbone.from_[0]), plan.node_of_port(backbone.to[0]))
        tie.backbones = (*tie.backbones, backbone)
    for circuit in site.circuits.values():
        if circuit.lands_on and circuit.state != "ceased":
            between(f"circuit {circuit.key}", plan.node_of_port(circuit.lands_on)).circuit = True
    for spot, outlets in plan.outlet_groups.items():
        for outlet in outlets:
            for port in outlet.port[:1]:
                between(plan.node_of_port(port), plan.node_of_group(spot)).drops += 1
    return ties


def _root_nodes(plan: _NodeMap, net: CablingGraph) -> set[str]:
    return {plan.node_of[root.key] for root in net.roots if root.key in plan.node_of}


def _distances_from_roots(ties: Iterable[tuple[str, str]], roots: set[str]) -> dict[str, int]:
    """How many ties each node is away from a root."""
    near: dict[str, list[str]] = defaultdict(list)
    for one, other in ties:
        near[one].append(other)
        near[other].append(one)
    distance = dict.fromkeys(sorted(roots & near.keys()), 0)
    todo = deque(distance)
    while todo:
        here = todo.popleft()
        for beyond in near[here]:
            if beyond not in distance:
                distance[beyond] = distance[here] + 1
                todo.append(beyond)
    return distance


def _edge(
    plan: _NodeMap,
    pair: tuple[str, str],
    cables: _CablesBetween,
    order: Mapping[str, int],
    link: FindHref,
) -> str:
    far = len(order)
    upper, lower = sorted(
        pair, key=lambda name: (order.get(name, far), _drawn_last(name), natural(name))
    )
    words = _backbones_text(plan.site, cables.backbones)
    if cables.drops:
        words.append(_plural(cables.drops, "drop"))
    if cables.cords > 1 or (cables.cords and words):
        words.append(_plural(cables.cords, "cord"))
    looks = {"penwidth": "2.4" if cables.backbones else "1.6"} if cables.is_thick else {}
    if order.get(upper, -1) == order.get(lower, far) and not _drawn_last(lower):
        looks["constraint"] = "false"  # a way across, not down
    href = link("backbone", cables.backbones[0].key) if cables.backbones else None
    return edge(upper, lower, words, href=href, **looks)


def _drawn_last(name: str) -> bool:
    """Panels and outlets hang below what nothing else puts in order."""
    return name.startswith(("panels", "outlets"))


def _plural(count: int, what: str) -> str:
    ending = "es" if what.endswith("ch") else "s"
    return f"{count} {what}{ending if count != 1 else ''}"


def _backbones_text(site: Site, backbones: Sequence[Backbone]) -> list[str]:
    if len(backbones) <= _MAX_BACKBONES:
        return [word for backbone in backbones for word in _backbone_text(site, backbone)]
    counts = [_ports_in_use(site, backbone) for backbone in backbones]
    used, total = (sum(column) for column in zip(*counts, strict=True))
    return [f"{len(backbones)} backbones", f"{used} of {_plural(total, 'port')} in use"]


def _backbone_text(site: Site, backbone: Backbone) -> list[str]:
    """Kind, strands and length of a backbone, and how many of its ports are in use."""
    kind = "strands" if backbone.cable in FIBRE_CABLES else "pairs"
    facts = (
        cable_name(backbone.cable),
        f"{backbone.strands} {kind}" if backbone.strands else None,
        format_quantity(site, backbone.length) if backbone.length else None,
        backbone.state if backbone.state != "in use" else None,
    )
    used, total = _ports_in_use(site, backbone)
    return [
        f"backbone {backbone_name(backbone)}",
        ", ".join(fact for fact in facts if fact) or "cable not known",
        f"{used} of {_plural(total, 'port')} in use",
    ]


def _ports_in_use(site: Site, backbone: Backbone) -> tuple[int, int]:
    """How many of a backbone's ports are in use at both ends, and how many it has."""
    pairs = list(zip(backbone.from_, backbone.to, strict=False))
    used = sum(
        all(end in site.ports and site.ports[end].state is PortState.IN_USE for end in pair)
        for pair in pairs
    )
    return used, len(pairs)


# ---- how it is drawn


def _circuit_nodes(site: Site, link: FindHref) -> Iterator[str]:
    for circuit in site.circuits.values():
        if circuit.state == "ceased":
            continue
        lines = [NodeLine(circuit_name(circuit), bold=True, href=link("circuit", circuit.key))]
        facts = (f"circuit {circuit.key}", str(circuit.speed) if circuit.speed else "")
        lines.append(NodeLine(", ".join(fact for fact in facts if fact)))
        if circuit.state != "live":
            lines.append(NodeLine(circuit.state))
        if circuit.lands_on is None:
            lines.append(NodeLine("where it lands isn't recorded"))
        yield node(f"circuit {circuit.key}", lines, dashed=circuit.state != "live")


def _building_clusters(plan: _NodeMap, link: FindHref) -> Iterator[str]:
    """Frames within frames: building, floor, room where it holds several enclosures, enclosure."""
    site = plan.site
    floors: dict[str | None, list[str]] = defaultdict(list)
    for room, enclosures in _by_room(site).items():
        drawn = [_enclosure_cluster(plan, key, link) for key in enclosures]
        if len(drawn) > 1 and room is not None:
            href = link("room", room)
            drawn = [
                cluster(
                    f"room {room}", [NodeLine(f"room {site.room_name(room)}", href=href)], drawn
                )
            ]
        floor = site.floor_of(room)
        floors[floor.key if floor else None] += drawn
    for spot in _in_order(plan.outlet_groups):
        if plan.node_of_group(spot) == spot.node_name:
            rows = _outlet_rows(plan, spot, _MAX_ROOMS, link)
            floors[spot.floor].append(node_of_rows(spot.node_name, rows, style=' STYLE="rounded"'))
    for building in [*site.buildings, None]:
        inside = []
        for key, floor in site.floors.items():
            if floor.building == building and key in floors:
                name = f"floor {key}" + (f", {floor.name}" if floor.name else "")
                inside.append(cluster(f"floor {key}", [NodeLine(name)], floors[key], foot=True))
        if building is None:
            yield from inside
        elif inside:
            words = site.buildings[building].name or f"building {building}"
            yield cluster(f"building {building}", [NodeLine(words, bold=True)], inside, foot=True)
    yield from floors[None]


def _by_room(site: Site) -> dict[str | None, list[str]]:
    rooms: dict[str | None, list[str]] = defaultdict(list)
    for enclosure in site.enclosures.values():
        rooms[enclosure.room if enclosure.room in site.rooms else None].append(enclosure.key)
    return rooms


def _in_order(spots: Iterable[_OutletGroup]) -> list[_OutletGroup]:
    return sorted(spots, key=lambda spot: (natural(spot.floor or ""), natural(spot.node_name)))


def _enclosure_cluster(plan: _NodeMap, key: str, link: FindHref) -> str:
    """An enclosure with its nodes in a frame; on a coarse map, in a node of its own."""
    enclosure = plan.site.enclosures[key]
    title = f"{key} {enclosure.label}" if enclosure.label else key
    words = describe_enclosure(enclosure)
    if enclosure.room:
        words += f", room {plan.site.room_name(enclosure.room)}"
    label = [NodeLine(title, bold=True, href=link("enclosure", key)), NodeLine(words)]
    items = plan.site.items_in.get(key, ())
    names = dict.fromkeys(plan.node_of[item.key] for item in items if item.key in plan.node_of)
    if plan.by_enclosure:
        rows = [
            cell(line, _COLSPAN) for line in (*label, *_enclosure_lines(plan, f"enclosure {key}"))
        ]
        for spot in _in_order(plan.outlet_groups):
            if spot.enclosure == key:
                rows += _outlet_rows(plan, spot, _MAX_ROOMS_IN_ENCLOSURE, link)
        return node_of_rows(f"enclosure {key}", rows)
    nodes = [_items_node(plan, key, name, link) for name in names]
    if not nodes:
        nodes = [
            node(f"nothing {key}", [NodeLine("nothing active, no panel recorded")], dashed=True)
        ]
    return cluster(f"enclosure {key}", label, nodes, dashed=True)


def _enclosure_lines(plan: _NodeMap, name: str) -> Iterator[NodeLine]:
    """What an enclosure holds, a line a role: `2 switches: SW1, SW2; 11 of 104 ports free`."""
    by_role: dict[str, list[Item]] = defaultdict(list)
    for item in plan.items_of_node(name):
        by_role[item.role].append(item)
    for role in ("router", "switch", "device", "panel"):
        items = by_role[role]
        if items:
            free = "".join(f"; {line.text}" for line in _free_port_lines(plan.site, items))
            yield NodeLine(f"{_plural(len(items), role)}: {_names(items)}{free}")


def _names(items: Sequence[Item]) -> str:
    listed = ", ".join(item.name for item in items[:_MAX_NAMES])
    left = len(items) - _MAX_NAMES
    return f"{listed} and {left} more" if left > 0 else listed


def _items_node(plan: _NodeMap, enclosure: str, name: str, link: FindHref) -> str:
    items = plan.items_of_node(name)
    free = _free_port_lines(plan.site, items)
    if name.startswith("loose "):
        free.insert(0, NodeLine("no cord recorded"))
    if len(items) == 1:
        item = items[0]
        first = NodeLine(item_name(item), bold=True, href=link("item", item.key))
        return node(name, [first, NodeLine(describe_item(item)), *free])
    roles = Counter(item.role for item in items)
    what = ", ".join(_plural(count, role) for role, count in sorted(roles.items()))
    first = NodeLine(_names(items), bold=True, href=link("enclosure", enclosure))
    return node(name, [first, NodeLine(what), *free])


def _free_port_lines(site: Site, items: Iterable[Item]) -> list[NodeLine]:
    uses = [use for item in items for use in site.ports_of(item)]
    if not uses:
        return []
    free = sum(use.state is PortState.FREE for use in uses)
    return [NodeLine(f"{free} of {_plural(len(uses), 'port')} free")]


_COLSPAN = f' COLSPAN="{_COLUMNS}"'


def _outlet_rows(plan: _NodeMap, spot: _OutletGroup, most: int, link: FindHref) -> list[str]:
    """Outlets counted by room, the fullest rooms where there are too many to list."""
    outlets = plan.outlet_groups[spot]
    counts = Counter(outlet.room for outlet in outlets)
    fullest = sorted(counts, key=lambda room: (-counts[room], natural(room or "")))[:most]
    rooms = sorted(fullest, key=lambda room: natural(room or ""))
    cells = [
        cell(
            NodeLine(
                f"{room or 'no room recorded'}: {counts[room]}",
                href=link("room", room) if room else None,
            )
        )
        for room in rooms
    ]
    title = f"{_plural(len(outlets), 'outlet')} in {_plural(len(counts), 'room')}"
    if spot.enclosure is None:
        title += ", no panel port recorded"
    elif plan.by_enclosure and _floor_of(plan.site, spot.enclosure) != spot.floor:
        title += f" on floor {spot.floor}" if spot.floor else ", floor not recorded"
    rows = ["".join(cells[i : i + _COLUMNS]) for i in range(0, len(cells), _COLUMNS)]
    rows.insert(0, cell(NodeLine(title, bold=True), _COLSPAN))
    left = len(counts) - len(rooms)
    if left:
        rest = len(outlets) - sum(counts[room] for room in rooms)
        words = f"and {_plural(left, 'room')} more with {_plural(rest, 'outlet')}"
        rows.append(cell(NodeLine(words), _COLSPAN))
    return rows


def _floor_of(site: Site, enclosure: str) -> str | None:
    floor = site.floor_of(site.enclosures[enclosure].room)
    return floor.key if floor else None

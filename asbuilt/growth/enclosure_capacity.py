"""An enclosure as somebody sees it who wants to add drops: its free ports, its column of units,
what may be touched in it and whom that interrupts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from asbuilt.facts.headroom import Headroom, enclosure_headroom
from asbuilt.facts.ports import PoePower, SwitchHeadroom, poe_demand
from asbuilt.facts.power import all_fed_by
from asbuilt.growth.rearrange import (
    LARGE_PORT_COUNT,
    MountedItem,
    PortNeed,
    RackAction,
    RackContents,
    RackStep,
)
from asbuilt.model.paths import CablingGraph, Edge, nodes_of, outlets_without_service
from asbuilt.model.site import PortState, Site
from asbuilt.records.enclosures import (
    COPPER,
    CableManager,
    Enclosure,
    Item,
    Panel,
    PowerStrip,
    Reserve,
    Router,
    Switch,
    Ups,
)
from asbuilt.records.fields import PortId
from asbuilt.trade.poe import pse_watts
from asbuilt.trade.rack import units_from_bottom

#: What a switch of one unit gives at most over its cables, in watts (common practice).
MAX_SWITCH_POE: Final = 1440.0
#: From this weight on a thing is kept low, in kg (common practice).
HEAVY_KG: Final = 15.0


@dataclass(frozen=True, slots=True)
class DropRequest:
    """What a new drop asks for: its kind of cable and, when it is powered, its class."""

    cable: str = "cat6"
    poe_class: int | None = None

    @property
    def poe_watts(self) -> float:
        """What a switch sets aside for it (IEEE 802.3)."""
        return 0.0 if self.poe_class is None else pse_watts(self.poe_class)

    @property
    def drops_per_switch(self) -> int:
        """The drops one new switch takes."""
        return (
            min(LARGE_PORT_COUNT, int(MAX_SWITCH_POE // self.poe_watts))
            if self.poe_watts
            else LARGE_PORT_COUNT
        )

    @property
    def category(self) -> str:
        return self.cable.removeprefix("cat")


@dataclass(frozen=True, slots=True)
class FreePorts:
    """Free ports of one panel or switch that new drops can have; `unit` counts from the bottom,
    None where no unit is recorded."""

    item: str
    unit: int | None
    ports: tuple[PortId, ...]


@dataclass(frozen=True, slots=True)
class EnclosureCapacity:
    """An enclosure with room to be found in it."""

    enclosure: Enclosure
    request: DropRequest
    headroom: Headroom
    rack: RackContents
    panels: tuple[FreePorts, ...]
    switches: tuple[FreePorts, ...]
    unsuitable_panels: tuple[str, ...]  # panels of too low a category
    panels_without_category: tuple[str, ...]  # panels whose category isn't recorded
    upstream_ports: tuple[PortId, ...]  # free ports a new switch can hang on, the best first
    unpowered_access_ports: tuple[PortId, ...]  # free access ports that power keeps from new drops
    has_active_equipment: bool  # whether a switch or router is in its space at all
    pathways: tuple[str, ...]  # the pathways its drops leave by
    poe_left: Mapping[str, float] = field(default_factory=dict)

    @property
    def key(self) -> str:
        return self.enclosure.key

    @property
    def space(self) -> str:
        """What tells its space: its room, or itself where none is recorded."""
        return f"room {self.enclosure.room}" if self.enclosure.room else f"enclosure {self.key}"

    @property
    def panel_ports(self) -> int:
        return sum(len(panel.ports) for panel in self.panels)

    @property
    def switch_ports(self) -> int:
        return sum(len(switch.ports) for switch in self.switches)

    @property
    def lacks_upstream_port(self) -> bool:
        """Whether a new switch would have nothing to hang on."""
        return self.has_active_equipment and not (
            self.upstream_ports or self.unpowered_access_ports
        )

    def printed_units(self, low: int, high: int) -> tuple[int, int]:
        """Units counted from the bottom as they are printed on the enclosure."""
        return units_from_bottom((low, high), self.rack.height, self.enclosure.numbered_from)

    def port_need(self, drops: int, panel_ports: int, switch_ports: int) -> PortNeed:
        """What is wanting for so many drops beyond those the free ports were given to already,
        when so many of them are left."""
        panel, switch = max(0, drops - panel_ports), max(0, drops - switch_ports)
        fed = not self.lacks_upstream_port
        if switch and not fed and self.switch_ports:
            switch += 1  # one of the ports that were free feeds the new switch
            fed = True
        return PortNeed(panel, switch, self.request.drops_per_switch, fed)


def enclosure_capacity(site: Site, enclosure: Enclosure, wanted: DropRequest) -> EnclosureCapacity:
    room = enclosure_headroom(site, enclosure)
    total = int(enclosure.height.to("U"))
    panels, unfit, unsaid = [], [], []
    for panel in room.panels:
        free = panel.ports.ids.get(PortState.FREE, ())
        if panel.item.media != "copper" or not free:
            continue
        if panel.item.category is None:
            unsaid.append(panel.item.key)
        elif not _category_suits(panel.item.category, wanted.category):
            unfit.append(panel.item.key)
            continue
        panels.append(
            FreePorts(panel.item.key, _unit_from_bottom(enclosure, panel.item, total), free)
        )
    switches: list[FreePorts] = []
    spare: list[PortId] = []
    left: dict[str, float] = {}
    for switch in room.switches:
        if not serves_drops(site, switch.item):
            continue
        usable, unpowered = _usable_ports(switch, wanted)
        spare += unpowered
        if switch.poe:
            left[switch.item.key] = poe_left(switch.poe)
        if usable:
            unit = _unit_from_bottom(enclosure, switch.item, total)
            switches.append(FreePorts(switch.item.key, unit, usable))
    feeds, active = _upstream_ports(site, enclosure)
    opened = {free.item for free in (*panels, *switches)}
    things = []
    loose = set()
    for item in site.items_in.get(enclosure.key, ()):
        if item.at and item.at[1] <= total:
            things.append(_mounted_item(enclosure, item, total, item.key in opened))
        elif item.key in opened:
            loose.add(item.role)
    depth = enclosure.depth.to("mm") if enclosure.depth else None
    return EnclosureCapacity(
        enclosure,
        wanted,
        room,
        RackContents(total, depth, tuple(things), frozenset(loose)),
        tuple(panels),
        tuple(switches),
        tuple(unfit),
        tuple(unsaid),
        feeds,
        tuple(spare),
        active,
        _drop_pathways(site, enclosure),
        left,
    )


def poe_left(poe: PoePower) -> float:
    """What a switch has left for new devices: of what it sets aside and what was measured the
    larger counts as taken."""
    return max(0.0, poe.budget - max(poe.allocated, poe.measured or 0.0))


def _category_suits(category: str, wanted: str) -> bool:
    if category not in COPPER or wanted not in COPPER:
        return False
    return COPPER.index(category) >= COPPER.index(wanted)


def serves_drops(site: Site, switch: Switch) -> bool:
    """Whether drops are patched to a switch, or could be since nothing is. One that only links
    others (a core) serves none."""
    uses = [use for use in site.ports_of(switch) if use.cords or use.cabled]
    far = (site.ports.get(use.far_end(cord)) for use in uses for cord in use.cords)
    to_drops = any(
        use is not None and isinstance(use.item, Panel) and use.item.media == "copper"
        for use in far
    )
    return not uses or to_drops or any(use.outlets for use in uses)


def _usable_ports(
    switch: SwitchHeadroom, wanted: DropRequest
) -> tuple[tuple[PortId, ...], tuple[PortId, ...]]:
    """The free access ports new drops can have, and those that power keeps from them."""
    free = switch.access.ids.get(PortState.FREE, ())
    if not wanted.poe_watts:
        # What needs no power takes the ports without power first.
        gives = set(switch.item.poe_ports)
        return tuple(sorted(free, key=lambda port: port.name in gives)) if gives else free, ()
    if switch.poe is None:
        return (), free
    powered = [p for p in free if not switch.item.poe_ports or p.name in switch.item.poe_ports]
    most = int((poe_left(switch.poe) + 1e-9) // wanted.poe_watts)
    usable = tuple(powered[:most])
    return usable, tuple(port for port in free if port not in usable)


def _upstream_ports(site: Site, enclosure: Enclosure) -> tuple[tuple[PortId, ...], bool]:
    """The free ports of a space a new switch can hang on, its own enclosure's first: of a core
    switch, uplinks, of a router; and whether there is a switch or router in it."""
    found: list[tuple[tuple[bool, bool, bool], PortId]] = []
    active = False
    for other in site.enclosures.values():
        here = other.key == enclosure.key
        if not here and (enclosure.room is None or other.room != enclosure.room):
            continue
        for item in site.items_in.get(other.key, ()):
            if not isinstance(item, Switch | Router):
                continue
            active = True
            core = isinstance(item, Switch) and not serves_drops(site, item)
            for use in site.ports_of(item):
                right = isinstance(item, Router) or core or item.is_uplink(use.id.name)
                if right and use.state is PortState.FREE and use.id.name.isdigit():
                    order = (not here, not core, isinstance(item, Router))
                    found.append((order, use.id))
    return tuple(port for _, port in sorted(found, key=lambda pair: pair[0])), active


def _drop_pathways(site: Site, enclosure: Enclosure) -> tuple[str, ...]:
    """The pathways the drops of an enclosure leave by: the first that each names."""
    first = (
        outlet.via[0]
        for outlet in site.outlets.values()
        if outlet.via and any(port.enclosure == enclosure.key for port in outlet.port)
    )
    return tuple(sorted({way for way in first if way in site.pathways}))


def _unit_from_bottom(enclosure: Enclosure, item: Item, total: int) -> int | None:
    if not item.at or item.at[1] > total:
        return None
    return units_from_bottom(item.at, total, enclosure.numbered_from)[0]


def _mounted_item(enclosure: Enclosure, item: Item, total: int, opened: bool) -> MountedItem:
    assert item.at
    low, high = units_from_bottom(item.at, total, enclosure.numbered_from)
    heavy = isinstance(item, Ups) or (item.weight is not None and item.weight.to("kg") >= HEAVY_KG)
    depth = item.depth.to("mm") if item.depth else None
    return MountedItem(
        item.key, low, high, item.face, _item_kind(item), item.part, depth, opened, heavy
    )


def _item_kind(item: Item) -> str:
    if isinstance(item, Panel):
        return "panel" if item.media == "copper" else "other"
    return {Switch: "switch", Ups: "ups", Reserve: "kept"}.get(type(item), "other")


# What may be touched


def allowed_steps(site: Site, bay: EnclosureCapacity, net: CablingGraph | None) -> list[RackStep]:
    """Every step the bay allows; whom each interrupts only where the net is given.

    Panels keep their units, since their cables are cut to length: one may be put onto one unit
    of those it has. What is somebody else's, and what is reserved, is left alone.
    """
    found = []
    mounted = site.items_in.get(bay.key, ())
    placed = {thing.key for thing in bay.rack.items}
    for item in mounted:
        if item.key not in placed or item.owner or isinstance(item, Reserve):
            continue
        if isinstance(item, Panel):
            step = _onto_one_unit(site, item, net)
            found += [step] if step else []
        elif isinstance(item, CableManager):
            found.append(
                RackStep(
                    RackAction.TAKE_OUT, item.key, _interrupted_by_cord_change(site, item, net)
                )
            )
        else:
            dark = _interrupted_by_unplugging(site, item, mounted, net)
            found.append(RackStep(RackAction.MOVE, item.key, dark))
            gained = _ports_gained_by_swap(site, bay, item)
            if gained:
                found.append(RackStep(RackAction.SWAP, item.key, dark, switch_ports=gained))
    return found


def _onto_one_unit(site: Site, panel: Panel, net: CablingGraph | None) -> RackStep | None:
    ports = panel.ports or 0
    smaller = panel.height > 1
    if (
        panel.media != "copper"
        or not 0 < ports <= LARGE_PORT_COUNT
        or not (smaller or ports < LARGE_PORT_COUNT)
    ):
        return None
    dark = _dark(outlets_without_service(net, nodes=nodes_of(site, panel))) if net else frozenset()
    return RackStep(RackAction.TO_ONE_UNIT, panel.key, dark, panel_ports=LARGE_PORT_COUNT - ports)


def _ports_gained_by_swap(site: Site, bay: EnclosureCapacity, item: Item) -> int:
    """The ports for new drops a switch gains when a 48-port one with all the power there is
    takes its place."""
    if (
        not isinstance(item, Switch)
        or item.height != 1
        or not 0 < (item.ports or 0) <= LARGE_PORT_COUNT
    ):
        return 0
    found = next(switch for switch in bay.headroom.switches if switch.item.key == item.key)
    now = sum(len(free.ports) for free in bay.switches if free.item == item.key)
    free = len(found.access.ids.get(PortState.FREE, ())) + LARGE_PORT_COUNT - (item.ports or 0)
    if bay.request.poe_watts:
        asked = poe_demand(site, item)
        taken = max(asked.allocated, asked.measured or 0.0)
        free = min(free, int(max(0.0, MAX_SWITCH_POE - taken) // bay.request.poe_watts))
    if not bay.upstream_ports:
        free -= 1  # one port is kept to feed a new switch from
    return max(0, free - now)


def _interrupted_by_unplugging(
    site: Site, item: Item, mounted: Iterable[Item], net: CablingGraph | None
) -> frozenset[str]:
    """Who goes dark while a thing is unplugged, and with it all that it feeds."""
    if net is None:
        return frozenset()
    fed = all_fed_by(item, tuple(mounted)) if isinstance(item, Ups | PowerStrip) else ()
    return _dark(outlets_without_service(net, nodes=nodes_of(site, item, *fed)))


def _interrupted_by_cord_change(
    site: Site, manager: CableManager, net: CablingGraph | None
) -> frozenset[str]:
    """Who goes dark while the cords that run over a manager are changed for short ones: those of
    the panels directly above and below it, or of the switches where no panel is."""
    if net is None:
        return frozenset()
    cords = cords_over_manager(site, manager)
    return _dark(outlets_without_service(net, edges=[Edge("cord", key) for key in cords]))


def cords_over_manager(site: Site, manager: Item) -> tuple[str, ...]:
    """The cords that run over a cable manager, by what stands next to it."""
    if not manager.at:
        return ()
    low, high = manager.at
    beside = [
        item
        for item in site.items_in.get(manager.enclosure, ())
        if item.at
        and item.face == manager.face
        and (item.at[0] == high + 1 or item.at[1] == low - 1)
    ]
    panels = [item for item in beside if isinstance(item, Panel)]
    switches = [item for item in beside if isinstance(item, Switch)]
    keys = {
        cord.key for item in panels or switches for use in site.ports_of(item) for cord in use.cords
    }
    return tuple(sorted(keys))


def _dark(outlets: Iterable[str]) -> frozenset[str]:
    return frozenset(outlets)

"""Who goes where: a plan made of the drops as they were given to enclosures, with every port, unit,
cord and thing to be bought.
"""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from asbuilt.facts.ports import poe_demand
from asbuilt.growth.allocation import Allocation, SiteCapacity
from asbuilt.growth.enclosure_capacity import MAX_SWITCH_POE, EnclosureCapacity, cords_over_manager
from asbuilt.growth.plan import (
    GrowthPlan,
    ItemMove,
    PatchGroup,
    Placement,
    Purchase,
    SwitchUplink,
    merge_purchases,
    renumbered_port,
)
from asbuilt.growth.rearrange import (
    LARGE_PORT_COUNT,
    RackAction,
    RackLayout,
    RackStep,
    Rearrangement,
    interrupted_by,
    places_by_key,
)
from asbuilt.model.describe import cable_name, category_name
from asbuilt.model.site import Site, natural
from asbuilt.records.enclosures import Item, Panel, Switch
from asbuilt.records.fields import PortId
from asbuilt.trade.cords import BETWEEN_ENCLOSURES, required_cord_length, stock_length

SMALL_PORT_COUNT: Final = 24  # the smaller size of panel and switch that is bought
#: What switches can give over their cables, in watts, as they are sold (common practice).
POE_BUDGETS: Final = (130.0, 190.0, 370.0, 740.0, MAX_SWITCH_POE)
#: Where no unit is recorded a cord is taken to be so long, in metres.
DEFAULT_CORD_LENGTH: Final = 1.0


def growth_plan(ground: SiteCapacity, laid: Allocation) -> GrowthPlan:
    return _Planner(ground, laid).plan()


def poe_budget_for(watts: float) -> float | None:
    """The smallest budget switches are sold with that covers so many watts."""
    if watts <= 0:
        return None
    return next((budget for budget in POE_BUDGETS if budget >= watts), watts)


def switch_text(ports: int, poe: float | None) -> str:
    power = f", power over Ethernet of {poe:g} W or more" if poe else ""
    return f"{ports}-port switch{power}"


@dataclass(slots=True)
class _AvailablePorts:
    """Ports of one panel or switch that drops of a plan can have."""

    item: str
    bay: EnclosureCapacity
    unit: int | None
    ports: list[PortId]


class _Planner:
    """Makes a plan of the drops laid out."""

    def __init__(self, ground: SiteCapacity, laid: Allocation) -> None:
        self.ground, self.laid = ground, laid
        self.site, self.wanted = ground.site, ground.request
        self.placements: list[Placement] = []
        self.moves: list[ItemMove] = []
        self.uplinks: list[SwitchUplink] = []
        self.purchases: list[Purchase] = []
        self.renumbering: dict[str, tuple[int, int]] = {}

    def plan(self) -> GrowthPlan:
        panels: list[_AvailablePorts] = []
        switches: list[_AvailablePorts] = []
        for answer in self.laid.rearrangements.values():
            self._collect_renumbering(answer)
        for bay in self.ground.enclosures:
            answer = self.laid.rearrangements.get(bay.key, Rearrangement())
            here = self._panels(bay, answer)
            panels += _first_ports(here, self.laid.drops_by_enclosure[bay.key])
            switches += self._switches(bay, answer)
        patches = tuple(_patch_nearest(panels, switches))
        self._size_poe_budgets(patches)
        self._buy_cords(patches)
        steps = [step for answer in self.laid.rearrangements.values() for step in answer.steps]
        self._buy_cable()
        return GrowthPlan(
            self.wanted,
            tuple((key, count) for key, count in self.laid.drops_by_enclosure.items() if count),
            tuple(self.placements),
            tuple(self.moves),
            patches,
            tuple(self.uplinks),
            tuple(sorted(self.laid.pathway_places.taken.items())),
            merge_purchases(self.purchases),
            tuple(sorted(interrupted_by(steps), key=natural)),
            all(answer.proved_cheapest for answer in self.laid.rearrangements.values()),
        )

    def _collect_renumbering(self, answer: Rearrangement) -> None:
        for step in answer.steps:
            item = self.site.items[step.key]
            if step.action is RackAction.SWAP and isinstance(item, Switch):
                self.renumbering[item.key] = (item.ports or 0, LARGE_PORT_COUNT)

    def _units(self, answer: Rearrangement) -> dict[str, int]:
        places = places_by_key(answer.layout) if answer.layout else {}
        return {key: place.low for key, place in places.items()}

    def _panels(self, bay: EnclosureCapacity, answer: Rearrangement) -> list[_AvailablePorts]:
        units = self._units(answer)
        found = {
            free.item: _AvailablePorts(
                free.item, bay, units.get(free.item, free.unit), [*free.ports]
            )
            for free in bay.panels
        }
        for step in answer.steps:
            self._add_move(bay, step, answer.layout)
            item = self.site.items[step.key]
            if step.action is RackAction.TO_ONE_UNIT and isinstance(item, Panel):
                held = found.setdefault(
                    step.key, _AvailablePorts(step.key, bay, units[step.key], [])
                )
                held.ports += _port_range(step.key, (item.ports or 0) + 1, LARGE_PORT_COUNT)
                note = f"in place of {item.name} of {bay.key}"
                self.purchases.append(
                    Purchase(
                        1,
                        f"{LARGE_PORT_COUNT}-port panel, {category_name(self.wanted.category)}",
                        note,
                    )
                )
        if answer.layout:
            gained = sum(step.panel_ports for step in answer.steps)
            wanting = self.laid.needs[bay.key].panel_ports - gained
            for unit in answer.layout.panels:
                size = LARGE_PORT_COUNT if wanting > SMALL_PORT_COUNT else SMALL_PORT_COUNT
                wanting -= size
                placed = self._add_placement(bay, "panel", size, unit)
                found[placed.key] = _AvailablePorts(
                    placed.key, bay, unit, _port_range(placed.key, 1, size)
                )
                self.purchases.append(
                    Purchase(1, f"{size}-port panel, {category_name(self.wanted.category)}")
                )
        return list(found.values())

    def _switches(self, bay: EnclosureCapacity, answer: Rearrangement) -> list[_AvailablePorts]:
        units = self._units(answer)
        found = {
            free.item: _AvailablePorts(
                free.item,
                bay,
                units.get(free.item, free.unit),
                [renumbered_port(port, self.renumbering) for port in free.ports],
            )
            for free in bay.switches
        }
        for step in answer.steps:
            if step.action is RackAction.SWAP:
                held = found.setdefault(
                    step.key, _AvailablePorts(step.key, bay, units[step.key], [])
                )
                held.ports += self._ports_gained(bay, step)
        if answer.layout and answer.layout.switches:
            self._new_switches(bay, answer, answer.layout, found)
        return list(found.values())

    def _ports_gained(self, bay: EnclosureCapacity, step: RackStep) -> list[PortId]:
        """The ports a swapped switch gains: those power kept back first, then the new numbers."""
        item = self.site.items[step.key]
        assert isinstance(item, Switch)
        kept_back = [port for port in bay.unpowered_access_ports if port.item == step.key]
        if not bay.upstream_ports:
            kept_back = [port for port in kept_back if port != bay.unpowered_access_ports[0]]
        new = _port_range(step.key, (item.ports or 0) + 1, LARGE_PORT_COUNT)
        return [*kept_back, *new][: step.switch_ports]

    def _new_switches(
        self,
        bay: EnclosureCapacity,
        answer: Rearrangement,
        layout: RackLayout,
        found: dict[str, _AvailablePorts],
    ) -> None:
        feeds = [renumbered_port(port, self.renumbering) for port in bay.upstream_ports]
        feeds += [
            renumbered_port(port, self.renumbering)
            for port in bay.unpowered_access_ports[:1]
            if not feeds
        ]
        gained = sum(step.switch_ports for step in answer.steps)
        wanting = self.laid.needs[bay.key].switch_ports - gained
        if not feeds and bay.has_active_equipment and not self._has_new_uplink(bay):
            # One of the access ports counted with feeds the new switch.
            held = next(held for held in found.values() if held.ports)
            feeds = [held.ports.pop()]
            wanting = max(wanting, 1)
        for unit in layout.switches:
            drops = min(wanting, self.wanted.drops_per_switch)
            wanting -= drops
            size = SMALL_PORT_COUNT if drops <= SMALL_PORT_COUNT else LARGE_PORT_COUNT
            earlier = [p for p in self.placements if p.kind == "switch" and p.enclosure == bay.key]
            placed = self._add_placement(bay, "switch", size, unit)
            ports = _port_range(placed.key, 1, min(size, self.wanted.drops_per_switch))
            found[placed.key] = _AvailablePorts(placed.key, bay, unit, ports)
            uplink = PortId(placed.key, str(size + 1))
            taken = {feed.to for feed in self.uplinks}
            to = next((port for port in feeds if port not in taken), None)
            if to is None and earlier:
                before = earlier[-1]
                to = PortId(before.key, str(before.ports + 2))
            self.uplinks.append(
                SwitchUplink(placed.key, uplink, to, self._uplink_cord(bay, unit, to))
            )
            if to is None:
                self.purchases.append(
                    Purchase(1, "backbone link", f"feeds {placed.name} of {bay.key}")
                )

    def _has_new_uplink(self, bay: EnclosureCapacity) -> bool:
        return any(feed.switch.startswith(f"{bay.key}/") for feed in self.uplinks)

    def _uplink_cord(self, bay: EnclosureCapacity, unit: int, to: PortId | None) -> float:
        if to is None:
            return 0.0
        if to.enclosure != bay.key:
            return stock_length(BETWEEN_ENCLOSURES)
        other = self._unit_of(bay, to.item)
        return (
            DEFAULT_CORD_LENGTH
            if other is None
            else stock_length(required_cord_length(unit - other))
        )

    def _unit_of(self, bay: EnclosureCapacity, item: str) -> int | None:
        """The unit an item stands at afterwards."""
        placed = next((p for p in self.placements if p.key == item), None)
        if placed:
            return bay.printed_units(*placed.at)[0]
        layout = self.laid.rearrangements.get(bay.key, Rearrangement()).layout
        moved = places_by_key(layout).get(item) if layout else None
        if moved:
            return moved.low
        return next((thing.low for thing in bay.rack.items if thing.key == item), None)

    def _add_placement(self, bay: EnclosureCapacity, kind: str, ports: int, unit: int) -> Placement:
        taken = {item.name.casefold() for item in self.site.items_in.get(bay.key, ())}
        taken |= {p.name.casefold() for p in self.placements if p.enclosure == bay.key}
        if kind == "panel":
            names = (chr(letter) for letter in range(ord("A"), ord("Z") + 1))
            name = next((n for n in names if n.casefold() not in taken), None) or _unused_name(
                "P", taken
            )
        else:
            name = _unused_name("SW", taken)
        placed = Placement(kind, ports, bay.key, bay.printed_units(unit, unit), name)
        self.placements.append(placed)
        return placed

    def _add_move(self, bay: EnclosureCapacity, step: RackStep, layout: RackLayout | None) -> None:
        item = self.site.items[step.key]
        assert item.at
        place = places_by_key(layout).get(step.key) if layout else None
        to = bay.printed_units(place.low, place.high) if place else None
        part = place.part if place else None
        dark = tuple(sorted(step.interrupts, key=natural))
        self.moves.append(ItemMove(step.action, step.key, item.at, to, part, dark))

    def _size_poe_budgets(self, patches: Iterable[PatchGroup]) -> None:
        """Gives the new and the swapped switches the power their drops take; buys them."""
        watts: dict[str, float] = {}
        for patch in patches:
            drawn = len(patch.ports) * self.wanted.poe_watts
            watts[patch.switch] = watts.get(patch.switch, 0.0) + drawn
        for number, placed in enumerate(self.placements):
            if placed.kind != "switch":
                continue
            drawn = watts.get(placed.key, 0.0)
            poe = poe_budget_for(drawn)
            self.placements[number] = Placement(
                placed.kind, placed.ports, placed.enclosure, placed.at, placed.name, poe, drawn
            )
            self.purchases.append(Purchase(1, switch_text(placed.ports, poe)))
        for number, move in enumerate(self.moves):
            item = self.site.items[move.key]
            if move.action is not RackAction.SWAP or not isinstance(item, Switch):
                continue
            asked = poe_demand(self.site, item)
            drawn = watts.get(item.key, 0.0)
            # One that gave no power gives some only where a new drop asks for it.
            drawn += asked.allocated if drawn or item.poe else 0.0
            poe = poe_budget_for(max(drawn, asked.budget))
            self.moves[number] = ItemMove(
                move.action,
                move.key,
                move.from_units,
                move.to_units,
                move.part,
                move.interrupts,
                poe,
            )
            note = f"in place of {item.name} of {item.enclosure}"
            self.purchases.append(Purchase(1, switch_text(LARGE_PORT_COUNT, poe), note))

    def _buy_cords(self, patches: Iterable[PatchGroup]) -> None:
        """Cords for new drops and feeds, short ones where a manager goes, longer ones where a
        thing goes further away."""
        for patch in patches:
            self.purchases.append(Purchase(len(patch.ports), f"{patch.cord:g} m cord"))
        for feed in self.uplinks:
            if feed.to is not None:
                self.purchases.append(Purchase(1, f"{feed.cord:g} m cord", "uplink"))
        seen: set[str] = set()
        for move in self.moves:
            item = self.site.items[move.key]
            bay = next(bay for bay in self.ground.enclosures if bay.key == item.enclosure)
            if move.to_units is None:
                note = f"in place of those over {item.name} of {bay.key}"
                for key in cords_over_manager(self.site, item):
                    self._buy_replacement_cord(bay, key, seen, note, always=True)
            else:
                note = f"{item.name} of {bay.key} stands further away"
                for key in _cords_on(self.site, item):
                    self._buy_replacement_cord(bay, key, seen, note, always=False)

    def _buy_replacement_cord(
        self, bay: EnclosureCapacity, key: str, seen: set[str], note: str, always: bool
    ) -> None:
        cord = self.site.cords[key]
        one, other = (self._unit_of(bay, port.item) for port in (cord.from_, cord.to))
        if key in seen or one is None or other is None:
            return
        reach = stock_length(required_cord_length(one - other))
        if always or (cord.cord is not None and cord.cord.to("m") < reach):
            seen.add(key)
            self.purchases.append(Purchase(1, f"{reach:g} m cord", note))

    def _buy_cable(self) -> None:
        """Cable by the metre, as long as the drops that end beside the new ones."""
        for bay in self.ground.enclosures:
            drops = self.laid.drops_by_enclosure[bay.key]
            lengths = [
                outlet.length.to("m")
                for outlet in self.site.outlets.values()
                if outlet.length and any(port.enclosure == bay.key for port in outlet.port)
            ]
            if drops and lengths:
                metres = round(drops * statistics.median(lengths))
                note = f"{drops} × the median of the {len(lengths)} lengths recorded at {bay.key}"
                self.purchases.append(
                    Purchase(metres, f"m of {cable_name(self.wanted.cable)} cable", note)
                )


def _port_range(item: str, first: int, last: int) -> list[PortId]:
    return [PortId(item, str(number)) for number in range(first, last + 1)]


def _unused_name(stem: str, taken: set[str]) -> str:
    number = 1
    while f"{stem}{number}".casefold() in taken:
        number += 1
    return f"{stem}{number}"


def _first_ports(found: Sequence[_AvailablePorts], count: int) -> list[_AvailablePorts]:
    """So many ports, those that are there before those that are new."""
    kept = []
    for held in found:
        ports = held.ports[:count]
        count -= len(ports)
        if ports:
            kept.append(_AvailablePorts(held.item, held.bay, held.unit, ports))
    return kept


def _patch_nearest(
    panels: Sequence[_AvailablePorts], switches: Sequence[_AvailablePorts]
) -> Iterable[PatchGroup]:
    """The nearest pairs first; within one enclosure before its neighbours."""
    pairs = []
    for panel in panels:
        for switch in switches:
            if panel.bay.space != switch.bay.space:
                continue
            across = panel.bay.key != switch.bay.key
            placed = panel.unit is not None and switch.unit is not None
            apart = abs(panel.unit - switch.unit) if panel.unit and switch.unit else 0
            cord = (
                BETWEEN_ENCLOSURES
                if across
                else required_cord_length(apart)
                if placed
                else DEFAULT_CORD_LENGTH
            )
            order = (across, not placed, apart, natural(panel.item), natural(switch.item))
            pairs.append((order, panel, switch, stock_length(cord)))
    for _, panel, switch, cord in sorted(pairs, key=lambda row: row[0]):
        count = min(len(panel.ports), len(switch.ports))
        if count:
            ports = tuple(zip(panel.ports[:count], switch.ports[:count], strict=True))
            del panel.ports[:count], switch.ports[:count]
            yield PatchGroup(panel.item, switch.item, ports, cord)


def _cords_on(site: Site, item: Item) -> tuple[str, ...]:
    keys = {cord.key for use in site.ports_of(item) for cord in use.cords}
    return tuple(sorted(keys))

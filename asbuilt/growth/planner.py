"""Who goes where: a plan made of the drops as they were given to enclosures, with every port, unit,
cord and thing to be bought.
"""

from __future__ import annotations

import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from asbuilt.facts.ports import asked_of
from asbuilt.growth.allocation import Allocation, SiteCapacity
from asbuilt.growth.enclosure_capacity import MOST_POE, EnclosureCapacity, cords_over
from asbuilt.growth.plan import (
    Feed,
    GrowthPlan,
    ItemMove,
    Patch,
    Placement,
    Purchase,
    merged,
    renamed,
)
from asbuilt.growth.rearrange import (
    LARGEST,
    RackAction,
    RackLayout,
    RackStep,
    Rearrangement,
    dark_of,
    places_of,
)
from asbuilt.model.describe import category_name
from asbuilt.model.site import Site, natural
from asbuilt.records.enclosures import Item, Panel, Switch
from asbuilt.records.fields import PortId
from asbuilt.trade.cords import BETWEEN_ENCLOSURES, cord_run, stock_length

SMALLER: Final = 24  # the smaller size of panel and switch that is bought
#: What switches can give over their cables, in watts, as they are sold (common practice).
BUDGETS: Final = (130.0, 190.0, 370.0, 740.0, MOST_POE)
#: Where no unit is recorded a cord is taken to be so long, in metres.
UNPLACED_CORD: Final = 1.0


def plan_of(ground: SiteCapacity, laid: Allocation) -> GrowthPlan:
    return _Planner(ground, laid).plan()


def budget_for(watts: float) -> float | None:
    """The smallest budget switches are sold with that covers so many watts."""
    if watts <= 0:
        return None
    return next((budget for budget in BUDGETS if budget >= watts), watts)


def switch_words(ports: int, poe: float | None) -> str:
    power = f", power over Ethernet of {poe:g} W or more" if poe else ""
    return f"{ports}-port switch{power}"


@dataclass(slots=True)
class _Ports:
    """Ports of one panel or switch that drops of a plan can have."""

    item: str
    bay: EnclosureCapacity
    unit: int | None
    ports: list[PortId]


class _Planner:
    """Makes a plan of the drops laid out."""

    def __init__(self, ground: SiteCapacity, laid: Allocation) -> None:
        self.ground, self.laid = ground, laid
        self.site, self.wanted = ground.site, ground.wanted
        self.placements: list[Placement] = []
        self.moves: list[ItemMove] = []
        self.feeds: list[Feed] = []
        self.buy: list[Purchase] = []
        self.shift: dict[str, tuple[int, int]] = {}

    def plan(self) -> GrowthPlan:
        panels: list[_Ports] = []
        switches: list[_Ports] = []
        for answer in self.laid.answers.values():
            self._shift(answer)
        for bay in self.ground.bays:
            answer = self.laid.answers.get(bay.key, Rearrangement())
            here = self._panels(bay, answer)
            panels += _first(here, self.laid.drops[bay.key])
            switches += self._switches(bay, answer)
        patches = tuple(_patched(panels, switches))
        self._size_power(patches)
        self._cords(patches)
        steps = [step for answer in self.laid.answers.values() for step in answer.steps]
        self._cable()
        return GrowthPlan(
            self.wanted,
            tuple((key, count) for key, count in self.laid.drops.items() if count),
            tuple(self.placements),
            tuple(self.moves),
            patches,
            tuple(self.feeds),
            tuple(sorted(self.laid.pool.taken.items())),
            merged(self.buy),
            tuple(sorted(dark_of(steps), key=natural)),
            all(answer.proved for answer in self.laid.answers.values()),
        )

    def _shift(self, answer: Rearrangement) -> None:
        for step in answer.steps:
            item = self.site.items[step.key]
            if step.act is RackAction.SWAP and isinstance(item, Switch):
                self.shift[item.key] = (item.ports or 0, LARGEST)

    def _units(self, answer: Rearrangement) -> dict[str, int]:
        places = places_of(answer.layout) if answer.layout else {}
        return {key: place.low for key, place in places.items()}

    def _panels(self, bay: EnclosureCapacity, answer: Rearrangement) -> list[_Ports]:
        units = self._units(answer)
        found = {
            free.item: _Ports(free.item, bay, units.get(free.item, free.unit), [*free.ports])
            for free in bay.panels
        }
        for step in answer.steps:
            self._move(bay, step, answer.layout)
            item = self.site.items[step.key]
            if step.act is RackAction.ONE_UNIT and isinstance(item, Panel):
                held = found.setdefault(step.key, _Ports(step.key, bay, units[step.key], []))
                held.ports += _numbered(step.key, (item.ports or 0) + 1, LARGEST)
                note = f"in place of {item.name} of {bay.key}"
                self.buy.append(
                    Purchase(
                        1, f"{LARGEST}-port panel, {category_name(self.wanted.category)}", note
                    )
                )
        if answer.layout:
            gained = sum(step.panel_ports for step in answer.steps)
            wanting = self.laid.needs[bay.key].panel_ports - gained
            for unit in answer.layout.panels:
                size = LARGEST if wanting > SMALLER else SMALLER
                wanting -= size
                placed = self._place(bay, "panel", size, unit)
                found[placed.key] = _Ports(placed.key, bay, unit, _numbered(placed.key, 1, size))
                self.buy.append(
                    Purchase(1, f"{size}-port panel, {category_name(self.wanted.category)}")
                )
        return list(found.values())

    def _switches(self, bay: EnclosureCapacity, answer: Rearrangement) -> list[_Ports]:
        units = self._units(answer)
        found = {
            free.item: _Ports(
                free.item,
                bay,
                units.get(free.item, free.unit),
                [renamed(port, self.shift) for port in free.ports],
            )
            for free in bay.switches
        }
        for step in answer.steps:
            if step.act is RackAction.SWAP:
                held = found.setdefault(step.key, _Ports(step.key, bay, units[step.key], []))
                held.ports += self._gained(bay, step)
        if answer.layout and answer.layout.switches:
            self._new_switches(bay, answer, answer.layout, found)
        return list(found.values())

    def _gained(self, bay: EnclosureCapacity, step: RackStep) -> list[PortId]:
        """The ports a swapped switch gains: those power kept back first, then the new numbers."""
        item = self.site.items[step.key]
        assert isinstance(item, Switch)
        kept_back = [port for port in bay.spare_access if port.item == step.key]
        if not bay.feeds:
            kept_back = [port for port in kept_back if port != bay.spare_access[0]]
        new = _numbered(step.key, (item.ports or 0) + 1, LARGEST)
        return [*kept_back, *new][: step.switch_ports]

    def _new_switches(
        self,
        bay: EnclosureCapacity,
        answer: Rearrangement,
        layout: RackLayout,
        found: dict[str, _Ports],
    ) -> None:
        feeds = [renamed(port, self.shift) for port in bay.feeds]
        feeds += [renamed(port, self.shift) for port in bay.spare_access[:1] if not feeds]
        gained = sum(step.switch_ports for step in answer.steps)
        wanting = self.laid.needs[bay.key].switch_ports - gained
        if not feeds and bay.active and not self._chained(bay):
            # One of the access ports counted with feeds the new switch.
            held = next(held for held in found.values() if held.ports)
            feeds = [held.ports.pop()]
            wanting = max(wanting, 1)
        for unit in layout.switches:
            drops = min(wanting, self.wanted.per_switch)
            wanting -= drops
            size = SMALLER if drops <= SMALLER else LARGEST
            earlier = [p for p in self.placements if p.kind == "switch" and p.enclosure == bay.key]
            placed = self._place(bay, "switch", size, unit)
            ports = _numbered(placed.key, 1, min(size, self.wanted.per_switch))
            found[placed.key] = _Ports(placed.key, bay, unit, ports)
            uplink = PortId(placed.key, str(size + 1))
            taken = {feed.to for feed in self.feeds}
            to = next((port for port in feeds if port not in taken), None)
            if to is None and earlier:
                before = earlier[-1]
                to = PortId(before.key, str(before.ports + 2))
            self.feeds.append(Feed(placed.key, uplink, to, self._feed_cord(bay, unit, to)))
            if to is None:
                self.buy.append(Purchase(1, "backbone link", f"feeds {placed.name} of {bay.key}"))

    def _chained(self, bay: EnclosureCapacity) -> bool:
        return any(feed.switch.startswith(f"{bay.key}/") for feed in self.feeds)

    def _feed_cord(self, bay: EnclosureCapacity, unit: int, to: PortId | None) -> float:
        if to is None:
            return 0.0
        if to.enclosure != bay.key:
            return stock_length(BETWEEN_ENCLOSURES)
        other = self._unit_of(bay, to.item)
        return UNPLACED_CORD if other is None else stock_length(cord_run(unit - other))

    def _unit_of(self, bay: EnclosureCapacity, item: str) -> int | None:
        """The unit an item stands at afterwards."""
        placed = next((p for p in self.placements if p.key == item), None)
        if placed:
            return bay.printed(*placed.at)[0]
        layout = self.laid.answers.get(bay.key, Rearrangement()).layout
        moved = places_of(layout).get(item) if layout else None
        if moved:
            return moved.low
        return next((thing.low for thing in bay.rack.things if thing.key == item), None)

    def _place(self, bay: EnclosureCapacity, kind: str, ports: int, unit: int) -> Placement:
        taken = {item.name.casefold() for item in self.site.items_in.get(bay.key, ())}
        taken |= {p.name.casefold() for p in self.placements if p.enclosure == bay.key}
        if kind == "panel":
            names = (chr(letter) for letter in range(ord("A"), ord("Z") + 1))
            name = next((n for n in names if n.casefold() not in taken), None) or _next("P", taken)
        else:
            name = _next("SW", taken)
        placed = Placement(kind, ports, bay.key, bay.printed(unit, unit), name)
        self.placements.append(placed)
        return placed

    def _move(self, bay: EnclosureCapacity, step: RackStep, layout: RackLayout | None) -> None:
        item = self.site.items[step.key]
        assert item.at
        place = places_of(layout).get(step.key) if layout else None
        to = bay.printed(place.low, place.high) if place else None
        part = place.part if place else None
        dark = tuple(sorted(step.dark, key=natural))
        self.moves.append(ItemMove(step.act, step.key, item.at, to, part, dark))

    def _size_power(self, patches: Iterable[Patch]) -> None:
        """Gives the new and the swapped switches the power their drops take; buys them."""
        watts: dict[str, float] = {}
        for patch in patches:
            drawn = len(patch.ports) * self.wanted.watts
            watts[patch.switch] = watts.get(patch.switch, 0.0) + drawn
        for number, placed in enumerate(self.placements):
            if placed.kind != "switch":
                continue
            drawn = watts.get(placed.key, 0.0)
            poe = budget_for(drawn)
            self.placements[number] = Placement(
                placed.kind, placed.ports, placed.enclosure, placed.at, placed.name, poe, drawn
            )
            self.buy.append(Purchase(1, switch_words(placed.ports, poe)))
        for number, move in enumerate(self.moves):
            item = self.site.items[move.key]
            if move.act is not RackAction.SWAP or not isinstance(item, Switch):
                continue
            asked = asked_of(self.site, item)
            drawn = watts.get(item.key, 0.0)
            # One that gave no power gives some only where a new drop asks for it.
            drawn += asked.set_aside if drawn or item.poe else 0.0
            poe = budget_for(max(drawn, asked.budget))
            self.moves[number] = ItemMove(
                move.act, move.key, move.was, move.to, move.part, move.interrupts, poe
            )
            note = f"in place of {item.name} of {item.enclosure}"
            self.buy.append(Purchase(1, switch_words(LARGEST, poe), note))

    def _cords(self, patches: Iterable[Patch]) -> None:
        """Cords for new drops and feeds, short ones where a manager goes, longer ones where a
        thing goes further away."""
        for patch in patches:
            self.buy.append(Purchase(len(patch.ports), f"{patch.cord:g} m cord"))
        for feed in self.feeds:
            if feed.to is not None:
                self.buy.append(Purchase(1, f"{feed.cord:g} m cord", "uplink"))
        seen: set[str] = set()
        for move in self.moves:
            item = self.site.items[move.key]
            bay = next(bay for bay in self.ground.bays if bay.key == item.enclosure)
            if move.to is None:
                note = f"in place of those over {item.name} of {bay.key}"
                for key in cords_over(self.site, item):
                    self._change_cord(bay, key, seen, note, always=True)
            else:
                note = f"{item.name} of {bay.key} stands further away"
                for key in _cords_on(self.site, item):
                    self._change_cord(bay, key, seen, note, always=False)

    def _change_cord(
        self, bay: EnclosureCapacity, key: str, seen: set[str], note: str, always: bool
    ) -> None:
        cord = self.site.cords[key]
        one, other = (self._unit_of(bay, port.item) for port in (cord.from_, cord.to))
        if key in seen or one is None or other is None:
            return
        reach = stock_length(cord_run(one - other))
        if always or (cord.cord is not None and cord.cord.to("m") < reach):
            seen.add(key)
            self.buy.append(Purchase(1, f"{reach:g} m cord", note))

    def _cable(self) -> None:
        """Cable by the metre, as long as the drops that end beside the new ones."""
        for bay in self.ground.bays:
            drops = self.laid.drops[bay.key]
            lengths = [
                outlet.length.to("m")
                for outlet in self.site.outlets.values()
                if outlet.length and any(port.enclosure == bay.key for port in outlet.port)
            ]
            if drops and lengths:
                metres = round(drops * statistics.median(lengths))
                note = f"{drops} × the median of the {len(lengths)} lengths recorded at {bay.key}"
                self.buy.append(Purchase(metres, f"m of {self.wanted.cable} cable", note))


def _numbered(item: str, first: int, last: int) -> list[PortId]:
    return [PortId(item, str(number)) for number in range(first, last + 1)]


def _next(stem: str, taken: set[str]) -> str:
    number = 1
    while f"{stem}{number}".casefold() in taken:
        number += 1
    return f"{stem}{number}"


def _first(found: Sequence[_Ports], count: int) -> list[_Ports]:
    """So many ports, those that are there before those that are new."""
    kept = []
    for held in found:
        ports = held.ports[:count]
        count -= len(ports)
        if ports:
            kept.append(_Ports(held.item, held.bay, held.unit, ports))
    return kept


def _patched(panels: Sequence[_Ports], switches: Sequence[_Ports]) -> Iterable[Patch]:
    """The nearest pairs first; within one enclosure before its neighbours."""
    pairs = []
    for panel in panels:
        for switch in switches:
            if panel.bay.space != switch.bay.space:
                continue
            across = panel.bay.key != switch.bay.key
            placed = panel.unit is not None and switch.unit is not None
            apart = abs(panel.unit - switch.unit) if panel.unit and switch.unit else 0
            cord = BETWEEN_ENCLOSURES if across else cord_run(apart) if placed else UNPLACED_CORD
            order = (across, not placed, apart, natural(panel.item), natural(switch.item))
            pairs.append((order, panel, switch, stock_length(cord)))
    for _, panel, switch, cord in sorted(pairs, key=lambda row: row[0]):
        count = min(len(panel.ports), len(switch.ports))
        if count:
            ports = tuple(zip(panel.ports[:count], switch.ports[:count], strict=True))
            del panel.ports[:count], switch.ports[:count]
            yield Patch(panel.item, switch.item, ports, cord)


def _cords_on(site: Site, item: Item) -> tuple[str, ...]:
    keys = {cord.key for use in site.ports_of(item) for cord in use.cords}
    return tuple(sorted(keys))

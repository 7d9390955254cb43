"""The smallest re-racking of one enclosure that makes room for new panels and switches.

An enclosure is taken as a column of units with things in it; a step touches one thing: it is
moved, put onto one unit, swapped for a larger one, or taken out. Wanted are the steps that
interrupt the fewest live links, of those the fewest steps, of those the fewest things bought, so
that what is needed finds its place under the rules.

Sets of steps are tried from the cheapest on, so the first that works is the smallest: a set with
more steps never interrupts fewer links. Steps are done one after the other, so a link counts when
any of them takes it down, and a second path keeps it up.

Units are counted from the bottom. New panels and switches take one unit of the front. Where a new
panel finds no switch within reach (or a switch no panel), one more of each than the drops fill may
be bought.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Final

from asbuilt.trade.cords import MAX_STRAIGHT_UNITS

#: The largest panel and switch of one unit that are bought.
LARGE_PORT_COUNT: Final = 48

_HALVES: Final = {None: (0, 1), "left": (0,), "right": (1,)}
_OPPOSITE_FACE: Final = {"front": "rear", "rear": "front"}


@dataclass(frozen=True, slots=True)
class RackRules:
    """What a place has to be like. Depths in mm, plugs and bends included (common practice)."""

    max_panel_distance: int = (
        MAX_STRAIGHT_UNITS  # units between a panel and the switch that serves it
    )
    ups_clearance: int = 1  # units left free between a UPS and a switch that is put near it
    panel_depth: float = 110.0
    switch_depth: float = 330.0


@dataclass(frozen=True, slots=True)
class MountedItem:
    """What is mounted: `kind` is panel, switch, ups, kept (on purpose free) or other. `open` says
    that it has free ports to be counted with; what is `heavy` moves only downwards."""

    key: str
    low: int
    high: int
    face: str
    kind: str
    part: str | None = None
    depth: float | None = None
    has_free_ports: bool = False
    heavy: bool = False

    @property
    def height(self) -> int:
        return self.high - self.low + 1


@dataclass(frozen=True, slots=True)
class RackContents:
    """`loose` names the kinds (panel, switch) that have free ports at no recorded unit."""

    height: int
    depth: float | None
    items: tuple[MountedItem, ...]
    kinds_without_unit: frozenset[str] = frozenset()


class RackAction(StrEnum):
    MOVE = "moved to another unit"
    TO_ONE_UNIT = "put onto one unit"
    SWAP = "swapped for a larger one"
    TAKE_OUT = "taken out"


@dataclass(frozen=True, slots=True)
class RackStep:
    """One thing touched: the links it takes down, and the ports it gains."""

    action: RackAction
    key: str
    interrupts: frozenset[str] = frozenset()
    panel_ports: int = 0
    switch_ports: int = 0

    @property
    def buys(self) -> int:
        return self.action in (RackAction.TO_ONE_UNIT, RackAction.SWAP)


@dataclass(frozen=True, slots=True)
class PortNeed:
    """Ports wanting beyond those that are free; a new switch gives `per_switch` of them (power
    over Ethernet may allow fewer than it has). Where it couldn't be `fed`, none can be added."""

    panel_ports: int
    switch_ports: int
    per_switch: int = LARGE_PORT_COUNT
    has_upstream_port: bool = True

    def items_to_buy(self, steps: Iterable[RackStep]) -> tuple[int, int]:
        """How many panels and switches are still to be bought after these steps."""
        panel = switch = 0
        for step in steps:
            panel += step.panel_ports
            switch += step.switch_ports
        return (
            math.ceil(max(0, self.panel_ports - panel) / LARGE_PORT_COUNT),
            math.ceil(max(0, self.switch_ports - switch) / self.per_switch),
        )


@dataclass(frozen=True, slots=True)
class RackPlace:
    """Where a touched thing stands afterwards."""

    key: str
    low: int
    high: int
    part: str | None = None


@dataclass(frozen=True, slots=True)
class RackLayout:
    """Where everything that is touched or new goes; units of the new, from the top."""

    places: tuple[RackPlace, ...]
    panels: tuple[int, ...]
    switches: tuple[int, ...]


@dataclass(frozen=True, slots=True, order=True)
class RackCost:
    links: int
    steps: int
    bought: int


@dataclass(frozen=True, slots=True)
class Rearrangement:
    """`layout` is None where nothing was found; `proved` says that nothing cheaper exists (or
    nothing at all), not that the search ended early."""

    steps: tuple[RackStep, ...] = ()
    layout: RackLayout | None = None
    cost: RackCost | None = None
    proved_cheapest: bool = True


#: How many places are tried for the things of one set of steps, and in all, before the search
#: gives up proving; how many combinations of new places; how many steps at most.
MAX_PLACES_PER_SET: Final = 500
MAX_PLACES: Final = 4_000
MAX_COMBINATIONS: Final = 500
MAX_STEPS: Final = 6


def fit_as_mounted(rack: RackContents, need: PortNeed, rules: RackRules) -> Rearrangement:
    """Whether what is needed finds its place with nothing touched."""
    search = _LayoutSearch(rack, (), need, rules)
    return _rearrangement((), search.find(), proved=not search.cut_short)


def fits_with_all_steps(
    rack: RackContents, steps: Sequence[RackStep], need: PortNeed, rules: RackRules
) -> bool:
    """Whether what is needed finds its place when everything that may be touched is."""
    return _LayoutSearch(rack, _best_step_per_item(steps), need, rules).find() is not None


def has_enough_units(
    rack: RackContents, steps: Sequence[RackStep], need: PortNeed, rules: RackRules
) -> bool:
    """Whether there are units enough, wherever they are, when everything that may be touched is:
    quick, and what it denies can't be done."""
    return _LayoutSearch(rack, _best_step_per_item(steps), need, rules).has_enough_units()


def rearrange(
    rack: RackContents,
    steps: Sequence[RackStep],
    need: PortNeed,
    rules: RackRules,
    places: int = MAX_PLACES_PER_SET,
    all_places: int = MAX_PLACES,
) -> Rearrangement:
    """The cheapest steps under which what is needed finds its place. With more `places` tried it
    proves more, in more time."""
    ordered = _by_gain(rack, steps)
    everything = _LayoutSearch(rack, _best_step_per_item(ordered), need, rules, places)
    if everything.find() is None:
        return Rearrangement(proved_cheapest=not everything.cut_short)
    proved, tried_places = True, 0
    best = Rearrangement()
    heap: list[tuple[RackCost, tuple[int, ...]]] = [(_min_cost((), need), ())]
    while heap:
        least, chosen = heapq.heappop(heap)
        if best.cost is not None and least >= best.cost:
            return replace(best, proved_cheapest=proved)
        tried = tuple(ordered[i] for i in chosen)
        search = _LayoutSearch(rack, tried, need, rules, places)
        layout = search.find()
        tried_places += 1 + search.places_tried
        proved = proved and not search.cut_short
        if layout:
            found = _rearrangement(tried, layout, proved)
            assert found.cost is not None
            if best.cost is None or found.cost < best.cost:
                best = found
            continue
        if tried_places > all_places:
            proved = False
            break
        if len(chosen) == MAX_STEPS:
            proved = False
            continue
        for i in range(chosen[-1] + 1 if chosen else 0, len(ordered)):
            if any(step.key == ordered[i].key for step in tried):
                continue
            more = (*tried, ordered[i])
            if _LayoutSearch(
                rack, _best_step_per_item((*more, *ordered[i + 1 :])), need, rules
            ).has_enough_units():
                heapq.heappush(heap, (_min_cost(more, need), (*chosen, i)))
    if best.layout is not None or proved:
        return replace(best, proved_cheapest=proved)
    return _without_needless_steps(rack, _best_step_per_item(ordered), need, rules, places)


def _without_needless_steps(
    rack: RackContents, steps: Sequence[RackStep], need: PortNeed, rules: RackRules, places: int
) -> Rearrangement:
    """Steps none of which can be left out, found by leaving out the costliest that can: no proof
    that nothing cheaper exists."""
    kept = list(steps)
    for step in sorted(steps, key=lambda s: (-len(s.interrupts), s.key, s.action)):
        fewer = [other for other in kept if other != step]
        if _LayoutSearch(rack, fewer, need, rules, places).find():
            kept = fewer
    layout = _LayoutSearch(rack, kept, need, rules, places).find()
    return _rearrangement(tuple(kept), layout, proved=False)


def _min_cost(steps: Sequence[RackStep], need: PortNeed) -> RackCost:
    """What steps cost at least: they may need one more panel or switch."""
    return _cost(steps, sum(need.items_to_buy(steps)))


def _cost(steps: Sequence[RackStep], new: int) -> RackCost:
    return RackCost(len(interrupted_by(steps)), len(steps), new + sum(step.buys for step in steps))


def _rearrangement(
    steps: tuple[RackStep, ...], layout: RackLayout | None, proved: bool
) -> Rearrangement:
    if layout is None:
        return Rearrangement(proved_cheapest=proved)
    return Rearrangement(
        steps, layout, _cost(steps, len(layout.panels) + len(layout.switches)), proved
    )


def _by_gain(rack: RackContents, steps: Sequence[RackStep]) -> list[RackStep]:
    """What gains most room first, so that a set short of room is seen early to be hopeless."""
    heights = {thing.key: thing.height for thing in rack.items}

    def gain(step: RackStep) -> int:
        if step.action is RackAction.TAKE_OUT:
            return heights[step.key]
        return heights[step.key] - 1 if step.action is RackAction.TO_ONE_UNIT else 0

    ports = {step: step.panel_ports + step.switch_ports for step in steps}
    return sorted(steps, key=lambda s: (-gain(s), -ports[s], len(s.interrupts), s.key, s.action))


def _best_step_per_item(steps: Iterable[RackStep]) -> tuple[RackStep, ...]:
    """One step a thing: of several for one, the one that gains most. (What is swapped may go
    anywhere too, so nothing is lost by it.)"""
    best: dict[str, RackStep] = {}
    for step in steps:
        known = best.get(step.key)
        if known is None or _ports_gained(step) > _ports_gained(known):
            best[step.key] = step
    return tuple(best.values())


def _ports_gained(step: RackStep) -> int:
    return step.panel_ports + step.switch_ports


@dataclass(slots=True)
class _UnitGrid:
    """Which thing takes which half of which unit on which face."""

    rack: RackContents
    rules: RackRules
    taken: dict[tuple[str, int, int], MountedItem] = field(default_factory=dict)
    reserved: set[int] = field(default_factory=set)

    def put(self, thing: MountedItem) -> None:
        if thing.kind == "kept":
            self.reserved.update(range(thing.low, thing.high + 1))
        for cell in _grid_cells(thing):
            self.taken[cell] = thing

    def remove(self, thing: MountedItem) -> None:
        for cell in _grid_cells(thing):
            self.taken.pop(cell, None)

    def fits(self, thing: MountedItem, beside: frozenset[str] | None = None) -> bool:
        """Whether a thing fits where it says it is. What stays where it is gets along with what is
        `beside` it on the other face, and with what is reserved there: so it stood before."""
        if thing.low < 1 or thing.high > self.rack.height:
            return False
        if thing.depth and self.rack.depth and thing.depth > self.rack.depth:
            return False
        for face, unit, half in _grid_cells(thing):
            if (face, unit, half) in self.taken or (unit in self.reserved and beside is None):
                return False
            behind = self.taken.get((_OPPOSITE_FACE[face], unit, half))
            if behind and behind.key not in (beside or ()) and not self._share_depth(thing, behind):
                return False
        return True

    def free_units(self, depth: float) -> list[int]:
        """The units of the front free for a new thing of this depth, from the top."""
        usable = self.rack.depth
        if usable is not None and depth > usable:
            return []
        taken = self.taken
        found = []
        for unit in range(self.rack.height, 0, -1):
            if unit in self.reserved or ("front", unit, 0) in taken or ("front", unit, 1) in taken:
                continue
            behind = [taken.get(("rear", unit, 0)), taken.get(("rear", unit, 1))]
            if all(
                thing is None
                or (usable and thing.depth is not None and depth + thing.depth <= usable)
                for thing in behind
            ):
                found.append(unit)
        return found

    def _share_depth(self, one: MountedItem, other: MountedItem) -> bool:
        depth = self.rack.depth
        if depth is None or one.depth is None or other.depth is None:
            return False
        return one.depth + other.depth <= depth


def _grid_cells(thing: MountedItem) -> Iterator[tuple[str, int, int]]:
    for unit in range(thing.low, thing.high + 1):
        for half in _HALVES[thing.part]:
            yield thing.face, unit, half


class _LayoutSearch:
    """The layouts of a rack after some steps."""

    def __init__(
        self,
        rack: RackContents,
        steps: Sequence[RackStep],
        need: PortNeed,
        rules: RackRules,
        most: int = MAX_PLACES_PER_SET,
    ) -> None:
        self.rack, self.rules, self._max_places = rack, rules, most
        self.panels, self.switches = need.items_to_buy(steps)
        self._fed = need.has_upstream_port
        self.cut_short = False
        self.places_tried = 0
        self._actions = {step.key: step.action for step in steps}
        gained = {step.key for step in steps if step.panel_ports or step.switch_ports}
        self._items = tuple(
            _with_free_ports(thing) if thing.key in gained else thing
            for thing in rack.items
            if self._actions.get(thing.key) is not RackAction.TAKE_OUT
        )
        self._movable = [thing for thing in self._items if thing.key in self._actions]
        self._movable.sort(key=lambda t: (-t.height, not t.heavy, t.low, t.key))
        self._fixed = [thing for thing in self._items if thing.key not in self._actions]

    def has_enough_units(self) -> bool:
        """Whether there are units enough, wherever they are: what this denies can't be done."""
        if self.switches and not self._fed:
            return False
        blocked = {u for t in self._fixed for u in range(t.low, t.high + 1) if self._blocks(t)}
        halves = [t for t in self._fixed if t.part and t.face == "front"]
        beside = 2 * len({t.low for t in halves}) - len(halves)  # free halves beside fixed ones
        front = {u for t in self._fixed if t.face == "front" for u in range(t.low, t.high + 1)}
        whole = half = 0
        stays: set[int] = set()  # units no new thing can have, but what stands there can keep
        for thing in self._movable:
            if thing.face == "front":
                height = 1 if self._actions[thing.key] is RackAction.TO_ONE_UNIT else thing.height
                whole += 0 if thing.part else height
                half += height if thing.part else 0
                stays.update(u for u in range(thing.low, thing.high + 1) if u in blocked - front)
        taken = max(0, whole + math.ceil(max(0, half - beside) / 2) - len(stays))
        return self.rack.height - len(blocked) - taken >= self.panels + self.switches

    def _blocks(self, thing: MountedItem) -> bool:
        """Whether no new thing can share the units of this one."""
        if thing.face == "front" or thing.kind == "kept":
            return True
        depth = self.rack.depth
        if depth is None or thing.depth is None:
            return True
        return thing.depth + min(self.rules.panel_depth, self.rules.switch_depth) > depth

    def find(self) -> RackLayout | None:
        """The first layout met; of the places for what is new the best beside those moves. Where
        the drops need nothing new, nothing is; else one more of each may help."""
        panels, switches = self.panels, self.switches
        more = ((0, 0), (0, 1), (1, 0), (1, 1)) if panels or switches else ((0, 0),)
        found = None
        for more_panels, more_switches in more:
            self.panels, self.switches = panels + more_panels, switches + more_switches
            found = self._find() if self.has_enough_units() else None
            if found:
                break
        self.panels, self.switches = panels, switches
        return found

    def _find(self) -> RackLayout | None:
        cells = _UnitGrid(self.rack, self.rules)
        for thing in self._fixed:
            cells.put(thing)
        return self._place_movable(cells, 0, [])

    def _may_try(self) -> bool:
        """Counts one more place tried, as long as there may be more."""
        self.places_tried += 1
        if self.places_tried > self._max_places:
            self.cut_short = True
            return False
        return True

    def _place_movable(
        self, cells: _UnitGrid, number: int, moved: list[MountedItem]
    ) -> RackLayout | None:
        if number == len(self._movable):
            return self._place_new_items(cells, moved)
        thing = self._movable[number]
        old = {other.key: other for other in self._movable}
        staying = (t.key for t in moved if _stays_within(t, old[t.key]))
        beside = frozenset((*(t.key for t in self._fixed), *staying))
        for there in self._candidates(thing):
            if not self._may_try():
                return None
            stays = _stays_within(there, thing)
            if not cells.fits(there, beside if stays else None):
                continue
            if not stays and not self._keeps_clearance(there, moved):
                continue
            cells.put(there)
            found = self._place_movable(cells, number + 1, [*moved, there])
            cells.remove(there)
            if found:
                return found
        return None

    def _candidates(self, thing: MountedItem) -> Iterator[MountedItem]:
        """Where it may go: as it is first, then nearby."""
        if self._actions[thing.key] is RackAction.TO_ONE_UNIT:
            for unit in range(thing.high, thing.low - 1, -1):
                yield _placed_at(thing, unit, unit, thing.part)
            return
        yield thing
        lows = range(1, self.rack.height - thing.height + 2)
        parts = ("left", "right") if thing.part else (None,)
        for low in sorted(lows, key=lambda low: (abs(low - thing.low), low)):
            if thing.heavy and low > thing.low:
                continue
            for part in parts:
                if (low, part) != (thing.low, thing.part):
                    yield _placed_at(thing, low, low + thing.height - 1, part)

    def _keeps_clearance(self, there: MountedItem, moved: Sequence[MountedItem]) -> bool:
        """Whether a UPS and a switch keep their distance where one of them is put."""
        against = {"ups": "switch", "switch": "ups"}.get(there.kind)
        if against is None:
            return True
        return all(
            _units_between(there, other) >= self.rules.ups_clearance
            for other in (*self._fixed, *moved)
            if other.kind == against
        )

    def _place_new_items(self, cells: _UnitGrid, moved: Sequence[MountedItem]) -> RackLayout | None:
        """The moved things and the best places for the new ones: panels near their switches, and
        of places as near the highest."""
        standing = (*self._fixed, *moved)
        moved_to = tuple(RackPlace(t.key, t.low, t.high, t.part) for t in moved)
        if not self.panels and not self.switches:
            return RackLayout(moved_to, (), ())
        for_panel = cells.free_units(self.rules.panel_depth)
        air = self.rules.ups_clearance
        near_ups = {
            unit
            for thing in standing
            if thing.kind == "ups"
            for unit in range(thing.low - air, thing.high + air + 1)
        }
        for_switch = [u for u in cells.free_units(self.rules.switch_depth) if u not in near_ups]
        if len({*for_panel, *for_switch}) < self.panels + self.switches:
            return None
        open_panels = [t for t in standing if t.kind == "panel" and t.has_free_ports]
        open_switches = [t for t in standing if t.kind == "switch" and t.has_free_ports]
        found = self._choose_units(for_panel, for_switch, open_panels, open_switches)
        return RackLayout(moved_to, *found) if found else None

    def _choose_units(
        self,
        for_panel: list[int],
        for_switch: list[int],
        open_panels: Sequence[MountedItem],
        open_switches: Sequence[MountedItem],
    ) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
        if not self.switches:
            anywhere = "switch" in self.rack.kinds_without_unit
            near = _units_within_reach(
                for_panel, open_switches, self.rules.max_panel_distance, anywhere
            )
            return (_first_units(near, self.panels), ()) if len(near) >= self.panels else None
        if not self.panels:
            anywhere = "panel" in self.rack.kinds_without_unit
            near = _units_within_reach(
                for_switch, open_panels, self.rules.max_panel_distance, anywhere
            )
            return ((), _first_units(near, self.switches)) if len(near) >= self.switches else None
        if len(for_switch) < self.switches:
            return None
        best = self._alternating_downwards(for_panel, for_switch, open_panels)
        if best and best[0] == self.panels:  # each next to its switch: nothing is nearer
            return best[1], best[2]
        if math.comb(len(for_switch), self.switches) > MAX_COMBINATIONS:
            self.cut_short = True
            return (best[1], best[2]) if best else None
        for switches in itertools.combinations(for_switch, self.switches):
            if not self._may_try():
                break
            panels = self._panels_beside(for_panel, switches, open_panels)
            if panels is not None:
                found = (_total_distance(panels, switches), panels, switches)
                best = found if best is None else min(best, found, key=_preference_order)
        return (best[1], best[2]) if best else None

    def _alternating_downwards(
        self, for_panel: list[int], for_switch: list[int], open_panels: Sequence[MountedItem]
    ) -> tuple[int, tuple[int, ...], tuple[int, ...]] | None:
        """The best of the places one finds going down from each free unit, a panel and then its
        switch in turn: how far apart they are together, and the units."""
        slots = sorted({*for_panel, *for_switch}, reverse=True)
        panel_fits, switch_fits = set(for_panel), set(for_switch)
        best = None
        for start in range(len(slots) - self.panels - self.switches + 1):
            panels: list[int] = []
            switches: list[int] = []
            for unit in slots[start:]:
                switch = len(switches) < self.switches and unit in switch_fits
                panel = len(panels) < self.panels and unit in panel_fits
                # Two panels may share the switch between them.
                turn = len(switches) * self.panels < len(panels) * self.switches
                if switch and (turn or not panel):
                    switches.append(unit)
                elif panel:
                    panels.append(unit)
            if len(panels) < self.panels or len(switches) < self.switches:
                continue
            apart = _total_distance(panels, switches)
            reached = all(
                _distance_to_nearest(unit, switches) <= self.rules.max_panel_distance
                for unit in panels
            )
            if reached and self._switches_within_reach(switches, panels, open_panels):
                found = (apart, tuple(panels), tuple(switches))
                best = found if best is None else min(best, found, key=_preference_order)
                if apart == self.panels:
                    break
        return best

    def _panels_beside(
        self, for_panel: list[int], switches: tuple[int, ...], open_panels: Sequence[MountedItem]
    ) -> tuple[int, ...] | None:
        """The nearest units for the panels, so that every switch has one within reach."""
        near = sorted(
            (_distance_to_nearest(unit, switches), -unit, unit)
            for unit in for_panel
            if unit not in switches
        )
        near = [row for row in near if row[0] <= self.rules.max_panel_distance]
        if len(near) < self.panels:
            return None
        units = [unit for _, _, unit in near]
        for panels in itertools.combinations(units, self.panels):
            if not self._may_try():
                return None
            if self._switches_within_reach(switches, panels, open_panels):
                return tuple(sorted(panels, reverse=True))
        return None

    def _switches_within_reach(
        self, switches: Sequence[int], panels: Sequence[int], open_panels: Sequence[MountedItem]
    ) -> bool:
        if "panel" in self.rack.kinds_without_unit:
            return True
        reach = self.rules.max_panel_distance
        return all(
            any(abs(unit - p) <= reach for p in panels)
            or any(_distance(thing, unit) <= reach for thing in open_panels)
            for unit in switches
        )


def _distance_to_nearest(unit: int, others: Sequence[int]) -> int:
    return min(abs(unit - other) for other in others)


def _total_distance(panels: Sequence[int], switches: Sequence[int]) -> int:
    """How far the panels are from their nearest switches, taken together."""
    return sum(_distance_to_nearest(unit, switches) for unit in panels)


def _preference_order(found: tuple[int, tuple[int, ...], tuple[int, ...]]) -> tuple[int, ...]:
    """Near before far, and of places as near the higher ones."""
    apart, panels, switches = found
    return (apart, *(-unit for unit in panels), *(-unit for unit in switches))


def _with_free_ports(thing: MountedItem) -> MountedItem:
    return MountedItem(
        thing.key, thing.low, thing.high, thing.face, thing.kind, thing.part, thing.depth,
        has_free_ports=True, heavy=thing.heavy,
    )  # fmt: skip


def _placed_at(thing: MountedItem, low: int, high: int, part: str | None) -> MountedItem:
    return MountedItem(
        thing.key,
        low,
        high,
        thing.face,
        thing.kind,
        part,
        thing.depth,
        thing.has_free_ports,
        thing.heavy,
    )


def _stays_within(there: MountedItem, old: MountedItem) -> bool:
    """Whether a thing takes only units it took before."""
    return old.low <= there.low and there.high <= old.high and there.part == old.part


def _distance(thing: MountedItem, unit: int) -> int:
    """Units from a thing to a unit."""
    return max(thing.low - unit, unit - thing.high, 0)


def _units_between(one: MountedItem, other: MountedItem) -> int:
    return max(one.low - other.high, other.low - one.high, 0) - 1


def _units_within_reach(
    slots: Iterable[int], things: Sequence[MountedItem], reach: int, anywhere: bool
) -> list[tuple[int, int]]:
    """The slots within reach of any of the things, the nearest first: (distance, unit)."""
    rows = []
    for unit in slots:
        apart = min((_distance(thing, unit) for thing in things), default=reach + 1)
        if apart <= reach or anywhere:
            rows.append((apart, unit))
    return sorted(rows, key=lambda row: (row[0], -row[1]))


def _first_units(near: Sequence[tuple[int, int]], count: int) -> tuple[int, ...]:
    return tuple(sorted((unit for _, unit in near[:count]), reverse=True))


def interrupted_by(steps: Iterable[RackStep]) -> frozenset[str]:
    """The links that any of the steps takes down."""
    return frozenset().union(*(step.interrupts for step in steps))


def places_by_key(layout: RackLayout) -> Mapping[str, RackPlace]:
    return {place.key: place for place in layout.places}

"""The smallest re-racking of one enclosure that makes room for new panels and switches.

An enclosure is taken as a column of units with things in it; a step touches one thing: it is
moved, put onto one unit, swapped for a larger one, or taken out. Wanted are the steps that
interrupt the fewest live links, of those the fewest steps, of those the fewest things bought, so
that what is needed finds its place under the rules.

Sets of steps are tried from the cheapest on, so the first that works is the smallest: a set with
more steps never interrupts fewer links. Steps are done one after the other, so a link counts when
any of them takes it down, and a second way round keeps it up.

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

from asbuilt.trade.cords import STRAIGHT

#: The largest panel and switch of one unit that are bought.
LARGEST: Final = 48

_HALVES: Final = {None: (0, 1), "left": (0,), "right": (1,)}
_OTHER: Final = {"front": "rear", "rear": "front"}


@dataclass(frozen=True, slots=True)
class RackRules:
    """What a place has to be like. Depths in mm, plugs and bends included (common practice)."""

    reach: int = STRAIGHT  # units between a panel and the switch that serves it
    air: int = 1  # units kept free between a UPS and a switch that is put near it
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
    open: bool = False
    heavy: bool = False

    @property
    def height(self) -> int:
        return self.high - self.low + 1


@dataclass(frozen=True, slots=True)
class RackContents:
    """`loose` names the kinds (panel, switch) that have free ports at no recorded unit."""

    height: int
    depth: float | None
    things: tuple[MountedItem, ...]
    loose: frozenset[str] = frozenset()


class RackAction(StrEnum):
    MOVE = "moved to another unit"
    ONE_UNIT = "put onto one unit"
    SWAP = "swapped for a larger one"
    TAKE_OUT = "taken out"


@dataclass(frozen=True, slots=True)
class RackStep:
    """One thing touched: the links it takes down, and the ports it gains."""

    act: RackAction
    key: str
    dark: frozenset[str] = frozenset()
    panel_ports: int = 0
    switch_ports: int = 0

    @property
    def buys(self) -> int:
        return self.act in (RackAction.ONE_UNIT, RackAction.SWAP)


@dataclass(frozen=True, slots=True)
class SpaceNeed:
    """Ports wanting beyond those that are free; a new switch gives `per_switch` of them (power
    over Ethernet may allow fewer than it has). Where it couldn't be `fed`, none can be added."""

    panel_ports: int
    switch_ports: int
    per_switch: int = LARGEST
    fed: bool = True

    def new(self, steps: Iterable[RackStep]) -> tuple[int, int]:
        """How many panels and switches are still to be bought after these steps."""
        panel = switch = 0
        for step in steps:
            panel += step.panel_ports
            switch += step.switch_ports
        return (
            math.ceil(max(0, self.panel_ports - panel) / LARGEST),
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
    proved: bool = True


#: How many places are tried for the things of one set of steps, and in all, before the search
#: gives up proving; how many combinations of new places; how many steps at most.
PLACES: Final = 500
ALL_PLACES: Final = 4_000
COMBINATIONS: Final = 500
MOST_STEPS: Final = 6


def as_it_stands(rack: RackContents, need: SpaceNeed, rules: RackRules) -> Rearrangement:
    """Whether what is needed finds its place with nothing touched."""
    search = _Layouts(rack, (), need, rules)
    return _answered((), search.first(), proved=not search.cut_short)


def anyhow(
    rack: RackContents, steps: Sequence[RackStep], need: SpaceNeed, rules: RackRules
) -> bool:
    """Whether what is needed finds its place when everything that may be touched is."""
    return _Layouts(rack, _most(steps), need, rules).first() is not None


def has_units(
    rack: RackContents, steps: Sequence[RackStep], need: SpaceNeed, rules: RackRules
) -> bool:
    """Whether there are units enough, wherever they are, when everything that may be touched is:
    quick, and what it denies can't be done."""
    return _Layouts(rack, _most(steps), need, rules).roomy()


def rearrange(
    rack: RackContents,
    steps: Sequence[RackStep],
    need: SpaceNeed,
    rules: RackRules,
    places: int = PLACES,
    all_places: int = ALL_PLACES,
) -> Rearrangement:
    """The cheapest steps under which what is needed finds its place. With more `places` tried it
    proves more, in more time."""
    ordered = _in_order(rack, steps)
    everything = _Layouts(rack, _most(ordered), need, rules, places)
    if everything.first() is None:
        return Rearrangement(proved=not everything.cut_short)
    proved, tried_places = True, 0
    best = Rearrangement()
    heap: list[tuple[RackCost, tuple[int, ...]]] = [(_least_cost((), need), ())]
    while heap:
        least, chosen = heapq.heappop(heap)
        if best.cost is not None and least >= best.cost:
            return replace(best, proved=proved)
        tried = tuple(ordered[i] for i in chosen)
        search = _Layouts(rack, tried, need, rules, places)
        layout = search.first()
        tried_places += 1 + search.places
        proved = proved and not search.cut_short
        if layout:
            found = _answered(tried, layout, proved)
            assert found.cost is not None
            if best.cost is None or found.cost < best.cost:
                best = found
            continue
        if tried_places > all_places:
            proved = False
            break
        if len(chosen) == MOST_STEPS:
            proved = False
            continue
        for i in range(chosen[-1] + 1 if chosen else 0, len(ordered)):
            if any(step.key == ordered[i].key for step in tried):
                continue
            more = (*tried, ordered[i])
            if _Layouts(rack, _most((*more, *ordered[i + 1 :])), need, rules).roomy():
                heapq.heappush(heap, (_least_cost(more, need), (*chosen, i)))
    if best.layout is not None or proved:
        return replace(best, proved=proved)
    return _whittled(rack, _most(ordered), need, rules, places)


def _whittled(
    rack: RackContents, steps: Sequence[RackStep], need: SpaceNeed, rules: RackRules, places: int
) -> Rearrangement:
    """Steps none of which can be left out, found by leaving out the costliest that can: no proof
    that nothing cheaper exists."""
    kept = list(steps)
    for step in sorted(steps, key=lambda s: (-len(s.dark), s.key, s.act)):
        fewer = [other for other in kept if other != step]
        if _Layouts(rack, fewer, need, rules, places).first():
            kept = fewer
    layout = _Layouts(rack, kept, need, rules, places).first()
    return _answered(tuple(kept), layout, proved=False)


def _least_cost(steps: Sequence[RackStep], need: SpaceNeed) -> RackCost:
    """What steps cost at least: they may need one more panel or switch."""
    return _cost(steps, sum(need.new(steps)))


def _cost(steps: Sequence[RackStep], new: int) -> RackCost:
    return RackCost(len(dark_of(steps)), len(steps), new + sum(step.buys for step in steps))


def _answered(
    steps: tuple[RackStep, ...], layout: RackLayout | None, proved: bool
) -> Rearrangement:
    if layout is None:
        return Rearrangement(proved=proved)
    return Rearrangement(
        steps, layout, _cost(steps, len(layout.panels) + len(layout.switches)), proved
    )


def _in_order(rack: RackContents, steps: Sequence[RackStep]) -> list[RackStep]:
    """What gains most room first, so that a set short of room is seen early to be hopeless."""
    heights = {thing.key: thing.height for thing in rack.things}

    def gain(step: RackStep) -> int:
        if step.act is RackAction.TAKE_OUT:
            return heights[step.key]
        return heights[step.key] - 1 if step.act is RackAction.ONE_UNIT else 0

    ports = {step: step.panel_ports + step.switch_ports for step in steps}
    return sorted(steps, key=lambda s: (-gain(s), -ports[s], len(s.dark), s.key, s.act))


def _most(steps: Iterable[RackStep]) -> tuple[RackStep, ...]:
    """One step a thing: of several for one, the one that gains most. (What is swapped may go
    anywhere too, so nothing is lost by it.)"""
    best: dict[str, RackStep] = {}
    for step in steps:
        known = best.get(step.key)
        if known is None or _gains(step) > _gains(known):
            best[step.key] = step
    return tuple(best.values())


def _gains(step: RackStep) -> int:
    return step.panel_ports + step.switch_ports


@dataclass(slots=True)
class _Cells:
    """Which thing takes which half of which unit on which face."""

    rack: RackContents
    rules: RackRules
    taken: dict[tuple[str, int, int], MountedItem] = field(default_factory=dict)
    kept: set[int] = field(default_factory=set)

    def put(self, thing: MountedItem) -> None:
        if thing.kind == "kept":
            self.kept.update(range(thing.low, thing.high + 1))
        for cell in _cells_of(thing):
            self.taken[cell] = thing

    def take(self, thing: MountedItem) -> None:
        for cell in _cells_of(thing):
            self.taken.pop(cell, None)

    def has_room(self, thing: MountedItem, beside: frozenset[str] | None = None) -> bool:
        """Whether a thing fits where it says it is. What stays where it is gets along with what is
        `beside` it on the other face, and with what is kept free there: so it stood before."""
        if thing.low < 1 or thing.high > self.rack.height:
            return False
        if thing.depth and self.rack.depth and thing.depth > self.rack.depth:
            return False
        for face, unit, half in _cells_of(thing):
            if (face, unit, half) in self.taken or (unit in self.kept and beside is None):
                return False
            behind = self.taken.get((_OTHER[face], unit, half))
            if behind and behind.key not in (beside or ()) and not self._share(thing, behind):
                return False
        return True

    def slots(self, depth: float) -> list[int]:
        """The units of the front free for a new thing of this depth, from the top."""
        usable = self.rack.depth
        if usable is not None and depth > usable:
            return []
        taken = self.taken
        found = []
        for unit in range(self.rack.height, 0, -1):
            if unit in self.kept or ("front", unit, 0) in taken or ("front", unit, 1) in taken:
                continue
            behind = [taken.get(("rear", unit, 0)), taken.get(("rear", unit, 1))]
            if all(
                thing is None
                or (usable and thing.depth is not None and depth + thing.depth <= usable)
                for thing in behind
            ):
                found.append(unit)
        return found

    def _share(self, one: MountedItem, other: MountedItem) -> bool:
        depth = self.rack.depth
        if depth is None or one.depth is None or other.depth is None:
            return False
        return one.depth + other.depth <= depth


def _cells_of(thing: MountedItem) -> Iterator[tuple[str, int, int]]:
    for unit in range(thing.low, thing.high + 1):
        for half in _HALVES[thing.part]:
            yield thing.face, unit, half


class _Layouts:
    """The layouts of a rack after some steps."""

    def __init__(
        self,
        rack: RackContents,
        steps: Sequence[RackStep],
        need: SpaceNeed,
        rules: RackRules,
        most: int = PLACES,
    ) -> None:
        self.rack, self.rules, self._most = rack, rules, most
        self.panels, self.switches = need.new(steps)
        self._fed = need.fed
        self.cut_short = False
        self.places = 0
        self._acts = {step.key: step.act for step in steps}
        gained = {step.key for step in steps if step.panel_ports or step.switch_ports}
        self._things = tuple(
            _opened(thing) if thing.key in gained else thing
            for thing in rack.things
            if self._acts.get(thing.key) is not RackAction.TAKE_OUT
        )
        self._movable = [thing for thing in self._things if thing.key in self._acts]
        self._movable.sort(key=lambda t: (-t.height, not t.heavy, t.low, t.key))
        self._fixed = [thing for thing in self._things if thing.key not in self._acts]

    def roomy(self) -> bool:
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
                height = 1 if self._acts[thing.key] is RackAction.ONE_UNIT else thing.height
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

    def first(self) -> RackLayout | None:
        """The first layout met; of the places for what is new the best beside those moves. Where
        the drops need nothing new, nothing is; else one more of each may help."""
        panels, switches = self.panels, self.switches
        more = ((0, 0), (0, 1), (1, 0), (1, 1)) if panels or switches else ((0, 0),)
        found = None
        for more_panels, more_switches in more:
            self.panels, self.switches = panels + more_panels, switches + more_switches
            found = self._first() if self.roomy() else None
            if found:
                break
        self.panels, self.switches = panels, switches
        return found

    def _first(self) -> RackLayout | None:
        cells = _Cells(self.rack, self.rules)
        for thing in self._fixed:
            cells.put(thing)
        return self._move(cells, 0, [])

    def _may_try(self) -> bool:
        """Counts one more place tried, as long as there may be more."""
        self.places += 1
        if self.places > self._most:
            self.cut_short = True
            return False
        return True

    def _move(self, cells: _Cells, number: int, moved: list[MountedItem]) -> RackLayout | None:
        if number == len(self._movable):
            return self._with_new(cells, moved)
        thing = self._movable[number]
        old = {other.key: other for other in self._movable}
        staying = (t.key for t in moved if _within(t, old[t.key]))
        beside = frozenset((*(t.key for t in self._fixed), *staying))
        for there in self._candidates(thing):
            if not self._may_try():
                return None
            stays = _within(there, thing)
            if not cells.has_room(there, beside if stays else None):
                continue
            if not stays and not self._airy(there, moved):
                continue
            cells.put(there)
            found = self._move(cells, number + 1, [*moved, there])
            cells.take(there)
            if found:
                return found
        return None

    def _candidates(self, thing: MountedItem) -> Iterator[MountedItem]:
        """Where it may go: as it is first, then nearby."""
        if self._acts[thing.key] is RackAction.ONE_UNIT:
            for unit in range(thing.high, thing.low - 1, -1):
                yield _at(thing, unit, unit, thing.part)
            return
        yield thing
        lows = range(1, self.rack.height - thing.height + 2)
        parts = ("left", "right") if thing.part else (None,)
        for low in sorted(lows, key=lambda low: (abs(low - thing.low), low)):
            if thing.heavy and low > thing.low:
                continue
            for part in parts:
                if (low, part) != (thing.low, thing.part):
                    yield _at(thing, low, low + thing.height - 1, part)

    def _airy(self, there: MountedItem, moved: Sequence[MountedItem]) -> bool:
        """Whether a UPS and a switch keep their distance where one of them is put."""
        against = {"ups": "switch", "switch": "ups"}.get(there.kind)
        if against is None:
            return True
        return all(
            _gap(there, other) >= self.rules.air
            for other in (*self._fixed, *moved)
            if other.kind == against
        )

    def _with_new(self, cells: _Cells, moved: Sequence[MountedItem]) -> RackLayout | None:
        """The moved things and the best places for the new ones: panels near their switches, and
        of places as near the highest."""
        standing = (*self._fixed, *moved)
        moved_to = tuple(RackPlace(t.key, t.low, t.high, t.part) for t in moved)
        if not self.panels and not self.switches:
            return RackLayout(moved_to, (), ())
        for_panel = cells.slots(self.rules.panel_depth)
        air = self.rules.air
        near_ups = {
            unit
            for thing in standing
            if thing.kind == "ups"
            for unit in range(thing.low - air, thing.high + air + 1)
        }
        for_switch = [u for u in cells.slots(self.rules.switch_depth) if u not in near_ups]
        if len({*for_panel, *for_switch}) < self.panels + self.switches:
            return None
        open_panels = [t for t in standing if t.kind == "panel" and t.open]
        open_switches = [t for t in standing if t.kind == "switch" and t.open]
        found = self._choose(for_panel, for_switch, open_panels, open_switches)
        return RackLayout(moved_to, *found) if found else None

    def _choose(
        self,
        for_panel: list[int],
        for_switch: list[int],
        open_panels: Sequence[MountedItem],
        open_switches: Sequence[MountedItem],
    ) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
        if not self.switches:
            anywhere = "switch" in self.rack.loose
            near = _nearest(for_panel, open_switches, self.rules.reach, anywhere)
            return (_pick(near, self.panels), ()) if len(near) >= self.panels else None
        if not self.panels:
            anywhere = "panel" in self.rack.loose
            near = _nearest(for_switch, open_panels, self.rules.reach, anywhere)
            return ((), _pick(near, self.switches)) if len(near) >= self.switches else None
        if len(for_switch) < self.switches:
            return None
        best = self._in_turn(for_panel, for_switch, open_panels)
        if best and best[0] == self.panels:  # each next to its switch: nothing is nearer
            return best[1], best[2]
        if math.comb(len(for_switch), self.switches) > COMBINATIONS:
            self.cut_short = True
            return (best[1], best[2]) if best else None
        for switches in itertools.combinations(for_switch, self.switches):
            if not self._may_try():
                break
            panels = self._panels_beside(for_panel, switches, open_panels)
            if panels is not None:
                found = (_apart(panels, switches), panels, switches)
                best = found if best is None else min(best, found, key=_preference)
        return (best[1], best[2]) if best else None

    def _in_turn(
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
            apart = _apart(panels, switches)
            reached = all(_to_nearest(unit, switches) <= self.rules.reach for unit in panels)
            if reached and self._served(switches, panels, open_panels):
                found = (apart, tuple(panels), tuple(switches))
                best = found if best is None else min(best, found, key=_preference)
                if apart == self.panels:
                    break
        return best

    def _panels_beside(
        self, for_panel: list[int], switches: tuple[int, ...], open_panels: Sequence[MountedItem]
    ) -> tuple[int, ...] | None:
        """The nearest units for the panels, so that every switch has one within reach."""
        near = sorted(
            (_to_nearest(unit, switches), -unit, unit) for unit in for_panel if unit not in switches
        )
        near = [row for row in near if row[0] <= self.rules.reach]
        if len(near) < self.panels:
            return None
        units = [unit for _, _, unit in near]
        for panels in itertools.combinations(units, self.panels):
            if not self._may_try():
                return None
            if self._served(switches, panels, open_panels):
                return tuple(sorted(panels, reverse=True))
        return None

    def _served(
        self, switches: Sequence[int], panels: Sequence[int], open_panels: Sequence[MountedItem]
    ) -> bool:
        if "panel" in self.rack.loose:
            return True
        reach = self.rules.reach
        return all(
            any(abs(unit - p) <= reach for p in panels)
            or any(_distance(thing, unit) <= reach for thing in open_panels)
            for unit in switches
        )


def _to_nearest(unit: int, others: Sequence[int]) -> int:
    return min(abs(unit - other) for other in others)


def _apart(panels: Sequence[int], switches: Sequence[int]) -> int:
    """How far the panels are from their nearest switches, taken together."""
    return sum(_to_nearest(unit, switches) for unit in panels)


def _preference(found: tuple[int, tuple[int, ...], tuple[int, ...]]) -> tuple[int, ...]:
    """Near before far, and of places as near the higher ones."""
    apart, panels, switches = found
    return (apart, *(-unit for unit in panels), *(-unit for unit in switches))


def _opened(thing: MountedItem) -> MountedItem:
    return MountedItem(
        thing.key, thing.low, thing.high, thing.face, thing.kind, thing.part, thing.depth,
        open=True, heavy=thing.heavy,
    )  # fmt: skip


def _at(thing: MountedItem, low: int, high: int, part: str | None) -> MountedItem:
    return MountedItem(
        thing.key, low, high, thing.face, thing.kind, part, thing.depth, thing.open, thing.heavy
    )


def _within(there: MountedItem, old: MountedItem) -> bool:
    """Whether a thing takes only units it took before."""
    return old.low <= there.low and there.high <= old.high and there.part == old.part


def _distance(thing: MountedItem, unit: int) -> int:
    """Units from a thing to a unit."""
    return max(thing.low - unit, unit - thing.high, 0)


def _gap(one: MountedItem, other: MountedItem) -> int:
    return max(one.low - other.high, other.low - one.high, 0) - 1


def _nearest(
    slots: Iterable[int], things: Sequence[MountedItem], reach: int, anywhere: bool
) -> list[tuple[int, int]]:
    """The slots within reach of any of the things, the nearest first: (distance, unit)."""
    rows = []
    for unit in slots:
        apart = min((_distance(thing, unit) for thing in things), default=reach + 1)
        if apart <= reach or anywhere:
            rows.append((apart, unit))
    return sorted(rows, key=lambda row: (row[0], -row[1]))


def _pick(near: Sequence[tuple[int, int]], count: int) -> tuple[int, ...]:
    return tuple(sorted((unit for _, unit in near[:count]), reverse=True))


def dark_of(steps: Iterable[RackStep]) -> frozenset[str]:
    """The links that any of the steps takes down."""
    return frozenset().union(*(step.dark for step in steps))


def places_of(layout: RackLayout) -> Mapping[str, RackPlace]:
    return {place.key: place for place in layout.places}

"""Who takes how many: new drops given to the enclosures of a site, to free ports first, then with
new panels and switches, then after the smallest re-racking.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

from asbuilt.facts.pathways import PathwayRoom, pathways_of
from asbuilt.growth.enclosure_capacity import (
    DropRequest,
    EnclosureCapacity,
    enclosure_capacity,
    steps_of,
)
from asbuilt.growth.rearrange import (
    LARGEST,
    RackRules,
    RackStep,
    Rearrangement,
    SpaceNeed,
    anyhow,
    as_it_stands,
    has_units,
    rearrange,
)
from asbuilt.model.paths import CablingGraph, cabling_graph
from asbuilt.model.site import Site, natural

#: The most drops an answer is given for.
MOST: Final = 10_000
#: How many numbers of new things are tried one by one, from the most down, before halving.
SEARCHED_DOWN: Final = 6


class Pool:
    """Places left in the pathways the drops leave by."""

    def __init__(self, rooms: Mapping[str, PathwayRoom], cable: str, limited: bool) -> None:
        self._limited = limited
        self.left = {key: room.more(cable) for key, room in rooms.items()}
        self.taken: dict[str, int] = {}

    def room(self, bay: EnclosureCapacity) -> int:
        """How many more cables leave an enclosure, by what is recorded of its pathways."""
        left = [self.left.get(way) for way in bay.ways]
        known = [count for count in left if count is not None]
        if not self._limited or not bay.ways or len(known) < len(left):
            return MOST
        return sum(known)

    def take(self, bay: EnclosureCapacity, drops: int) -> int:
        """Takes places for as many of the drops as there are, the roomiest pathway first."""
        got = wanting = min(drops, self.room(bay))
        ways = sorted(bay.ways, key=lambda way: (-_count(self.left.get(way)), way))
        for way in ways:
            count = min(wanting, _count(self.left.get(way)))
            if count:
                self.taken[way] = self.taken.get(way, 0) + count
                if self.left[way] is not None:
                    self.left[way] = _count(self.left[way]) - count
                wanting -= count
        return got


def _count(left: int | None) -> int:
    return MOST if left is None else left


@dataclass(slots=True)
class Allocation:
    """Drops given to enclosures so far: `panel` and `switch` are the ports left free in each."""

    pool: Pool
    left: int
    panel: dict[str, int]
    switch: dict[str, int]
    drops: dict[str, int]
    answers: dict[str, Rearrangement] = field(default_factory=dict)
    needs: dict[str, SpaceNeed] = field(default_factory=dict)


class SiteCapacity:
    """What a question about growth is answered from: the enclosures it is about."""

    def __init__(
        self,
        site: Site,
        net: CablingGraph | None,
        wanted: DropRequest,
        at: str | None,
        rules: RackRules,
    ) -> None:
        self.site, self.net, self.wanted, self.at, self.rules = site, net, wanted, at, rules
        self._most: dict[tuple[str, int, int, bool], int] = {}
        self._steps: dict[str, list[RackStep]] = {}
        self._taken: dict[tuple[bool, bool], int] = {}

    @cached_property
    def bays(self) -> tuple[EnclosureCapacity, ...]:
        return tuple(
            enclosure_capacity(self.site, enclosure, self.wanted)
            for enclosure in self.site.enclosures.values()
            if self.at is None or self.at in (enclosure.key, enclosure.room)
        )

    @cached_property
    def pathways(self) -> Mapping[str, PathwayRoom]:
        return {room.record.key: room for room in pathways_of(self.site)}

    @cached_property
    def as_mounted(self) -> int:
        return MOST - self.lay(MOST, crossed=True).left

    def takes(self, window: bool, limited: bool = True) -> int:
        """The most drops, without an outage or in a window, by the pathways too or not."""
        known = (window, limited)
        if known not in self._taken:
            self._taken[known] = max(
                self._takes(later, crossed, limited)
                for later in {False, window}
                for crossed in self._ways_to_begin()
            )
        return self._taken[known]

    def _ways_to_begin(self) -> tuple[bool, ...]:
        """Ports of neighbouring enclosures are patched to each other first, or left for new gear
        beside them: what is the better depends."""
        together = len({bay.space for bay in self.bays}) < len(self.bays)
        return (True, False) if together else (False,)

    def _takes(self, window: bool, crossed: bool, limited: bool) -> int:
        laid = self.lay(MOST, crossed, limited)
        for bay in self.bays:
            self._give(laid, bay, self._more(laid, bay, window))
        return min(MOST, MOST - laid.left)

    def lay(self, drops: int, crossed: bool, limited: bool = True) -> Allocation:
        """Drops given to free ports as they are: of one enclosure, then of neighbours."""
        laid = Allocation(
            Pool(self.pathways, self.wanted.cable, limited),
            drops,
            {bay.key: bay.panel_ports for bay in self.bays},
            {bay.key: bay.switch_ports for bay in self.bays},
            {bay.key: 0 for bay in self.bays},
        )
        roomiest = sorted(
            self.bays, key=lambda b: (-min(b.panel_ports, b.switch_ports), natural(b.key))
        )
        for bay in roomiest:
            self._patch(laid, bay, bay)
        for bay in roomiest if crossed else ():
            for other in roomiest:
                if bay.space == other.space and bay.key != other.key:
                    self._patch(laid, bay, other)
        return laid

    def _patch(self, laid: Allocation, bay: EnclosureCapacity, other: EnclosureCapacity) -> None:
        count = min(laid.panel[bay.key], laid.switch[other.key])
        count = self._give(laid, bay, count)
        laid.panel[bay.key] -= count
        laid.switch[other.key] -= count

    def _give(self, laid: Allocation, bay: EnclosureCapacity, most: int) -> int:
        count = laid.pool.take(bay, min(most, laid.left))
        laid.left -= count
        laid.drops[bay.key] += count
        return count

    def steps(self, bay: EnclosureCapacity) -> list[RackStep]:
        if bay.key not in self._steps:
            self._steps[bay.key] = steps_of(self.site, bay, None)
        return self._steps[bay.key]

    def _need(self, laid: Allocation, bay: EnclosureCapacity, drops: int) -> SpaceNeed:
        return bay.need(drops, laid.panel[bay.key], laid.switch[bay.key])

    def _more(self, laid: Allocation, bay: EnclosureCapacity, window: bool) -> int:
        """The most drops beyond those given already, with new gear."""
        panel, switch = laid.panel[bay.key], laid.switch[bay.key]
        known = (bay.key, panel, switch, window)
        if known not in self._most:
            steps = self.steps(bay) if window else []
            self._most[known] = self._search_more(bay, panel, switch, steps)
        return self._most[known]

    def _search_more(
        self, bay: EnclosureCapacity, panel: int, switch: int, steps: Sequence[RackStep]
    ) -> int:
        """More may fit than less does: a panel out of reach of the switch that is there brings
        one of its own when there are drops enough. So it is searched from the top."""
        stops = _stops(bay, panel, switch, steps)
        needs = [bay.need(stop, panel, switch) for stop in stops]
        roomy = _first_not(lambda i: has_units(bay.rack, steps, needs[i], self.rules), len(needs))
        for number in range(roomy - 1, max(-1, roomy - 1 - SEARCHED_DOWN), -1):
            if self._fits(bay, needs[number], steps):
                return stops[number]
        below = max(0, roomy - SEARCHED_DOWN)
        fitting = _first_not(lambda i: self._fits(bay, needs[i], steps), below)
        return stops[fitting - 1] if fitting else 0

    def _fits(self, bay: EnclosureCapacity, need: SpaceNeed, steps: Sequence[RackStep]) -> bool:
        if not need.panel_ports and not need.switch_ports:
            return True
        if steps:
            return anyhow(bay.rack, steps, need, self.rules)
        return as_it_stands(bay.rack, need, self.rules).layout is not None

    # Which enclosures take how many

    def without_outage(self, drops: int) -> Allocation | None:
        for crossed in self._ways_to_begin():
            if drops <= self._takes(window=False, crossed=crossed, limited=True):
                laid = self.lay(drops, crossed)
                self._add_gear(laid)
                return laid if not laid.left else None
        return None

    def _add_gear(self, laid: Allocation) -> None:
        """New panels and switches as things stand: in one enclosure where one takes all, with as
        few new things as may be."""
        tried: set[str] = set(laid.answers)
        while laid.left:
            options = []
            for bay in self.bays:
                if bay.key in tried:
                    continue
                most = min(self._more(laid, bay, window=False), laid.pool.room(bay), laid.left)
                if most:
                    new = sum(self._need(laid, bay, most).new(()))
                    options.append((-most, new, -laid.drops[bay.key], natural(bay.key), bay))
            if not options:
                return
            best = min(options, key=lambda row: row[:4])[4]
            tried.add(best.key)
            self._equip(laid, best, ())

    def _equip(self, laid: Allocation, bay: EnclosureCapacity, steps: Sequence[RackStep]) -> None:
        """Gives an enclosure as many of the drops left as it takes."""
        more = self._more(laid, bay, window=bool(steps))
        drops = min(more, laid.pool.room(bay), laid.left)
        answer = self._settle(laid, bay, drops, steps)
        if answer.layout is not None:
            laid.needs[bay.key] = self._need(laid, bay, drops)
            laid.answers[bay.key] = answer
            self._give(laid, bay, drops)

    def _settle(
        self, laid: Allocation, bay: EnclosureCapacity, drops: int, steps: Sequence[RackStep]
    ) -> Rearrangement:
        """The cheapest way for so many drops to go in; with more gear than they fill only where
        nothing else does."""
        panel, switch = laid.panel[bay.key], laid.switch[bay.key]
        more = self._more(laid, bay, window=bool(steps))
        stops = [stop for stop in _stops(bay, panel, switch, steps) if drops < stop <= more]
        needs = dict.fromkeys(bay.need(stop, panel, switch) for stop in (drops, *stops))
        for need in needs:
            if steps:
                answer = rearrange(bay.rack, steps, need, self.rules)
            else:
                answer = as_it_stands(bay.rack, need, self.rules)
            if answer.layout is not None:
                return answer
        return Rearrangement()

    def in_window(self, drops: int) -> Allocation | None:
        """The rest that doesn't go in without an outage goes where re-racking costs least."""
        for crossed in self._ways_to_begin():
            if drops <= self._takes(window=True, crossed=crossed, limited=True):
                laid = self.lay(drops, crossed)
                if self._rerack(laid):
                    return laid
        return None

    def _rerack(self, laid: Allocation) -> bool:
        whole: list[
            EnclosureCapacity
        ] = []  # re-racked for all they take, since one more doesn't suffice
        gains = sorted(
            self.bays,
            key=lambda bay: (
                self._more(laid, bay, False) - self._more(laid, bay, True),
                natural(bay.key),
            ),
        )
        while True:
            rest = [bay for bay in gains if bay not in whole]
            best = self._cheapest(laid, whole, rest)
            if best is not None:
                for bay in whole:
                    self._equip(laid, bay, self._dark_steps(bay))
                last, count = best
                keep, laid.left = laid.left - count, count
                self._equip(laid, last, self._dark_steps(last))
                laid.left += keep
                self._add_gear(laid)
                return not laid.left
            if len(rest) < 2:
                return False
            whole.append(rest[0])

    def _cheapest(
        self,
        laid: Allocation,
        whole: Sequence[EnclosureCapacity],
        rest: Sequence[EnclosureCapacity],
    ) -> tuple[EnclosureCapacity, int] | None:
        """Of the enclosures that could take the rest alone, the one that costs least to re-rack,
        and how many drops it takes when all others take what they can."""
        options = []
        for bay in rest:
            others = sum(
                min(self._more(laid, other, other in whole), laid.pool.room(other))
                for other in self.bays
                if other is not bay
            )
            count = laid.left - others
            if not 0 < count <= min(self._more(laid, bay, True), laid.pool.room(bay)):
                continue
            answer = self._settle(laid, bay, count, self._dark_steps(bay))
            if answer.cost is not None:
                options.append((answer.cost, natural(bay.key), bay, count))
        if not options:
            return None
        _, _, bay, count = min(options, key=lambda row: row[:2])
        return bay, count

    def _dark_steps(self, bay: EnclosureCapacity) -> list[RackStep]:
        """The steps with whom each interrupts."""
        net = self.net or cabling_graph(self.site)
        known = f"{bay.key} "  # no key of an enclosure has a space
        if known not in self._steps:
            self._steps[known] = steps_of(self.site, bay, net)
        return self._steps[known]


def _stops(bay: EnclosureCapacity, panel: int, switch: int, steps: Sequence[RackStep]) -> list[int]:
    """The numbers of drops at which new panels or switches are just full, with nothing touched and
    with everything: only beyond one of them does another drop need another thing."""
    gained = {step.key: step for step in steps if step.panel_ports or step.switch_ports}
    panel_more = sum(step.panel_ports for step in gained.values())
    switch_more = sum(step.switch_ports for step in gained.values())
    each = bay.wanted.per_switch
    units = range(bay.rack.height + 1)
    found: set[int] = set()
    for panel_ports, switch_ports in {(panel, switch), (panel + panel_more, switch + switch_more)}:
        found |= {panel_ports + LARGEST * n for n in units}
        found |= {switch_ports + each * n - fed for n in units for fed in (0, 1)}
    return sorted(stop for stop in found if stop > 0)


def _first_not(holds: Callable[[int], bool], count: int) -> int:
    """The first of so many numbers from 0 for which something no longer holds, found by halving."""
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        if holds(middle):
            low = middle + 1
        else:
            high = middle
    return low

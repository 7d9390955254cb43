"""Who takes how many: new drops given to the enclosures of a site, to free ports first, then with
new panels and switches, then after the smallest re-racking.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

from asbuilt.facts.pathways import PathwayHeadroom, pathway_headroom
from asbuilt.growth.enclosure_capacity import (
    DropRequest,
    EnclosureCapacity,
    allowed_steps,
    enclosure_capacity,
)
from asbuilt.growth.rearrange import (
    LARGE_PORT_COUNT,
    PortNeed,
    RackRules,
    RackStep,
    Rearrangement,
    fit_as_mounted,
    fits_with_all_steps,
    has_enough_units,
    rearrange,
)
from asbuilt.model.paths import CablingGraph, cabling_graph
from asbuilt.model.site import Site, natural

#: The most drops an answer is given for.
MAX_DROPS: Final = 10_000
#: How many numbers of new things are tried one by one, from the most down, before halving.
MAX_TRIED_DOWNWARDS: Final = 6


class PathwayPlaces:
    """Places left in the pathways the drops leave by."""

    def __init__(self, rooms: Mapping[str, PathwayHeadroom], cable: str, limited: bool) -> None:
        self._limited = limited
        self.left = {key: room.max_more_cables(cable) for key, room in rooms.items()}
        self.taken: dict[str, int] = {}

    def places_for(self, bay: EnclosureCapacity) -> int:
        """How many more cables leave an enclosure, by what is recorded of its pathways."""
        left = [self.left.get(way) for way in bay.pathways]
        known = [count for count in left if count is not None]
        if not self._limited or not bay.pathways or len(known) < len(left):
            return MAX_DROPS
        return sum(known)

    def take(self, bay: EnclosureCapacity, drops: int) -> int:
        """Takes places for as many of the drops as there are, the roomiest pathway first."""
        got = wanting = min(drops, self.places_for(bay))
        ways = sorted(bay.pathways, key=lambda way: (-_places(self.left.get(way)), way))
        for way in ways:
            count = min(wanting, _places(self.left.get(way)))
            if count:
                self.taken[way] = self.taken.get(way, 0) + count
                if self.left[way] is not None:
                    self.left[way] = _places(self.left[way]) - count
                wanting -= count
        return got


def _places(left: int | None) -> int:
    return MAX_DROPS if left is None else left


@dataclass(slots=True)
class Allocation:
    """Drops given to enclosures so far: `panel` and `switch` are the ports left free in each."""

    pathway_places: PathwayPlaces
    drops_left: int
    panel_ports_left: dict[str, int]
    switch_ports_left: dict[str, int]
    drops_by_enclosure: dict[str, int]
    rearrangements: dict[str, Rearrangement] = field(default_factory=dict)
    needs: dict[str, PortNeed] = field(default_factory=dict)


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
        self.site, self.graph, self.request, self.location, self.rules = (
            site,
            net,
            wanted,
            at,
            rules,
        )
        self._max_more_found: dict[tuple[str, int, int, bool], int] = {}
        self._steps: dict[str, list[RackStep]] = {}
        self._taken: dict[tuple[bool, bool], int] = {}

    @cached_property
    def enclosures(self) -> tuple[EnclosureCapacity, ...]:
        return tuple(
            enclosure_capacity(self.site, enclosure, self.request)
            for enclosure in self.site.enclosures.values()
            if self.location is None or self.location in (enclosure.key, enclosure.room)
        )

    @cached_property
    def pathways(self) -> Mapping[str, PathwayHeadroom]:
        return {room.record.key: room for room in pathway_headroom(self.site)}

    @cached_property
    def fits_as_mounted(self) -> int:
        return MAX_DROPS - self.allocate_free_ports(MAX_DROPS, crossed=True).drops_left

    def max_drops(self, window: bool, limited: bool = True) -> int:
        """The most drops, without an outage or in a window, by the pathways too or not."""
        known = (window, limited)
        if known not in self._taken:
            self._taken[known] = max(
                self._max_drops(later, crossed, limited)
                for later in {False, window}
                for crossed in self._starting_points()
            )
        return self._taken[known]

    def _starting_points(self) -> tuple[bool, ...]:
        """Ports of neighbouring enclosures are patched to each other first, or left for new gear
        beside them: what is the better depends."""
        together = len({bay.space for bay in self.enclosures}) < len(self.enclosures)
        return (True, False) if together else (False,)

    def _max_drops(self, window: bool, crossed: bool, limited: bool) -> int:
        laid = self.allocate_free_ports(MAX_DROPS, crossed, limited)
        for bay in self.enclosures:
            self._give_drops(laid, bay, self._max_more_drops(laid, bay, window))
        return min(MAX_DROPS, MAX_DROPS - laid.drops_left)

    def allocate_free_ports(self, drops: int, crossed: bool, limited: bool = True) -> Allocation:
        """Drops given to free ports as they are: of one enclosure, then of neighbours."""
        laid = Allocation(
            PathwayPlaces(self.pathways, self.request.cable, limited),
            drops,
            {bay.key: bay.panel_ports for bay in self.enclosures},
            {bay.key: bay.switch_ports for bay in self.enclosures},
            {bay.key: 0 for bay in self.enclosures},
        )
        roomiest = sorted(
            self.enclosures, key=lambda b: (-min(b.panel_ports, b.switch_ports), natural(b.key))
        )
        for bay in roomiest:
            self._allocate_pair(laid, bay, bay)
        for bay in roomiest if crossed else ():
            for other in roomiest:
                if bay.space == other.space and bay.key != other.key:
                    self._allocate_pair(laid, bay, other)
        return laid

    def _allocate_pair(
        self, laid: Allocation, bay: EnclosureCapacity, other: EnclosureCapacity
    ) -> None:
        count = min(laid.panel_ports_left[bay.key], laid.switch_ports_left[other.key])
        count = self._give_drops(laid, bay, count)
        laid.panel_ports_left[bay.key] -= count
        laid.switch_ports_left[other.key] -= count

    def _give_drops(self, laid: Allocation, bay: EnclosureCapacity, most: int) -> int:
        count = laid.pathway_places.take(bay, min(most, laid.drops_left))
        laid.drops_left -= count
        laid.drops_by_enclosure[bay.key] += count
        return count

    def steps(self, bay: EnclosureCapacity) -> list[RackStep]:
        if bay.key not in self._steps:
            self._steps[bay.key] = allowed_steps(self.site, bay, None)
        return self._steps[bay.key]

    def _need(self, laid: Allocation, bay: EnclosureCapacity, drops: int) -> PortNeed:
        return bay.port_need(drops, laid.panel_ports_left[bay.key], laid.switch_ports_left[bay.key])

    def _max_more_drops(self, laid: Allocation, bay: EnclosureCapacity, window: bool) -> int:
        """The most drops beyond those given already, with new gear."""
        panel, switch = laid.panel_ports_left[bay.key], laid.switch_ports_left[bay.key]
        known = (bay.key, panel, switch, window)
        if known not in self._max_more_found:
            steps = self.steps(bay) if window else []
            self._max_more_found[known] = self._search_max_more(bay, panel, switch, steps)
        return self._max_more_found[known]

    def _search_max_more(
        self, bay: EnclosureCapacity, panel: int, switch: int, steps: Sequence[RackStep]
    ) -> int:
        """More may fit than less does: a panel out of reach of the switch that is there brings
        one of its own when there are drops enough. So it is searched from the top."""
        stops = _full_counts(bay, panel, switch, steps)
        needs = [bay.port_need(stop, panel, switch) for stop in stops]
        roomy = _first_failing(
            lambda i: has_enough_units(bay.rack, steps, needs[i], self.rules), len(needs)
        )
        for number in range(roomy - 1, max(-1, roomy - 1 - MAX_TRIED_DOWNWARDS), -1):
            if self._fits(bay, needs[number], steps):
                return stops[number]
        below = max(0, roomy - MAX_TRIED_DOWNWARDS)
        fitting = _first_failing(lambda i: self._fits(bay, needs[i], steps), below)
        return stops[fitting - 1] if fitting else 0

    def _fits(self, bay: EnclosureCapacity, need: PortNeed, steps: Sequence[RackStep]) -> bool:
        if not need.panel_ports and not need.switch_ports:
            return True
        if steps:
            return fits_with_all_steps(bay.rack, steps, need, self.rules)
        return fit_as_mounted(bay.rack, need, self.rules).layout is not None

    # Which enclosures take how many

    def allocate_without_outage(self, drops: int) -> Allocation | None:
        for crossed in self._starting_points():
            if drops <= self._max_drops(window=False, crossed=crossed, limited=True):
                laid = self.allocate_free_ports(drops, crossed)
                self._add_equipment(laid)
                return laid if not laid.drops_left else None
        return None

    def _add_equipment(self, laid: Allocation) -> None:
        """New panels and switches as things stand: in one enclosure where one takes all, with as
        few new things as may be."""
        tried: set[str] = set(laid.rearrangements)
        while laid.drops_left:
            options = []
            for bay in self.enclosures:
                if bay.key in tried:
                    continue
                most = min(
                    self._max_more_drops(laid, bay, window=False),
                    laid.pathway_places.places_for(bay),
                    laid.drops_left,
                )
                if most:
                    new = sum(self._need(laid, bay, most).items_to_buy(()))
                    options.append(
                        (-most, new, -laid.drops_by_enclosure[bay.key], natural(bay.key), bay)
                    )
            if not options:
                return
            best = min(options, key=lambda row: row[:4])[4]
            tried.add(best.key)
            self._equip_enclosure(laid, best, ())

    def _equip_enclosure(
        self, laid: Allocation, bay: EnclosureCapacity, steps: Sequence[RackStep]
    ) -> None:
        """Gives an enclosure as many of the drops left as it takes."""
        more = self._max_more_drops(laid, bay, window=bool(steps))
        drops = min(more, laid.pathway_places.places_for(bay), laid.drops_left)
        answer = self._cheapest_rearrangement(laid, bay, drops, steps)
        if answer.layout is not None:
            laid.needs[bay.key] = self._need(laid, bay, drops)
            laid.rearrangements[bay.key] = answer
            self._give_drops(laid, bay, drops)

    def _cheapest_rearrangement(
        self, laid: Allocation, bay: EnclosureCapacity, drops: int, steps: Sequence[RackStep]
    ) -> Rearrangement:
        """The cheapest way for so many drops to go in; with more gear than they fill only where
        nothing else does."""
        panel, switch = laid.panel_ports_left[bay.key], laid.switch_ports_left[bay.key]
        more = self._max_more_drops(laid, bay, window=bool(steps))
        stops = [stop for stop in _full_counts(bay, panel, switch, steps) if drops < stop <= more]
        needs = dict.fromkeys(bay.port_need(stop, panel, switch) for stop in (drops, *stops))
        for need in needs:
            if steps:
                answer = rearrange(bay.rack, steps, need, self.rules)
            else:
                answer = fit_as_mounted(bay.rack, need, self.rules)
            if answer.layout is not None:
                return answer
        return Rearrangement()

    def allocate_in_window(self, drops: int) -> Allocation | None:
        """The rest that doesn't go in without an outage goes where re-racking costs least."""
        for crossed in self._starting_points():
            if drops <= self._max_drops(window=True, crossed=crossed, limited=True):
                laid = self.allocate_free_ports(drops, crossed)
                if self._rerack(laid):
                    return laid
        return None

    def _rerack(self, laid: Allocation) -> bool:
        whole: list[
            EnclosureCapacity
        ] = []  # re-racked for all they take, since one more doesn't suffice
        gains = sorted(
            self.enclosures,
            key=lambda bay: (
                self._max_more_drops(laid, bay, False) - self._max_more_drops(laid, bay, True),
                natural(bay.key),
            ),
        )
        while True:
            rest = [bay for bay in gains if bay not in whole]
            best = self._cheapest_enclosure(laid, whole, rest)
            if best is not None:
                for bay in whole:
                    self._equip_enclosure(laid, bay, self._steps_with_interruptions(bay))
                last, count = best
                keep, laid.drops_left = laid.drops_left - count, count
                self._equip_enclosure(laid, last, self._steps_with_interruptions(last))
                laid.drops_left += keep
                self._add_equipment(laid)
                return not laid.drops_left
            if len(rest) < 2:
                return False
            whole.append(rest[0])

    def _cheapest_enclosure(
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
                min(
                    self._max_more_drops(laid, other, other in whole),
                    laid.pathway_places.places_for(other),
                )
                for other in self.enclosures
                if other is not bay
            )
            count = laid.drops_left - others
            if (
                not 0
                < count
                <= min(self._max_more_drops(laid, bay, True), laid.pathway_places.places_for(bay))
            ):
                continue
            answer = self._cheapest_rearrangement(
                laid, bay, count, self._steps_with_interruptions(bay)
            )
            if answer.cost is not None:
                options.append((answer.cost, natural(bay.key), bay, count))
        if not options:
            return None
        _, _, bay, count = min(options, key=lambda row: row[:2])
        return bay, count

    def _steps_with_interruptions(self, bay: EnclosureCapacity) -> list[RackStep]:
        """The steps with whom each interrupts."""
        net = self.graph or cabling_graph(self.site)
        known = f"{bay.key} "  # no key of an enclosure has a space
        if known not in self._steps:
            self._steps[known] = allowed_steps(self.site, bay, net)
        return self._steps[known]


def _full_counts(
    bay: EnclosureCapacity, panel: int, switch: int, steps: Sequence[RackStep]
) -> list[int]:
    """The numbers of drops at which new panels or switches are just full, with nothing touched and
    with everything: only beyond one of them does another drop need another thing."""
    gained = {step.key: step for step in steps if step.panel_ports or step.switch_ports}
    panel_more = sum(step.panel_ports for step in gained.values())
    switch_more = sum(step.switch_ports for step in gained.values())
    each = bay.request.drops_per_switch
    units = range(bay.rack.height + 1)
    found: set[int] = set()
    for panel_ports, switch_ports in {(panel, switch), (panel + panel_more, switch + switch_more)}:
        found |= {panel_ports + LARGE_PORT_COUNT * n for n in units}
        found |= {switch_ports + each * n - fed for n in units for fed in (0, 1)}
    return sorted(stop for stop in found if stop > 0)


def _first_failing(holds: Callable[[int], bool], count: int) -> int:
    """The first of so many numbers from 0 for which something no longer holds, found by halving."""
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        if holds(middle):
            low = middle + 1
        else:
            high = middle
    return low

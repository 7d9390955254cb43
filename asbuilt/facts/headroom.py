"""How much room is left: rack units, panel ports, switch ports, power over Ethernet.

Only what is known to be free counts as free. Dead, abandoned, reserved and unknown ports do not,
nor do reserved units.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from asbuilt.records.enclosures import Enclosure, Item, Panel, Reserve, Switch
from asbuilt.records.fields import PortId
from asbuilt.records.links import Outlet
from asbuilt.site import PortState, PortUse, Site
from asbuilt.trade.power import pse_watts


@dataclass(frozen=True, slots=True)
class Ports:
    """Ports counted by state."""

    by_state: Mapping[PortState, int]

    @property
    def total(self) -> int:
        return sum(self.by_state.values())

    @property
    def free(self) -> int:
        return self.by_state.get(PortState.FREE, 0)

    @property
    def used(self) -> int:
        """In use, or taken by a cable that isn't patched."""
        return sum(self.by_state.get(s, 0) for s in (PortState.IN_USE, PortState.CABLED))

    @property
    def lost(self) -> int:
        """Neither used nor free: dead, abandoned, reserved, unknown."""
        return self.total - self.used - self.free

    def count(self, state: PortState) -> int:
        return self.by_state.get(state, 0)


@dataclass(frozen=True, slots=True)
class RackUnits:
    """Units of one enclosure, front and rear taken together, since most things are deep."""

    total: int
    used: int
    reserved: int
    runs: tuple[tuple[int, int], ...]  # free runs, lowest and highest unit, from the bottom

    @property
    def free(self) -> int:
        return sum(high - low + 1 for low, high in self.runs)

    @property
    def largest_run(self) -> int:
        return max((high - low + 1 for low, high in self.runs), default=0)


@dataclass(frozen=True, slots=True)
class PoePower:
    """Power over Ethernet of one switch, in watts.

    `by_class` adds the power the switch sets aside for each powered outlet's class (IEEE 802.3,
    at the switch); `unstated` counts outlets on it whose class isn't recorded.
    """

    budget: float
    by_class: float
    measured: float | None
    powered: int
    unstated: int

    @property
    def free(self) -> float:
        return self.budget - self.by_class


@dataclass(frozen=True, slots=True)
class SwitchRoom:
    item: Switch
    access: Ports
    uplinks: Ports
    poe: PoePower | None


@dataclass(frozen=True, slots=True)
class PanelRoom:
    item: Panel
    ports: Ports


@dataclass(frozen=True, slots=True)
class Headroom:
    """The room in one enclosure, or (where `enclosure` is None) of a whole site."""

    enclosure: Enclosure | None
    units: RackUnits
    panels: tuple[PanelRoom, ...]
    switches: tuple[SwitchRoom, ...]

    @property
    def panel_ports(self) -> Ports:
        return add_ports(panel.ports for panel in self.panels)

    @property
    def access_ports(self) -> Ports:
        return add_ports(switch.access for switch in self.switches)

    @property
    def uplink_ports(self) -> Ports:
        return add_ports(switch.uplinks for switch in self.switches)

    @property
    def poe(self) -> PoePower | None:
        return _add_poe(switch.poe for switch in self.switches)

    @property
    def drops_that_fit(self) -> int:
        """How many more drops go in with what is mounted: a copper panel port and a switch port
        each."""
        copper = add_ports(p.ports for p in self.panels if p.item.media == "copper")
        return min(copper.free, self.access_ports.free)


def headroom_of(site: Site) -> tuple[Headroom, ...]:
    """The room in each enclosure of a site, in order of their keys."""
    return tuple(_enclosure_room(site, enclosure) for enclosure in site.enclosures.values())


def whole_site(rooms: Iterable[Headroom]) -> Headroom:
    rooms = tuple(rooms)
    units = RackUnits(
        sum(room.units.total for room in rooms),
        sum(room.units.used for room in rooms),
        sum(room.units.reserved for room in rooms),
        tuple(run for room in rooms for run in room.units.runs),
    )
    panels = tuple(panel for room in rooms for panel in room.panels)
    switches = tuple(switch for room in rooms for switch in room.switches)
    return Headroom(None, units, panels, switches)


def _enclosure_room(site: Site, enclosure: Enclosure) -> Headroom:
    items = site.items_in.get(enclosure.key, ())
    panels = tuple(
        PanelRoom(item, count_ports(site.ports_of(item)))
        for item in items
        if isinstance(item, Panel)
    )
    switches = tuple(_switch_room(site, item) for item in items if isinstance(item, Switch))
    return Headroom(enclosure, rack_units(enclosure, items), panels, switches)


def rack_units(enclosure: Enclosure, items: Iterable[Item]) -> RackUnits:
    """A unit is free when nothing is mounted in it, front or rear."""
    total = int(enclosure.height.to("U"))
    used: set[int] = set()
    reserved: set[int] = set()
    for item in items:
        if item.at:
            units = range(item.at[0], min(item.at[1], total) + 1)
            (reserved if isinstance(item, Reserve) else used).update(units)
    free = [unit for unit in range(1, total + 1) if unit not in used and unit not in reserved]
    return RackUnits(total, len(used), len(reserved - used), _runs(free))


def _runs(units: Iterable[int]) -> tuple[tuple[int, int], ...]:
    runs: list[tuple[int, int]] = []
    for unit in units:
        if runs and runs[-1][1] == unit - 1:
            runs[-1] = (runs[-1][0], unit)
        else:
            runs.append((unit, unit))
    return tuple(runs)


def count_ports(uses: Iterable[PortUse]) -> Ports:
    counted = Counter(use.state for use in uses)
    return Ports({state: counted[state] for state in PortState if counted[state]})


def add_ports(parts: Iterable[Ports]) -> Ports:
    total: Counter[PortState] = Counter()
    for part in parts:
        total.update(part.by_state)
    return Ports({state: total[state] for state in PortState if total[state]})


def _switch_room(site: Site, switch: Switch) -> SwitchRoom:
    uses = site.ports_of(switch)
    access = [use for use in uses if not switch.is_uplink(use.id.name)]
    uplinks = [use for use in uses if switch.is_uplink(use.id.name)]
    return SwitchRoom(switch, count_ports(access), count_ports(uplinks), poe_of(site, switch))


def poe_of(site: Site, switch: Switch) -> PoePower | None:
    """None for a switch that gives no power."""
    if switch.poe is None:
        return None
    watts = 0.0
    powered = unstated = 0
    for use in site.ports_of(switch):
        for record in outlets_behind(site, use.id):
            if record.poe is None:
                # A desk draws nothing; a camera without a class is a fact not recorded.
                unstated += record.serves in NEEDS_POWER
                continue
            powered += 1
            watts += pse_watts(int(record.poe.removeprefix("class ")))
    measured = switch.poe_measured.to("W") if switch.poe_measured else None
    return PoePower(switch.poe.to("W"), watts, measured, powered, unstated)


#: What usually takes its power from the cable (common practice).
NEEDS_POWER = ("phone", "access point", "camera", "door")


def outlets_behind(site: Site, port: PortId) -> list[Outlet]:
    """The outlets patched, or directly cabled, to a switch port through one panel at most."""
    use = site.ports[port]
    found = list(use.outlets)
    for cord in use.cords:
        far = site.ports.get(use.far_end(cord))
        if far is not None and isinstance(far.item, Panel):
            found += far.outlets
    return found


def _add_poe(parts: Iterable[PoePower | None]) -> PoePower | None:
    known = [part for part in parts if part is not None]
    if not known:
        return None
    measured = [part.measured for part in known]
    return PoePower(
        sum(part.budget for part in known),
        sum(part.by_class for part in known),
        None if None in measured else sum(m for m in measured if m is not None),
        sum(part.powered for part in known),
        sum(part.unstated for part in known),
    )

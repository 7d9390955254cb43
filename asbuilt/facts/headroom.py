"""How much room is left: in each enclosure, in each space, in a whole site.

Only what is known to be free counts as free. Dead, abandoned, reserved and unknown ports do not,
nor do reserved units. Every figure has a `basis`: what it was computed from, line by line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from asbuilt.facts.basis import Basis
from asbuilt.facts.ports import (
    PanelHeadroom,
    PoePower,
    PortsByState,
    SwitchHeadroom,
    add_poe,
    add_ports,
    panel_headroom,
    switch_headroom,
)
from asbuilt.facts.power import PowerHeadroom, add_power, power_headroom
from asbuilt.facts.units import RackUnits, add_units, rack_units
from asbuilt.model.site import Site
from asbuilt.records.enclosures import Enclosure, Panel, Switch


@dataclass(frozen=True, slots=True)
class Headroom:
    """The room in one enclosure, or (where `enclosure` is None) of a space or a whole site."""

    enclosure: Enclosure | None
    units: RackUnits
    panels: tuple[PanelHeadroom, ...]
    switches: tuple[SwitchHeadroom, ...]
    power: PowerHeadroom

    @property
    def panel_ports(self) -> PortsByState:
        return add_ports(panel.ports for panel in self.panels)

    @property
    def copper_ports(self) -> PortsByState:
        return add_ports(panel.ports for panel in self.panels if panel.item.media == "copper")

    @property
    def access_ports(self) -> PortsByState:
        return add_ports(switch.access for switch in self.switches)

    @property
    def uplink_ports(self) -> PortsByState:
        return add_ports(switch.uplinks for switch in self.switches)

    @property
    def access_by_speed(self) -> Mapping[str, PortsByState]:
        return _by_speed((str(s.item.speed or ""), s.access) for s in self.switches)

    @property
    def uplinks_by_speed(self) -> Mapping[str, PortsByState]:
        return _by_speed((str(s.item.uplink_speed or ""), s.uplinks) for s in self.switches)

    @property
    def poe(self) -> PoePower | None:
        return add_poe(switch.poe for switch in self.switches)

    @property
    def drops_that_fit(self) -> int:
        """How many more drops go in with what is mounted: a copper panel port and a switch port
        each."""
        return min(self.copper_ports.free, self.access_ports.free)


def headroom_by_enclosure(site: Site) -> tuple[Headroom, ...]:
    """The room in each enclosure of a site, in order of their keys."""
    return tuple(enclosure_headroom(site, enclosure) for enclosure in site.enclosures.values())


def enclosure_headroom(site: Site, enclosure: Enclosure) -> Headroom:
    mounted = site.items_in.get(enclosure.key, ())
    panels = tuple(panel_headroom(site, item) for item in mounted if isinstance(item, Panel))
    switches = tuple(switch_headroom(site, item) for item in mounted if isinstance(item, Switch))
    poe = {switch.item.key: switch.poe for switch in switches}
    return Headroom(
        enclosure,
        rack_units(enclosure, mounted),
        panels,
        switches,
        power_headroom(site, enclosure, poe),
    )


def headroom_by_space(rooms: Iterable[Headroom]) -> Mapping[str | None, Headroom]:
    """The room in each space, by the key of the room its enclosures stand in; under None what
    stands in a room nobody recorded."""
    found: dict[str | None, list[Headroom]] = {}
    for room in rooms:
        if room.enclosure:
            found.setdefault(room.enclosure.room, []).append(room)
    return {
        key: total_headroom(found[key]) for key in sorted(found, key=lambda k: (k is None, k or ""))
    }


def total_headroom(rooms: Iterable[Headroom]) -> Headroom:
    """Several enclosures taken together."""
    rooms = tuple(rooms)
    return Headroom(
        None,
        add_units(room.units for room in rooms),
        tuple(panel for room in rooms for panel in room.panels),
        tuple(switch for room in rooms for switch in room.switches),
        add_power(room.power for room in rooms),
    )


def _by_speed(parts: Iterable[tuple[str, PortsByState]]) -> Mapping[str, PortsByState]:
    found: dict[str, list[PortsByState]] = {}
    for speed, ports in parts:
        if ports.total:
            found.setdefault(speed or "speed not recorded", []).append(ports)
    return {speed: add_ports(found[speed]) for speed in sorted(found)}


@dataclass(frozen=True, slots=True)
class SpareRequirement:
    """What a site's own rule asks to be kept spare, and how it stands: `asked` is a share of what
    is used or of the total, as `of` says; `short` is how many are wanting."""

    resource: str
    required_share: float
    share_of: str
    source: str
    free: int
    used: int
    total: int

    @property
    def base_count(self) -> int:
        return self.used if self.share_of == "used" else self.total

    @property
    def required(self) -> int:
        return math.ceil(self.base_count * self.required_share - 1e-9)

    @property
    def shortfall(self) -> int:
        return max(0, self.required - self.free)

    @property
    def free_share(self) -> float | None:
        """What is free, as the share the rule speaks of."""
        return self.free / self.base_count if self.base_count else None

    @property
    def text(self) -> str:
        """The rule and where it is from: “25 % of the panel ports in use (owner's standard)”."""
        whole = f"{self.resource} in use" if self.share_of == "used" else f"all {self.resource}"
        return f"{self.required_share * 100:g} % of {whole} ({self.source})"

    @property
    def basis(self) -> tuple[Basis, ...]:
        return (
            Basis(f"asked for here: {self.text}"),
            Basis(
                f"{self.required_share * 100:g} % of {self.base_count} {self.share_of} "
                f"is {self.required}"
            ),
            Basis(f"{self.free} free of {self.total}"),
        )


def spare_requirements(site: Site, room: Headroom) -> tuple[SpareRequirement, ...]:
    """How the site's own rules for spare capacity stand; none where it states none in numbers."""
    info = site.info
    source = info.spare or "source not recorded"
    ports, units = room.panel_ports, room.units
    rules = (
        (info.spare_ports, "panel ports", ports.free, ports.used, ports.total),
        (info.spare_units, "rack units", units.free, units.used, units.total),
    )
    return tuple(
        SpareRequirement(what, asked.to("%") / 100, info.spare_of, source, free, used, total)
        for asked, what, free, used, total in rules
        if asked is not None
    )

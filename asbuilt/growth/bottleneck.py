"""What runs out: of what is mounted, and of the room for more."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from asbuilt.facts.basis import Basis, item_keys, units_text
from asbuilt.growth.allocation import MAX_DROPS, SiteCapacity
from asbuilt.growth.enclosure_capacity import EnclosureCapacity


class LimitingResource(StrEnum):
    PANEL_PORTS = "panel ports"
    SWITCH_PORTS = "switch ports"
    POWER = "power over Ethernet"
    UNITS = "rack units"
    DEPTH = "depth"
    PATHWAY = "pathway"
    UPLINK = "uplink"
    ENCLOSURE = "enclosure"


@dataclass(frozen=True, slots=True)
class Bottleneck:
    resource: LimitingResource
    basis: Basis


def bottleneck_as_mounted(ground: SiteCapacity) -> Bottleneck:
    """What runs out first of what is mounted."""
    panel = sum(bay.panel_ports for bay in ground.enclosures)
    switch = sum(bay.switch_ports for bay in ground.enclosures)
    unpowered = sum(len(bay.unpowered_access_ports) for bay in ground.enclosures)
    if (
        ground.fits_as_mounted
        < MAX_DROPS - ground.allocate_free_ports(MAX_DROPS, crossed=True, limited=False).drops_left
    ):
        return _pathway_bottleneck(ground)
    panels = [free.item for bay in ground.enclosures for free in bay.panels]
    switches = [free.item for bay in ground.enclosures for free in bay.switches]
    if panel <= switch:
        words = f"{panel} free panel ports for {ground.request.cable}, {switch} free switch ports"
        return Bottleneck(LimitingResource.PANEL_PORTS, Basis(words, item_keys(panels)))
    words = f"{switch} free switch ports, {panel} free panel ports for {ground.request.cable}"
    if ground.request.poe_watts and unpowered:
        words = (
            f"power for {switch} more of class {ground.request.poe_class}, while "
            f"{switch + unpowered} access ports are free"
        )
        return Bottleneck(LimitingResource.POWER, Basis(words, item_keys(switches)))
    return Bottleneck(LimitingResource.SWITCH_PORTS, Basis(words, item_keys(switches)))


def bottleneck_for_more(ground: SiteCapacity, window: bool) -> Bottleneck:
    """What keeps one more drop out."""
    if not ground.enclosures:
        return Bottleneck(LimitingResource.ENCLOSURE, Basis("no enclosure is recorded here"))
    if ground.max_drops(window) < ground.max_drops(window, limited=False):
        return _pathway_bottleneck(ground)
    things = tuple(("enclosure", bay.key) for bay in ground.enclosures)
    free_somewhere = [bay for bay in ground.enclosures if bay.headroom.units.front_free_units]
    depth = ground.rules.switch_depth
    if free_somewhere and all(b.rack.depth and b.rack.depth < depth for b in free_somewhere):
        words = f"no enclosure with free units is {depth:g} mm deep, as a new switch is"
        return Bottleneck(LimitingResource.DEPTH, Basis(words, things))
    if free_somewhere and all(b.lacks_upstream_port for b in free_somewhere):
        words = "no free port of a switch or router is left to feed a new switch from"
        return Bottleneck(LimitingResource.UPLINK, Basis(words, things))
    free = [f"{bay.key}: {free_units_text(bay)}" for bay in ground.enclosures]
    words = "no place for a panel with its switch; free on both faces are " + "; ".join(free)
    if window:
        words += ", with all moved that may be"
    return Bottleneck(LimitingResource.UNITS, Basis(words, things))


def _pathway_bottleneck(ground: SiteCapacity) -> Bottleneck:
    ways = sorted({way for bay in ground.enclosures for way in bay.pathways})
    rooms = [ground.pathways[way] for way in ways]
    left = "; ".join(
        f"{r.record.key}: {r.max_more_cables(ground.request.cable)} more" for r in rooms
    )
    words = f"room in the pathways for {ground.request.cable}: {left}"
    return Bottleneck(
        LimitingResource.PATHWAY, Basis(words, tuple(("pathway", way) for way in ways))
    )


def free_units_text(bay: EnclosureCapacity) -> str:
    return units_text(bay.headroom.units.free_runs) or "no units"

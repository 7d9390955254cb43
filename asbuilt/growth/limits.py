"""What runs out: of what is mounted, and of the room for more."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from asbuilt.facts.basis import Basis, items, unit_words
from asbuilt.growth.allocation import MOST, SiteCapacity
from asbuilt.growth.enclosure_capacity import EnclosureCapacity


class Shortage(StrEnum):
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
    what: Shortage
    basis: Basis


def mounted_end(ground: SiteCapacity) -> Bottleneck:
    """What runs out first of what is mounted."""
    panel = sum(bay.panel_ports for bay in ground.bays)
    switch = sum(bay.switch_ports for bay in ground.bays)
    unpowered = sum(len(bay.spare_access) for bay in ground.bays)
    if ground.as_mounted < MOST - ground.lay(MOST, crossed=True, limited=False).left:
        return _pathway_end(ground)
    panels = [free.item for bay in ground.bays for free in bay.panels]
    switches = [free.item for bay in ground.bays for free in bay.switches]
    if panel <= switch:
        words = f"{panel} free panel ports for {ground.wanted.cable}, {switch} free switch ports"
        return Bottleneck(Shortage.PANEL_PORTS, Basis(words, items(panels)))
    words = f"{switch} free switch ports, {panel} free panel ports for {ground.wanted.cable}"
    if ground.wanted.watts and unpowered:
        words = (
            f"power for {switch} more of class {ground.wanted.poe_class}, while "
            f"{switch + unpowered} access ports are free"
        )
        return Bottleneck(Shortage.POWER, Basis(words, items(switches)))
    return Bottleneck(Shortage.SWITCH_PORTS, Basis(words, items(switches)))


def room_end(ground: SiteCapacity, window: bool) -> Bottleneck:
    """What keeps one more drop out."""
    if not ground.bays:
        return Bottleneck(Shortage.ENCLOSURE, Basis("no enclosure is recorded here"))
    if ground.takes(window) < ground.takes(window, limited=False):
        return _pathway_end(ground)
    things = tuple(("enclosure", bay.key) for bay in ground.bays)
    free_somewhere = [bay for bay in ground.bays if bay.room.units.front_free]
    depth = ground.rules.switch_depth
    if free_somewhere and all(b.rack.depth and b.rack.depth < depth for b in free_somewhere):
        words = f"no enclosure with free units is {depth:g} mm deep, as a new switch is"
        return Bottleneck(Shortage.DEPTH, Basis(words, things))
    if free_somewhere and all(b.unfed for b in free_somewhere):
        words = "no free port of a switch or router is left to feed a new switch from"
        return Bottleneck(Shortage.UPLINK, Basis(words, things))
    free = [f"{bay.key}: {free_words(bay)}" for bay in ground.bays]
    words = "no place for a panel with its switch; free on both faces are " + "; ".join(free)
    if window:
        words += ", with all moved that may be"
    return Bottleneck(Shortage.UNITS, Basis(words, things))


def _pathway_end(ground: SiteCapacity) -> Bottleneck:
    ways = sorted({way for bay in ground.bays for way in bay.ways})
    rooms = [ground.pathways[way] for way in ways]
    left = "; ".join(f"{r.record.key}: {r.more(ground.wanted.cable)} more" for r in rooms)
    words = f"room in the pathways for {ground.wanted.cable}: {left}"
    return Bottleneck(Shortage.PATHWAY, Basis(words, tuple(("pathway", way) for way in ways)))


def free_words(bay: EnclosureCapacity) -> str:
    return unit_words(bay.room.units.runs) or "no units"

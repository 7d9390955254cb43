"""What an answer about growth counts on that the records don't say, and what they leave open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from asbuilt.facts.basis import Basis, item_keys
from asbuilt.growth.allocation import SiteCapacity
from asbuilt.growth.enclosure_capacity import HEAVY_KG, MAX_SWITCH_POE, DropRequest
from asbuilt.growth.plan import NEW_SWITCH_UPLINKS, GrowthPlan
from asbuilt.growth.planner import SMALL_PORT_COUNT
from asbuilt.growth.rearrange import LARGE_PORT_COUNT, RackRules
from asbuilt.model.describe import cable_name
from asbuilt.trade.cords import required_cord_length, stock_length
from asbuilt.trade.fill import CABLE_DIAMETERS

#: What a switch takes for itself, in watts (common practice).
SWITCH_DRAW: Final = 60.0


@dataclass(frozen=True, slots=True)
class Assumption:
    """Something counted on that the records don't say."""

    text: str
    source: str = "common practice"


def list_assumptions(rules: RackRules, wanted: DropRequest) -> tuple[Assumption, ...]:
    """All that is counted on, in words."""
    lines = [
        Assumption(
            f"A panel stands within {rules.max_panel_distance} units of the switch that "
            "serves it, so that "
            f"cords of {stock_length(required_cord_length(rules.max_panel_distance)):g} m reach."
        ),
        Assumption(
            f"Between a UPS and a switch that is put near it {rules.ups_clearance} unit "
            "stays free for air."
        ),
        Assumption(
            f"A UPS, and what weighs {HEAVY_KG:g} kg or more, is only moved downwards: weight low."
        ),
        Assumption(
            f"A new panel is {rules.panel_depth:g} mm deep and a new switch "
            f"{rules.switch_depth:g} mm, plugs and bends included, within the usable depth between "
            "closed doors; two things share a unit, front and rear, only where both depths are "
            "recorded and fit."
        ),
        Assumption(
            f"Panels and switches of {SMALL_PORT_COUNT} and {LARGE_PORT_COUNT} ports "
            "take one unit; a new switch "
            f"has {NEW_SWITCH_UPLINKS} uplinks, the first patched to a free port of its "
            "space, the next on it."
        ),
        Assumption(
            "Where a new panel finds no switch within reach, or a switch no panel, one more of "
            "each than the drops fill may be bought."
        ),
        Assumption(
            "Free ports of enclosures in one room may be patched to each other; drops are not "
            "moved to other panels; a switch that only links others takes no drops."
        ),
        Assumption("Drops leave an enclosure by the pathways its other drops name first."),
        Assumption(
            "Items are worked on one after the other, so a second path keeps a link up. What "
            "belongs to somebody else, and reserved units, are left alone."
        ),
        Assumption(
            f"A {cable_name(wanted.cable)} cable is {CABLE_DIAMETERS[wanted.cable]:g} "
            "mm across, as "
            "is usual for "
            "the kind."
        ),
    ]
    if wanted.poe_class is not None:
        lines.append(
            Assumption(
                f"A switch sets aside {wanted.poe_watts:g} W for class {wanted.poe_class}.",
                "IEEE 802.3",
            )
        )
        lines.append(Assumption(f"A new switch of one unit gives {MAX_SWITCH_POE:g} W at most."))
    return tuple(lines)


def unrecorded_remarks(ground: SiteCapacity) -> list[Basis]:
    """What the records leave open that would change the answer."""
    found = []
    for bay in ground.enclosures:
        here = (("enclosure", bay.key),)
        if bay.rack.depth is None:
            words = f"usable depth of {bay.key} not recorded: taken to be enough"
            found.append(Basis(words, here))
        if not bay.has_active_equipment:
            words = f"no switch or router is recorded near {bay.key}: how a new switch is fed "
            found.append(Basis(words + "isn't known", here))
        if bay.panels_without_category:
            words = f"category not recorded, taken to suit {ground.request.cable}"
            found.append(Basis(words, item_keys(bay.panels_without_category)))
        if bay.unsuitable_panels:
            words = f"free ports not counted: category too low for {ground.request.cable}"
            found.append(Basis(words, item_keys(bay.unsuitable_panels)))
        unknown = [
            way for way in bay.pathways if ground.pathways[way].max_more_cables("cat6") is None
        ]
        if not bay.pathways:
            words = f"no pathway is recorded for the drops of {bay.key}: taken to have room"
            found.append(Basis(words, here))
        elif unknown:
            things = tuple(("pathway", way) for way in unknown)
            words = "size of the pathway not recorded: taken to have room"
            found.append(Basis(words, things))
    if not ground.enclosures:
        found.append(Basis("no enclosure is recorded here"))
    return found


def electrical_remarks(ground: SiteCapacity, plan: GrowthPlan | None) -> list[Basis]:
    """What new switches would ask of the circuit, the UPS and the sockets of an enclosure."""
    found = []
    for bay in ground.enclosures if plan else ():
        new = (
            [p for p in plan.placements if p.kind == "switch" and p.enclosure == bay.key]
            if plan
            else []
        )
        if not new:
            continue
        power = bay.headroom.power
        added = sum(SWITCH_DRAW + p.watts for p in new)
        here = (("enclosure", bay.key),)
        for supply in power.supplies:
            if supply.limit is None:
                words = f"circuit of {bay.key}: rating or voltage not recorded"
                found.append(Basis(words, here))
                continue
            total = supply.load.recorded + added
            how = "over" if total > supply.limit else "within"
            words = (
                f"circuit of {bay.key}: {supply.load.recorded:.0f} W recorded and {added:.0f} W "
                f"new make {total:.0f} W, {how} {supply.limit:.0f} W for continuous loads"
            )
            found.append(Basis(words, here))
        for ups in power.ups:
            if ups.limit is not None and ups.load.recorded + added > ups.limit:
                words = (
                    f"on {ups.item.name} the new switches would make "
                    f"{ups.load.recorded + added:.0f} W, over its {ups.limit:.0f} W"
                )
                found.append(Basis(words, item_keys([ups.item.key])))
        strips = [strip for strip in power.strips if strip.free is not None]
        if strips and sum((strip.free or 0) for strip in strips) < len(new):
            words = f"{len(new)} sockets are needed in {bay.key}, fewer are free"
            found.append(Basis(words, item_keys(strip.item.key for strip in strips)))
    return found

"""What an answer about growth counts on that the records don't say, and what they leave open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from asbuilt.facts.basis import Basis, items
from asbuilt.growth.allocation import SiteCapacity
from asbuilt.growth.enclosure_capacity import HEAVY, MOST_POE, DropRequest
from asbuilt.growth.plan import UPLINKS, GrowthPlan
from asbuilt.growth.planner import SMALLER
from asbuilt.growth.rearrange import LARGEST, RackRules
from asbuilt.trade.cords import cord_run, stock_length
from asbuilt.trade.fill import DIAMETERS

#: What a switch takes for itself, in watts (common practice).
OWN_DRAW: Final = 60.0


@dataclass(frozen=True, slots=True)
class Assumption:
    """Something counted on that the records don't say."""

    words: str
    source: str = "common practice"


def assumptions_of(rules: RackRules, wanted: DropRequest) -> tuple[Assumption, ...]:
    """All that is counted on, in words."""
    lines = [
        Assumption(
            f"A panel stands within {rules.reach} units of the switch that serves it, so that "
            f"cords of {stock_length(cord_run(rules.reach)):g} m reach."
        ),
        Assumption(
            f"Between a UPS and a switch that is put near it {rules.air} unit stays free for air."
        ),
        Assumption(
            f"A UPS, and what weighs {HEAVY:g} kg or more, is only moved downwards: weight low."
        ),
        Assumption(
            f"A new panel is {rules.panel_depth:g} mm deep and a new switch "
            f"{rules.switch_depth:g} mm, plugs and bends included, within the usable depth between "
            "closed doors; two things share a unit, front and rear, only where both depths are "
            "recorded and fit."
        ),
        Assumption(
            f"Panels and switches of {SMALLER} and {LARGEST} ports take one unit; a new switch "
            f"has {UPLINKS} uplinks, the first hangs on a free port of its space, the next on it."
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
            "Things are touched one after the other, so a second way round keeps a link up; what "
            "belongs to somebody else, and what is kept free, is left alone."
        ),
        Assumption(
            f"A {wanted.cable} cable is {DIAMETERS[wanted.cable]:g} mm across, as is usual for "
            "the kind."
        ),
    ]
    if wanted.poe_class is not None:
        lines.append(
            Assumption(
                f"A switch sets aside {wanted.watts:g} W for class {wanted.poe_class}.",
                "IEEE 802.3",
            )
        )
        lines.append(Assumption(f"A new switch of one unit gives {MOST_POE:g} W at most."))
    return tuple(lines)


def open_remarks(ground: SiteCapacity) -> list[Basis]:
    """What the records leave open that would change the answer."""
    found = []
    for bay in ground.bays:
        here = (("enclosure", bay.key),)
        if bay.rack.depth is None:
            words = f"usable depth of {bay.key} not recorded: taken to be enough"
            found.append(Basis(words, here))
        if not bay.active:
            words = f"no switch or router is recorded near {bay.key}: how a new switch is fed "
            found.append(Basis(words + "isn't known", here))
        if bay.unsaid:
            words = f"category not recorded, taken to suit {ground.wanted.cable}"
            found.append(Basis(words, items(bay.unsaid)))
        if bay.unfit:
            words = f"free ports not counted: category too low for {ground.wanted.cable}"
            found.append(Basis(words, items(bay.unfit)))
        unknown = [way for way in bay.ways if ground.pathways[way].more("cat6") is None]
        if not bay.ways:
            words = f"no pathway is recorded for the drops of {bay.key}: taken to have room"
            found.append(Basis(words, here))
        elif unknown:
            things = tuple(("pathway", way) for way in unknown)
            words = "size of the pathway not recorded: taken to have room"
            found.append(Basis(words, things))
    if not ground.bays:
        found.append(Basis("no enclosure is recorded here"))
    return found


def electrical_remarks(ground: SiteCapacity, plan: GrowthPlan | None) -> list[Basis]:
    """What new switches would ask of the circuit, the UPS and the sockets of an enclosure."""
    found = []
    for bay in ground.bays if plan else ():
        new = (
            [p for p in plan.placements if p.kind == "switch" and p.enclosure == bay.key]
            if plan
            else []
        )
        if not new:
            continue
        power = bay.room.power
        added = sum(OWN_DRAW + p.watts for p in new)
        here = (("enclosure", bay.key),)
        for supply in power.supplies:
            if supply.limit is None:
                words = f"circuit of {bay.key}: rating or voltage not recorded"
                found.append(Basis(words, here))
                continue
            total = supply.load.stated + added
            how = "over" if total > supply.limit else "within"
            words = (
                f"circuit of {bay.key}: {supply.load.stated:.0f} W recorded and {added:.0f} W "
                f"new make {total:.0f} W, {how} {supply.limit:.0f} W for continuous loads"
            )
            found.append(Basis(words, here))
        for ups in power.ups:
            if ups.limit is not None and ups.load.stated + added > ups.limit:
                words = (
                    f"on {ups.item.name} the new switches would make "
                    f"{ups.load.stated + added:.0f} W, over its {ups.limit:.0f} W"
                )
                found.append(Basis(words, items([ups.item.key])))
        strips = [strip for strip in power.strips if strip.free is not None]
        if strips and sum((strip.free or 0) for strip in strips) < len(new):
            words = f"{len(new)} sockets are needed in {bay.key}, fewer are free"
            found.append(Basis(words, items(strip.item.key for strip in strips)))
    return found

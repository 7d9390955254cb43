"""“Could so many more drops go in, and at what price?”, answered in three tiers.

    without an outage            free ports; new panels and switches in free units
    in an outage window          after the smallest re-racking that makes room
    only by a new enclosure      what is missing

A drop needs a copper panel port and a switch port in the same space, power where it is powered, and
room in the pathway it leaves by. The first tier that suffices is the verdict; the bottleneck is
what runs out on the way to it. Everything counted on is said as an assumption or a remark.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from asbuilt.facts.basis import Basis, item_keys
from asbuilt.facts.headroom import Headroom, headroom_by_enclosure, total_headroom
from asbuilt.growth.allocation import MAX_DROPS, SiteCapacity
from asbuilt.growth.assumptions import (
    Assumption,
    electrical_remarks,
    list_assumptions,
    unrecorded_remarks,
)
from asbuilt.growth.bottleneck import (
    Bottleneck,
    bottleneck_as_mounted,
    bottleneck_for_more,
    free_units_text,
)
from asbuilt.growth.enclosure_capacity import DropRequest
from asbuilt.growth.plan import GrowthPlan, Purchase, merge_purchases, proposed_site
from asbuilt.growth.planner import SMALL_PORT_COUNT, growth_plan, poe_budget_for, switch_text
from asbuilt.growth.rearrange import LARGE_PORT_COUNT, RackRules
from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import suggestion
from asbuilt.records.links import COPPER_CABLES
from asbuilt.trade.fill import CABLE_DIAMETERS
from asbuilt.trade.poe import POWER_CLASSES

#: The numbers of drops people ask for.
TABLE_DROPS: Final = (12, 24, 48, 96)
#: Heights of enclosures as they are sold (common practice), and what each needs beside panels and
#: switches: two units for a UPS.
ENCLOSURE_HEIGHTS: Final = (6, 9, 12, 15, 18, 24, 42)
UPS_UNITS: Final = 2


class GrowthVerdict(StrEnum):
    WITHOUT_OUTAGE = "without an outage"
    OUTAGE_WINDOW = "in an outage window"
    NEW_ENCLOSURE = "only by a new enclosure"
    NEW_PATHWAY = "only by a new pathway"


@dataclass(frozen=True, slots=True)
class GrowthTier:
    """`takes` is the most drops it takes, None where nothing bounds it. `plan` says how those
    asked for go in; None where they don't, or where an earlier tier suffices. `ends_by` is what
    keeps it from taking more."""

    verdict: GrowthVerdict
    max_drops: int | None
    plan: GrowthPlan | None = None
    missing: tuple[Purchase, ...] = ()
    bottleneck: Bottleneck | None = None


@dataclass(frozen=True, slots=True)
class GrowthAnswer:
    """The answer. A question that has none says so in `refused`, and what would be right in
    `hint`; then there is no verdict and there are no tiers."""

    site: Site
    drops: int
    request: DropRequest
    location: str | None = None
    rules: RackRules = RackRules()
    refusal: str = ""
    hint: str = ""
    verdict: GrowthVerdict | None = None
    fits_as_mounted: int = 0
    tiers: tuple[GrowthTier, ...] = ()
    bottleneck: Bottleneck | None = None
    assumptions: tuple[Assumption, ...] = ()
    remarks: tuple[Basis, ...] = ()
    basis: tuple[Basis, ...] = ()

    @property
    def plan(self) -> GrowthPlan | None:
        """How the drops go in under the verdict."""
        return next((tier.plan for tier in self.tiers if tier.plan), None)

    @property
    def missing(self) -> tuple[Purchase, ...]:
        return next((tier.missing for tier in self.tiers if tier.missing), ())

    @property
    def proposed(self) -> Site | None:
        """The site as it would stand (computed anew each time)."""
        return proposed_site(self.site, self.plan) if self.plan else None


@dataclass(frozen=True, slots=True)
class RemainingCapacity:
    """What is left after the drops are in: the room there is, how many more fit."""

    headroom: Headroom
    fits_as_mounted: int
    fits_without_outage: int


def growth_answer(
    site: Site,
    net: CablingGraph,
    drops: int,
    poe_class: int | None = None,
    at: str | None = None,
    cable: str = "cat6",
    rules: RackRules | None = None,
) -> GrowthAnswer:
    """Whether so many drops of a kind go in, in a room or enclosure (`at`) or anywhere."""
    wanted = DropRequest(cable, poe_class)
    refused, hint = _refusal(site, wanted, at, drops)
    if refused:
        return GrowthAnswer(site, drops, wanted, at, refusal=refused, hint=hint)
    return _answer(SiteCapacity(site, net, wanted, at, rules or RackRules()), drops)


def growth_table(
    site: Site,
    net: CablingGraph,
    poe_class: int | None = None,
    at: str | None = None,
    cable: str = "cat6",
    rules: RackRules | None = None,
) -> tuple[GrowthAnswer, ...]:
    """The answers for 12, 24, 48 and 96 drops and for the most that go in without an outage."""
    wanted = DropRequest(cable, poe_class)
    refused, hint = _refusal(site, wanted, at)
    if refused:
        return (GrowthAnswer(site, TABLE_DROPS[0], wanted, at, refusal=refused, hint=hint),)
    ground = SiteCapacity(site, net, wanted, at, rules or RackRules())
    most = ground.max_drops(window=False)
    return tuple(_answer(ground, drops) for drops in sorted({*TABLE_DROPS, most} - {0}))


def max_drops_without_outage(
    site: Site, poe_class: int | None = None, at: str | None = None, cable: str = "cat6"
) -> int:
    """The most drops that go in without an outage; 0 where the question has no answer."""
    wanted = DropRequest(cable, poe_class)
    if _refusal(site, wanted, at)[0]:
        return 0
    return SiteCapacity(site, None, wanted, at, RackRules()).max_drops(window=False)


def remaining_capacity(growth: GrowthAnswer, after: Site | None = None) -> RemainingCapacity | None:
    """What is left after the drops are in; None where they don't go in. `after` is the site as
    proposed, where it is at hand."""
    after = after or growth.proposed
    if after is None:
        return None
    ground = SiteCapacity(after, None, growth.request, growth.location, growth.rules)
    return RemainingCapacity(
        total_headroom(headroom_by_enclosure(after)),
        ground.fits_as_mounted,
        ground.max_drops(window=False),
    )


def _refusal(site: Site, wanted: DropRequest, at: str | None, drops: int = 1) -> tuple[str, str]:
    if drops < 1:
        return f"{drops} drops is no number of drops to add", "ask for 1 or more"
    if drops > MAX_DROPS:
        return f"{drops} drops is more than is answered for", f"ask for {MAX_DROPS} at most"
    if wanted.poe_class is not None and wanted.poe_class not in POWER_CLASSES:
        hint = f"IEEE 802.3 has classes {min(POWER_CLASSES)} to {max(POWER_CLASSES)}"
        return f"there is no power class {wanted.poe_class}", hint
    if wanted.cable not in COPPER_CABLES:
        otherwise = f"one of: {', '.join(COPPER_CABLES)}"
        hint = suggestion(wanted.cable, COPPER_CABLES, otherwise)
        return f"“{wanted.cable}” is no copper cable for a drop", hint
    if at is not None and at not in site.rooms and at not in site.enclosures:
        known = (*site.enclosures, *site.rooms)
        hint = suggestion(at, known, "name a room or an enclosure of the site")
        return f"there is no room and no enclosure “{at}”", hint
    return "", ""


def _answer(ground: SiteCapacity, drops: int) -> GrowthAnswer:
    now = ground.allocate_without_outage(drops)
    later = None if now else ground.allocate_in_window(drops)
    plan, plan_later = (growth_plan(ground, laid) if laid else None for laid in (now, later))
    ends, ends_later = (
        bottleneck_for_more(ground, window=False),
        bottleneck_for_more(ground, window=True),
    )
    last = _last_verdict(ground, drops)
    if plan:
        verdict, bottleneck = GrowthVerdict.WITHOUT_OUTAGE, bottleneck_as_mounted(ground)
    elif plan_later:
        verdict, bottleneck = GrowthVerdict.OUTAGE_WINDOW, ends
    else:
        verdict, bottleneck = last, ends_later
    missing = () if plan or plan_later else _purchases_needed(ground, drops, last)
    return GrowthAnswer(
        ground.site,
        drops,
        ground.request,
        ground.location,
        ground.rules,
        verdict=verdict,
        fits_as_mounted=ground.fits_as_mounted,
        tiers=(
            GrowthTier(
                GrowthVerdict.WITHOUT_OUTAGE, ground.max_drops(False), plan, bottleneck=ends
            ),
            GrowthTier(
                GrowthVerdict.OUTAGE_WINDOW,
                ground.max_drops(True),
                plan_later,
                bottleneck=ends_later,
            ),
            GrowthTier(last, None, missing=missing),
        ),
        bottleneck=bottleneck,
        assumptions=list_assumptions(ground.rules, ground.request),
        remarks=(*unrecorded_remarks(ground), *electrical_remarks(ground, plan or plan_later)),
        basis=_basis(ground),
    )


def _last_verdict(ground: SiteCapacity, drops: int) -> GrowthVerdict:
    """What it takes when neither tier suffices: only a pathway, where units and ports would do."""
    would_do = drops <= ground.max_drops(window=True, limited=False)
    return GrowthVerdict.NEW_PATHWAY if would_do else GrowthVerdict.NEW_ENCLOSURE


def _purchases_needed(
    ground: SiteCapacity, drops: int, last: GrowthVerdict
) -> tuple[Purchase, ...]:
    """What has to be had beside what goes in without an outage (or, where only a pathway is
    wanting, in a window)."""
    place = f"place in a pathway for {ground.request.cable}"
    if last is GrowthVerdict.NEW_PATHWAY:
        window = drops > ground.max_drops(window=False, limited=False)
        return (Purchase(drops - ground.max_drops(window), place),)
    fitting = ground.max_drops(window=False, limited=False)
    rest = drops - fitting
    panels, switches = -(-rest // LARGE_PORT_COUNT), -(-rest // ground.request.drops_per_switch)
    units = panels + switches + UPS_UNITS
    each = next((height for height in ENCLOSURE_HEIGHTS if height >= units), ENCLOSURE_HEIGHTS[-1])
    lines = [Purchase(-(-units // each), f"enclosure of {each} U", f"{units} U are needed")]
    lines += [Purchase(n, f"{size}-port panel") for size, n in _panel_sizes(rest)]
    lines += _switches_for(ground.request, rest)
    lines.append(Purchase(1, "backbone link", "feeds the new switches"))
    short = fitting - ground.max_drops(window=False)
    return (*lines, Purchase(short, place)) if short else tuple(lines)


def _panel_sizes(ports: int) -> list[tuple[int, int]]:
    """How many panels of which size so many ports take: the large ones first."""
    full, rest = divmod(ports, LARGE_PORT_COUNT)
    if rest > SMALL_PORT_COUNT:
        full, rest = full + 1, 0
    return [
        (size, n)
        for size, n in ((LARGE_PORT_COUNT, full), (SMALL_PORT_COUNT, 1 if rest else 0))
        if n
    ]


def _switches_for(wanted: DropRequest, drops: int) -> tuple[Purchase, ...]:
    full, rest = divmod(drops, wanted.drops_per_switch)
    return merge_purchases(
        Purchase(
            count,
            switch_text(
                SMALL_PORT_COUNT if ports <= SMALL_PORT_COUNT else LARGE_PORT_COUNT,
                poe_budget_for(ports * wanted.poe_watts),
            ),
        )
        for count, ports in ((full, wanted.drops_per_switch), (1, rest))
        if count and ports
    )


def _basis(ground: SiteCapacity) -> tuple[Basis, ...]:
    lines = []
    for bay in ground.enclosures:
        for what, free in (("panel", bay.panels), ("switch", bay.switches)):
            ports = ", ".join(f"{len(f.ports)} of {f.item.partition('/')[2]}" for f in free)
            words = f"{bay.key}: free {what} ports: {ports or 'none'}"
            lines.append(Basis(words, item_keys(f.item for f in free)))
        words = f"{bay.key}: free on both faces: {free_units_text(bay)}"
        lines.append(Basis(words, (("enclosure", bay.key),)))
    for way in sorted({way for bay in ground.enclosures for way in bay.pathways}):
        more = ground.pathways[way].max_more_cables(ground.request.cable)
        known = "a number not known of" if more is None else str(more)
        words = (
            f"pathway {way}: {known} more {ground.request.cable} of "
            f"{CABLE_DIAMETERS[ground.request.cable]:g} mm"
        )
        lines.append(Basis(words, (("pathway", way),)))
    return tuple(lines)

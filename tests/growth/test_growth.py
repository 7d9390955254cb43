"""Whether more drops go in, on cabinets small enough to think through, and on random ones held
against the rules as they are stated."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from asbuilt.checks.all_checks import check_site
from asbuilt.drawings.elevation import draw_elevation
from asbuilt.drawings.sheet import TitleBlock
from asbuilt.facts.headroom import headroom_by_enclosure, total_headroom
from asbuilt.facts.pathways import pathway_headroom
from asbuilt.growth.answers import (
    TABLE_DROPS,
    GrowthAnswer,
    GrowthVerdict,
    growth_answer,
    growth_table,
    max_drops_without_outage,
    remaining_capacity,
)
from asbuilt.growth.bottleneck import LimitingResource
from asbuilt.growth.enclosure_capacity import (
    DropRequest,
    allowed_steps,
    enclosure_capacity,
    serves_drops,
)
from asbuilt.growth.rearrange import RackAction, RackRules
from asbuilt.model.paths import cabling_graph, nodes_of, outlets_without_service, paths_of
from asbuilt.model.site import Site
from asbuilt.problem import Level
from asbuilt.records.enclosures import Switch
from asbuilt.records.fields import PortId
from tests.cabinets import cords, jacks, site_from

SITE = """
name: Harbour Lane
circuits:
  main: {lands on: 1A/R1/WAN}
rooms: {"101": {}, "110": {}, "210": {}}
"""

#: A wall cabinet with eight units free: a panel and a switch half used, a router, a UPS.
ROOMY = """
room: "110"
height: 12 U
depth: 450 mm
front:
  12:  {panel: A, ports: 24, category: 6, depth: 60 mm}
  11:  {switch: SW1, ports: 24, uplinks: 4, poe: 370 W, depth: 260 mm, fed by: UPS1}
  3:   {router: R1, ports: 4, named ports: [WAN], depth: 180 mm}
  1-2: {ups: UPS1, output: 900 W, depth: 400 mm}
patching:
  SW1/25: {to: R1/1}
""" + cords("A", "SW1", 1, 12)
ROOMY_OUTLETS = jacks("1A/A", 1, 12, serves="desk", length="20 m")

#: The same cabinet grown full: a panel of two units, a manager, a shelf, no unit free.
FULL = """
room: "110"
height: 8 U
depth: 450 mm
front:
  7-8: {panel: A, ports: 24, category: 6, depth: 60 mm}
  6:   {manager: M1, depth: 70 mm}
  5:   {switch: SW1, ports: 48, uplinks: 2, poe: 740 W, depth: 260 mm}
  4:   {shelf: SH1, depth: 300 mm}
  3:   {router: R1, ports: 4, named ports: [WAN], depth: 180 mm}
  1-2: {ups: UPS1, output: 900 W, depth: 400 mm}
patching:
  SW1/49: {to: R1/1}
""" + cords("A", "SW1", 1, 20)
FULL_OUTLETS = jacks("1A/A", 1, 20, serves="desk") + jacks("1A/A", 21, 24, serves="desk")


@pytest.fixture(name="roomy", scope="module")
def _roomy() -> Site:
    return site_from(site=SITE, e_1A=ROOMY, outlets=ROOMY_OUTLETS)


@pytest.fixture(name="full", scope="module")
def _full() -> Site:
    return site_from(site=SITE, e_1A=FULL, outlets=FULL_OUTLETS)


def ask(site: Site, drops: int, poe: int | None = None, at: str | None = None) -> GrowthAnswer:
    return growth_answer(site, cabling_graph(site), drops, poe, at)


# Without an outage


def test_free_ports_are_enough(roomy: Site) -> None:
    growth = ask(roomy, 12)
    assert growth.verdict is GrowthVerdict.WITHOUT_OUTAGE
    assert growth.fits_as_mounted == 12
    assert (
        growth.bottleneck is not None and growth.bottleneck.resource is LimitingResource.PANEL_PORTS
    )
    plan = growth.plan
    assert plan is not None
    assert plan.drops == 12
    assert plan.placements == () and plan.moves == () and plan.interrupted_outlets == ()
    (patch,) = plan.patches
    assert (patch.panel, patch.switch, patch.cord) == ("1A/A", "1A/SW1", 0.3)
    assert patch.ports[0] == (PortId("1A/A", "13"), PortId("1A/SW1", "13"))
    # twelve short cords, and cable for twelve drops as long as those there
    assert [str(line) for line in plan.purchases] == [
        "12 × 0.3 m cord",
        "240 × m of Cat 6 cable (12 × the median of the 12 lengths recorded at 1A)",
    ]


def test_one_more_needs_a_panel_and_a_switch(roomy: Site) -> None:
    plan = ask(roomy, 13).plan
    assert plan is not None
    panel, switch = plan.placements
    assert (panel.kind, panel.ports, panel.name) == ("panel", 24, "B")
    assert (switch.kind, switch.ports, switch.name) == ("switch", 24, "SW2")
    assert abs(panel.at[0] - switch.at[0]) == 1
    assert panel.at[0] > switch.at[0] > 4  # within the free units, away from the UPS
    assert sum(len(patch.ports) for patch in plan.patches) == 13
    (feed,) = plan.uplinks
    assert (str(feed.uplink), str(feed.to)) == ("1A/SW2/25", "1A/SW1/26")
    bought = [str(line) for line in plan.purchases]
    assert "1 × 24-port panel, Cat 6" in bought
    assert "1 × 24-port switch" in bought


def test_the_largest_fits_and_one_more_does_not(roomy: Site) -> None:
    most = max_drops_without_outage(roomy)
    # units 4 to 10 are free: three panels and three switches of 48 in six of them, and a fourth
    # panel for the twelve switch ports there are
    assert most == 12 + 3 * 48
    assert ask(roomy, most).verdict is GrowthVerdict.WITHOUT_OUTAGE
    beyond = ask(roomy, most + 1)
    assert beyond.verdict is not GrowthVerdict.WITHOUT_OUTAGE
    assert beyond.tiers[0].max_drops == most


def test_power_runs_out_before_ports(roomy: Site) -> None:
    # 370 W are 12 devices of class 4 (30 W each, IEEE 802.3); 6 of class 5 (45 W) and up fewer
    assert ask(roomy, 1, 4).fits_as_mounted == 12
    growth = ask(roomy, 9, 5)
    assert growth.fits_as_mounted == 8
    assert growth.bottleneck is not None and growth.bottleneck.resource is LimitingResource.POWER
    plan = growth.plan
    assert plan is not None
    (switch,) = [placed for placed in plan.placements if placed.kind == "switch"]
    assert switch.watts == 45
    assert switch.poe == 130


def test_a_new_switch_gives_so_much_and_no_more(roomy: Site) -> None:
    # class 8 is 90 W at the switch: 1440 W are 16 devices
    wanted = DropRequest(poe_class=8)
    assert wanted.drops_per_switch == 16
    plan = ask(roomy, 4 + 17, 8).plan
    assert plan is not None
    assert sum(placed.kind == "switch" for placed in plan.placements) == 2
    assert all((placed.poe or 0) <= 1440 for placed in plan.placements)


def test_a_category_too_low_is_not_counted(roomy: Site) -> None:
    growth = growth_answer(roomy, cabling_graph(roomy), 12, cable="cat6A")
    assert growth.fits_as_mounted == 0
    assert any("category too low for cat6A" in remark.text for remark in growth.remarks)
    assert growth.proposed is not None
    assert growth.proposed.items["1A/B"].category == "6A"  # type: ignore[attr-defined]


def test_only_free_ports_count(roomy: Site) -> None:
    bad = "dead: [13], abandoned: [14], reserved: [15-18], unknown: [19-24]"
    cabinet = ROOMY.replace("{panel: A,", f"{{panel: A, {bad},")
    site = site_from(site=SITE, e_1A=cabinet, outlets=ROOMY_OUTLETS)
    assert ask(site, 1).fits_as_mounted == 0


def test_a_camera_that_says_no_class_takes_its_share() -> None:
    outlets = ROOMY_OUTLETS.replace("serves: desk", "serves: camera", 1)
    site = site_from(site=SITE, e_1A=ROOMY.replace("370 W", "46 W"), outlets=outlets)
    # 46 W less the 15.4 W of class 0: one more of class 3 (15.4 W), not two
    assert ask(site, 1, 3).fits_as_mounted == 1


def test_neighbours_in_one_room_are_patched_to_each_other() -> None:
    site = site_from(
        site="name: Harbour Lane\nrooms: {'110': {}, '210': {}}\n",
        e_1A='room: "110"\nheight: 1 U\nfront:\n  1: {panel: A, ports: 24, category: 6}\n',
        e_1B='room: "110"\nheight: 1 U\nfront:\n  1: {switch: SW1, ports: 24}\n',
        e_2A='room: "210"\nheight: 1 U\nfront:\n  1: {switch: SW1, ports: 24}\n',
    )
    growth = ask(site, 24)
    assert growth.fits_as_mounted == 24
    assert growth.plan is not None
    (patch,) = growth.plan.patches
    assert (patch.panel, patch.switch, patch.cord) == ("1A/A", "1B/SW1", 3.0)


def test_at_a_room_or_an_enclosure() -> None:
    outlets = jacks("1A/A", 1, 1)
    small = 'room: "{}"\nheight: 2 U\nfront:\n  2: {{panel: A, ports: 24, category: 6}}\n  1: {{switch: SW1, ports: {}}}\n'
    site = site_from(
        site="name: Harbour Lane\nrooms: {'110': {}, '210': {}}\n",
        e_1A=small.format("110", 12),
        e_2A=small.format("210", 24),
        outlets=outlets,
    )
    assert ask(site, 1).fits_as_mounted == 12 + 24
    assert ask(site, 1, at="210").fits_as_mounted == 24
    assert ask(site, 1, at="1A").fits_as_mounted == 12


def test_a_core_switch_takes_no_drops() -> None:
    text = """
room: "110"
height: 4 U
front:
  4: {panel: A, ports: 24, category: 6}
  3: {switch: SW1, ports: 8, uplinks: 2}
  2: {switch: CORE, ports: 24}
patching:
  A/01: {to: SW1/01}
  SW1/09: {to: CORE/01}
"""
    site = site_from(
        site=SITE.replace("main: {lands on: 1A/R1/WAN}", "main: {}"),
        e_1A=text,
        outlets=jacks("1A/A", 1, 1),
    )
    core = site.items["1A/CORE"]
    assert isinstance(core, Switch) and not serves_drops(site, core)
    assert ask(site, 1).fits_as_mounted == 7
    # it feeds the new one
    bay = enclosure_capacity(site, site.enclosures["1A"], DropRequest())
    assert bay.upstream_ports[0] == PortId("1A/CORE", "2")


def test_units_are_told_as_they_are_printed(roomy: Site) -> None:
    turned = ROOMY.replace("height: 12 U", "height: 12 U\nnumbered from: top")
    for low, high in ((12, 1), (11, 2), (3, 10)):
        turned = turned.replace(f"\n  {low}: ", f"\n  x{high}: ")
    turned = turned.replace("x", "").replace("1-2:", "11-12:")
    site = site_from(site=SITE, e_1A=turned, outlets=ROOMY_OUTLETS)
    down, up = ask(site, 13).plan, ask(roomy, 13).plan
    assert down is not None and up is not None
    assert [13 - placed.at[0] for placed in down.placements] == [p.at[0] for p in up.placements]


# In an outage window


def test_the_smallest_re_racking(full: Site) -> None:
    growth = ask(full, 24)
    # 28 switch ports are free and no panel port. Taking the manager out would open a unit, but
    # over it run the cords of all 20 patched drops; so does putting the panel onto one unit,
    # which has 24 ports more itself. The shelf can be moved nowhere.
    assert growth.verdict is GrowthVerdict.OUTAGE_WINDOW
    assert growth.bottleneck is not None and growth.bottleneck.resource is LimitingResource.UNITS
    plan = growth.plan
    assert plan is not None
    assert plan.proved_smallest
    (move,) = plan.moves
    assert len(plan.interrupted_outlets) == 20
    assert move.action in (RackAction.TO_ONE_UNIT, RackAction.TAKE_OUT)
    assert plan.interrupted_outlets == outlets_without_service(
        cabling_graph(full), nodes=nodes_of(full, full.items["1A/A"])
    )


def test_moving_a_shelf_interrupts_nobody() -> None:
    # unit 4 is free but five units from where cords reach; the shelf stands at 10
    text = """
room: "110"
height: 16 U
depth: 450 mm
front:
  16:   {switch: SW1, ports: 48, uplinks: 2, depth: 260 mm}
  15:   {panel: A, ports: 24, category: 6, depth: 60 mm}
  11-14: {device: D1, does: recorder, depth: 400 mm}
  10:   {shelf: SH1, depth: 300 mm}
  5-9:  {reserve: RES1}
  1-3:  {ups: UPS1, depth: 400 mm}
patching:
""" + cords("A", "SW1", 1, 24)
    site = site_from(
        site="name: Harbour Lane\nrooms: {'110': {}}\n", e_1A=text, outlets=jacks("1A/A", 1, 24)
    )
    growth = ask(site, 24)
    assert growth.verdict is GrowthVerdict.OUTAGE_WINDOW
    plan = growth.plan
    assert plan is not None and plan.proved_smallest
    (move,) = plan.moves
    assert (move.action, move.key, move.from_units, move.to_units) == (
        RackAction.MOVE,
        "1A/SH1",
        (10, 10),
        (4, 4),
    )
    assert plan.interrupted_outlets == ()
    assert [placed.at for placed in plan.placements] == [(10, 10)]


def test_a_swapped_switch_keeps_everybody_on() -> None:
    text = """
room: "110"
height: 2 U
depth: 450 mm
front:
  2: {panel: A, ports: 48, category: 6, depth: 60 mm}
  1: {switch: SW1, ports: 24, uplinks: 2, depth: 260 mm, dead: [24]}
without U:
  - {router: R1, ports: 4, named ports: [WAN], where: on the wall}
patching:
  SW1/25: {to: R1/1}
""" + cords("A", "SW1", 1, 23)
    site = site_from(site=SITE, e_1A=text, outlets=jacks("1A/A", 1, 23))
    growth = ask(site, 20)
    plan = growth.plan
    assert growth.verdict is GrowthVerdict.OUTAGE_WINDOW and plan is not None
    (move,) = plan.moves
    assert (move.action, move.key) == (RackAction.SWAP, "1A/SW1")
    assert len(plan.interrupted_outlets) == 23
    assert "1 × 48-port switch (in place of SW1 of 1A)" in [str(line) for line in plan.purchases]
    after = growth.proposed
    assert after is not None
    # Uplinks are numbered on after the access ports: the cord to the router moved with them.
    assert after.ports[PortId("1A/SW1", "49")].cords
    assert not after.ports[PortId("1A/SW1", "25")].cords or after.cords["1A/A/25"]
    net = cabling_graph(after)
    assert all(path.complete for o in after.outlets.values() for path in paths_of(net, o))


def test_what_is_somebody_else_s_is_left_alone(full: Site) -> None:
    text = FULL.replace("{manager: M1,", "{manager: M1, owner: Northmere Telecom,")
    text = text.replace("{panel: A,", "{panel: A, owner: Northmere Telecom,")
    site = site_from(site=SITE, e_1A=text, outlets=FULL_OUTLETS)
    bay = enclosure_capacity(site, site.enclosures["1A"], DropRequest())
    assert {step.key for step in allowed_steps(site, bay, None)} == {
        "1A/SW1",
        "1A/SH1",
        "1A/R1",
        "1A/UPS1",
    }
    assert ask(site, 24).verdict is GrowthVerdict.NEW_ENCLOSURE


def test_a_ups_takes_down_what_it_feeds() -> None:
    fed = FULL.replace("{switch: SW1,", "{switch: SW1, fed by: UPS1,")
    site = site_from(site=SITE, e_1A=fed, outlets=FULL_OUTLETS)
    net = cabling_graph(site)
    bay = enclosure_capacity(site, site.enclosures["1A"], DropRequest())
    dark = {
        step.key: step.interrupts
        for step in allowed_steps(site, bay, net)
        if step.action is RackAction.MOVE
    }
    assert len(dark["1A/UPS1"]) == 20
    assert dark["1A/SH1"] == frozenset()
    assert dark["1A/R1"] == frozenset(
        outlets_without_service(net, nodes=nodes_of(site, site.items["1A/R1"]))
    )


def test_cords_over_a_manager_are_changed_for_short_ones(full: Site) -> None:
    text = FULL.replace("7-8: {panel: A, ports: 24", "7-8: {panel: A, ports: 48").replace(
        "poe: 740 W, ", ""
    )
    text = text.replace("category: 6,", "category: 6, reserved: [25-48],")
    site = site_from(site=SITE, e_1A=text.replace("1A/A", "1A/A"), outlets=FULL_OUTLETS)
    plan = ask(site, 24).plan
    assert plan is not None
    bought = [str(line) for line in plan.purchases]
    if plan.moves[0].action is RackAction.TAKE_OUT:
        assert any("in place of those over M1" in line for line in bought)
    assert len(plan.interrupted_outlets) == 20


# Only by a new enclosure


def test_what_is_missing(full: Site) -> None:
    growth = ask(full, 300)
    assert growth.verdict is GrowthVerdict.NEW_ENCLOSURE
    assert growth.plan is None and growth.proposed is None
    lines = [str(line) for line in growth.missing]
    # seven panels and seven switches of 48 ports, two units for a UPS: 16 U
    assert lines[0] == "1 × enclosure of 18 U (16 U are needed)"
    assert "6 × 48-port panel" in lines and "1 × 24-port panel" in lines
    assert growth.bottleneck is not None and growth.bottleneck.resource is LimitingResource.UNITS


def test_a_full_pathway_is_no_matter_of_units(roomy: Site) -> None:
    outlets = jacks("1A/A", 1, 12, serves="desk", via="C1")
    site = site_from(
        site=SITE,
        e_1A=ROOMY,
        outlets=outlets,
        pathways="C1: {kind: conduit, bore: 40.89 mm}\n",  # 1½ in: 17 of 6.1 mm in all
    )
    growth = ask(site, 12)
    assert [tier.max_drops for tier in growth.tiers] == [5, 5, None]
    assert growth.verdict is GrowthVerdict.NEW_PATHWAY
    assert growth.bottleneck is not None and growth.bottleneck.resource is LimitingResource.PATHWAY
    assert [str(line) for line in growth.missing] == ["7 × place in a pathway for cat6"]
    five = ask(site, 5)
    assert five.plan is not None and five.plan.cables_by_pathway == (("C1", 5),)
    assert five.proposed is not None
    assert pathway_headroom(five.proposed)[0].max_more_cables("cat6") == 0


def test_too_shallow_for_a_switch() -> None:
    text = ROOMY.replace("depth: 450 mm\n", "depth: 300 mm\n", 1).replace(
        "depth: 400 mm", "depth: 250 mm"
    )
    site = site_from(site=SITE, e_1A=text, outlets=ROOMY_OUTLETS)
    growth = ask(site, 60)
    assert growth.verdict is GrowthVerdict.NEW_ENCLOSURE
    assert growth.bottleneck is not None and growth.bottleneck.resource is LimitingResource.DEPTH


def test_nothing_to_feed_a_new_switch_from() -> None:
    text = ROOMY.replace("uplinks: 4", "uplinks: 1").replace(
        "ports: 4, named ports", "ports: 1, named ports"
    )
    site = site_from(
        site=SITE,
        e_1A=text + cords("A", "SW1", 13, 24),
        outlets=jacks("1A/A", 1, 24),
    )
    growth = ask(site, 1)
    assert growth.tiers[0].max_drops == 0
    end = growth.tiers[0].bottleneck
    assert end is not None and end.resource is LimitingResource.UPLINK
    # A larger switch in the place of the one there has ports to feed from and to spare.
    assert growth.verdict is GrowthVerdict.OUTAGE_WINDOW


# What is asked


@pytest.mark.parametrize(
    ("drops", "poe", "at", "cable", "refused", "hint"),
    [
        (0, None, None, "cat6", "0 drops is no number of drops to add", "ask for 1 or more"),
        (-1, None, None, "cat6", "-1 drops is no number of drops to add", "ask for 1 or more"),
        (10_001, None, None, "cat6", "10001 drops is more", "ask for 10000 at most"),
        (5, 9, None, "cat6", "there is no power class 9", "IEEE 802.3 has classes 0 to 8"),
        (5, None, "1AA", "cat6", "there is no room and no enclosure “1AA”", "did you mean “1A”?"),
        (5, None, None, "cat66", "“cat66” is no copper cable", "did you mean “cat6”?"),
        (5, None, None, "OS2", "“OS2” is no copper cable for a drop", "one of: cat3,"),
    ],
)
def test_questions_without_an_answer(
    roomy: Site, drops: int, poe: int | None, at: str | None, cable: str, refused: str, hint: str
) -> None:
    growth = growth_answer(roomy, cabling_graph(roomy), drops, poe, at, cable)
    assert growth.refusal.startswith(refused)
    assert growth.hint.startswith(hint)
    assert growth.verdict is None and growth.tiers == () and growth.plan is None
    assert growth.missing == () and growth.proposed is None and remaining_capacity(growth) is None


def test_ten_thousand(roomy: Site) -> None:
    growth = ask(roomy, 10_000)
    assert growth.verdict is GrowthVerdict.NEW_ENCLOSURE
    assert str(growth.missing[0]).startswith("10 × enclosure of 42 U")


def test_no_enclosure() -> None:
    growth = ask(site_from(), 24)
    assert growth.verdict is GrowthVerdict.NEW_ENCLOSURE
    assert (
        growth.bottleneck is not None and growth.bottleneck.resource is LimitingResource.ENCLOSURE
    )
    assert [remark.text for remark in growth.remarks] == ["no enclosure is recorded here"]
    assert str(growth.missing[0]) == "1 × enclosure of 6 U (4 U are needed)"
    assert max_drops_without_outage(site_from()) == 0
    assert [g.verdict for g in growth_table(site_from(), cabling_graph(site_from()))] == [
        GrowthVerdict.NEW_ENCLOSURE
    ] * 4


def test_a_room_without_an_enclosure(roomy: Site) -> None:
    growth = ask(roomy, 24, at="101")
    assert growth.verdict is GrowthVerdict.NEW_ENCLOSURE
    assert growth.refusal == ""


def test_no_switch_recorded() -> None:
    site = site_from(e_1A="height: 6 U\nfront:\n  6: {panel: A, ports: 24}\n")
    growth = ask(site, 24)
    assert growth.verdict is GrowthVerdict.WITHOUT_OUTAGE
    words = " ".join(remark.text for remark in growth.remarks)
    assert "no switch or router is recorded near 1A" in words
    assert "category not recorded, taken to suit cat6" in words
    assert "usable depth of 1A not recorded" in words
    assert growth.plan is not None
    (feed,) = growth.plan.uplinks
    assert feed.to is None
    assert "1 × backbone link (feeds SW1 of 1A)" in [str(line) for line in growth.plan.purchases]


def test_no_lengths_recorded(full: Site) -> None:
    plan = ask(full, 24).plan
    assert plan is not None
    assert not any("cable" in line.what for line in plan.purchases)


def test_nothing_with_a_recorded_unit() -> None:
    text = "height: 6 U\nwithout U:\n  - {panel: A, ports: 24}\n  - {switch: SW1, ports: 24}\n"
    growth = ask(site_from(e_1A=text), 10)
    assert growth.fits_as_mounted == 24
    assert growth.plan is not None and growth.plan.patches[0].cord == 1.0
    more = ask(site_from(e_1A=text), 60)
    assert more.verdict is GrowthVerdict.WITHOUT_OUTAGE


def test_the_table(roomy: Site) -> None:
    rows = growth_table(roomy, cabling_graph(roomy))
    assert [row.drops for row in rows] == [12, 24, 48, 96, 156]
    assert rows == tuple(ask(roomy, drops) for drops in (*TABLE_DROPS, 156))


def test_everything_counted_on_is_said(roomy: Site) -> None:
    growth = ask(roomy, 13, 3)
    words = " ".join(assumption.text for assumption in growth.assumptions)
    for said in ("6 units", "0.5 m", "weight low", "330 mm", "closed doors", "15.4 W", "for air"):
        assert said in words
    assert {a.source for a in growth.assumptions} == {"common practice", "IEEE 802.3"}
    assert not any(word in words.casefold() for word in ("complian", "is safe"))
    assert growth.basis


def test_other_rules_give_other_answers(roomy: Site) -> None:
    net = cabling_graph(roomy)
    deep = growth_answer(roomy, net, 60, rules=replace(RackRules(), switch_depth=460))
    assert deep.tiers[0].max_drops == 24 - 12


# Once more, and the site as it would stand


def test_once_more(roomy: Site) -> None:
    growth = ask(roomy, 13)
    left = remaining_capacity(growth)
    assert left is not None
    # 24 more panel ports, one of them taken; 24 more switch ports, one taken; the first uplink
    # hangs on the router, the second feeds the new switch, which has four of its own
    assert left.headroom.panel_ports.free == 23
    assert left.headroom.access_ports.free == 23
    assert left.headroom.uplink_ports.free == 2 + 3
    assert left.fits_as_mounted == 23
    # five units are left: two panels with their switches
    assert left.fits_without_outage == 23 + 2 * 48


def test_power_left_after(roomy: Site) -> None:
    left = remaining_capacity(ask(roomy, 10, 4))
    assert left is not None and left.headroom.poe is not None
    assert left.headroom.poe.free == pytest.approx(70)


def _title() -> TitleBlock:
    return TitleBlock("Harbour Lane", "1", "proposal", "r", "2025-03-07", "A. Name", "1:10")


@pytest.mark.parametrize("drops", [12, 13, 60])
def test_the_proposed_elevation_is_drawn(roomy: Site, drops: int) -> None:
    growth = ask(roomy, drops)
    assert growth.proposed is not None and growth.plan is not None
    svg = draw_elevation(
        growth.proposed, "1A", "front", _title(), highlight=growth.plan.changed_items
    )
    for placed in growth.plan.placements:
        assert f">{placed.name}" in svg


# Random cabinets


def random_cabinets(seed: int) -> Site:
    """One to three cabinets, crowded more or less, some in one room."""
    rng = Random(seed)
    texts: dict[str, str] = {}
    outlets: list[str] = []
    pathways: list[str] = []
    keys = ("1A", "1B", "2A")[: rng.randint(1, 3)]
    for key in keys:
        height = rng.choice((4, 6, 9, 12))
        at = height
        lines: list[str] = []
        patching: list[str] = []
        panels: list[tuple[str, int]] = []
        switches: list[tuple[str, int]] = []
        number = 0
        while at > 0 and number < 9:
            number += 1
            what = rng.choice(
                ("panel", "panel", "switch", "manager", "shelf", "gap", "ups", "reserve")
            )
            tall = 2 if (what == "ups" or rng.random() < 0.2) and what != "switch" else 1
            if tall > at:
                break
            low, at = at - tall + 1, at - tall
            unit = f"{low}" if tall == 1 else f"{low}-{low + tall - 1}"
            depth = rng.choice(("", ", depth: 60 mm", ", depth: 260 mm"))
            name = f"{what[0].upper()}{number}"
            if what == "panel":
                ports = rng.choice((12, 24, 48))
                panels.append((name, ports))
                state = rng.choice(("", ", dead: [1]", ", reserved: [2, 3]", ", unknown: [12]"))
                lines.append(
                    f"  {unit}: {{panel: {name}, ports: {ports}, category: 6{state}{depth}}}"
                )
            elif what == "switch":
                ports = rng.choice((8, 24, 48))
                switches.append((name, ports))
                poe = rng.choice(("", ", poe: 190 W", ", poe: 370 W"))
                lines.append(
                    f"  {unit}: {{switch: {name}, ports: {ports}, uplinks: {rng.randint(0, 2)}{poe}{depth}}}"
                )
            elif what != "gap":
                lines.append(f"  {unit}: {{{what}: {name}{depth if what != 'reserve' else ''}}}")
        way = rng.choice(("", f", via: W{key}"))
        if way:
            pathways.append(f"W{key}: {{kind: hooks, holds: {rng.randint(20, 90)}}}\n")
        free = [f"{name}/{n:02}" for name, ports in switches for n in range(1, ports + 1)]
        rng.shuffle(free)
        for name, ports in panels:
            for n in range(4, ports + 1):
                if rng.random() < rng.choice((0.2, 0.95)):
                    poe = rng.choice(("", "", ", poe: class 3", ", serves: phone"))
                    outlets.append(
                        f"{key}-{name}{n:02}: {{port: {key}/{name}/{n:02}, cable: cat6{poe}{way}}}\n"
                    )
                    if free and rng.random() < 0.8:
                        patching.append(f"  {name}/{n:02}: {{to: {free.pop()}}}")
        room = rng.choice(("110", "210"))
        depth = rng.choice(("", "depth: 450 mm\n"))
        texts[f"e_{key}"] = (
            "\n".join(
                [
                    f'room: "{room}"',
                    f"height: {height} U",
                    f"{depth}front:",
                    *lines,
                    "patching:",
                    *patching,
                ]
            )
            + "\n"
        )
    return site_from(
        site="name: Harbour Lane\nrooms: {'110': {}, '210': {}}\n",
        outlets="".join(outlets),
        pathways="".join(pathways),
        **texts,
    )


@pytest.mark.parametrize("seed", range(40))
def test_answers_hold_together(seed: int) -> None:
    site = random_cabinets(seed)
    net = cabling_graph(site)
    poe = (None, 3, 8)[seed % 3]
    most = max_drops_without_outage(site, poe)
    for growth in growth_table(site, net, poe):
        now, later, last = growth.tiers
        assert now.max_drops == most
        assert now.max_drops is not None and later.max_drops is not None
        assert growth.fits_as_mounted <= now.max_drops <= later.max_drops
        assert (growth.verdict is GrowthVerdict.WITHOUT_OUTAGE) == (growth.drops <= now.max_drops)
        assert (growth.verdict is GrowthVerdict.OUTAGE_WINDOW) == (
            now.max_drops < growth.drops <= later.max_drops
        )
        assert bool(last.missing) == (growth.plan is None)
        if growth.plan is None:
            assert growth.verdict in (GrowthVerdict.NEW_ENCLOSURE, GrowthVerdict.NEW_PATHWAY)
            continue
        _plan_holds(site, growth)


def _plan_holds(site: Site, growth: GrowthAnswer) -> None:
    plan, after = growth.plan, growth.proposed
    assert plan is not None and after is not None
    net = cabling_graph(site)
    assert plan.drops == growth.drops == sum(len(patch.ports) for patch in plan.patches)
    ports = [port for patch in plan.patches for pair in patch.ports for port in pair]
    assert len(ports) == len(set(ports))
    # nobody is interrupted but by a thing that is touched
    dark = {key for move in plan.moves for key in move.interrupts}
    assert set(plan.interrupted_outlets) == dark
    if growth.verdict is GrowthVerdict.WITHOUT_OUTAGE:
        assert not plan.moves and not dark
    for move in plan.moves:
        item = site.items[move.key]
        if move.action in (RackAction.TO_ONE_UNIT, RackAction.SWAP):
            assert set(move.interrupts) == set(
                outlets_without_service(net, nodes=nodes_of(site, item))
            )
    # the records of the site as it would stand have no error that wasn't there
    errors = [p for p in check_site(after, cabling_graph(after)) if p.level is Level.ERROR]
    before = [p for p in check_site(site, net) if p.level is Level.ERROR]
    assert {p.code for p in errors} <= {p.code for p in before}
    # everything that was there and isn't taken out is there still, patched as it was
    gone = {move.key for move in plan.moves if move.to_units is None}
    assert set(site.items) - gone <= set(after.items)
    assert len(after.cords) == len(site.cords) + plan.drops + sum(
        feed.to is not None for feed in plan.uplinks
    )
    assert len(after.outlets) == len(site.outlets) + plan.drops
    room = total_headroom(headroom_by_enclosure(after))
    assert room.poe is None or all(
        switch.poe is None or switch.poe.allocated <= switch.poe.budget + 1e-6
        for switch in room.switches
        if any(patch.switch == switch.item.key for patch in plan.patches)
        and growth.request.poe_class is not None
    )
    for pathway in pathway_headroom(after):
        held = next(
            room for room in pathway_headroom(site) if room.record.key == pathway.record.key
        )
        assert not pathway.is_overfull or held.is_overfull


@pytest.mark.parametrize("seed", range(0, 40, 4))
def test_the_same_question_has_the_same_answer(seed: int) -> None:
    one, other = random_cabinets(seed), random_cabinets(seed)
    assert ask(one, 24, 3) == ask(other, 24, 3)

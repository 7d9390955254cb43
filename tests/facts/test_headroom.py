"""Room left, on cabinets small enough to count by hand."""

from __future__ import annotations

from typing import Protocol

import pytest

from asbuilt.facts.basis import Basis, ports_text, units_text
from asbuilt.facts.headroom import (
    headroom_by_enclosure,
    headroom_by_space,
    spare_requirements,
    total_headroom,
)
from asbuilt.facts.pathways import fullest_pathway, pathway_headroom
from asbuilt.facts.units import FreeRun
from asbuilt.model.site import PortState, Site
from asbuilt.records.fields import PortId
from tests.cabinets import cords, jacks, site_from
from tests.random_sites import random_site

CABINET = """
room: "110"
height: 12 U
depth: 450 mm
supply limit: 16 A
supply voltage: 230 V
front:
  12:  {panel: A, ports: 24, category: 6, depth: 60 mm, dead: [24], abandoned: [23], reserved: [22], unknown: [21]}
  11:  {switch: SW1, ports: 24, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 100 W, depth: 260 mm, nameplate: 150 W, fed by: UPS1}
  9-10: {manager: M1, depth: 80 mm}
  8:   {router: R1, ports: 4, measured: 12 W, fed by: P1}
  5:   {reserve: RES1, for: a second UPS}
  1-2: {ups: UPS1, output: 900 W, depth: 400 mm, fed by: 1A/P1}
rear:
  4:   {power strip: P1, sockets: 8, in use: 2, depth: 60 mm}
  3:   {device: D1, ports: 2, fed by: UPS1}
patching:
""" + cords("A", "SW1", 1, 8)

OUTLETS = (
    jacks("1A/A", 1, 3, serves="phone", poe="class 2", via="T1")
    + jacks("1A/A", 4, 5, serves="camera", via="[T1, C1]")
    + jacks("1A/A", 6, 8, serves="desk", via="T1")
    + jacks("1A/A", 9, 10, serves="desk", state="spare")
)
PATHWAYS = """
T1: {kind: tray, width: 100 mm, height: 50 mm, others: 4}
C1: {kind: conduit, bore: 20.93 mm}
H1: {kind: hooks, holds: 10}
H2: {kind: hooks}
"""
SITE = """
name: Harbour Lane
spare: two for each ten, the owner's standard of 2019
spare ports: 20 %
spare units: 50 %
spare of: used
rooms: {"110": {}, "120": {}}
"""


@pytest.fixture(name="site", scope="module")
def _site() -> Site:
    return site_from(site=SITE, e_1A=CABINET, outlets=OUTLETS, pathways=PATHWAYS)


def test_units(site: Site) -> None:
    (room,) = headroom_by_enclosure(site)
    units = room.units
    assert (units.total, units.used, units.reserved, units.free) == (12, 9, 1, 2)
    assert units.free_runs == ((6, 7),)
    assert units.largest_run == 2
    # In front of the strip 450 − 60 mm are left; how deep D1 is isn't recorded.
    assert units.front_free_runs == (
        FreeRun(3, 3, None),
        FreeRun(4, 4, 390.0),
        FreeRun(6, 7, 450.0),
    )
    assert units.rear_free_runs[0] == FreeRun(1, 2, 50.0)  # behind the UPS
    assert FreeRun(12, 12, 390.0) in units.rear_free_runs
    assert (units.front_free_units, units.rear_free_units) == (4, 9)


def test_a_full_unit_is_counted_once_whoever_shares_it() -> None:
    halves = "height: 2 U\nfront:\n  1:\n    - {router: R1, part: left}\n    - {router: R2, part: right}\n"
    (room,) = headroom_by_enclosure(site_from(e_1A=halves))
    assert (room.units.used, room.units.free) == (1, 1)


def test_panel_ports_by_state(site: Site) -> None:
    (room,) = headroom_by_enclosure(site)
    ports = room.panel_ports
    assert ports.counts == {
        PortState.IN_USE: 8,
        PortState.CABLED: 2,
        PortState.FREE: 10,
        PortState.DEAD: 1,
        PortState.ABANDONED: 1,
        PortState.RESERVED: 1,
        PortState.UNKNOWN: 1,
    }
    assert (ports.used, ports.free, ports.unavailable, ports.total) == (10, 10, 4, 24)


@pytest.mark.parametrize("seed", range(0, 60, 3))
def test_nothing_counts_twice_and_only_free_is_free(seed: int) -> None:
    site = random_site(seed)
    room = total_headroom(headroom_by_enclosure(site))
    for ports in (room.panel_ports, room.access_ports, room.uplink_ports):
        assert ports.used + ports.free + ports.unavailable == ports.total
        named = [port for found in ports.ids.values() for port in found]
        assert len(named) == len(set(named)) == ports.total
        for port in ports.ids.get(PortState.FREE, ()):
            use = site.ports[port]
            assert not (use.cabled or use.cords or use.circuits)
            item = use.item
            bad = (*item.dead, *item.abandoned, *item.reserved, *item.unknown)
            assert port.name not in bad
    assert room.units.used + room.units.reserved + room.units.free == room.units.total


def test_switch_ports_by_speed(site: Site) -> None:
    (room,) = headroom_by_enclosure(site)
    assert {speed: ports.free for speed, ports in room.access_by_speed.items()} == {"1 Gb/s": 16}
    assert {speed: ports.free for speed, ports in room.uplinks_by_speed.items()} == {"10 Gb/s": 4}
    assert room.drops_that_fit == 10


def test_power_over_ethernet(site: Site) -> None:
    # three phones of class 2 (7.0 W at the switch, IEEE 802.3); two cameras that say no class are
    # set aside class 0, 15.4 W each
    (room,) = headroom_by_enclosure(site)
    assert room.poe is not None
    assert room.poe.allocated_by_class == pytest.approx(21.0)
    assert (room.poe.powered, room.poe.without_class) == (3, 2)
    assert room.poe.allocated == pytest.approx(21.0 + 30.8)
    assert room.poe.free == pytest.approx(48.2)
    assert room.poe.measured is None and room.poe.free_by_measurement is None


def test_measured_power_is_kept_apart() -> None:
    cabinet = CABINET.replace("poe: 100 W,", "poe: 100 W, poe measured: 30 W,")
    (room,) = headroom_by_enclosure(
        site_from(site=SITE, e_1A=cabinet, outlets=OUTLETS, pathways=PATHWAYS)
    )
    assert room.poe is not None
    assert room.poe.measured == 30
    assert room.poe.free_by_measurement == 70
    assert room.poe.free == pytest.approx(48.2)


def test_ups_and_circuit(site: Site) -> None:
    (room,) = headroom_by_enclosure(site)
    (ups,) = room.power.ups
    assert (ups.load.measured, ups.load.nameplate, ups.limit) == (0, 150, 900)
    assert ups.load.unrecorded_items == ("1A/D1",)
    assert ups.free == 750
    (supply,) = room.power.supplies
    # NEC 210.20(A): 80 % of 16 A at 230 V for continuous loads
    assert supply.limit == pytest.approx(2944)
    assert (supply.load.measured, supply.load.nameplate) == (12, 150)
    (strip,) = room.power.strips
    assert (strip.used, strip.free, strip.counted) == (2, 6, False)


def test_heat(site: Site) -> None:
    (room,) = headroom_by_enclosure(site)
    # 162 W in, 21 W of it out over the cables: 141 W stay, 481 BTU/h (1 W = 3.412 BTU/h)
    assert room.power.heat.watts == pytest.approx(141)
    assert room.power.heat.btu_per_hour == pytest.approx(141 * 3.412, rel=1e-4)


def test_a_circle_of_feeds_ends() -> None:
    text = "height: 3 U\nfront:\n  1: {ups: U1, output: 500 W, fed by: U2}\n  2: {ups: U2, fed by: U1}\n  3: {device: D1, measured: 20 W, fed by: U1}\n"
    (room,) = headroom_by_enclosure(site_from(e_1A=text))
    one, other = sorted(room.power.ups, key=lambda ups: ups.item.key)
    assert one.load.recorded == other.load.recorded == 20
    assert other.limit is None and other.free is None


def test_pathways(site: Site) -> None:
    by_key = {room.record.key: room for room in pathway_headroom(site)}
    conduit, bare, hooks, tray = (by_key[key] for key in ("C1", "H2", "H1", "T1"))
    # ¾ in EMT takes four of 6.1 mm in all, or three of 7.6 mm (NEC chapter 9)
    assert (conduit.count, conduit.max_more_cables("cat6"), conduit.max_more_cables("cat6A")) == (
        2,
        2,
        1,
    )
    assert conduit.fill_limit == pytest.approx(0.31)
    assert not conduit.is_overfull
    assert (tray.count, tray.other_cables, tray.bundles) == (12, 4, (1, 12))
    # half of 5000 mm² less 8 × 6.1 mm and 4 × 7.6 mm: 2084.8 mm², 71 more of 29.22 mm²
    assert tray.max_more_cables("cat6") == 71
    assert tray.powered_count == 3
    assert (hooks.max_more_cables("cat6"), hooks.fill_ratio) == (10, None)
    assert bare.max_more_cables("cat6") is None
    tight = fullest_pathway(pathway_headroom(site), "cat6")
    assert tight is not None and tight.record.key == "C1"


def test_a_pathway_past_its_limit_takes_nothing_more() -> None:
    site = site_from(
        e_1A="height: 1 U\nfront:\n  1: {panel: A, ports: 24}\n",
        outlets=jacks("1A/A", 1, 12, via="C1"),
        pathways="C1: {kind: conduit, bore: 20.93 mm}\n",
    )
    (room,) = pathway_headroom(site)
    assert room.is_overfull
    assert room.max_more_cables("cat6") == 0


def test_a_jack_with_two_cables_takes_two_places() -> None:
    site = site_from(
        e_1A="height: 1 U\nfront:\n  1: {panel: A, ports: 24}\n",
        outlets="X1: {port: [1A/A/01, 1A/A/02], cable: cat6, via: H1}\n",
        pathways="H1: {kind: hooks, holds: 10}\n",
    )
    assert pathway_headroom(site)[0].count == 2


def test_the_site_s_own_rule_for_spare(site: Site) -> None:
    ports, units = spare_requirements(site, total_headroom(headroom_by_enclosure(site)))
    # 20 % of the 10 used is 2, and 10 are free; 50 % of 9 units used is 4.5, so 5, and 2 are free
    assert (ports.required, ports.shortfall) == (2, 0)
    assert (units.required, units.shortfall) == (5, 3)
    assert units.text == (
        "50 % of rack units in use (two for each ten, the owner's standard of 2019)"
    )


def test_a_share_says_of_what() -> None:
    rule = "name: Harbour Lane\nspare ports: 25 %\n"
    site = site_from(site=rule, e_1A="height: 1 U\nfront:\n  1: {panel: A, ports: 24}\n")
    (spare,) = spare_requirements(site, total_headroom(headroom_by_enclosure(site)))
    assert spare.required == 6  # of all 24, since it isn't said otherwise
    assert spare.text == "25 % of all panel ports (source not recorded)"
    assert spare_requirements(site_from(), total_headroom(())) == ()


def test_by_space() -> None:
    text = 'room: "{}"\nheight: {} U\n'
    site = site_from(
        site=SITE,
        e_1A=text.format("110", 12),
        e_1B=text.format("110", 9),
        e_2A=text.format("120", 6),
        e_9X="height: 4 U\n",
    )
    spaces = headroom_by_space(headroom_by_enclosure(site))
    assert {key: room.units.total for key, room in spaces.items()} == {"110": 21, "120": 6, None: 4}


class _Figure(Protocol):
    @property
    def basis(self) -> tuple[Basis, ...]: ...


def test_every_figure_opens(site: Site) -> None:
    (room,) = headroom_by_enclosure(site)
    assert room.poe is not None
    figures: list[_Figure] = [
        room.units, room.panel_ports, room.access_ports, room.uplink_ports, room.poe,
        room.power.load, *room.power.ups, *room.power.supplies, room.power.heat,
        *pathway_headroom(site), *spare_requirements(site, room),
    ]  # fmt: skip
    known = {
        "item": site.items, "outlet": site.outlets, "backbone": site.backbones,
        "pathway": site.pathways, "enclosure": site.enclosures,
    }  # fmt: skip
    for figure in figures:
        assert figure.basis, figure
        for line in figure.basis:
            assert line.text
            assert all(key in known[kind] for kind, key in line.records)
    words = " ".join(line.text for line in room.panel_ports.basis)
    assert "10 free: A/11–20" in words
    assert "1 dead: A/24" in words


def test_empty_site() -> None:
    room = total_headroom(headroom_by_enclosure(site_from()))
    assert (room.units.total, room.units.free, room.drops_that_fit, room.poe) == (0, 0, 0, None)
    assert room.power.heat.watts == 0
    assert pathway_headroom(site_from()) == ()


def test_words() -> None:
    ports = [PortId("1A/A", "3"), PortId("1A/A", "4"), PortId("1A/A", "7"), PortId("1A/R1", "WAN")]
    assert ports_text(ports) == "A/03–04, A/07, R1/WAN"
    assert units_text(((3, 7), (12, 12))) == "U 3–7, U 12"

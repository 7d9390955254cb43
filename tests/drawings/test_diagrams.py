"""Diagrams as DOT texts: golden ones as looked at, and counts that hold for any site."""

from __future__ import annotations

import re
from html import unescape

import pytest

from asbuilt.drawings.diagrams import outlet_graph, patching_dot, site_dot
from asbuilt.drawings.graph import dot_of
from asbuilt.drawings.patching_diagram import CordGroup, group_cords
from asbuilt.io.graphviz import render_dots
from asbuilt.model.paths import cabling_graph, paths_of
from asbuilt.model.site import Site
from asbuilt.records.enclosures import PortedItem
from asbuilt.records.fields import PortId
from tests.conftest import Golden
from tests.drawn import MILL, page_of, parsed, site_from, texts, unwelcome
from tests.random_sites import random_site

SITE = site_from(MILL)
NET = cabling_graph(SITE)
SEEDS = range(15)


def nodes(dot: str) -> list[str]:
    return re.findall(r'^\s*"([^"]+)" \[label=', dot, re.MULTILINE)


def edges(dot: str) -> list[tuple[str, str]]:
    return re.findall(r'^\s*"([^"]+)"(?::[\w:]+)? -> "([^"]+)"', dot, re.MULTILINE)


def words(dot: str) -> list[str]:
    """What a reader sees, in the order it is written."""
    return [unescape(text) for text in re.findall(r">([^<>\n]+)<", dot)]


# ---- golden


@pytest.mark.parametrize(
    ("name", "dot"),
    [
        ("site", site_dot(SITE, NET, link=page_of)),
        ("patching-MDF", patching_dot(SITE, "MDF", link=page_of)),
        ("outlet-1A-A01", dot_of(outlet_graph(SITE, NET, "1A-A01", link=page_of))),
        ("outlet-MDF-A04", dot_of(outlet_graph(SITE, NET, "MDF-A04"))),
    ],
)
def test_as_looked_at(name: str, dot: str, golden: Golden) -> None:
    golden(f"drawings/{name}.dot", dot)


# ---- patching: runs


def port(text: str) -> PortId:
    item, _, name = text.partition("/")
    return PortId(item, name)


def told(runs: list[CordGroup]) -> list[str]:
    return [
        f"{run.cords[0][0].item}/{run.port_range(0)} → {run.cords[0][1].item}/{run.port_range(1)} ×{run.count}"
        for run in runs
    ]


@pytest.mark.parametrize(
    ("cords", "runs"),
    [
        ("A/1 S/1, A/2 S/2, A/3 S/3", ["A/01–03 → S/01–03 ×3"]),
        ("A/1 S/3, A/2 S/2, A/3 S/1", ["A/01–03 → S/03–01 ×3"]),
        ("A/1 S/1, A/2 S/2, A/3 S/1", ["A/01–02 → S/01–02 ×2", "A/03 → S/01 ×1"]),
        ("A/1 S/1, A/3 S/3", ["A/01 → S/01 ×1", "A/03 → S/03 ×1"]),
        ("A/1 S/1, A/2 T/2", ["A/01 → S/01 ×1", "A/02 → T/02 ×1"]),
        ("A/1 S/1, A/2 S/9, A/3 S/10", ["A/01 → S/01 ×1", "A/02–03 → S/09–10 ×2"]),
        ("A/9 S/9, A/10 S/10, A/11 S/11", ["A/09–11 → S/09–11 ×3"]),
        ("A/1 R/WAN, A/2 R/MGMT", ["A/01 → R/WAN ×1", "A/02 → R/MGMT ×1"]),
    ],
)
def test_neighbours_are_one_run(cords: str, runs: list[str]) -> None:
    pairs = [pair.split() for pair in cords.split(", ")]
    assert told(group_cords([(port(a), port(b)) for a, b in pairs])) == runs


def test_a_panel_stands_left_of_its_switch_whichever_way_the_cord_is_written() -> None:
    files = {
        "site.yml": "name: X\n",
        "enclosures/1A.yml": """\
height: 4 U
front:
  2: {panel: A, ports: 4}
  1: {switch: S, ports: 4}
patching:
  A/1: {to: S/1}
  S/2: {to: A/2}
""",
    }
    assert edges(patching_dot(site_from(files), "1A")) == [("1A/A", "1A/S")]


@pytest.mark.parametrize("seed", SEEDS)
def test_every_cord_is_told_once(seed: int) -> None:
    site = random_site(seed)
    for key in site.enclosures:
        dot = patching_dot(site, key)
        counts = [int(n) for n in re.findall(r">(\d+) cords<", dot)]
        singly = len(edges(dot)) - len(counts)
        touching = [c for c in site.cords.values() if key in (c.from_.enclosure, c.to.enclosure)]
        assert sum(counts) + singly == len(touching)


def test_no_cord_is_said() -> None:
    assert words(patching_dot(SITE, "DYE")) == ["No cord is recorded."]


def test_ports_that_aren_t_in_use_are_counted() -> None:
    assert "1 cabled, not patched; 15 free; 1 dead; 1 abandoned; 1 reserved; 1 unknown" in words(
        patching_dot(SITE, "MDF")
    )


# ---- the path of an outlet


@pytest.mark.parametrize("seed", SEEDS)
def test_a_path_passes_what_the_model_passes(seed: int) -> None:
    """The nodes of the diagram are the jacks, panel ports, devices and circuits of `paths_of`."""
    site = random_site(seed)
    net = cabling_graph(site)
    for outlet in site.outlets.values():
        dot = dot_of(outlet_graph(site, net, outlet.key))
        paths = paths_of(net, outlet)
        passed = {f"jack {outlet.key}"}
        for path in paths:
            for node in path.nodes:
                item = site.items.get(node.key.rpartition("/")[0])
                if node.kind == "port" and isinstance(item, PortedItem):
                    passed.add(f"port {node.key}" if item.role == "panel" else f"device {item.key}")
                else:
                    passed.add(f"{node.kind} {node.key}")
        drawn = [name for name in nodes(dot) if not name.startswith("end of")]
        assert sorted(drawn) == sorted(passed)
        broken = not paths or not all(path.complete for path in paths)
        assert ("ends here" in words(dot)) == broken


def test_the_whole_path_in_words() -> None:
    dot = dot_of(outlet_graph(SITE, NET, "1A-A01"))
    assert edges(dot) == [
        ("jack 1A-A01", "port 1A/A/01"),
        ("port 1A/A/01", "device 1A/SW1"),
        ("device 1A/SW1", "port 1A/F/01"),
        ("port 1A/F/01", "port MDF/F/01"),
        ("port MDF/F/01", "device MDF/CORE"),
        ("device MDF/CORE", "device MDF/R1"),
        ("device MDF/R1", "circuit net"),
    ]
    said = words(dot)
    for text in (
        "studio 1",
        "room 1.10 studio",
        "in at 24",
        "out at 25",
        "31 m",
        "cord 0.5 m",
        "backbone B1",
        "OM4, 48 m",
        "Northmere Telecom, internet",
    ):
        assert text in said


@pytest.mark.parametrize(
    ("outlet", "reason"),
    [
        ("MDF-A04", "not patched on"),
        ("spare", "no panel port recorded"),
        ("DYE-A01", "not patched on"),
    ],
)
def test_a_broken_path_says_where_it_ends(outlet: str, reason: str) -> None:
    said = words(dot_of(outlet_graph(SITE, NET, outlet)))
    assert said[said.index("ends here") + 1] == reason


def test_a_dead_cable_is_named_as_the_end() -> None:
    dead = MILL["outlets.yml"].replace("length: 23.4 m", "state: dead")
    site = site_from({**MILL, "outlets.yml": dead})
    assert "a cable on the way is recorded dead or abandoned" in words(
        dot_of(outlet_graph(site, cabling_graph(site), "MDF-A01"))
    )


# ---- the site


def outlets_told(dot: str) -> int:
    return sum(int(number) for number in re.findall(r">(\d+) outlets? in \d+ rooms?", dot))


@pytest.mark.parametrize("seed", SEEDS)
def test_every_outlet_is_counted_once(seed: int) -> None:
    site = random_site(seed)
    assert outlets_told(site_dot(site, cabling_graph(site))) == len(site.outlets)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_active_thing_and_circuit_is_there(seed: int) -> None:
    site = random_site(seed)
    said = " ".join(words(site_dot(site, cabling_graph(site))))
    for item in site.items.values():
        if item.role in ("switch", "router", "device", "panel"):
            assert item.name in said
    for circuit in site.circuits.values():
        assert (f"circuit {circuit.key}" in said) == (circuit.state != "ceased")


def large_site(outlets: int = 400) -> Site:
    """Four floors with a cabinet each, two switches and two panels in each, rooms for all."""
    files = {"site.yml": "name: X\nbuildings:\n  m: {name: M}\nfloors:\n"}
    rooms, jacks = ["rooms:"], []
    for floor in range(1, 5):
        files["site.yml"] += f'  "{floor}": {{name: floor, building: m}}\n'
        files[f"enclosures/{floor}A.yml"] = f"""\
height: 42 U
room: "{floor}00"
front:
  42: {{panel: F, media: fibre, ports: 12}}
  40-41: {{panel: A, ports: 96}}
  38-39: {{panel: B, ports: 96}}
  37: {{switch: SW1, ports: 48, uplinks: 4}}
  36: {{switch: SW2, ports: 48, uplinks: 4}}
patching:
  SW1/49: {{to: F/1}}
  SW2/49: {{to: F/2}}
""" + "".join(f"  A/{n}: {{to: SW{1 + n % 2}/{(n + 1) // 2}}}\n" for n in range(1, 97))
        rooms += [f'  "{floor}{n:02}": {{floor: "{floor}"}}' for n in range(40)]
        for n in range(1, outlets // 4 + 1):
            panel = f"A/{n}" if n <= 96 else f"B/{n - 96}"
            jacks.append(f'{floor}J{n:03}: {{room: "{floor}{n % 40:02}", port: {floor}A/{panel}}}')
    files["site.yml"] += "\n".join(rooms) + "\n"
    files["outlets.yml"] = "\n".join(jacks) + "\n"
    files["backbones.yml"] = "".join(
        f"B{f}: {{from: 1A/F/{f + 1}, to: {f}A/F/12, cable: OM4}}\n" for f in (2, 3, 4)
    )
    return site_from(files)


def test_400_outlets_stay_readable() -> None:
    """Outlets are counted by room, never drawn singly: no more nodes than things to look at."""
    site = large_site()
    assert len(site.outlets) == 400
    dot = site_dot(site, cabling_graph(site))
    assert outlets_told(dot) == 400
    assert len(nodes(dot)) <= 20
    assert not any(outlet in dot for outlet in site.outlets)
    assert len(nodes(site_dot(large_site(40), NET))) == len(nodes(dot)), "ten times as many outlets"


def campus(enclosures: int) -> Site:
    """A frame, and cabinets around it each with a switch of its own kind of uplink, on one floor."""
    files = {
        "site.yml": "name: X\nfloors:\n  G: {}\n  H: {}\nrooms:\n  r: {floor: G}\n  q: {floor: H}\n",
        "outlets.yml": "",
        "backbones.yml": "",
    }
    for n in range(enclosures):
        key = f"E{n:02}"
        files[f"enclosures/{key}.yml"] = """\
height: 12 U
room: r
front:
  3: {panel: F, media: fibre, ports: 48}
  2: {panel: A, ports: 4}
  1: {switch: SW1, ports: 4, uplinks: 2}
patching:
  SW1/5: {to: F/1}
  A/1: {to: SW1/1}
"""
        files["outlets.yml"] += (
            f"{key}-1: {{room: r, port: {key}/A/1}}\n{key}-2: {{room: q, port: {key}/A/2}}\n"
        )
        if n:
            files["backbones.yml"] += f"B{n}: {{from: E00/F/{n + 1}, to: {key}/F/1}}\n"
    return site_from(files)


def test_a_large_site_is_drawn_a_node_an_enclosure() -> None:
    site = campus(20)
    dot = site_dot(site, cabling_graph(site))
    assert sorted(nodes(dot)) == [f"enclosure E{n:02}" for n in range(20)]
    assert len(edges(dot)) == 19
    assert outlets_told(dot) == 40
    said = words(dot)
    assert said.count("1 switch: SW1; 4 of 6 ports free") == 20
    assert said.count("2 panels: A, F; 30 of 52 ports free") == 1, "all backbones begin there"
    assert said.count("2 panels: A, F; 49 of 52 ports free") == 19
    assert said.count("1 outlet in 1 room on floor H") == 20
    assert len(nodes(site_dot(campus(3), NET))) == 3 * 3 + 6, "a small one shows what is inside"


def test_rooms_are_counted_one_by_one_up_to_a_dozen() -> None:
    said = words(site_dot(large_site(), NET))
    assert said.count("100 outlets in 40 rooms") == 4
    assert said.count("and 28 rooms more with 64 outlets") == 4
    listed = [text for text in said if re.fullmatch(r"\d\d\d: 3", text)]
    assert len(listed) == 4 * 12


def test_a_backbone_says_what_it_is_and_how_full() -> None:
    said = words(site_dot(SITE, NET))
    at = said.index("backbone B1")
    assert said[at : at + 3] == ["backbone B1", "OM4, 12 strands, 48 m", "1 of 6 ports in use"]
    at = said.index("backbone B2")
    assert said[at + 2] == "0 of 6 ports in use", "patched at one end only"


# ---- escaping

HOSTILE = """</TD><script>alert(1)</script> "q" 'p' & ]]> \\N \\" --> {x|y}"""


def test_hostile_labels_are_only_text() -> None:
    label = HOSTILE.replace("'", "''")
    files = {
        "site.yml": f"""\
name: '{label}'
circuits:
  net: {{carrier: '{label}', service: '{label}', lands on: 1A/R/1}}
buildings:
  b: {{name: '{label}'}}
floors:
  f: {{name: '{label}', building: b}}
rooms:
  r: {{name: '{label}', floor: f}}
""",
        "enclosures/1A.yml": f"""\
height: 12 U
room: r
label: '{label}'
front:
  12: {{panel: A, label: '{label}', ports: 4, connector: '{label}'}}
  11: {{switch: S, label: '{label}', ports: 4}}
  10: {{router: R, label: '{label}', ports: 4}}
patching:
  A/1: {{to: S/1, label: '{label}'}}
  S/2: {{to: R/2}}
""",
        "outlets.yml": f"o: {{room: r, port: 1A/A/1, label: '{label}', plate: '{label}'}}\n",
    }
    site = site_from(files)
    net = cabling_graph(site)
    dots = [
        site_dot(site, net, link=page_of),
        patching_dot(site, "1A", link=page_of),
        dot_of(outlet_graph(site, net, "o", link=page_of)),
    ]
    for svg in render_dots(dots):
        assert unwelcome(svg) == []
        assert any(HOSTILE in text for text in texts(parsed(svg)))


def test_a_hostile_link_stays_within_its_attribute() -> None:
    dot = dot_of(outlet_graph(SITE, NET, "1A-A01", link=lambda kind, key: '"><script>'))
    svg = render_dots([dot])[0]
    assert unwelcome(svg) == []

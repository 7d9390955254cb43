"""Paths and what goes dark, held against networkx on random sites.

The graph is built here a second time, from the records alone and in another manner: directed, so
that an arc leaves a node only if something can pass through it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache
from typing import Any

import networkx as nx
import pytest

from asbuilt.model.paths import (
    CablingGraph,
    Edge,
    Node,
    Part,
    cabling_graph,
    loses_service,
    nodes_of,
    outlets_through,
    outlets_without_service,
    paths_of,
    port_node,
    via,
)
from asbuilt.model.site import Site, natural, site_of
from asbuilt.records.enclosures import Device, Router, Switch
from asbuilt.records.fields import PortId
from asbuilt.records.reading import read_folder
from tests.random_sites import random_site

SEEDS = range(60)
Graph = Any  # networkx has no types
ROOT = "the world"


@lru_cache(maxsize=2)
def _made(seed: int) -> tuple[Site, CablingGraph]:
    site = random_site(seed)
    return site, cabling_graph(site)


def _is_dead(site: Site, port: PortId) -> bool:
    return port.name in site.ports[port].item.dead


def _connections(site: Site) -> Iterator[tuple[Any, Any, Edge]]:
    """Every pair that is joined, by what; cables recorded dead or abandoned join nothing."""
    for outlet in site.outlets.values():
        if outlet.state not in ("dead", "abandoned"):
            for port in outlet.port:
                yield outlet.key, port, Edge("drop", outlet.key)
    for cord in site.cords.values():
        yield cord.from_, cord.to, Edge("cord", cord.key)
    for backbone in site.backbones.values():
        if backbone.state not in ("dead", "abandoned"):
            for start, end in zip(backbone.from_, backbone.to, strict=True):
                yield start, end, Edge("backbone", backbone.key)
    for item in site.items.values():
        if isinstance(item, (Switch, Router, Device)):
            for port in item.port_ids():
                yield port, item, Edge("inside", item.key)
    for circuit in site.circuits.values():
        if circuit.lands_on:
            yield circuit, circuit.lands_on, Edge("landing", circuit.key)


def _node(thing: Any) -> Node:
    if isinstance(thing, str):
        return Node("jack", thing)
    if isinstance(thing, PortId):
        return port_node(thing)
    return Node("device" if isinstance(thing, (Switch, Router, Device)) else "circuit", thing.key)


def _feeds(site: Site) -> list[Node]:
    live = [c for c in site.circuits.values() if c.state == "live" and c.lands_on in site.ports]
    routers = [item for item in site.items.values() if isinstance(item, Router)]
    switches = [item for item in site.items.values() if isinstance(item, Switch)]
    return [_node(thing) for thing in live or routers or switches]


def graph_of(site: Site) -> Graph:
    """Arcs lead away from the world: from it to what feeds the site, and on to the jacks."""
    feeds = _feeds(site)
    graph = nx.MultiDiGraph()
    graph.add_node(ROOT)
    graph.add_edges_from((ROOT, feed) for feed in feeds)
    for one, other, edge in _connections(site):
        if any(isinstance(end, PortId) and _is_dead(site, end) for end in (one, other)):
            continue
        for start, end in ((one, other), (other, one)):
            passes = isinstance(start, (PortId, Switch, Router)) or _node(start) in feeds
            if passes:
                graph.add_edge(_node(start), _node(end), key=edge)
            else:
                graph.add_node(_node(start))
    return graph


def _lit(graph: Graph) -> set[str]:
    return {node.key for node in nx.descendants(graph, ROOT) if node.kind == "jack"}


def _lost(graph: Graph, nodes: Iterable[Node] = (), edges: Iterable[Edge] = ()) -> tuple[str, ...]:
    gone = set(edges)
    rest = graph.copy()
    rest.remove_nodes_from(nodes)
    rest.remove_edges_from([arc for arc in rest.edges(keys=True) if arc[2] in gone])
    return tuple(sorted(_lit(graph) - _lit(rest), key=natural))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_path_is_complete_when_there_is_a_way_and_is_the_shortest(seed: int) -> None:
    site, net = _made(seed)
    graph = graph_of(site)
    far = nx.single_source_shortest_path_length(graph, ROOT)
    for outlet in site.outlets.values():
        paths = paths_of(net, outlet)
        assert [path.nodes[1] for path in paths] == sorted(
            (port_node(port) for port in outlet.port), key=lambda node: natural(node.key)
        )
        for path in paths:
            port = path.nodes[1]
            joined = graph.has_edge(port, path.jack)  # a dead jack is on no way
            assert path.complete is (joined and port in far)
            if path.complete:
                assert len(path.hops) == far[port]  # the drop, less the step out into the world


@pytest.mark.parametrize("seed", SEEDS)
def test_each_step_of_a_path_is_a_recorded_connection(seed: int) -> None:
    site, net = _made(seed)
    everything = [*_connections(site)]
    for outlet in site.outlets.values():
        everything += [(outlet.key, p, Edge("drop", outlet.key)) for p in outlet.port]
    for backbone in site.backbones.values():
        pairs = zip(backbone.from_, backbone.to, strict=True)
        everything += [(start, end, Edge("backbone", backbone.key)) for start, end in pairs]
    joined = {(_node(one), _node(other), edge) for one, other, edge in everything}
    for outlet in site.outlets.values():
        for path in paths_of(net, outlet):
            for before, hop in zip(path.nodes, path.hops, strict=False):
                assert {(before, hop.node, hop.edge), (hop.node, before, hop.edge)} & joined
            assert len(set(path.nodes)) == len(path.nodes)
            assert path.nodes[-1] in net.roots or not path.complete


@pytest.mark.parametrize("seed", SEEDS)
def test_what_goes_dark_without_each_part(seed: int) -> None:
    site, net = _made(seed)
    graph = graph_of(site)
    for node in net.neighbours:
        assert outlets_without_service(net, nodes=[node]) == _lost(graph, nodes=[node]), node
    for edge in {hop.edge for hops in net.neighbours.values() for hop in hops}:
        assert outlets_without_service(net, edges=[edge]) == _lost(graph, edges=[edge]), edge
    for items in site.items_in.values():
        for gone in (*((item,) for item in items), items):
            nodes = nodes_of(site, *gone)
            assert outlets_without_service(net, nodes=nodes) == _lost(graph, nodes=nodes), gone


@pytest.mark.parametrize("seed", SEEDS)
def test_what_goes_dark_without_several_parts_at_once(seed: int) -> None:
    _, net = _made(seed)
    graph = graph_of(_made(seed)[0])
    nodes = sorted(net.neighbours)
    edges = sorted({hop.edge for hops in net.neighbours.values() for hop in hops})
    for step in range(2, 12):
        some_nodes, some_edges = nodes[step::17], edges[step::13]
        assert outlets_without_service(net, some_nodes, some_edges) == _lost(
            graph, some_nodes, some_edges
        )
    assert outlets_without_service(net) == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_the_survey_of_all_devices_circuits_and_backbones(seed: int) -> None:
    """Devices and circuits against networkx's dominators, backbones against taking them out."""
    site, net = _made(seed)
    graph = graph_of(site)
    above = nx.immediate_dominators(graph, ROOT)
    expected: dict[Part, set[str]] = {}
    for jack in _lit(graph):
        node = above[Node("jack", jack)]
        while node != ROOT:
            if node.kind in ("device", "circuit"):
                expected.setdefault(node, set()).add(jack)
            node = above[node]
    for key in site.backbones:
        lost = _lost(graph, edges=[Edge("backbone", key)])
        if lost:
            expected[Edge("backbone", key)] = set(lost)
    assert {part: set(outlets) for part, outlets in loses_service(net).items()} == expected


@pytest.mark.parametrize("seed", SEEDS)
def test_what_hangs_on_each_part(seed: int) -> None:
    """By networkx: on every shortest way to a jack means it hangs there; on none, it doesn't."""
    site, net = _made(seed)
    through = via(net)
    assert all(outlets == tuple(sorted(set(outlets), key=natural)) for outlets in through.values())
    listed: dict[Part, set[str]] = {}
    for outlet in site.outlets.values():
        for path in paths_of(net, outlet):
            for hop in path.hops:
                listed.setdefault(hop.node, set()).add(outlet.key)
                listed.setdefault(hop.edge, set()).add(outlet.key)
    assert {part: set(outlets) for part, outlets in through.items()} == listed
    graph = graph_of(site)
    for outlet in site.outlets.values():
        complete = [path for path in paths_of(net, outlet) if path.complete]
        possible: set[Any] = set()
        for path in complete:
            ways = [*nx.all_shortest_paths(graph, ROOT, path.nodes[1])]
            possible |= {node for way in ways for node in way}
            for node in set.intersection(*map(set, ways)) - {ROOT}:
                assert outlet.key in through[node]
        if complete == [*paths_of(net, outlet)]:
            met = {part for part, outlets in through.items() if outlet.key in outlets}
            assert {part for part in met if isinstance(part, Node)} <= possible


def test_what_hangs_on_a_panel_hangs_on_one_of_its_ports() -> None:
    site, net = _made(4)
    through = via(net)
    for item in site.items.values():
        nodes = nodes_of(site, item)
        hanging = outlets_through(through, nodes)
        assert set(hanging) == {key for node in nodes for key in through.get(node, ())}
        assert set(outlets_without_service(net, nodes)) <= set(hanging)


def test_the_random_sites_hold_what_they_are_for() -> None:
    """Otherwise the agreement above would mean little."""
    seen = {"complete": 0, "broken": 0, "over fibre": 0, "two ports": 0, "second way": 0, "dead": 0}
    feeds = set()
    for seed in SEEDS:
        site, net = _made(seed)
        feeds |= {(root.kind, type(site.items.get(root.key)).__name__) for root in net.roots}
        paths = [path for outlet in site.outlets.values() for path in paths_of(net, outlet)]
        seen["complete"] += sum(path.complete for path in paths)
        seen["broken"] += sum(not path.complete for path in paths)
        seen["over fibre"] += sum(
            path.complete and any(hop.edge.kind == "backbone" for hop in path.hops)
            for path in paths
        )
        seen["two ports"] += sum(len(outlet.port) > 1 for outlet in site.outlets.values())
        hanging, dark = via(net), loses_service(net)
        seen["second way"] += sum(
            len(outlets) > len(dark.get(part, ()))
            for part, outlets in hanging.items()
            if part[0] in ("device", "backbone")
        )
        seen["dead"] += len(net.dead)
    assert min(seen.values()) > 30, seen
    assert feeds == {("circuit", "NoneType"), ("device", "Router"), ("device", "Switch")}


def _site(files: Callable[[], dict[str, str]]) -> tuple[Site, CablingGraph]:
    records = read_folder("harbour", {path: text.encode() for path, text in files().items()})
    assert records.problems == ()
    site = site_of(records)
    assert isinstance(site, Site)
    return site, cabling_graph(site)


def _two_floors() -> dict[str, str]:
    """Desk on 2A, over fibre to 1A, out by the router there; two uplinks, one of them dead."""
    return {
        "site.yml": "name: Harbour Lane\ncircuits: {net: {lands on: 1A/R1/WAN}}\n",
        "outlets.yml": "2A-A01: {port: 2A/A/01}\n2A-A02: {port: 2A/A/02}\n2A-A03: {}\n",
        "backbones.yml": (
            "F1: {from: 2A/F/01-02, to: 1A/F/01-02}\n"
            "F2: {from: 2A/F/05, to: 1A/F/05, state: dead}\n"
        ),
        "enclosures/1A.yml": (
            "height: 12 U\n"
            "front: {12: {panel: F, ports: 6, media: fibre}, 11: {switch: SW1, ports: 8, uplinks: 2},"
            " 10: {router: R1, ports: 2, named ports: [WAN]}}\n"
            "patching: {F/01: {to: SW1/09}, F/05: {to: SW1/10}, SW1/01: {to: R1/01}}\n"
        ),
        "enclosures/2A.yml": (
            "height: 12 U\n"
            "front: {12: {panel: A, ports: 8}, 11: {panel: F, ports: 6, media: fibre},"
            " 10: {switch: SW1, ports: 8, uplinks: 2}}\n"
            "patching: {A/01: {to: SW1/01}, SW1/09: {to: F/01}, SW1/10: {to: F/05}}\n"
        ),
    }


def test_the_way_of_a_desk_on_the_second_floor() -> None:
    site, net = _site(_two_floors)
    (path,) = paths_of(net, site.outlets["2A-A01"])
    assert [str(node.key) for node in path.nodes] == [
        "2A-A01", "2A/A/01", "2A/SW1/01", "2A/SW1", "2A/SW1/09", "2A/F/01",
        "1A/F/01", "1A/SW1/09", "1A/SW1", "1A/SW1/01", "1A/R1/01", "1A/R1", "1A/R1/WAN", "net",
    ]  # fmt: skip
    assert path.complete
    assert path.switch_port == PortId("2A/SW1", "1")
    (unpatched,) = paths_of(net, site.outlets["2A-A02"])
    assert [node.key for node in unpatched.nodes] == ["2A-A02", "2A/A/02"]
    assert not unpatched.complete
    assert unpatched.switch_port is None
    assert paths_of(net, site.outlets["2A-A03"]) == ()


def test_a_dead_backbone_is_no_second_way() -> None:
    _, net = _site(_two_floors)
    assert outlets_without_service(net, edges=[Edge("backbone", "F1")]) == ("2A-A01",)
    assert outlets_without_service(net, edges=[Edge("backbone", "F2")]) == ()
    mended = _two_floors() | {
        "backbones.yml": "F1: {from: 2A/F/01, to: 1A/F/01}\nF2: {from: 2A/F/05, to: 1A/F/05}\n"
    }
    _, net = _site(lambda: mended)
    assert outlets_without_service(net, edges=[Edge("backbone", "F1")]) == ()
    both = [Edge("backbone", "F1"), Edge("backbone", "F2")]
    assert outlets_without_service(net, edges=both) == ("2A-A01",)
    assert loses_service(net)[Node("device", "1A/SW1")] == ("2A-A01",)


def test_a_dead_jack_has_a_way_shown_but_no_complete_one() -> None:
    dead = _two_floors() | {"outlets.yml": "2A-A01: {port: 2A/A/01, state: dead}\n"}
    site, net = _site(lambda: dead)
    (path,) = paths_of(net, site.outlets["2A-A01"])
    assert not path.complete
    assert path.nodes[-1] == Node("device", "2A/SW1")
    assert outlets_without_service(net, nodes=[Node("circuit", "net")]) == ()


def test_a_server_with_two_cords_is_no_bridge() -> None:
    files = {
        "site.yml": "name: Harbour Lane\ncircuits: {net: {lands on: 1A/SW1/09}}\n",
        "outlets.yml": "1A-A01: {port: 1A/A/01}\n",
        "enclosures/1A.yml": (
            "height: 12 U\n"
            "front: {12: {panel: A, ports: 8}, 11: {switch: SW1, ports: 8, uplinks: 1},"
            " 10: {switch: SW2, ports: 8}, 9: {device: D1, ports: 2}}\n"
            "patching: {A/01: {to: SW2/01}, D1/01: {to: SW1/01}, D1/02: {to: SW2/02}}\n"
        ),
    }
    site, net = _site(lambda: files)
    (path,) = paths_of(net, site.outlets["1A-A01"])
    assert not path.complete
    assert path.nodes[-1] == Node("device", "1A/SW2")


def test_a_backup_carries_only_while_the_other_circuit_fails() -> None:
    """The backup lands nearer, and is still not the way; but without the other it is one."""
    twofold = _two_floors() | {
        "site.yml": (
            "name: Harbour Lane\ncircuits:\n"
            "  air: {lands on: 2A/R2/WAN, backup: yes}\n"
            "  net: {lands on: 1A/R1/WAN}\n"
        ),
        "enclosures/2A.yml": (
            "height: 12 U\n"
            "front: {12: {panel: A, ports: 8}, 11: {panel: F, ports: 6, media: fibre},"
            " 10: {switch: SW1, ports: 8, uplinks: 2}, 9: {router: R2, ports: 1, named ports: [WAN]}}\n"
            "patching: {A/01: {to: SW1/01}, SW1/09: {to: F/01}, SW1/08: {to: R2/01}}\n"
        ),
    }
    site, net = _site(lambda: twofold)
    (path,) = paths_of(net, site.outlets["2A-A01"])
    assert path.nodes[-1] == Node("circuit", "net")
    assert outlets_without_service(net, nodes=[Node("circuit", "net")]) == ()
    assert outlets_without_service(net, nodes=[Node("circuit", "air")]) == ()
    both = [Node("circuit", "net"), Node("circuit", "air")]
    assert outlets_without_service(net, nodes=both) == ("2A-A01",)
    cut = [Edge("backbone", "F1")]
    assert outlets_without_service(net, edges=cut) == ()
    cut_off = twofold | {"backbones.yml": "F1: {from: 2A/F/01, to: 1A/F/01, state: dead}\n"}
    site, net = _site(lambda: cut_off)
    (path,) = paths_of(net, site.outlets["2A-A01"])
    assert path.nodes[-1] == Node("circuit", "air")
    assert path.complete

"""What is connected to what: the way from a jack to the circuit that enters the building, and
backwards what goes dark when something is unplugged.

The site is a graph. Its nodes are jacks, ports, the insides of active devices, and circuits; its
edges are drops, cords, backbones, a port's tie to its device, and a circuit's landing. A panel
has no inside: what comes in at the back of a port goes out at its front.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from asbuilt.records.enclosures import Device, Router, Switch
from asbuilt.records.fields import PortId
from asbuilt.records.links import Outlet
from asbuilt.site import Site, natural

ACTIVE = (Switch, Router, Device)
FORWARDING = (Switch, Router)


class Node(NamedTuple):
    """`kind` is jack, port, device or circuit; `key` the record's, or enclosure/item/port."""

    kind: str
    key: str


class Edge(NamedTuple):
    """`kind` is drop, cord, backbone, inside or landing; `key` the record's."""

    kind: str
    key: str


@dataclass(frozen=True, slots=True)
class Hop:
    """One step of a path: over `edge` to `node`."""

    edge: Edge
    node: Node


@dataclass(frozen=True, slots=True)
class CablePath:
    """The way from a jack over one of its ports. `complete` says that it reaches a root."""

    jack: Node
    hops: tuple[Hop, ...]
    complete: bool

    @property
    def nodes(self) -> tuple[Node, ...]:
        return (self.jack, *(hop.node for hop in self.hops))

    @property
    def switch_port(self) -> PortId | None:
        """The first port of an active device on the way: where the outlet is patched to."""
        for before, hop in zip(self.nodes, self.hops, strict=False):
            if hop.edge.kind == "inside" and before.kind == "port":
                return port_of(before)
        return None


@dataclass(frozen=True, slots=True)
class Net:
    """The graph of a site, and from each node the next hop towards the nearest root.

    `ends` are the nodes nothing passes through: jacks, circuits, and devices that don't forward
    (a server with two cords is no bridge).
    """

    neighbours: Mapping[Node, tuple[Hop, ...]]
    ends: frozenset[Node]
    roots: tuple[Node, ...]
    towards_root: Mapping[Node, Hop]


def jack_node(outlet: str) -> Node:
    return Node("jack", outlet)


def port_node(port: PortId) -> Node:
    return Node("port", str(port))


def port_of(node: Node) -> PortId:
    item, _, name = node.key.rpartition("/")
    return PortId(item, str(int(name)) if name.isdigit() else name)


def net_of(site: Site) -> Net:
    """The graph of a site.

    Its roots are the live circuits; where none is recorded to land on a port, the routers; where
    there is none either, the switches: a survey may not know yet how the site is fed.
    """
    edges: list[tuple[Node, Node, Edge]] = []
    known = site.ports
    for outlet in site.outlets.values():
        for port in outlet.port:
            if port in known:
                edge = Edge("drop", outlet.key)
                edges.append((jack_node(outlet.key), port_node(port), edge))
    edges.extend(
        (port_node(cord.from_), port_node(cord.to), Edge("cord", cord.key))
        for cord in site.cords.values()
        if cord.from_ in known and cord.to in known
    )
    for backbone in site.backbones.values():
        for start, end in zip(backbone.from_, backbone.to, strict=False):
            if start in known and end in known:
                edge = Edge("backbone", backbone.key)
                edges.append((port_node(start), port_node(end), edge))
    for use in known.values():
        if isinstance(use.item, ACTIVE):
            edge = Edge("inside", use.item.key)
            edges.append((port_node(use.id), Node("device", use.item.key), edge))
        for circuit in use.circuits:
            edge = Edge("landing", circuit.key)
            edges.append((Node("circuit", circuit.key), port_node(use.id), edge))
    found: dict[Node, list[Hop]] = {jack_node(outlet): [] for outlet in site.outlets}
    for one, other, edge in edges:
        found.setdefault(one, []).append(Hop(edge, other))
        found.setdefault(other, []).append(Hop(edge, one))
    neighbours = {node: tuple(sorted(hops, key=_order)) for node, hops in found.items()}
    ends = frozenset(node for node in neighbours if _is_end(site, node))
    roots = _roots(site, neighbours)
    none: frozenset[Node] = frozenset()
    return Net(neighbours, ends, roots, _reached(neighbours, ends, roots, none, frozenset()))


def paths_of(net: Net, outlet: Outlet) -> tuple[CablePath, ...]:
    """One path for each port the jack's cable ends at, on to the nearest root."""
    jack = jack_node(outlet.key)
    drops = [hop for hop in net.neighbours.get(jack, ()) if hop.edge.kind == "drop"]
    return tuple(_path(net, jack, drop) for drop in drops)


def dark_without(
    net: Net, nodes: Collection[Node] = (), edges: Collection[Edge] = ()
) -> tuple[str, ...]:
    """The outlets that reach a root today and would not without these nodes and edges.

    A second way round (a second uplink, a second circuit) keeps an outlet alive.
    """
    gone_nodes, gone_edges = frozenset(nodes), frozenset(edges)
    before = set(net.towards_root) | set(net.roots)
    roots = [root for root in net.roots if root not in gone_nodes]
    after = set(_reached(net.neighbours, net.ends, roots, gone_nodes, gone_edges))
    lost = (node.key for node in before - after if node.kind == "jack")
    return tuple(sorted(lost, key=natural))


def _order(hop: Hop) -> tuple[object, ...]:
    return (hop.node.kind, natural(hop.node.key), hop.edge)


def _roots(site: Site, neighbours: Mapping[Node, tuple[Hop, ...]]) -> tuple[Node, ...]:
    circuits = [
        Node("circuit", circuit.key)
        for circuit in site.circuits.values()
        if circuit.state == "live"
    ]
    routers = [Node("device", i.key) for i in site.items.values() if isinstance(i, Router)]
    switches = [Node("device", i.key) for i in site.items.values() if isinstance(i, Switch)]
    for roots in (circuits, routers, switches):
        landed = tuple(root for root in roots if root in neighbours)
        if landed:
            return landed
    return ()


def _is_end(site: Site, node: Node) -> bool:
    if node.kind == "device":
        return not isinstance(site.items[node.key], FORWARDING)
    return node.kind in ("jack", "circuit")


def _reached(
    neighbours: Mapping[Node, tuple[Hop, ...]],
    ends: frozenset[Node],
    roots: Iterable[Node],
    gone_nodes: frozenset[Node],
    gone_edges: frozenset[Edge],
) -> dict[Node, Hop]:
    """Breadth first from the roots; from each node met, the hop back towards them."""
    roots = tuple(roots)
    reached: dict[Node, Hop] = {}
    seen = set(roots)
    todo = deque(roots)
    while todo:
        node = todo.popleft()
        if node in ends and node not in roots:
            continue
        for hop in neighbours.get(node, ()):
            if hop.node in seen or hop.node in gone_nodes or hop.edge in gone_edges:
                continue
            seen.add(hop.node)
            reached[hop.node] = Hop(hop.edge, node)
            todo.append(hop.node)
    return reached


def _path(net: Net, jack: Node, drop: Hop) -> CablePath:
    hops = [drop]
    while hops[-1].node not in net.roots:
        onward = net.towards_root.get(hops[-1].node)
        if onward is None:
            return _broken(net, jack, drop)
        hops.append(onward)
    return CablePath(jack, tuple(hops), complete=True)


def _broken(net: Net, jack: Node, drop: Hop) -> CablePath:
    """As far as it goes: to the first active device, or to where the wire ends."""
    hops = [drop]
    seen = {jack, drop.node}
    while hops[-1].node.kind == "port":
        onward = [hop for hop in net.neighbours[hops[-1].node] if hop.node not in seen]
        onward = [hop for hop in onward if hop.node.kind in ("port", "device")]
        if not onward:
            break
        hops.append(onward[0])
        seen.add(onward[0].node)
    return CablePath(jack, tuple(hops), complete=False)

"""What is connected to what: the way from a jack to the circuit that enters the building, and
backwards what loses service when something is unplugged.

The site is a graph. Its nodes are jacks, ports, the insides of active devices, and circuits; its
edges are drops, cords, backbones, a port's tie to its device, and a circuit's landing. A panel
has no inside: what comes in at the back of a port goes out at its front. An edge may join several
pairs of nodes (the strands of a backbone, the ports of a device): cut, it is cut in all of them.

From the roots a breadth-first tree reaches every node in service by its shortest path. Connected
through a part is what the tree has beyond it; what loses service without the part is as much of
that as no second path reaches.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

from asbuilt.model.site import Site, natural
from asbuilt.records.enclosures import Device, Item, Router, Switch
from asbuilt.records.fields import PortId
from asbuilt.records.links import Outlet

ACTIVE = (Switch, Router, Device)
FORWARDING = (Switch, Router)
#: States of a cable that carries nothing.
DEAD = ("dead", "abandoned")


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
    def ports(self) -> tuple[PortId, ...]:
        """The ports it runs through, from the jack's panel on."""
        return tuple(port_of(hop.node) for hop in self.hops if hop.node.kind == "port")

    @property
    def switch_port(self) -> PortId | None:
        """The first port of an active device on the way: where the outlet is patched to."""
        for before, hop in zip(self.nodes, self.hops, strict=False):
            if hop.edge.kind == "inside" and before.kind == "port":
                return port_of(before)
        return None


#: A node or an edge: whatever a path passes through. Their kinds have different words.
Part = Node | Edge


@dataclass(frozen=True, slots=True)
class CablingGraph:
    """The graph of a site, and from each node that is alive the next hop towards the nearest root.

    `neighbours` has every connection recorded, in natural order of the keys. Nothing passes through
    `ends`: jacks, circuits, and devices that don't forward (a server with two cords is no bridge);
    nor through what is `dead`: ports recorded so, and cables recorded dead or abandoned.
    """

    neighbours: Mapping[Node, tuple[Hop, ...]]
    ends: frozenset[Node]
    dead: frozenset[Part]
    roots: frozenset[Node]
    towards_root: Mapping[Node, Hop]
    #: `towards_root` the other way: what the tree has next beyond a node, or over an edge.
    beyond: Mapping[Part, tuple[Node, ...]]


def jack_node(outlet: str) -> Node:
    return Node("jack", outlet)


def port_node(port: PortId) -> Node:
    return Node("port", str(port))


@lru_cache(maxsize=2**13)  # a switch's uplink is on the path of all that is connected to it
def port_of(node: Node) -> PortId:
    item, _, name = node.key.rpartition("/")
    return PortId(item, str(int(name)) if name.isdigit() else name)


def cabling_graph(site: Site) -> CablingGraph:
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
    joined: dict[Node, list[tuple[Edge, Node]]] = {jack_node(key): [] for key in site.outlets}
    for one, other, edge in edges:
        joined.setdefault(one, []).append((edge, other))
        joined.setdefault(other, []).append((edge, one))
    in_order = sorted(joined, key=lambda node: (node.kind, natural(node.key)))
    found: dict[Node, list[Hop]] = {node: [] for node in in_order}
    for node in in_order:  # so that each finds its neighbours in order
        for edge, other in joined[node]:
            found[other].append(Hop(edge, node))
    neighbours = {node: tuple(hops) for node, hops in found.items()}
    ends = frozenset(node for node in neighbours if _is_end(site, node))
    net = CablingGraph(neighbours, ends, frozenset(_dead(site)), _roots(site, neighbours), {}, {})
    towards_root = _towards_root(net, _backups(site) & net.roots)
    beyond: dict[Part, list[Node]] = {}
    for node, hop in towards_root.items():
        beyond.setdefault(hop.node, []).append(node)
        beyond.setdefault(hop.edge, []).append(node)
    tree = {part: tuple(nodes) for part, nodes in beyond.items()}
    return replace(net, towards_root=towards_root, beyond=tree)


def paths_of(net: CablingGraph, outlet: Outlet) -> tuple[CablePath, ...]:
    """One path for each port the jack's cable ends at, on to the nearest root."""
    return _paths(net, jack_node(outlet.key))


def via(net: CablingGraph) -> Mapping[Part, tuple[str, ...]]:
    """For each node and edge the outlets whose path passes through it, complete or not: what
    hangs on a port, a device, a backbone, a circuit. Takes time in proportion to the answer."""
    hanging: dict[Part, list[str]] = defaultdict(list)
    for jack in (node for node in net.neighbours if node.kind == "jack"):  # in their order
        hops = (hop for path in _paths(net, jack) for hop in path.hops)
        for part in {part for hop in hops for part in (hop.node, hop.edge)}:
            hanging[part].append(jack.key)
    return {part: tuple(keys) for part, keys in hanging.items()}


def outlets_through(
    through: Mapping[Part, tuple[str, ...]], parts: Iterable[Part]
) -> tuple[str, ...]:
    """The outlets whose path passes through any of `parts`; `through` is what `via` found."""
    return _in_order({key for part in parts for key in through.get(part, ())})


def nodes_of(site: Site, *items: Item) -> tuple[Node, ...]:
    """What goes when mounted things go: their ports and their insides."""
    ports = (port_node(port) for item in items for port in item.port_ids())
    devices = (Node("device", item.key) for item in items if isinstance(item, ACTIVE))
    return (*ports, *devices)


def outlets_without_service(
    net: CablingGraph, nodes: Collection[Node] = (), edges: Collection[Edge] = ()
) -> tuple[str, ...]:
    """The outlets that reach a root today and would not without these nodes and edges.

    A second path (a second uplink, a second circuit) keeps an outlet alive. Only what the
    tree has beyond the gap is looked at, so that a cord's answer doesn't cost the whole site.
    """
    gone: frozenset[Part] = frozenset((*nodes, *edges))
    cut_off = _beyond(net, gone)
    brink = {
        hop.node
        for node in cut_off
        for hop in net.neighbours[node]
        if hop.node not in cut_off and hop.node not in gone and _alive(net, hop.node)
    }
    saved = _reached(net, brink, net.dead | gone, cut_off)
    return _in_order(node.key for node in cut_off - saved.keys() if node.kind == "jack")


def loses_service(net: CablingGraph) -> Mapping[Part, tuple[str, ...]]:
    """For each device, circuit and backbone without which any outlet goes dark: which."""
    nodes = [node for node in net.neighbours if node.kind in ("device", "circuit")]
    edges = [part for part in net.beyond if isinstance(part, Edge) and part.kind == "backbone"]
    lost: dict[Part, tuple[str, ...]] = {
        node: outlets_without_service(net, nodes=[node]) for node in nodes
    }
    lost |= {edge: outlets_without_service(net, edges=[edge]) for edge in edges}
    return {part: lost[part] for part in sorted(lost) if lost[part]}


def _alive(net: CablingGraph, node: Node) -> bool:
    return node in net.towards_root or node in net.roots


def _beyond(net: CablingGraph, gone: frozenset[Part]) -> set[Node]:
    """The nodes whose way in the tree leads through any of `gone`, and those of `gone` in it."""
    cut_off: set[Node] = set()
    todo = [part for part in gone if isinstance(part, Node) and _alive(net, part)]
    todo += [node for part in gone if isinstance(part, Edge) for node in net.beyond.get(part, ())]
    while todo:
        node = todo.pop()
        if node not in cut_off:
            cut_off.add(node)
            todo += net.beyond.get(node, ())
    return cut_off


def _in_order(keys: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(keys, key=natural))


def _roots(site: Site, neighbours: Mapping[Node, tuple[Hop, ...]]) -> frozenset[Node]:
    circuits = [
        Node("circuit", circuit.key)
        for circuit in site.circuits.values()
        if circuit.state == "live"
    ]
    routers = [Node("device", i.key) for i in site.items.values() if isinstance(i, Router)]
    switches = [Node("device", i.key) for i in site.items.values() if isinstance(i, Switch)]
    landed = (frozenset(roots) & neighbours.keys() for roots in (circuits, routers, switches))
    return next((roots for roots in landed if roots), frozenset())


def _backups(site: Site) -> frozenset[Node]:
    return frozenset(Node("circuit", c.key) for c in site.circuits.values() if c.backup)


def _towards_root(net: CablingGraph, backups: frozenset[Node]) -> dict[Node, Hop]:
    """Everybody's way is to the nearest root; to a backup's only where there is no other."""
    first = net.roots - backups or net.roots
    reached = _reached(net, first, net.dead | (backups - first))
    rest = net.neighbours.keys() - reached.keys() - first
    return reached | _reached(net, backups - first, net.dead, rest)


def _is_end(site: Site, node: Node) -> bool:
    if node.kind == "device":
        return not isinstance(site.items[node.key], FORWARDING)
    return node.kind in ("jack", "circuit")


def _dead(site: Site) -> Iterator[Part]:
    for use in site.ports.values():
        if use.id.name in use.item.dead:
            yield port_node(use.id)
    for outlet in site.outlets.values():
        if outlet.state in DEAD:
            yield Edge("drop", outlet.key)
    for backbone in site.backbones.values():
        if backbone.state in DEAD:
            yield Edge("backbone", backbone.key)


def _reached(
    net: CablingGraph,
    starts: Collection[Node],
    gone: frozenset[Part],
    within: Collection[Node] | None = None,
) -> dict[Node, Hop]:
    """Breadth first; from each node met (of those `within`) the hop back towards a start."""
    reached: dict[Node, Hop] = {}
    seen = set(starts)
    todo = deque(sorted(starts))
    while todo:
        node = todo.popleft()
        if node in net.ends and node not in net.roots:
            continue
        for hop in net.neighbours[node]:
            if hop.node in seen or hop.node in gone or hop.edge in gone:
                continue
            if within is None or hop.node in within:
                seen.add(hop.node)
                reached[hop.node] = Hop(hop.edge, node)
                todo.append(hop.node)
    return reached


def _paths(net: CablingGraph, jack: Node) -> tuple[CablePath, ...]:
    drops = [hop for hop in net.neighbours.get(jack, ()) if hop.edge.kind == "drop"]
    return tuple(_path(net, jack, drop) for drop in drops)


def _path(net: CablingGraph, jack: Node, drop: Hop) -> CablePath:
    hops = [drop]
    if drop.edge in net.dead:
        return _broken(net, jack, drop)
    while hops[-1].node not in net.roots:
        onward = net.towards_root.get(hops[-1].node)
        if onward is None:
            return _broken(net, jack, drop)
        hops.append(onward)
    return CablePath(jack, tuple(hops), complete=True)


def _broken(net: CablingGraph, jack: Node, drop: Hop) -> CablePath:
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

"""The path of an outlet: from its jack, port by port, to the circuit that enters the building."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from asbuilt.drawings.dot_text import NodeLine
from asbuilt.drawings.graph import Graph, GraphCluster, GraphEdge, GraphNode
from asbuilt.drawings.sheet import FindHref, no_href
from asbuilt.model.describe import (
    backbone_name,
    cable_name,
    circuit_name,
    describe_enclosure,
    describe_item_kind,
    format_quantity,
    format_units,
    item_name,
)
from asbuilt.model.paths import CablePath, CablingGraph, Edge, Hop, paths_of, port_of
from asbuilt.model.site import Site
from asbuilt.records.enclosures import Panel
from asbuilt.records.fields import PortId


@dataclass(slots=True)
class _Stop:
    """A place on the way: a jack, a panel's port, a device with the ports used, a circuit."""

    kind: str
    key: str
    ports: list[PortId] = field(default_factory=list)

    @property
    def node_name(self) -> str:
        return f"{self.kind} {self.key}"


def outlet_graph(
    site: Site, net: CablingGraph, outlet_key: str, *, link: FindHref = no_href
) -> Graph:
    """All paths of an outlet, left to right. One that reaches no circuit shows where it ends."""
    outlet = site.outlets[outlet_key]
    stops: dict[str, _Stop] = {}
    ties: dict[tuple[str, str, str], GraphEdge] = {}
    ends: list[GraphNode | GraphEdge] = []
    paths = paths_of(net, outlet)
    jack = _Stop("jack", outlet_key)
    stops[jack.node_name] = jack
    for path in paths:
        before = jack
        for stop, over in _stops_after_jack(site, path):
            known = stops.setdefault(stop.node_name, stop)
            known.ports += [port for port in stop.ports if port not in known.ports]
            key = (before.node_name, known.node_name, f"{over.kind} {over.key}")
            ties.setdefault(
                key, GraphEdge(before.node_name, known.node_name, _cable_texts(site, over))
            )
            before = known
        if not path.complete:
            ends += _dead_end(before.node_name, _dead_end_reason(net, path, before))
    if not paths:
        ends += _dead_end(jack.node_name, "no panel port recorded")
    parts = (*_grouped_by_enclosure(site, stops, link), *ties.values(), *dict.fromkeys(ends))
    return Graph(f"Path of outlet {outlet_key}", parts)


def _stops_after_jack(site: Site, path: CablePath) -> Iterator[tuple[_Stop, Edge]]:
    """The stops after the jack, each with the edge that leads to it. A device's own ports are
    told with it."""
    hops = list(path.hops)
    i = 0
    while i < len(hops):
        over, here = hops[i].edge, hops[i].node
        if here.kind == "circuit":
            yield _Stop("circuit", here.key), over
        elif here.kind == "port":
            port = port_of(here)
            if isinstance(site.items.get(port.item), Panel):
                yield _Stop("port", str(port), [port]), over
            else:
                ports, i = _ports_through_device(hops, i)
                yield _Stop("device", port.item, ports), over
        i += 1


def _ports_through_device(hops: list[Hop], i: int) -> tuple[list[PortId], int]:
    """The ports by which a path enters and leaves a device, and the index of the last of them."""
    ports = [port_of(hops[i].node)]
    while i + 1 < len(hops) and hops[i + 1].edge.kind == "inside":
        i += 1
        if hops[i].node.kind == "port":
            ports.append(port_of(hops[i].node))
    return ports, i


def _cable_texts(site: Site, over: Edge) -> tuple[str, ...]:
    match over.kind:
        case "drop":
            outlet = site.outlets[over.key]
            length = format_quantity(site, outlet.length) if outlet.length else "length not known"
            return (cable_name(outlet.cable) or "cable not known", length)
        case "cord":
            cord = site.cords[over.key]
            return (f"cord {format_quantity(site, cord.cord)}" if cord.cord else "cord",)
        case "backbone":
            backbone = site.backbones[over.key]
            length = format_quantity(site, backbone.length) if backbone.length else ""
            words = ", ".join(part for part in (cable_name(backbone.cable), length) if part)
            return (f"backbone {backbone_name(backbone)}", *([words] if words else []))
    return ()


def _dead_end(name: str, words: str) -> tuple[GraphNode, GraphEdge]:
    end = f"end of {name}"
    box = GraphNode(end, (NodeLine("ends here", bold=True), NodeLine(words)), dead_end=True)
    return box, GraphEdge(name, end, dashed=True)


def _dead_end_reason(net: CablingGraph, path: CablePath, stop: _Stop) -> str:
    if any(hop.edge in net.dead for hop in path.hops):
        return "a cable on the way is recorded dead or abandoned"
    if any(hop.node in net.dead for hop in path.hops):
        return "a port on the way is recorded dead"
    return "not patched on" if stop.kind == "port" else "no way on to a circuit recorded"


def _grouped_by_enclosure(
    site: Site, stops: dict[str, _Stop], link: FindHref
) -> Iterator[GraphNode | GraphCluster]:
    """The stops, those in an enclosure within its frame."""
    inside: dict[str, list[GraphNode]] = defaultdict(list)
    for stop in stops.values():
        box = GraphNode(stop.node_name, tuple(_stop_lines(site, stop, link)))
        if stop.ports:
            inside[stop.ports[0].enclosure].append(box)
        else:
            yield box
    for key, boxes in inside.items():
        enclosure = site.enclosures[key]
        title = f"{key} {enclosure.label}" if enclosure.label else key
        label = (
            NodeLine(title, bold=True, href=link("enclosure", key)),
            NodeLine(f"{describe_enclosure(enclosure)}, room {site.room_name(enclosure.room)}"),
        )
        yield GraphCluster(key, label if enclosure.room else label[:1], tuple(boxes))


def _stop_lines(site: Site, stop: _Stop, link: FindHref) -> Iterator[NodeLine]:
    match stop.kind:
        case "jack":
            outlet = site.outlets[stop.key]
            yield NodeLine(site.label_of(outlet), bold=True, href=link("outlet", stop.key))
            if outlet.room:
                yield NodeLine(
                    f"room {site.room_name(outlet.room)}", href=link("room", outlet.room)
                )
            yield from (NodeLine(text) for text in (outlet.plate, outlet.serves) if text)
        case "circuit":
            circuit = site.circuits[stop.key]
            href = link("circuit", stop.key)
            yield NodeLine(circuit_name(circuit), bold=True, href=href)
            yield NodeLine(f"circuit {stop.key}" + (f", {circuit.speed}" if circuit.speed else ""))
        case "port":
            port = stop.ports[0]
            item = site.items[port.item]
            yield NodeLine(f"{item.name}/{port.printed}", bold=True, href=link("port", str(port)))
            yield NodeLine(describe_item_kind(item))
            if item.at:
                yield NodeLine(format_units(item.at))
        case _:
            item = site.items[stop.key]
            yield NodeLine(item_name(item), bold=True, href=link("item", stop.key))
            words = ("in at", "out at")
            for word, port in zip(words, stop.ports[:2], strict=False):
                yield NodeLine(f"{word} {port.printed}", href=link("port", str(port)))
            yield NodeLine(describe_item_kind(item))
            if item.at:
                yield NodeLine(format_units(item.at))

"""A cable path told in steps that people read: what it is, where, and how one gets to the next."""

from __future__ import annotations

from dataclasses import dataclass

from asbuilt.model.paths import CablePath, Edge, Node, port_of
from asbuilt.model.site import Site
from asbuilt.pages.view import describe, in_a_row, named, shown
from asbuilt.records.enclosures import Panel
from asbuilt.records.fields import PortId


@dataclass(frozen=True, slots=True)
class Step:
    """`over` says by what one arrives; `ports` are the ports on the way through a device."""

    over: str
    kind: str  # jack, panel port, device, circuit, loose end
    key: str
    title: str
    words: str
    ports: tuple[PortId, ...] = ()


def steps_of(site: Site, path: CablePath) -> tuple[Step, ...]:
    """A path as steps; the ports of a device on the way are told with it, not one by one."""
    outlet = site.outlets[path.jack.key]
    where = in_a_row(filter(None, (site.room_name(outlet.room), outlet.plate)))
    steps = [Step("", "jack", outlet.key, site.label_of(outlet), where)]
    arrived: list[PortId] = []
    over = ""
    for hop in path.hops:
        if hop.edge.kind != "inside":
            over = _over(site, hop.edge)
        if hop.node.kind == "port":
            port = port_of(hop.node)
            item = site.items[port.item]
            if isinstance(item, Panel):
                steps.append(_panel_port(site, port, over))
            elif steps[-1].kind == "device" and steps[-1].key == port.item:
                steps[-1] = _with_port(steps[-1], port)
            else:
                arrived = [port]
        elif hop.node.kind == "device":
            steps.append(_device(site, hop.node, over, tuple(arrived)))
            arrived = []
        elif hop.node.kind == "circuit":
            circuit = site.circuits[hop.node.key]
            words = in_a_row(str(w) for w in (circuit.service, circuit.speed) if w)
            title = circuit.carrier or circuit.key
            steps.append(Step("", "circuit", circuit.key, title, words))
    if not path.complete:
        words = "the records don't say how it goes on"
        steps.append(Step("", "loose end", "", "ends here", words))
    return tuple(steps)


def _over(site: Site, edge: Edge) -> str:
    measures = site.info.measures
    if edge.kind == "drop":
        outlet = site.outlets[edge.key]
        length = shown(outlet.length, measures) or "length not recorded"
        return in_a_row((outlet.cable or "cable", length))
    if edge.kind == "cord":
        cord = site.cords[edge.key]
        length = shown(cord.cord, measures)
        return in_a_row((part for part in ("cord", cord.colour, length) if part), " ")
    if edge.kind == "backbone":
        backbone = site.backbones[edge.key]
        length = shown(backbone.length, measures)
        name = backbone.label or backbone.key
        return in_a_row(part for part in (f"backbone {name}", backbone.cable, length) if part)
    return ""


def _panel_port(site: Site, port: PortId, over: str) -> Step:
    item = site.items[port.item]
    enclosure = site.enclosures.get(item.enclosure)
    place = f"enclosure {enclosure.label or enclosure.key}" if enclosure else item.enclosure
    where = in_a_row((place, f"U{item.at[1]}")) if item.at else named(place)
    return Step(over, "panel port", str(port), f"{item.title}/{port.printed}", where, (port,))


def _device(site: Site, node: Node, over: str, ports: tuple[PortId, ...]) -> Step:
    item = site.items[node.key]
    words = f"{describe(item)}, enclosure {item.enclosure}"
    return Step(over, "device", item.key, item.title, words, ports)


def _with_port(step: Step, port: PortId) -> Step:
    return Step(step.over, step.kind, step.key, step.title, step.words, (*step.ports, port))

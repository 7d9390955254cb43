"""A cable path told in steps that people read: what it is, where, and how one gets to the next."""

from __future__ import annotations

from dataclasses import dataclass

from asbuilt.model.describe import cable_name, describe_item, format_quantity
from asbuilt.model.paths import CablePath, Edge, Node, port_of
from asbuilt.model.site import Site
from asbuilt.pages.view import isolate_direction, join_names
from asbuilt.records.enclosures import Panel
from asbuilt.records.fields import PortId


@dataclass(frozen=True, slots=True)
class PathStep:
    """`over` says by what one arrives; `ports` are the ports on the way through a device."""

    arrives_by: str
    kind: str  # jack, panel port, device, circuit, loose end
    key: str
    title: str
    details: str
    ports: tuple[PortId, ...] = ()


def steps_of(site: Site, path: CablePath) -> tuple[PathStep, ...]:
    """A path as steps; the ports of a device on the way are told with it, not one by one."""
    outlet = site.outlets[path.jack.key]
    where = join_names(filter(None, (site.room_name(outlet.room), outlet.plate)))
    steps = [PathStep("", "jack", outlet.key, site.label_of(outlet), where)]
    arrived: list[PortId] = []
    over = ""
    for hop in path.hops:
        if hop.edge.kind != "inside":
            over = _cable_text(site, hop.edge)
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
            words = join_names(str(w) for w in (circuit.service, circuit.speed) if w)
            title = circuit.carrier or circuit.key
            steps.append(PathStep("", "circuit", circuit.key, title, words))
    if not path.complete:
        words = "the records don't say how it goes on"
        steps.append(PathStep("", "loose end", "", "ends here", words))
    return tuple(steps)


def _cable_text(site: Site, edge: Edge) -> str:
    if edge.kind == "drop":
        outlet = site.outlets[edge.key]
        length = format_quantity(site, outlet.length) or "length not recorded"
        return join_names((cable_name(outlet.cable) or "cable", length))
    if edge.kind == "cord":
        cord = site.cords[edge.key]
        length = format_quantity(site, cord.cord)
        return join_names((part for part in ("cord", cord.colour, length) if part), " ")
    if edge.kind == "backbone":
        backbone = site.backbones[edge.key]
        length = format_quantity(site, backbone.length)
        name = backbone.label or backbone.key
        return join_names(
            part for part in (f"backbone {name}", cable_name(backbone.cable), length) if part
        )
    return ""


def _panel_port(site: Site, port: PortId, over: str) -> PathStep:
    item = site.items[port.item]
    enclosure = site.enclosures.get(item.enclosure)
    place = f"enclosure {enclosure.label or enclosure.key}" if enclosure else item.enclosure
    where = join_names((place, f"U{item.at[1]}")) if item.at else isolate_direction(place)
    return PathStep(over, "panel port", str(port), f"{item.title}/{port.printed}", where, (port,))


def _device(site: Site, node: Node, over: str, ports: tuple[PortId, ...]) -> PathStep:
    item = site.items[node.key]
    words = f"{describe_item(item)}, enclosure {item.enclosure}"
    return PathStep(over, "device", item.key, item.title, words, ports)


def _with_port(step: PathStep, port: PortId) -> PathStep:
    return PathStep(
        step.arrives_by, step.kind, step.key, step.title, step.details, (*step.ports, port)
    )

"""Speeds: the two ends of a connection between switches run at the same speed.

A switch's uplinks have their own speed, the ports of a router one for all. The connection is
followed through panels and backbones. Ends of different speed either don't link up at all or fall
back to the slower one (common practice), which is seldom meant.
"""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.model.paths import CablingGraph, port_node, port_of
from asbuilt.model.site import PortUse, Site
from asbuilt.problem import Problem
from asbuilt.records.enclosures import Panel, Router, Switch
from asbuilt.records.fields import PortId
from asbuilt.records.quantity import Quantity


def check_speeds(site: Site, net: CablingGraph) -> Iterator[Problem]:
    for use in site.ports.values():
        speed = _speed(use)
        if speed is None or not isinstance(use.item, Switch) or not _goes_beyond_drop(site, use):
            continue
        far = far_end(site, net, use.id)
        other = _speed(far) if far else None
        if far is None or other is None or other.to("Mb/s") == speed.to("Mb/s"):
            continue
        if isinstance(far.item, Switch) and far.id < use.id:
            continue  # told from the other end
        message = f"port {use.id} runs at {speed}, but {far.id}, at the other end of its "
        message += f"connection, at {other}"
        hint = "look at both ends; correct the speed or the port"
        record, field = (use.cords[0], "to") if use.cords else (use.backbones[0], "from")
        yield record.remark(field, "speeds-differ", message, hint)


def _goes_beyond_drop(site: Site, use: PortUse) -> bool:
    """Whether a port is joined to more than the drop of an outlet."""
    far_ports = (site.ports.get(use.far_end(cord)) for cord in use.cords)
    return bool(use.backbones) or any(
        far is not None and (far.backbones or not isinstance(far.item, Panel)) for far in far_ports
    )


def far_end(site: Site, net: CablingGraph, start: PortId) -> PortUse | None:
    """The active port a cord or cable from `start` leads to, through panels and backbones."""
    node, seen = port_node(start), {port_node(start)}
    while True:
        onward = [
            hop.node
            for hop in net.neighbours.get(node, ())
            if hop.edge.kind in ("cord", "backbone") and hop.node not in seen
        ]
        if len(onward) != 1:
            return None
        node = onward[0]
        seen.add(node)
        use = site.ports[port_of(node)]
        if not isinstance(use.item, Panel):
            return use


def _speed(use: PortUse) -> Quantity | None:
    if isinstance(use.item, Switch):
        return use.item.speed_of(use.id.name)
    return use.item.speed if isinstance(use.item, Router) else None

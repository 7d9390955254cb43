"""Lengths: a copper link of 90 m at most, and 100 m with its cords.

ANSI/TIA-568.2-D: the permanent link (the cable from jack to panel, loops and slack included) has
90 m at most, the channel (link and all cords) 100 m. The cord at the work area isn't recorded, so
the channel is counted without it, and says so. What a panel of copper ports holds is taken for
copper while its kind isn't recorded.
"""

from __future__ import annotations

from collections.abc import Container, Iterator

from asbuilt.checks.media import medium_of
from asbuilt.model.paths import CablingGraph, Edge, Hop, Node, jack_node, port_of
from asbuilt.model.site import Site
from asbuilt.problem import Problem
from asbuilt.records.enclosures import Panel
from asbuilt.records.links import Outlet
from asbuilt.trade.lengths import MAX_CHANNEL, MAX_PERMANENT_LINK


def check_lengths(site: Site, net: CablingGraph) -> Iterator[Problem]:
    longest_cord = max((cord.cord.to("m") for cord in site.cords.values() if cord.cord), default=0)
    is_long_way = any(medium_of(backbone) == "copper" for backbone in site.backbones.values())
    for outlet in site.outlets.values():
        if outlet.length is None or not _is_copper(site, outlet):
            continue
        link = outlet.length.to("m")
        if link > MAX_PERMANENT_LINK:
            message = f"the link to outlet {outlet.key} is {outlet.length} long"
            hint = "a permanent link has 90 m at most (ANSI/TIA-568.2-D)"
            yield outlet.remark("length", "link-too-long", message, hint)
            continue
        if link + longest_cord <= MAX_CHANNEL and not is_long_way:
            continue
        cords = _cords_length(site, net, outlet)
        if link + cords > MAX_CHANNEL:
            message = f"link and cords of outlet {outlet.key} have {link + cords:g} m together, "
            message += "the cord at the work area not counted"
            hint = "a channel has 100 m at most (ANSI/TIA-568.2-D)"
            yield outlet.remark("length", "channel-too-long", message, hint)


def _is_copper(site: Site, outlet: Outlet) -> bool:
    medium = medium_of(outlet)
    if medium or outlet.cable == "coax":
        return medium == "copper"
    items = [site.items.get(port.item) for port in outlet.port]
    return any(isinstance(item, Panel) and item.media == "copper" for item in items)


def _cords_length(site: Site, net: CablingGraph, outlet: Outlet) -> float:
    """The metres of cord and copper backbone from the outlet's panel to the first active port;
    of two panel ports, the longer way. A length that isn't recorded counts nothing."""
    longest = 0.0
    for drop in net.neighbours.get(jack_node(outlet.key), ()):
        metres, node, seen = 0.0, drop.node, {drop.node}
        while isinstance(site.ports[port_of(node)].item, Panel):
            onward = [hop for hop in net.neighbours[node] if _goes_on(site, hop, seen)]
            if len(onward) != 1:
                break
            metres += _metres(site, onward[0].edge)
            node = onward[0].node
            seen.add(node)
        longest = max(longest, metres)
    return longest


def _goes_on(site: Site, hop: Hop, seen: Container[Node]) -> bool:
    """Whether the channel goes on over a cord or a copper backbone to somewhere new."""
    if hop.node in seen:
        return False
    if hop.edge.kind == "backbone":
        return medium_of(site.backbones[hop.edge.key]) == "copper"
    return hop.edge.kind == "cord"


def _metres(site: Site, edge: Edge) -> float:
    is_cord = edge.kind == "cord"
    length = site.cords[edge.key].cord if is_cord else site.backbones[edge.key].length
    return length.to("m") if length else 0.0

"""Patching: every outlet in use has a way to the network, and no cord leads nowhere.

The way from a jack goes over its panel port, a cord, a switch and on to the circuit that enters
the building. Where it breaks, that is told once, at the place it breaks: of the panel whose ports
have no cord, of the panel port with a cord and no cable, of the switch without an uplink. Spare
outlets need no way. Nothing is said where a part of the records
couldn't be read, or names ports that aren't there.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from asbuilt.checks.ports import named_ports
from asbuilt.model.paths import CablingGraph, Node, jack_node, paths_of, port_of
from asbuilt.model.site import PortState, Site
from asbuilt.problem import Problem, some_of
from asbuilt.records.enclosures import ITEMS, Panel, Switch
from asbuilt.records.links import Outlet

_ITEM_KINDS = frozenset(kind.name for kind in ITEMS)
#: Ports of which it is known that nobody knows, or that nobody uses them.
_UNUSED_STATES = (PortState.DEAD, PortState.ABANDONED, PortState.UNKNOWN, PortState.RESERVED)


def check_patching(site: Site, net: CablingGraph) -> Iterator[Problem]:
    if not site.in_doubt.isdisjoint(("cord", "backbone", "outlet", "circuit", *_ITEM_KINDS)):
        return
    if any(port not in site.ports for _, _, port in named_ports(site)):
        return
    yield from _patched_without_cable(site)
    yield from _switches_without_uplink(site, net)
    yield from _outlets_without_path(site, net)


def _patched_without_cable(site: Site) -> Iterator[Problem]:
    for item in site.items.values():
        if not isinstance(item, Panel):
            continue
        bare = [
            use
            for use in site.ports_of(item)
            if use.cords and not use.cabled and not use.circuits and use.state not in _UNUSED_STATES
        ]
        if bare:
            names = some_of([use.id.printed for use in bare])
            one = len(bare) == 1
            message = f"{'port' if one else 'ports'} {names} of panel {item.key} "
            message += f"{'is' if one else 'are'} patched, but no cable is recorded at "
            message += f"{'it' if one else 'them'}"
            hint = "record what ends there, or list the ports under the panel's “unknown”"
            cord = min((cord for use in bare for cord in use.cords), key=lambda cord: cord.place)
            yield cord.remark("from", "patched-not-cabled", message, hint)


def _reaches_root(net: CablingGraph, node: Node) -> bool:
    return node in net.roots or node in net.towards_root


def _switches_without_uplink(site: Site, net: CablingGraph) -> Iterator[Problem]:
    if not net.roots:
        return
    for item in site.items.values():
        if not isinstance(item, Switch) or _reaches_root(net, Node("device", item.key)):
            continue
        if any(use.cords or use.cabled for use in site.ports_of(item)):
            message = f"no way leads from switch {item.key} to what feeds the site"
            hint = "record the cord or backbone of its uplink"
            yield item.remark("uplinks", "switch-not-fed", message, hint)


def _outlets_without_path(site: Site, net: CablingGraph) -> Iterator[Problem]:
    unpatched: dict[str, list[Outlet]] = defaultdict(list)
    for outlet in site.outlets.values():
        if outlet.state != "in use" or outlet.serves == "spare":
            continue
        if not outlet.port or _reaches_root(net, jack_node(outlet.key)):
            continue
        uses = [site.ports[port] for port in outlet.port if port in site.ports]
        panels = [use.item.key for use in uses if isinstance(use.item, Panel) and not use.cords]
        if panels and len(panels) == len(uses):
            if not any(use.state in _UNUSED_STATES or use.circuits for use in uses):
                unpatched[panels[0]].append(outlet)
        elif uses and net.roots:
            yield from _path_breaks_off(site, net, outlet)
    for panel, outlets in unpatched.items():
        one = len(outlets) == 1
        message = f"{'outlet' if one else 'outlets'} {some_of([o.key for o in outlets])} "
        message += f"{'is' if one else 'are'} recorded as in use, but no cord is in "
        message += f"{'its port' if one else 'their ports'} of panel {panel}"
        hint = "record the cord, or write “state: spare”"
        yield outlets[0].remark("port", "outlet-unpatched", message, hint)


def _path_breaks_off(site: Site, net: CablingGraph, outlet: Outlet) -> Iterator[Problem]:
    """A way that breaks off where nothing else is told of: behind the first cord."""
    for path in paths_of(net, outlet):
        last = path.nodes[-1]
        if last.kind != "port":
            return
        use = site.ports[port_of(last)]
        if not isinstance(use.item, Panel) or not use.cabled or use.state in _UNUSED_STATES:
            return
        message = f"the way from outlet {outlet.key} ends at port {use.id}"
        hint = "record where it goes on from there"
        yield outlet.remark("port", "outlet-no-path", message, hint)

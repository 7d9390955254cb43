"""Ports: each that is named is there, and each is used once.

A panel port takes one cable at its back and one cord at its front; a port of a switch, router or
device takes one plug, be it of a cord, of a cable or of the carrier. A jack may have two cables,
each on a port of its own. Whether the item a port belongs to is recorded at all is asked when the
records are read.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import Any

from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import PortUse, Site
from asbuilt.problem import Problem, some_of, suggestion
from asbuilt.records.enclosures import Item, NamedPortsItem, Panel, PortedItem, Switch
from asbuilt.records.fields import PortId
from asbuilt.records.kind import Record
from asbuilt.records.links import Backbone, Cord

MAX_SINGLE_ERRORS = (
    4  # so many wrong ports of one item are one slip: the item's own number of ports
)
_STATES = ("dead", "abandoned", "reserved", "unknown")


def check_ports(site: Site, net: CablingGraph) -> Iterator[Problem]:
    yield from _unknown_ports(site)
    for item in site.items.values():
        if isinstance(item, PortedItem):
            yield from _port_lists(item)
    for use in site.ports.values():
        yield from _used_twice(use)


def _unknown_ports(site: Site) -> Iterator[Problem]:
    """Ports that are named but that their item doesn't have."""
    missed: dict[str, dict[PortId, list[tuple[Record, str]]]] = defaultdict(dict)
    for record, field, port in named_ports(site):
        if port not in site.ports and port.item in site.items:
            missed[port.item].setdefault(port, []).append((record, field))
    for key, ports in missed.items():
        item = site.items[key]
        if not isinstance(item, PortedItem):
            for (record, field), *_ in ports.values():
                message = f"{item.role} {key} has no ports"
                hint = "name a port of a panel, switch, router or device"
                yield record.error(field, "port-unknown", message, hint)
        elif _ports_unread(item):
            continue
        elif not item.port_names():
            yield item.error("ports", "ports-missing", *_count_missing(item, ports))
        elif len(ports) > MAX_SINGLE_ERRORS:
            names = some_of([port.printed for port in sorted(ports, key=_port_order)])
            message = (
                f"{item.role} {key} has {_ports_text(item)}, but ports {names} of it are named"
            )
            hint = "correct the number of its ports, or the ports that are named"
            yield item.error("ports", "port-unknown", message, hint)
        else:
            for port, ((record, field), *more) in ports.items():
                named = f" (named in {len(more)} more places)" if more else ""
                message = f"{item.role} {key} has no port {port.printed}{named}"
                hint = suggestion(
                    port.name, _port_names_in_letters(item), f"it has {_ports_text(item)}"
                )
                yield record.error(field, "port-unknown", message, hint)


def named_ports(site: Site) -> Iterator[tuple[Record, str, PortId]]:
    """Every port any record names: the record, its field, the port."""
    for cord in site.cords.values():
        yield cord, "from", cord.from_
        yield cord, "to", cord.to
    for outlet in site.outlets.values():
        for port in outlet.port:
            yield outlet, "port", port
    for backbone in site.backbones.values():
        for port in backbone.from_:
            yield backbone, "from", port
        for port in backbone.to:
            yield backbone, "to", port
    for circuit in site.circuits.values():
        if circuit.lands_on:
            yield circuit, "lands on", circuit.lands_on
    for finding in site.findings.values():
        if finding.port:
            yield finding, "port", finding.port


def _ports_unread(item: PortedItem) -> bool:
    """Whether the item's ports are written but couldn't be read, which is told already."""
    fields: dict[str, Any] = {"ports": item.ports}
    if isinstance(item, Switch):
        fields["uplinks"] = item.uplinks
    if isinstance(item, NamedPortsItem):
        fields["named ports"] = item.named_ports or None
    return any(name in item.raw.fields and value is None for name, value in fields.items())


def _count_missing(
    item: PortedItem, ports: dict[PortId, list[tuple[Record, str]]]
) -> tuple[str, str]:
    names = some_of([port.printed for port in sorted(ports, key=_port_order)])
    wanted = f"port {names} of it is" if len(ports) == 1 else f"ports {names} of it are"
    message = f"it isn't recorded how many ports {item.role} {item.key} has, but {wanted} named"
    return message, "add “ports: 24”, or as many as it has"


def _port_order(port: PortId) -> tuple[int, str]:
    return (int(port.name) if port.name.isdigit() else -1, port.name)


def _port_names_in_letters(item: PortedItem) -> list[str]:
    return [name for name in item.port_names() if not name.isdigit()]


def _ports_text(item: PortedItem) -> str:
    """The ports of an item in words: “ports 1 to 24 and WAN”."""
    numbers = [name for name in item.port_names() if name.isdigit()]
    first = f"{numbers[0]} to {numbers[-1]}" if len(numbers) > 1 else "".join(numbers)
    parts = [part for part in (first, ", ".join(_port_names_in_letters(item))) if part]
    return f"{'port' if len(item.port_names()) == 1 else 'ports'} {' and '.join(parts)}"


def _port_lists(item: PortedItem) -> Iterator[Problem]:
    """Ports an item's own lists name: there, and in one list of states only."""
    if _ports_unread(item) or not (item.raw.fields.keys() & _LIST_FIELDS):
        return
    names = frozenset(item.port_names())
    lists = {state: getattr(item, state) for state in _STATES}
    if isinstance(item, Switch):
        lists["poe ports"] = item.poe_ports
    lists["printed"] = tuple(item.printed or ())
    for field, ports in lists.items():
        wrong = [name for name in ports if name not in names]
        if wrong:
            message = f"{item.role} {item.key} has no port {some_of(wrong)}"
            hint = (
                f"it has {_ports_text(item)}" if names else "say how many ports it has: “ports: 24”"
            )
            yield item.error(field, "port-unknown", message, hint)
    for number, state in enumerate(_STATES):
        for earlier in _STATES[:number]:
            both = [name for name in lists[state] if name in lists[earlier]]
            if both:
                message = f"port {some_of(both)} of {item.role} {item.key} is called both "
                message += f"{earlier} and {state}"
                yield item.remark(state, "port-states", message, "keep one of the two")


_LIST_FIELDS = frozenset((*_STATES, "poe ports", "printed"))


def _used_twice(use: PortUse) -> Iterator[Problem]:
    if len(use.outlets) + len(use.backbones) + len(use.cords) + len(use.circuits) < 2:
        return
    cables: list[tuple[Record, str]] = [(outlet, "port") for outlet in use.outlets]
    cables += [
        (backbone, _end_field(backbone, use.id)) for backbone in _unique_backbones(use.backbones)
    ]
    cords = [(cord, "from" if cord.from_ == use.id else "to") for cord in _unique_cords(use.cords)]
    if len(use.backbones) > len(cables) - len(use.outlets):
        for backbone in _unique_backbones(use.backbones):
            if use.backbones.count(backbone) > 1:
                message = f"backbone {backbone.key} has both its ends at port {use.id}"
                yield backbone.error("to", "port-used-twice", message, "name its far ports")
    if isinstance(use.item, Panel):
        yield from _more_than_one(
            use, cables, "a panel port holds one cable; give one of them another"
        )
        yield from _more_than_one(use, [*cords], "a port takes one cord; move one of them")
    else:
        plugs = [*cables, *cords]
        if plugs and use.circuits:
            plugs = [*((circuit, "lands on") for circuit in use.circuits[:1]), *plugs]
        yield from _more_than_one(use, plugs, "a port takes one plug; move one of them")


def _unique_backbones(backbones: Sequence[Backbone]) -> list[Backbone]:
    return list({backbone.key: backbone for backbone in backbones}.values())


def _end_field(backbone: Backbone, port: PortId) -> str:
    return "from" if port in backbone.from_ else "to"


def _unique_cords(cords: Sequence[Cord]) -> list[Cord]:
    """The cords of a port; one that is written down from both its ends counts once, since that is
    told of the cord itself."""
    return list({frozenset((cord.from_, cord.to)): cord for cord in cords}.values())


def _more_than_one(
    use: PortUse, users: Sequence[tuple[Record, str]], hint: str
) -> Iterator[Problem]:
    if len(users) < 2:
        return
    first, *others = sorted(users, key=lambda user: user[0].place_of(user[1]))
    for record, field in others:
        message = f"port {use.id} is taken: {_record_text(first[0], use.id)} is on it "
        message += f"({first[0].place_of(first[1])})"
        yield record.error(field, "port-used-twice", message, hint)


def _record_text(record: Record, port: PortId) -> str:
    if isinstance(record, Cord):
        return f"the cord to {record.to if record.from_ == port else record.from_}"
    if isinstance(record, Item):
        return f"{record.role} {record.key}"
    return f"{record.raw.kind} {record.key}"

"""Things in a few words of the trade, for the labels and texts of drawings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from asbuilt.model.site import PortState, PortUse, Site
from asbuilt.records.enclosures import (
    CableManager,
    Device,
    Enclosure,
    Item,
    Panel,
    PowerStrip,
    Reserve,
    Router,
    Shelf,
    Switch,
    Ups,
)
from asbuilt.records.fields import PortId
from asbuilt.records.links import DEVICE, Backbone, Outlet
from asbuilt.records.quantity import Quantity
from asbuilt.records.services import Circuit


def describe_enclosure(enclosure: Enclosure) -> str:
    """`wall-mounted cabinet, 12 U`."""
    return f"{enclosure.kind or 'enclosure'}, {unit_count(enclosure)} U"


def unit_count(enclosure: Enclosure) -> int:
    return int(enclosure.height.value)


def item_name(item: Item) -> str:
    """Its key within the enclosure, by which its ports are spoken of, and its label where that
    says something else: `F Fibre to the houses`."""
    return item.name if item.label in (None, item.name) else f"{item.name} {item.label}"


def describe_item(item: Item) -> str:
    """What an item is, without its label: `24-port panel, cat 6`."""
    return ", ".join(_item_facts(item))


def describe_item_kind(item: Item) -> str:
    """What an item is, in the fewest words: `24-port panel`."""
    return _item_facts(item)[0]


def _item_facts(item: Item) -> list[str]:
    match item:
        case Panel():
            fibre = "fibre panel" if item.media == "fibre" else "panel"
            kind = f"cat {item.category}" if item.category else ""
            return _present(_with_port_count(item.ports, fibre), kind, item.connector)
        case Switch():
            uplinks = f"{item.uplinks} uplink{'s' * (item.uplinks != 1)}" if item.uplinks else ""
            power = f"{item.poe} PoE" if item.poe else ""
            return _present(_with_port_count(item.ports, "switch"), uplinks, power)
        case Router():
            return _present(item.does or "router", _count(len(item.port_names()), "port"))
        case Device():
            return _present(item.does or "device", _count(len(item.port_names()), "port"))
        case Ups():
            return _present("UPS", _quantity_text(item.output), _quantity_text(item.apparent))
        case PowerStrip():
            taken = f"{item.in_use} in use" if item.in_use is not None else ""
            return _present("power strip", _count(item.sockets or 0, "socket"), taken)
        case CableManager():
            return ["cable manager"]
        case Shelf():
            return ["shelf"]
        case Reserve():
            return [f"reserved for {item.for_}" if item.for_ else "reserved"]
    return [item.role]


def _present(*parts: str | None) -> list[str]:
    return [part for part in parts if part]


def _quantity_text(quantity: Quantity | None) -> str:
    return str(quantity) if quantity else ""


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'s' * (number != 1)}" if number else ""


def _with_port_count(ports: int | None, what: str) -> str:
    return f"{ports}-port {what}" if ports else what


def format_units(at: tuple[int, int]) -> str:
    """`U 12`, `U 9–10`."""
    return f"U {at[0]}" if at[0] == at[1] else f"U {at[0]}–{at[1]}"


def format_unit_position(item: Item) -> str:
    return format_units(item.at) if item.at else "no unit"


def format_depth(site: Site, item: Item) -> str:
    return f"{format_length(site, item.depth)} deep" if item.depth else "depth not known"


def format_length(site: Site, length: Quantity) -> str:
    """A length as typed where that suits the site's measures, else converted.

    1 in = 25.4 mm and 1 ft = 0.3048 m exactly (NIST SP 811, appendix B).
    """
    customary = site.info.measures == "customary"
    if customary == (length.unit in ("in", "ft")):
        return str(length)
    if customary:
        small = length.unit in ("mm", "cm")
        return f"{length.to('in'):.1f} in" if small else f"{length.to('ft'):.0f} ft"
    return f"{length.to('mm'):.0f} mm" if length.unit == "in" else f"{length.to('m'):.1f} m"


def port_label(use: PortUse) -> str:
    """A port as it is spoken of within its enclosure: `A/01`."""
    return f"{use.item.name}/{use.id.printed}"


def describe_port(site: Site, use: PortUse) -> str:
    """A port and all that ends at it: `A/01 → outlet 1A-A01, room 101 reception; in use`."""
    ends = [*(describe_outlet(site, outlet) for outlet in use.outlets)]
    ends += [_backbone_far_end(site, use.id, backbone) for backbone in use.backbones]
    ends += [circuit_name(circuit) for circuit in use.circuits]
    ends += [_cord_far_end(site, use, use.far_end(cord)) for cord in use.cords]
    label = port_label(use)
    printed = (use.item.printed or {}).get(use.id.name)
    if printed:
        label += f" (printed “{printed}”)"
    return f"{label} → {'; '.join(ends)}; {use.state}" if ends else f"{label}: {use.state}"


def describe_outlet(site: Site, outlet: Outlet) -> str:
    if outlet.serves == DEVICE:
        return "a device"
    words = f"outlet {site.label_of(outlet)}"
    return f"{words}, room {site.room_name(outlet.room)}" if outlet.room else words


def circuit_name(circuit: Circuit) -> str:
    return ", ".join(_present(circuit.carrier, circuit.service)) or f"circuit {circuit.key}"


def backbone_name(backbone: Backbone) -> str:
    return backbone.label or backbone.key


def port_destination(site: Site, use: PortUse) -> tuple[str, str]:
    """What a port leads to, in two short lines: the thing, and where it is."""
    if use.outlets:
        labels = [site.panel_label_of(o) if o.serves != DEVICE else DEVICE for o in use.outlets]
        return ", ".join(labels), use.outlets[0].room or ""
    if use.backbones:
        far = far_end_of_backbone(use.backbones[0], use.id)
        return backbone_name(use.backbones[0]), str(far) if far else ""
    if use.circuits:
        return use.circuits[0].carrier or use.circuits[0].key, use.circuits[0].service or ""
    for cord in use.cords:
        far = use.far_end(cord)
        beyond = site.ports.get(far)
        outlets = beyond.outlets if beyond else ()
        return port_within(far, use.id.enclosure), outlets[0].room or "" if outlets else ""
    return "", ""


def port_within(port: PortId, enclosure: str) -> str:
    """A port as it is spoken of in an enclosure: its own ports without the enclosure's key."""
    return str(port).removeprefix(f"{enclosure}/") if port.enclosure == enclosure else str(port)


def _backbone_far_end(site: Site, port: PortId, backbone: Backbone) -> str:
    far = far_end_of_backbone(backbone, port)
    return f"backbone {backbone_name(backbone)}" + (f" to {far}" if far else "")


def far_end_of_backbone(backbone: Backbone, port: PortId) -> PortId | None:
    """The port a backbone's strands lead to from `port`."""
    for start, end in zip(backbone.from_, backbone.to, strict=False):
        if port == start:
            return end
        if port == end:
            return start
    return None


def _cord_far_end(site: Site, use: PortUse, far: PortId) -> str:
    where = port_within(far, use.id.enclosure)
    beyond = site.ports.get(far)
    if beyond is None or use.outlets or not beyond.outlets:
        return f"cord to {where}"
    outlets = " and ".join(describe_outlet(site, outlet) for outlet in beyond.outlets)
    return f"cord to {where}, {outlets}"


def format_state_counts(uses: Iterable[PortUse]) -> str:
    """How many ports there are of each state: `12 in use, 9 free`."""
    counts = Counter(use.state for use in uses)
    return "; ".join(f"{counts[state]} {state}" for state in PortState if counts[state])

"""How each thing is named and described, once: pages, drawings, the log, labels and messages ask
here. Whole sentences are made where they stand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Final

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

#: Kinds of record whose name in the records isn't the word a reader knows.
_KIND_NAMES: Final = {
    "caution": "hazard",
    "manager": "cable manager",
    "reserve": "reserved space",
    "test": "test result",
    "ups": "UPS",
}
_IRREGULAR_PLURALS: Final = {"UPS": "UPS", "shelf": "shelves", "switch": "switches"}


def kind_name(kind: str) -> str:
    """The word for a kind of record: `manager` → `cable manager`."""
    return _KIND_NAMES.get(kind, kind)


def plural(word: str) -> str:
    """`panel` → `panels`, `category` → `categories`, `UPS` → `UPS`."""
    ies = word.endswith("y") and word[-2:-1] not in "aeiou"
    return _IRREGULAR_PLURALS.get(word, f"{word[:-1]}ies" if ies else f"{word}s")


def count_of(number: int, word: str) -> str:
    """`1 outlet`, `3 outlets`."""
    return f"{number} {word if number == 1 else plural(word)}"


def category_name(category: str | None) -> str:
    """A category as readers know it: `6A` → `Cat 6A`; nothing for none."""
    return f"Cat {category}" if category else ""


def cable_name(cable: str | None) -> str:
    """A type of cable as readers know it: `cat6A` → `Cat 6A`, `OM4` → `OM4`."""
    if cable and cable.startswith("cat"):
        return category_name(cable.removeprefix("cat"))
    return cable or ""


def reserve_name(purpose: str | None) -> str:
    """A space kept free: `reserved for a second UPS`."""
    return f"reserved for {purpose}" if purpose else "reserved"


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
    """What an item is, without its label: `24-port panel, Cat 6`."""
    return ", ".join(_item_facts(item))


def describe_item_briefly(item: Item) -> str:
    """What an item is and the one figure asked for first: `24-port panel, Cat 6`,
    `48-port switch, 740 W PoE`, `UPS, 2700 W`."""
    match item:
        case Panel():
            figure = category_name(item.category)
        case Switch():
            figure = f"{item.poe} PoE" if item.poe else ""
        case Ups():
            figure = _quantity_text(item.output)
        case _:
            figure = ""
    return ", ".join(_present(describe_item_kind(item), figure))


def describe_item_kind(item: Item) -> str:
    """What an item is, in the fewest words: `24-port panel`."""
    return _item_facts(item)[0]


def _item_facts(item: Item) -> list[str]:
    match item:
        case Panel():
            fibre = "fibre panel" if item.media == "fibre" else "panel"
            category = category_name(item.category)
            return _present(_with_port_count(item.ports, fibre), category, item.connector)
        case Switch():
            uplinks = count_of(item.uplinks, "uplink") if item.uplinks else ""
            power = f"{item.poe} PoE" if item.poe else ""
            return _present(_with_port_count(item.ports, "switch"), uplinks, power)
        case Router():
            return _present(item.does or "router", _counted(len(item.port_names()), "port"))
        case Device():
            return _present(item.does or "device", _counted(len(item.port_names()), "port"))
        case Ups():
            return _present("UPS", _quantity_text(item.output), _quantity_text(item.apparent))
        case PowerStrip():
            taken = f"{item.in_use} in use" if item.in_use is not None else ""
            return _present("power strip", _counted(item.sockets or 0, "socket"), taken)
        case CableManager():
            return [kind_name(item.role)]
        case Shelf():
            return ["shelf"]
        case Reserve():
            return [reserve_name(item.for_)]
    return [item.role]


def _present(*parts: str | None) -> list[str]:
    return [part for part in parts if part]


def _quantity_text(quantity: Quantity | None) -> str:
    return str(quantity) if quantity else ""


def _counted(number: int, word: str) -> str:
    return count_of(number, word) if number else ""


def _with_port_count(ports: int | None, what: str) -> str:
    return f"{ports}-port {what}" if ports else what


def format_units(at: tuple[int, int]) -> str:
    """`U 12`, `U 9–10`."""
    return f"U {at[0]}" if at[0] == at[1] else f"U {at[0]}–{at[1]}"


def format_unit_position(item: Item) -> str:
    return format_units(item.at) if item.at else "no unit"


def format_depth(site: Site, item: Item) -> str:
    return f"{format_quantity(site, item.depth)} deep" if item.depth else "depth not known"


def format_quantity(site: Site, quantity: Quantity | None) -> str:
    """A length as typed where that suits the site's measures, else converted; anything else as it
    was typed; nothing for what isn't recorded.

    1 in = 25.4 mm and 1 ft = 0.3048 m exactly (NIST SP 811, appendix B).
    """
    if quantity is None:
        return ""
    customary = site.info.measures == "customary"
    if quantity.dimension != "length" or customary == (quantity.unit in ("in", "ft")):
        return str(quantity)
    if customary:
        small = quantity.unit in ("mm", "cm")
        return f"{quantity.to('in'):.1f} in" if small else f"{quantity.to('ft'):.0f} ft"
    return f"{quantity.to('mm'):.0f} mm" if quantity.unit == "in" else f"{quantity.to('m'):.1f} m"


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


def outlet_use(outlet: Outlet) -> str:
    """What an outlet serves: `desk of Iris Quill`."""
    if outlet.person:
        return f"{outlet.serves or 'outlet'} of {outlet.person}"
    return outlet.serves or "not recorded"


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

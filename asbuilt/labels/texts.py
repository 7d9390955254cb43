"""What is printed on labels, and which of them an edit has outdated.

ANSI/TIA-606-D (as restated in public conventions for 606-A): a link carries one identifier, at
both ends of its cable and at its termination. The second line says where the other end is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from asbuilt.model.site import Site, natural
from asbuilt.records.enclosures import PortedItem
from asbuilt.records.fields import PortId
from asbuilt.records.links import Backbone, Outlet
from asbuilt.trade.fill import CABLE_DIAMETERS

#: How thick patch cords are, which records don't say (common practice). Millimetres.
COPPER_CORD_DIAMETER: Final = 6.0
FIBRE_CORD_DIAMETER: Final = 2.0


@dataclass(frozen=True, slots=True)
class Label:
    """One label. `lines` stand below each other, the first large; `kind` and `key` say whose page
    its code opens; `end` tells the two labels of a cable apart; `around` is the diameter of the
    cable it is wrapped around, None where it lies flat."""

    target_kind: str
    target_key: str
    lines: tuple[str, ...]
    cable_end: str = ""
    cable_diameter: float | None = None


def panel_labels(site: Site) -> Iterator[Label]:
    """Panels, switches and whatever else has ports."""
    for item in site.items.values():
        if isinstance(item, PortedItem):
            ports = item.port_ids()
            words = f"{len(ports)} ports" if ports else "ports not recorded"
            if _is_consecutive(ports):
                words = f"ports {ports[0].printed}–{ports[-1].printed}"
            units = f"U {item.at[0]}" if item.at and item.at[0] == item.at[1] else ""
            if item.at and not units:
                units = f"U {item.at[0]}–{item.at[1]}"
            lines = (f"{item.enclosure}/{item.title}", words, units)
            yield Label("item", item.key, tuple(line for line in lines if line))


def faceplate_labels(site: Site) -> Iterator[Label]:
    """One a jack: the text on its faceplate, and the panel port behind it."""
    for outlet in _in_service(site.outlets.values()):
        lines = (site.label_of(outlet), _port_range(outlet.port))
        yield Label("outlet", outlet.key, tuple(line for line in lines if line))


def cable_labels(site: Site) -> Iterator[Label]:
    """Two a cable: at the jack and at the panel; at both ends of a backbone."""
    for outlet in _in_service(site.outlets.values()):
        around = CABLE_DIAMETERS.get(outlet.cable or "unknown", CABLE_DIAMETERS["unknown"])
        at_jack = (site.label_of(outlet), f"to {_port_range(outlet.port)}" if outlet.port else "")
        room = site.room_name(outlet.room) if outlet.room else ""
        at_panel = (site.panel_label_of(outlet), f"to {room}" if room else "")
        for end, lines in (("jack", at_jack), ("panel", at_panel)):
            shown = tuple(line for line in lines if line)
            yield Label("outlet", outlet.key, shown, end, around)
    for backbone in _in_service(site.backbones.values()):
        around = CABLE_DIAMETERS.get(backbone.cable or "unknown", CABLE_DIAMETERS["unknown"])
        name = backbone.label or backbone.key
        for end, far in (("from", backbone.to), ("to", backbone.from_)):
            yield Label("backbone", backbone.key, (name, f"to {_port_range(far)}"), end, around)


def cord_labels(site: Site) -> Iterator[Label]:
    """Two a patch cord: each names the port it is plugged into, and the one at its other end."""
    for cord in site.cords.values():
        around = FIBRE_CORD_DIAMETER if cord.media == "fibre" else COPPER_CORD_DIAMETER
        for near, far in ((cord.from_, cord.to), (cord.to, cord.from_)):
            lines = (cord.label or "", str(near), f"to {far}")
            yield Label("port", str(near), tuple(line for line in lines if line), "cord", around)


def enclosure_labels(site: Site) -> Iterator[Label]:
    for enclosure in site.enclosures.values():
        room = site.room_name(enclosure.room) if enclosure.room else ""
        lines = (enclosure.label or enclosure.key, room, site.name)
        yield Label("enclosure", enclosure.key, tuple(line for line in lines if line))


#: What labels are printed for.
PURPOSES: Final[Mapping[str, Callable[[Site], Iterable[Label]]]] = {
    "panels": panel_labels,
    "faceplates": faceplate_labels,
    "cables": cable_labels,
    "cords": cord_labels,
    "enclosures": enclosure_labels,
}


def labels_of(site: Site, purpose: str) -> tuple[Label, ...]:
    """The labels for one of PURPOSES, in the order of their keys."""
    return tuple(
        sorted(
            PURPOSES[purpose](site),
            key=lambda one: (one.target_kind != "outlet", natural(one.target_key)),
        )
    )


def outdated_labels(now: Iterable[Label], before: Iterable[Label]) -> tuple[Label, ...]:
    """Those of `now` that weren't so before: what has to be printed again."""
    known = {(one.target_kind, one.target_key, one.cable_end, one.lines) for one in before}
    return tuple(
        one
        for one in now
        if (one.target_kind, one.target_key, one.cable_end, one.lines) not in known
    )


L = TypeVar("L", Outlet, Backbone)


def _in_service(links: Iterable[L]) -> list[L]:
    """All but abandoned cable: that has a tag of its own."""
    return [link for link in links if link.state != "abandoned"]


def _port_range(ports: Sequence[PortId]) -> str:
    """Ports as a label has room for: `1A/A/01`, `1A/F/01–06`, `1A/A/01, 1A/B/13`."""
    if _is_consecutive(ports):
        return f"{ports[0]}–{ports[-1].printed}"
    if len(ports) > 2:
        return f"{ports[0]} and {len(ports) - 1} more"
    return ", ".join(map(str, ports))


def _is_consecutive(ports: Sequence[PortId]) -> bool:
    """Whether these are several ports of one item, numbered on without a gap."""
    if len(ports) < 2 or not all(port.name.isdigit() for port in ports):
        return False
    numbers = [int(port.name) for port in ports]
    in_turn = numbers == list(range(numbers[0], numbers[0] + len(ports)))
    return in_turn and len({port.item for port in ports}) == 1

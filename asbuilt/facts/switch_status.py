"""The wire's own word: what a switch says of its ports, held against the patching.

A port that is up with nothing recorded in it, or recorded as dead; one that is patched to something
in use and down; a neighbour that isn't the device recorded at the other end. Each is a question for
somebody who looks, no verdict: a desk may be switched off, a device may not name itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from asbuilt.model.site import PortState, PortUse, Site, natural
from asbuilt.records.enclosures import Item, Panel, PortedItem
from asbuilt.records.fields import PortId


class Mismatch(StrEnum):
    """How wire and records differ."""

    UNRECORDED = "up, but nothing is recorded in it"
    OUT_OF_USE = "up, but recorded as out of use"
    DOWN = "recorded, but down"
    NEIGHBOUR = "another neighbour than recorded"


@dataclass(frozen=True, slots=True)
class SwitchPortStatus:
    """What a switch says of one of its ports."""

    port: PortId
    up: bool
    neighbour: str = ""
    neighbour_port: str = ""


@dataclass(frozen=True, slots=True)
class StatusDifference:
    port: PortId
    mismatch: Mismatch
    recorded: str
    reported: str

    def __str__(self) -> str:
        said = [f"recorded: {self.recorded}"] if self.recorded else []
        said += [f"heard: {self.reported}"] if self.reported else []
        tail = f" ({'; '.join(said)})" if said else ""
        return f"{self.port}: {self.mismatch}{tail}"


def compare_with_records(
    site: Site, heard: Iterable[SwitchPortStatus]
) -> tuple[StatusDifference, ...]:
    """Every port that was heard, against what is recorded in it, in order of the ports."""
    names = devices_by_name(site)
    found = [difference for one in heard for difference in _differences_at(site, names, one)]
    return tuple(sorted(found, key=lambda d: natural(str(d.port))))


def ports_without_status(site: Site, heard: Sequence[SwitchPortStatus]) -> tuple[PortId, ...]:
    """The ports of the switches that were heard of which nothing was said."""
    told = {one.port for one in heard}
    items = dict.fromkeys(one.port.item for one in heard)
    ports = (port for item in items for port in site.items[item].port_ids())
    return tuple(port for port in ports if port not in told)


def devices_by_name(site: Site) -> Mapping[str, Item | None]:
    """What a device may be called, folded → the device; None where several are called so."""
    found: dict[str, Item | None] = {}
    for item in site.items.values():
        if not isinstance(item, PortedItem):
            continue
        host = getattr(item, "host_name", None) or ""
        names = {item.key, item.name, item.label or "", host, host.partition(".")[0]}
        for name in {name.casefold() for name in names if name}:
            found[name] = None if name in found else item
    return found


def find_device(names: Mapping[str, Item | None], text: str) -> Item | None:
    """The device of this name, with or without its domain."""
    folded = text.casefold()
    return names.get(folded) or names.get(folded.partition(".")[0])


def _differences_at(
    site: Site, names: Mapping[str, Item | None], one: SwitchPortStatus
) -> Iterator[StatusDifference]:
    use = site.ports[one.port]
    recorded = _recorded_text(site, use)
    neighbour = " ".join(filter(None, (one.neighbour, one.neighbour_port)))
    if one.up and use.state in (PortState.DEAD, PortState.ABANDONED):
        yield StatusDifference(one.port, Mismatch.OUT_OF_USE, use.state.value, neighbour)
    elif one.up and not recorded:
        yield StatusDifference(one.port, Mismatch.UNRECORDED, "", neighbour)
    elif not one.up and recorded and _in_use(site, use):
        yield StatusDifference(one.port, Mismatch.DOWN, recorded, "")
    if one.up and one.neighbour and recorded and not _neighbour_agrees(site, names, use, one):
        yield StatusDifference(one.port, Mismatch.NEIGHBOUR, recorded, neighbour)


def _neighbour_agrees(
    site: Site, names: Mapping[str, Item | None], use: PortUse, one: SwitchPortStatus
) -> bool:
    """Whether the neighbour may be what is recorded. What is connected to an outlet names
    itself as it likes, but it is none of the devices recorded elsewhere."""
    device = find_device(names, one.neighbour)
    far = far_ends(site, use)
    ports = [port for port in far if not isinstance(site.items[port.item], Panel)]
    if not ports:
        return device is None
    if device is None or device.key not in {port.item for port in ports}:
        return False
    number = trailing_port_number(one.neighbour_port)
    known = {port.name for port in ports if port.item == device.key}
    return number is None or number in known or not all(name.isdigit() for name in known)


def far_ends(site: Site, use: PortUse) -> tuple[PortId, ...]:
    """The ports a port leads to by cords and backbones, through panels: those of devices, and the
    panel ports where it ends."""
    ends: list[PortId] = []
    seen = {use.id}
    todo = [use]
    while todo:
        here = todo.pop()
        onward = [here.far_end(cord) for cord in here.cords]
        for backbone in here.backbones:
            for one, other in zip(backbone.from_, backbone.to, strict=False):
                onward += [other] if one == here.id else [one] if other == here.id else []
        onward = [port for port in onward if port not in seen and port in site.ports]
        seen.update(onward)
        is_panel = isinstance(here.item, Panel)
        if here is not use and (not is_panel or not onward):
            ends.append(here.id)
        elif here is use or is_panel:
            todo += [site.ports[port] for port in onward]
    return tuple(sorted(ends))


_TRAILING_NUMBER = re.compile(r"(?:^|[^0-9])0*([0-9]+)$")


def trailing_port_number(text: str) -> str | None:
    """The number a port's name ends in: `GigabitEthernet1/0/07` is port 7 (common practice)."""
    match = _TRAILING_NUMBER.search(text.strip())
    return match[1] if match else None


def _recorded_text(site: Site, use: PortUse) -> str:
    """What the records have in a port: outlets, devices, circuits; empty where nothing is."""
    words: list[str] = []
    for port in (*far_ends(site, use), use.id):
        here = site.ports[port]
        words += [f"{site.label_of(o)}{f' ({o.serves})' if o.serves else ''}" for o in here.outlets]
        words += [f"circuit {circuit.key}" for circuit in here.circuits]
        if port != use.id and not here.outlets:
            words.append(str(port))
    words += [f"backbone {backbone.key}" for backbone in use.backbones if not words]
    return ", ".join(dict.fromkeys(words))


def _in_use(site: Site, use: PortUse) -> bool:
    """Whether something in use hangs there: a spare outlet that is down is as it should be."""
    outlets = [o for port in (*far_ends(site, use), use.id) for o in site.ports[port].outlets]
    return not outlets or any(outlet.state == "in use" for outlet in outlets)

"""What is in place, counted by kind from the records: a list to read, none to take in again.

Jacks, drops and cords that are out of use are in place too, and counted. A length that isn't
recorded is counted apart and added to nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Final, TypeAlias

from asbuilt.lists.table import Table
from asbuilt.model.describe import cable_name, category_name
from asbuilt.model.site import Site, natural
from asbuilt.records.enclosures import Device, Item, Panel, Router, Switch
from asbuilt.records.kind import Record
from asbuilt.records.quantity import Quantity

HEADER: Final = ("kind", "what", "count", "length", "unit", "counted from")
NOT_RECORDED: Final = "not recorded"
_FOOT: Final = 0.3048  # exact: the international foot
#: A kind of cable that is recorded as unknown.
_UNKNOWN: Final = "unknown"
_Row: TypeAlias = tuple[str, ...]


def materials_table(site: Site) -> Table:
    parts = (_enclosures(site), _mounted(site), _outlets(site), _cable(site), _cords(site))
    return Table("materials", HEADER, tuple(row for part in parts for row in part))


def _enclosures(site: Site) -> Iterator[_Row]:
    yield from _counted(
        "enclosure",
        ((f"{e.kind or 'kind not recorded'}, {e.height}", e) for e in site.enclosures.values()),
    )


def _mounted(site: Site) -> Iterator[_Row]:
    roles: defaultdict[str, list[tuple[str, Record]]] = defaultdict(list)
    for item in site.items.values():
        if item.role != "reserve":  # rack units kept free are no material
            roles[item.role].append((_words(item), item))
    for role in sorted(roles):
        yield from _counted(role, roles[role])


def _words(item: Item) -> str:
    """What one would ask for to have another like it."""
    ports = getattr(item, "ports", None)
    size = f"{ports}-port " if ports else ""
    if isinstance(item, Panel):
        category = f", {category_name(item.category)}" if item.category else ""
        connector = f", {item.connector}" if item.connector else ""
        return f"{size}{item.media} panel{category}{connector}"
    if isinstance(item, Switch):
        uplinks = f", {item.uplinks} uplinks" if item.uplinks else ""
        speed = f", {item.speed}" if item.speed else ""
        power = f", power over Ethernet {item.poe}" if item.poe else ""
        return f"{size}switch{uplinks}{speed}{power}"
    if isinstance(item, (Router, Device)):
        return f"{size}{item.does or item.role}"
    units = f"{item.height} U " if item.height else ""
    output = getattr(item, "output", None)
    sockets = getattr(item, "sockets", None)
    told = f", {output}" if output else f", {sockets} sockets" if sockets else ""
    return f"{units}{'UPS' if item.role == 'ups' else item.role}{told}"


def _outlets(site: Site) -> Iterator[_Row]:
    """Jacks; and the faceplates they sit in, where it is recorded which share one."""
    jacks: defaultdict[str, int] = defaultdict(int)
    for outlet in site.outlets.values():
        jacks[f"jack for {_cable_words(outlet.cable)}"] += 1
    for words in sorted(jacks, key=natural):
        yield ("jack", words, str(jacks[words]), "", "", "one an outlet")
    placed = [o for o in site.outlets.values() if o.plate]
    plates: defaultdict[tuple[object, ...], int] = defaultdict(int)
    for outlet in placed:
        plates[outlet.room, outlet.plate, outlet.position] += 1
    sizes: defaultdict[int, int] = defaultdict(int)
    for many in plates.values():
        sizes[many] += 1
    for many in sorted(sizes):
        words = f"faceplate with {many} {'jack' if many == 1 else 'jacks'}"
        how = "jacks at the same place of a room share one"
        yield ("faceplate", words, str(sizes[many]), "", "", how)
    loose = len(site.outlets) - len(placed)
    if loose:
        how = f"jacks whose faceplate is {NOT_RECORDED}"
        yield ("faceplate", NOT_RECORDED, str(loose), "", "", how)


def _cable(site: Site) -> Iterator[_Row]:
    drops = ((_cable_words(o.cable), o.length) for o in site.outlets.values())
    backbones = ((_backbone(b.cable, b.strands), b.length) for b in site.backbones.values())
    yield from _measured("cable of drops", drops, site.info.measures)
    yield from _measured("cable of backbones", backbones, site.info.measures)


def _backbone(cable: str | None, strands: int | None) -> str:
    return _cable_words(cable) + (f", {strands} strands or pairs" if strands else "")


def _cable_words(cable: str | None) -> str:
    if cable is None:
        return f"cable {NOT_RECORDED}"
    return "cable of unknown kind" if cable == _UNKNOWN else cable_name(cable)


def _measured(
    kind: str, cables: Iterable[tuple[str, Quantity | None]], measures: str
) -> Iterator[_Row]:
    lengths: defaultdict[str, list[Quantity | None]] = defaultdict(list)
    for cable, length in cables:
        lengths[cable].append(length)
    for cable in sorted(lengths, key=natural):
        known = [length.to("m") for length in lengths[cable] if length is not None]
        if known:
            total, unit = (sum(known), "m") if measures == "metric" else (sum(known) / _FOOT, "ft")
            yield (kind, cable, str(len(known)), f"{total:.1f}", unit, "recorded lengths")
        unknown = len(lengths[cable]) - len(known)
        if unknown:
            how = f"length {NOT_RECORDED}: added to nothing"
            yield (kind, cable, str(unknown), "", "", how)


def _cords(site: Site) -> Iterator[_Row]:
    """By length as it is typed: what is bought as 3 ft is no cord of 1 m."""
    counts: defaultdict[tuple[str, float, str], int] = defaultdict(int)
    for cord in site.cords.values():
        media = f"{cord.media} cord" if cord.media else "cord"
        metres = cord.cord.to("m") if cord.cord else float("inf")
        counts[media, metres, str(cord.cord) if cord.cord else ""] += 1
    for (media, _, length), many in sorted(counts.items()):
        what = f"{media} of {length}" if length else f"{media}, length {NOT_RECORDED}"
        yield ("cord", what, str(many), "", "", "the patching; cords at outlets aren’t recorded")


def _counted(kind: str, things: Iterable[tuple[str, Record]]) -> Iterator[_Row]:
    keys: defaultdict[str, list[str]] = defaultdict(list)
    for words, record in things:
        keys[words].append(record.key)
    for words in sorted(keys, key=natural):
        listed = sorted(keys[words], key=natural)
        yield (kind, words, str(len(listed)), "", "", ", ".join(listed))

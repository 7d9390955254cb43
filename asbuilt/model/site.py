"""A site as a whole: its records, indexed, with the references between them in both directions.

A `Site` is made once from records and never changes. What follows from it (paths, headroom,
drawings) is computed by functions elsewhere.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any, TypeVar, cast

from asbuilt.records.enclosures import ITEMS, Enclosure, Item, Panel, PortedItem
from asbuilt.records.fields import PortId
from asbuilt.records.kind import Record
from asbuilt.records.kinds import KINDS, REFERABLE
from asbuilt.records.links import Backbone, Cord, Outlet, Pathway
from asbuilt.records.people import Caution, Contact
from asbuilt.records.photos import Photo
from asbuilt.records.places import SITE, Building, Floor, Room, SiteInfo
from asbuilt.records.reading import Records
from asbuilt.records.services import Circuit, Network
from asbuilt.records.work import Finding, Job, LinkTest

R = TypeVar("R", bound=Record)


class PortState(StrEnum):
    """What a port is to somebody who looks for a free one. Only FREE is free."""

    IN_USE = "in use"
    CABLED = "cabled, not patched"
    FREE = "free"
    DEAD = "dead"
    ABANDONED = "abandoned"
    RESERVED = "reserved"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class PortUse:
    """A port of a mounted item and everything that ends at it."""

    id: PortId
    item: PortedItem
    state: PortState
    outlets: tuple[Outlet, ...] = ()
    backbones: tuple[Backbone, ...] = ()
    cords: tuple[Cord, ...] = ()
    circuits: tuple[Circuit, ...] = ()

    @property
    def cabled(self) -> bool:
        """Whether a cable that stays (a drop or a backbone) ends here."""
        return bool(self.outlets or self.backbones)

    def far_end(self, cord: Cord) -> PortId:
        return cord.to if cord.from_ == self.id else cord.from_


@dataclass(frozen=True, slots=True)
class Site:
    key: str
    info: SiteInfo
    by_kind: Mapping[str, Mapping[str, Record]]  # every kind's records by key, in their order
    items: Mapping[str, Item]  # of every kind that can be mounted
    ports: Mapping[PortId, PortUse]
    ports_at: Mapping[str, tuple[PortUse, ...]]  # by item, in their order
    items_in: Mapping[str, tuple[Item, ...]]
    outlets_in: Mapping[str | None, tuple[Outlet, ...]]
    tests_of: Mapping[str, tuple[LinkTest, ...]]
    #: Kinds of record of which not all could be read: nothing follows from what isn't there.
    in_doubt: frozenset[str] = frozenset()

    @property
    def name(self) -> str:
        return self.info.name

    @property
    def contacts(self) -> Mapping[str, Contact]:
        return cast(Mapping[str, Contact], self.by_kind["contact"])

    @property
    def cautions(self) -> Mapping[str, Caution]:
        return cast(Mapping[str, Caution], self.by_kind["caution"])

    @property
    def buildings(self) -> Mapping[str, Building]:
        return cast(Mapping[str, Building], self.by_kind["building"])

    @property
    def floors(self) -> Mapping[str, Floor]:
        return cast(Mapping[str, Floor], self.by_kind["floor"])

    @property
    def rooms(self) -> Mapping[str, Room]:
        return cast(Mapping[str, Room], self.by_kind["room"])

    @property
    def circuits(self) -> Mapping[str, Circuit]:
        return cast(Mapping[str, Circuit], self.by_kind["circuit"])

    @property
    def networks(self) -> Mapping[str, Network]:
        return cast(Mapping[str, Network], self.by_kind["network"])

    @property
    def enclosures(self) -> Mapping[str, Enclosure]:
        return cast(Mapping[str, Enclosure], self.by_kind["enclosure"])

    @property
    def cords(self) -> Mapping[str, Cord]:
        return cast(Mapping[str, Cord], self.by_kind["cord"])

    @property
    def outlets(self) -> Mapping[str, Outlet]:
        return cast(Mapping[str, Outlet], self.by_kind["outlet"])

    @property
    def backbones(self) -> Mapping[str, Backbone]:
        return cast(Mapping[str, Backbone], self.by_kind["backbone"])

    @property
    def pathways(self) -> Mapping[str, Pathway]:
        return cast(Mapping[str, Pathway], self.by_kind["pathway"])

    @property
    def findings(self) -> Mapping[str, Finding]:
        return cast(Mapping[str, Finding], self.by_kind["finding"])

    @property
    def jobs(self) -> Mapping[str, Job]:
        return cast(Mapping[str, Job], self.by_kind["job"])

    @property
    def photos(self) -> Mapping[str, Photo]:
        return cast(Mapping[str, Photo], self.by_kind["photo"])

    @property
    def tests(self) -> Mapping[str, LinkTest]:
        return cast(Mapping[str, LinkTest], self.by_kind["test"])

    def records_of(self, kind: str) -> Mapping[str, Record]:
        """The records a reference of this kind may name: `outlet`, but also `item` or `link`."""
        if kind == "item":
            return self.items
        names = REFERABLE[kind]
        if len(names) == 1:
            return self.by_kind[names[0]]
        return {key: found for name in names for key, found in self.by_kind[name].items()}

    def ports_of(self, item: Item) -> tuple[PortUse, ...]:
        return self.ports_at.get(item.key, ())

    def room_name(self, key: str | None) -> str:
        """A room as people say it: its number and its name."""
        room = self.rooms.get(key or "")
        if room is None:
            return "room not recorded"
        return f"{room.key} {room.name}" if room.name else room.key

    def floor_of(self, room: str | None) -> Floor | None:
        found = self.rooms.get(room or "")
        return self.floors.get(found.floor or "") if found else None

    def label_of(self, outlet: Outlet) -> str:
        return outlet.label or outlet.key

    def panel_label_of(self, outlet: Outlet) -> str:
        return outlet.label_at_panel or self.label_of(outlet)


def site_of(records: Records, like: Site | None = None) -> Site | None:
    """The site of these records; None when there is no site record to begin with. The ports of
    items on which nothing is otherwise than in a site that it is `like` are taken from there."""
    by_kind = {name: _sorted(records.by_kind[name]) for name in KINDS}
    info = by_kind[SITE.name].get("site")
    if not isinstance(info, SiteInfo):
        return None
    items = _sorted(
        {key: cast(Item, item) for kind in ITEMS for key, item in by_kind[kind.name].items()}
    )
    outlets = cast(Mapping[str, Outlet], by_kind["outlet"])
    tests = cast(Mapping[str, LinkTest], by_kind["test"])
    ports_at = _ports(
        items,
        outlets,
        cast(Mapping[str, Backbone], by_kind["backbone"]),
        cast(Mapping[str, Cord], by_kind["cord"]),
        cast(Mapping[str, Circuit], by_kind["circuit"]),
        like,
    )
    return Site(
        key=records.site,
        info=info,
        by_kind=by_kind,
        items=items,
        ports={use.id: use for uses in ports_at.values() for use in uses},
        ports_at=ports_at,
        items_in=_grouped(items.values(), lambda item: item.enclosure, _top_first),
        outlets_in=_grouped(outlets.values(), lambda outlet: outlet.room, _in_key_order),
        tests_of=_grouped(tests.values(), lambda test: test.link, _oldest_first),
        in_doubt=records.in_doubt,
    )


_DIGITS = re.compile(r"([0-9]+)")


@lru_cache(maxsize=2**14)
def natural(text: str) -> tuple[Any, ...]:
    """A sort key that puts A2 before A10."""
    parts: list[Any] = _DIGITS.split(text)
    parts[1::2] = map(int, parts[1::2])
    return (tuple(parts), text)


def _sorted(found: Mapping[str, R]) -> dict[str, R]:
    return {key: found[key] for key in sorted(found, key=natural)}


def _top_first(item: Item) -> tuple[Any, ...]:
    top = item.at[1] if item.at else 0
    return (item.face == "none", item.face, -top, natural(item.key))


def _in_key_order(record: Record) -> tuple[Any, ...]:
    return natural(record.key)


def _oldest_first(test: LinkTest) -> tuple[Any, ...]:
    return (test.date, test.key)


def _grouped(values: Iterable[R], by: Any, order: Any) -> dict[Any, tuple[R, ...]]:
    groups: dict[Any, list[R]] = defaultdict(list)
    for value in values:
        groups[by(value)].append(value)
    return {key: tuple(sorted(group, key=order)) for key, group in groups.items()}


def _ports(
    items: Mapping[str, Item],
    outlets: Mapping[str, Outlet],
    backbones: Mapping[str, Backbone],
    cords: Mapping[str, Cord],
    circuits: Mapping[str, Circuit],
    like: Site | None,
) -> dict[str, tuple[PortUse, ...]]:
    touched = _touched(like, outlets, backbones, cords, circuits) if like else frozenset()
    drops: dict[PortId, tuple[Outlet, ...]] = {}
    trunks: dict[PortId, tuple[Backbone, ...]] = {}
    patches: dict[PortId, tuple[Cord, ...]] = {}
    services: dict[PortId, tuple[Circuit, ...]] = {}
    for outlet in outlets.values():
        for port in outlet.port:
            drops[port] = (*drops.get(port, ()), outlet)
    for backbone in backbones.values():
        for port in (*backbone.from_, *backbone.to):
            trunks[port] = (*trunks.get(port, ()), backbone)
    for cord in cords.values():
        for port in (cord.from_, cord.to):
            patches[port] = (*patches.get(port, ()), cord)
    for circuit in circuits.values():
        if circuit.lands_on:
            landed = services.get(circuit.lands_on, ())
            services[circuit.lands_on] = (*landed, circuit)
    ports: dict[str, tuple[PortUse, ...]] = {}
    for item in items.values():
        if like and like.items.get(item.key) is item and item.key not in touched:
            if item.key in like.ports_at:
                ports[item.key] = like.ports_at[item.key]
        elif isinstance(item, PortedItem):
            uses = []
            for port in item.port_ids():
                ends = (
                    drops.get(port, ()),
                    trunks.get(port, ()),
                    patches.get(port, ()),
                    services.get(port, ()),
                )
                uses.append(PortUse(port, item, _state(item, port.name, *ends), *ends))
            ports[item.key] = tuple(uses)
    return ports


def _touched(
    like: Site,
    outlets: Mapping[str, Outlet],
    backbones: Mapping[str, Backbone],
    cords: Mapping[str, Cord],
    circuits: Mapping[str, Circuit],
) -> frozenset[str]:
    """The items on whose ports something else ends than in the site this one is like."""
    ports: set[PortId] = set()
    for outlet in _differing(outlets, like.outlets):
        ports.update(outlet.port)
    for backbone in _differing(backbones, like.backbones):
        ports.update(backbone.from_, backbone.to)
    for cord in _differing(cords, like.cords):
        ports.update((cord.from_, cord.to))
    for circuit in _differing(circuits, like.circuits):
        ports.update(filter(None, [circuit.lands_on]))
    return frozenset(port.item for port in ports)


def _differing(here: Mapping[str, R], there: Mapping[str, R]) -> Iterator[R]:
    """The records of two tables that aren't the very same in both."""
    for one, other in ((here, there), (there, here)):
        yield from (record for key, record in one.items() if other.get(key) is not record)


def _state(
    item: PortedItem,
    name: str,
    outlets: tuple[Outlet, ...],
    backbones: tuple[Backbone, ...],
    cords: tuple[Cord, ...],
    circuits: tuple[Circuit, ...],
) -> PortState:
    for names, state in (
        (item.dead, PortState.DEAD),
        (item.abandoned, PortState.ABANDONED),
        (item.unknown, PortState.UNKNOWN),
        (item.reserved, PortState.RESERVED),
    ):
        if name in names:
            return state
    for cable_state in (*(o.state for o in outlets), *(b.state for b in backbones)):
        if cable_state in ("dead", "abandoned", "unknown", "reserved"):
            return PortState(cable_state)
    cabled = bool(outlets or backbones)
    if cords or circuits or (cabled and not isinstance(item, Panel)):
        return PortState.IN_USE
    return PortState.CABLED if cabled else PortState.FREE

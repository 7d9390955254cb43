"""How new drops would go in: what is put where, what is moved, what is patched to what, what has to
be bought; and the site as it would stand then, as records again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final

from asbuilt.growth.enclosure_capacity import DropRequest
from asbuilt.growth.rearrange import LARGE_PORT_COUNT, RackAction
from asbuilt.model.site import Site, natural, site_of
from asbuilt.records.enclosures import Item, Panel, Switch
from asbuilt.records.fields import PortId
from asbuilt.records.kind import Raw, Record
from asbuilt.records.kinds import KINDS
from asbuilt.records.links import Cord, Outlet
from asbuilt.records.quantity import Quantity
from asbuilt.records.reading import Records
from asbuilt.yamltext import scalar_at

#: The uplinks a new switch is taken to have (common practice).
NEW_SWITCH_UPLINKS: Final = 4


@dataclass(frozen=True, slots=True)
class Placement:
    """A new panel or switch of one unit: `at` is printed on the enclosure, `poe` the watts the
    switch has to give at least, `watts` what is asked of it."""

    kind: str
    ports: int
    enclosure: str
    at: tuple[int, int]
    name: str
    poe: float | None = None
    watts: float = 0.0

    @property
    def key(self) -> str:
        return f"{self.enclosure}/{self.name}"


@dataclass(frozen=True, slots=True)
class ItemMove:
    """A thing touched: `to` is None where it is taken out; units as printed. A swapped switch gets
    `poe` watts, where it has to give any."""

    action: RackAction
    key: str
    from_units: tuple[int, int]
    to_units: tuple[int, int] | None
    part: str | None = None
    interrupts: tuple[str, ...] = ()
    poe: float | None = None


@dataclass(frozen=True, slots=True)
class PatchGroup:
    """New drops of a panel patched to a switch, by cords of one length in metres."""

    panel: str
    switch: str
    ports: tuple[tuple[PortId, PortId], ...]
    cord: float


@dataclass(frozen=True, slots=True)
class SwitchUplink:
    """What a new switch is patched to; `to` is None where nothing free is recorded."""

    switch: str
    uplink: PortId
    to: PortId | None
    cord: float


@dataclass(frozen=True, slots=True)
class Purchase:
    """Something to be had: `note` says what for."""

    count: float
    what: str
    note: str = ""

    def __str__(self) -> str:
        return f"{self.count:g} × {self.what}" + (f" ({self.note})" if self.note else "")


@dataclass(frozen=True, slots=True)
class GrowthPlan:
    """How so many drops go in. `proved` says that no smaller re-racking does."""

    request: DropRequest
    drops_by_enclosure: tuple[tuple[str, int], ...]  # enclosure → drops that end in it
    placements: tuple[Placement, ...] = ()
    moves: tuple[ItemMove, ...] = ()
    patches: tuple[PatchGroup, ...] = ()
    uplinks: tuple[SwitchUplink, ...] = ()
    cables_by_pathway: tuple[tuple[str, int], ...] = ()  # pathway → new cables in it
    purchases: tuple[Purchase, ...] = ()
    interrupted_outlets: tuple[str, ...] = ()
    proved_smallest: bool = True

    @property
    def drops(self) -> int:
        return sum(count for _, count in self.drops_by_enclosure)

    @property
    def changed_items(self) -> tuple[str, ...]:
        """Keys of the items that are new or changed, for a drawing to mark."""
        keys = [placement.key for placement in self.placements]
        keys += [move.key for move in self.moves if move.to_units]
        return tuple(sorted(set(keys), key=natural))

    @property
    def enclosures(self) -> tuple[str, ...]:
        """The enclosures whose elevation changes."""
        keys = {key.partition("/")[0] for key in self.changed_items}
        keys |= {move.key.partition("/")[0] for move in self.moves}
        return tuple(sorted(keys, key=natural))


def proposed_site(site: Site, plan: GrowthPlan) -> Site:
    """The site as it would stand: new outlets end at their ports and are patched."""
    records = _renumbered(
        {kind: dict(found) for kind, found in site.by_kind.items()}, _port_renumbering(site, plan)
    )
    for move in plan.moves:
        item = site.items[move.key]
        if move.to_units is None:
            del records[item.role][item.key]
        else:
            records[item.role][item.key] = _moved_item(item, move, plan.request)
    for placement in plan.placements:
        records[placement.kind][placement.key] = _new_item(placement, plan.request)
    for outlet, cord in _new_drops(site, plan):
        records["outlet"][outlet.key] = outlet
        records["cord"][cord.key] = cord
    for feed in plan.uplinks:
        if feed.to is not None:
            cord = _cord(feed.uplink, feed.to, _metres(feed.cord))
            records["cord"][cord.key] = cord
    proposed = site_of(Records(site.key, records, (), ()), like=site)
    assert proposed is not None  # its site record is there
    return proposed


def renumbered_port(port: PortId, shift: Mapping[str, tuple[int, int]]) -> PortId:
    """A port under the number it has after its switch was swapped: uplinks are numbered on after
    the access ports, so they move up. `shift` has the old and new count of those, by item."""
    old, new = shift.get(port.item, (0, 0))
    if new > old and port.name.isdigit() and int(port.name) > old:
        return PortId(port.item, str(int(port.name) + new - old))
    return port


def _port_renumbering(site: Site, plan: GrowthPlan) -> dict[str, tuple[int, int]]:
    found = {}
    for move in plan.moves:
        item = site.items[move.key]
        if move.action is RackAction.SWAP and isinstance(item, Switch):
            found[item.key] = (item.ports or 0, LARGE_PORT_COUNT)
    return found


def _renumbered(
    records: dict[str, dict[str, Record]], shift: Mapping[str, tuple[int, int]]
) -> dict[str, dict[str, Record]]:
    """The records with every port they name under its new number."""
    if not shift:
        return records
    found: dict[str, dict[str, Record]] = {}
    for name, table in records.items():
        specs = [spec for spec in KINDS[name].specs.values() if spec.names_ports]
        found[name] = {}
        for record in table.values():
            changed: dict[str, Any] = {}
            for spec in specs:
                value = getattr(record, spec.attribute)
                if isinstance(value, PortId):
                    changed[spec.attribute] = renumbered_port(value, shift)
                elif value:
                    changed[spec.attribute] = tuple(renumbered_port(port, shift) for port in value)
            if isinstance(record, Cord):
                changed["key"] = str(changed["from_"])
            there = replace(record, **changed)
            found[name][there.key] = there
    return found


def _moved_item(item: Item, move: ItemMove, wanted: DropRequest) -> Item:
    moved = replace(item, at=move.to_units, part=move.part)
    if move.action is RackAction.TO_ONE_UNIT and isinstance(moved, Panel):
        return replace(moved, ports=LARGE_PORT_COUNT, category=wanted.category)
    if move.action is RackAction.SWAP and isinstance(moved, Switch):
        shift = {item.key: (moved.ports or 0, LARGE_PORT_COUNT)}
        marks: dict[str, Any] = {
            mark: tuple(
                renumbered_port(PortId(item.key, name), shift).name for name in getattr(moved, mark)
            )
            for mark in ("dead", "abandoned", "reserved", "unknown")
        }
        poe = moved.poe if move.poe is None else Quantity(Decimal(round(move.poe)), "W", "power")
        return replace(
            moved, ports=LARGE_PORT_COUNT, poe=poe, poe_ports=(), poe_measured=None, **marks
        )
    return moved


def _new_item(placement: Placement, wanted: DropRequest) -> Item:
    raw = _raw(placement.kind, placement.key)
    if placement.kind == "panel":
        return Panel(
            key=placement.key,
            raw=raw,
            at=placement.at,
            face="front",
            ports=placement.ports,
            category=wanted.category,
        )
    poe = Quantity(Decimal(round(placement.poe)), "W", "power") if placement.poe else None
    return Switch(
        key=placement.key,
        raw=raw,
        at=placement.at,
        face="front",
        ports=placement.ports,
        uplinks=NEW_SWITCH_UPLINKS,
        poe=poe,
    )


def _new_drops(site: Site, plan: GrowthPlan) -> Iterator[tuple[Outlet, Cord]]:
    """The new outlets with their cords, under keys nobody has yet."""
    taken = {key.casefold() for key in site.outlets}
    poe = None if plan.request.poe_class is None else f"class {plan.request.poe_class}"
    ways = Counter(dict(plan.cables_by_pathway))
    number = 0
    for patch in plan.patches:
        length = _metres(patch.cord)
        for start, end in patch.ports:
            number += 1
            while f"new-{number:03}" in taken:
                number += 1
            way = next((key for key in sorted(ways) if ways[key] > 0), None)
            if way:
                ways[way] -= 1
            key = f"new-{number:03}"
            outlet = Outlet(
                key=key,
                raw=_raw("outlet", key),
                port=(start,),
                cable=plan.request.cable,
                poe=poe,
                via=(way,) if way else (),
            )
            yield outlet, _cord(start, end, length)


def _cord(start: PortId, end: PortId, length: Quantity) -> Cord:
    key = str(start)
    return Cord(key=key, raw=_raw("cord", key), from_=start, to=end, cord=length)


def _metres(length: float) -> Quantity:
    return Quantity(Decimal(str(length)), "m", "length")


def _raw(kind: str, key: str) -> Raw:
    """Where a thing stands in its file: nowhere yet."""
    return Raw(kind, key, {}, "(proposed)", scalar_at(key, 1, 1))


def merge_purchases(lines: Iterable[Purchase]) -> tuple[Purchase, ...]:
    """Each thing once, with the sum of its counts, in the order first met."""
    counts: dict[tuple[str, str], float] = {}
    for line in lines:
        counts[line.what, line.note] = counts.get((line.what, line.note), 0) + line.count
    return tuple(Purchase(count, what, note) for (what, note), count in counts.items() if count)

"""What each thing is before and after a plan, whatever it is called then."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from asbuilt.changes.compare import Change
from asbuilt.changes.identity import ITEM_KINDS
from asbuilt.model.paths import CablingGraph, cabling_graph
from asbuilt.model.site import Site, natural
from asbuilt.records.enclosures import Enclosure, Item
from asbuilt.records.fields import PortId
from asbuilt.records.kind import Record
from asbuilt.records.links import Backbone, Cord, Outlet
from asbuilt.records.services import Circuit

R = TypeVar("R", bound=Record)
#: A thing before and after; None on the side where it isn't there.
Pair = tuple[R | None, R | None]


@dataclass(frozen=True, slots=True)
class CutoverPlan:
    before: Site
    after: Site
    net_before: CablingGraph
    net_after: CablingGraph
    changes: tuple[Change, ...]
    items: tuple[Pair[Item], ...]
    enclosures: tuple[Pair[Enclosure], ...]
    outlets: tuple[Pair[Outlet], ...]
    cords: tuple[Pair[Cord], ...]
    backbones: tuple[Pair[Backbone], ...]
    circuits: tuple[Pair[Circuit], ...]
    #: The key after the plan of each outlet and mounted thing there was before.
    outlet_now: Mapping[str, str]
    item_now: Mapping[str, str]
    #: The key before the plan of each outlet there is after.
    outlet_was: Mapping[str, str]

    def port_now(self, port: PortId) -> PortId:
        """What a port of before is called after."""
        return PortId(self.item_now.get(port.item, port.item), port.name)


def cutover_plan(before: Site, after: Site, changes: Iterable[Change]) -> CutoverPlan:
    changes = tuple(changes)
    items = _pairs(before.items, after.items, _renamed(changes, ITEM_KINDS))
    outlets = _pairs(before.outlets, after.outlets, _renamed(changes, {"outlet"}))
    return CutoverPlan(
        before,
        after,
        cabling_graph(before),
        cabling_graph(after),
        changes,
        items,
        _pairs(before.enclosures, after.enclosures, _renamed(changes, {"enclosure"})),
        outlets,
        _pairs(before.cords, after.cords, _renamed(changes, {"cord"})),
        _pairs(before.backbones, after.backbones, _renamed(changes, {"backbone"})),
        _pairs(before.circuits, after.circuits, _renamed(changes, {"circuit"})),
        {old.key: new.key for old, new in outlets if old and new},
        {old.key: new.key for old, new in items if old and new},
        {new.key: old.key for old, new in outlets if old and new},
    )


def _renamed(changes: Iterable[Change], kinds: Iterable[str]) -> dict[str, str]:
    """The new key of what has another one, by its old key."""
    kinds = frozenset(kinds)
    return {
        change.before.key: change.after.key
        for change in changes
        if change.kind in kinds and change.before and change.after
        and change.before.key != change.after.key
    }  # fmt: skip


def _pairs(
    before: Mapping[str, R], after: Mapping[str, R], renamed: Mapping[str, str]
) -> tuple[Pair[R], ...]:
    taken = set(renamed.values())
    pairs: list[Pair[R]] = []
    for key, old in before.items():
        now = renamed.get(key, None if key in taken else key)
        pairs.append((old, after.get(now) if now else None))
    met = {new.key for _, new in pairs if new}
    pairs += [(None, new) for key, new in after.items() if key not in met]
    return tuple(sorted(pairs, key=_order))


def _order(pair: Pair[R]) -> tuple[object, ...]:
    return natural(next(record.key for record in (pair[1], pair[0]) if record))

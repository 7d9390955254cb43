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
RecordPair = tuple[R | None, R | None]


@dataclass(frozen=True, slots=True)
class CutoverPlan:
    before: Site
    after: Site
    graph_before: CablingGraph
    graph_after: CablingGraph
    changes: tuple[Change, ...]
    items: tuple[RecordPair[Item], ...]
    enclosures: tuple[RecordPair[Enclosure], ...]
    outlets: tuple[RecordPair[Outlet], ...]
    cords: tuple[RecordPair[Cord], ...]
    backbones: tuple[RecordPair[Backbone], ...]
    circuits: tuple[RecordPair[Circuit], ...]
    #: The key after the plan of each outlet and mounted thing there was before.
    outlet_key_after: Mapping[str, str]
    item_key_after: Mapping[str, str]
    #: The key before the plan of each outlet there is after.
    outlet_key_before: Mapping[str, str]

    def port_after(self, port: PortId) -> PortId:
        """What a port of before is called after."""
        return PortId(self.item_key_after.get(port.item, port.item), port.name)


def cutover_plan(before: Site, after: Site, changes: Iterable[Change]) -> CutoverPlan:
    changes = tuple(changes)
    items = _pair_records(before.items, after.items, _new_keys(changes, ITEM_KINDS))
    outlets = _pair_records(before.outlets, after.outlets, _new_keys(changes, {"outlet"}))
    return CutoverPlan(
        before,
        after,
        cabling_graph(before),
        cabling_graph(after),
        changes,
        items,
        _pair_records(before.enclosures, after.enclosures, _new_keys(changes, {"enclosure"})),
        outlets,
        _pair_records(before.cords, after.cords, _new_keys(changes, {"cord"})),
        _pair_records(before.backbones, after.backbones, _new_keys(changes, {"backbone"})),
        _pair_records(before.circuits, after.circuits, _new_keys(changes, {"circuit"})),
        {old.key: new.key for old, new in outlets if old and new},
        {old.key: new.key for old, new in items if old and new},
        {new.key: old.key for old, new in outlets if old and new},
    )


def _new_keys(changes: Iterable[Change], kinds: Iterable[str]) -> dict[str, str]:
    """The new key of what has another one, by its old key."""
    kinds = frozenset(kinds)
    return {
        change.before.key: change.after.key
        for change in changes
        if change.kind in kinds and change.before and change.after
        and change.before.key != change.after.key
    }  # fmt: skip


def _pair_records(
    before: Mapping[str, R], after: Mapping[str, R], renamed: Mapping[str, str]
) -> tuple[RecordPair[R], ...]:
    taken = set(renamed.values())
    pairs: list[RecordPair[R]] = []
    for key, old in before.items():
        now = renamed.get(key, None if key in taken else key)
        pairs.append((old, after.get(now) if now else None))
    met = {new.key for _, new in pairs if new}
    pairs += [(None, new) for key, new in after.items() if key not in met]
    return tuple(sorted(pairs, key=_pair_order))


def _pair_order(pair: RecordPair[R]) -> tuple[object, ...]:
    return natural(next(record.key for record in (pair[1], pair[0]) if record))

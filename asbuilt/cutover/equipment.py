"""What happens to a mounted thing under a plan: it comes, goes, moves, or is swapped."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from enum import StrEnum

from asbuilt.cutover.plan import CutoverPlan
from asbuilt.facts.power import all_fed_by
from asbuilt.model.paths import ACTIVE
from asbuilt.model.site import Site
from asbuilt.records.enclosures import Item, PortedItem, PowerStrip, Reserve, Ups

#: Where they differ, it is another thing that is mounted there.
_IDENTITY_FIELDS = (
    "serial", "ports", "uplinks", "named_ports", "speed", "uplink_speed", "poe", "media",
    "category", "connector", "output", "apparent", "sockets", "does",
)  # fmt: skip
_POSITION_FIELDS = ("at", "face", "part", "where")


class EquipmentChange(StrEnum):
    ADDED = "added"
    REMOVED = "removed"
    MOVED = "moved"
    SWAPPED = "swapped"
    POWER_MOVED = "fed otherwise"


def equipment_change(
    plan: CutoverPlan, old: Item | None, new: Item | None
) -> EquipmentChange | None:
    """What is done to it with hands; None where nothing is."""
    if old is None or new is None:
        return EquipmentChange.ADDED if new else EquipmentChange.REMOVED
    if type(old) is not type(new) or any(
        _recorded_differently(old, new, name) for name in _IDENTITY_FIELDS
    ):
        return EquipmentChange.SWAPPED
    off_the_units = (old.at is None) != (new.at is None) and bool(old.where or new.where)
    if off_the_units or any(_recorded_differently(old, new, name) for name in _POSITION_FIELDS):
        return EquipmentChange.MOVED
    if _changed_enclosure_or_room(plan, old, new):
        return EquipmentChange.MOVED
    return EquipmentChange.POWER_MOVED if _recorded_differently(old, new, "fed_by") else None


def half_units_of(site: Site, item: Item) -> frozenset[str]:
    """The places an item takes, half a unit each."""
    if item.at is None or isinstance(item, Reserve):
        return frozenset()
    low, high = item.at
    halves = (item.part,) if item.part else ("left", "right")
    return frozenset(
        f"{item.enclosure} U{unit} {item.face} {half}"
        for unit in range(low, high + 1)
        for half in halves
    )


def devices_fed_by(site: Site, item: Item) -> tuple[Item, ...]:
    """The active devices that go off with this thing, itself included."""
    fed: Iterator[Item] = iter((item,))
    if isinstance(item, (Ups, PowerStrip)):
        fed = iter((item, *all_fed_by(item, site.items_in.get(item.enclosure, ()))))
    return tuple(one for one in fed if isinstance(one, ACTIVE))


def is_in_use(site: Site, item: Item) -> bool:
    """Whether anything that in use is connected to it: a cord, a circuit, a device it feeds."""
    if isinstance(item, (Ups, PowerStrip)):
        return bool(devices_fed_by(site, item))
    if not isinstance(item, PortedItem):
        return False
    return any(use.cords or use.circuits for use in site.ports_of(item))


def _recorded_differently(old: Item, new: Item, name: str) -> bool:
    """Whether both say, and not the same: what was only written down now isn't a change."""
    if not {name} & {field.name for field in fields(old)} & {field.name for field in fields(new)}:
        return False
    was, now = getattr(old, name), getattr(new, name)
    if name == "part":
        return bool(was != now)
    return was not in (None, ()) and now not in (None, ()) and bool(was != now)


def _changed_enclosure_or_room(plan: CutoverPlan, old: Item, new: Item) -> bool:
    """Whether it went to another enclosure, or its enclosure to another room."""
    for before, after in plan.enclosures:
        if before and before.key == old.enclosure:
            if after is None or after.key != new.enclosure:
                return True
            return before.room is not None and after.room is not None and before.room != after.room
    return False

"""What has to be bought for a plan, counted from its records.

Common practice, here as data: a drop has a service loop in the telecommunications space and a
little slack behind the faceplate, both within its recorded length; each end is cut back once. Two
jacks share a faceplate. A label is on each end of a cable, at the faceplate and at the panel; on
each end of a cord; on each mounted thing. Metres.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from asbuilt.cutover.equipment import EquipmentChange
from asbuilt.cutover.plan import CutoverPlan
from asbuilt.cutover.tasks import item_text
from asbuilt.model.describe import cable_name, category_name
from asbuilt.model.site import Site, natural
from asbuilt.records.enclosures import Item
from asbuilt.records.fields import PortId
from asbuilt.records.links import Cord, Outlet
from asbuilt.records.quantity import Quantity
from asbuilt.trade.cords import (
    BETWEEN_ENCLOSURES,
    required_cord_length,
    stock_length,
    stock_length_feet,
)
from asbuilt.trade.rack import units_from_bottom

SERVICE_LOOP: Final = 3.0  # in the telecommunications space
OUTLET_SLACK: Final = 0.3
CUT_BACK_PER_END: Final = 0.5  # at each end
JACKS_PER_FACEPLATE: Final = 2
LABELS_PER_DROP: Final = 4
_FOOT: Final = 0.3048


@dataclass(frozen=True, slots=True)
class Material:
    """`count` of a thing in `unit` (empty for pieces); `how` says what it was counted from."""

    name: str
    count: float
    unit: str = ""
    basis: str = ""


def list_materials(plan: CutoverPlan, touched: dict[str, EquipmentChange]) -> tuple[Material, ...]:
    return tuple(
        material
        for part in (
            _equipment_materials(plan, touched),
            _drop_materials(plan),
            _cord_materials(plan, touched),
            _label_materials(plan),
        )
        for material in part
    )


def cord_stock_length(site: Site, cord: Cord) -> float | None:
    """The stock length in metres that reaches between a cord's ports; None where a unit isn't
    recorded."""
    needed = _required_length(site, cord.from_, cord.to)
    return None if needed is None else stock_length(needed)


def new_outlets(plan: CutoverPlan) -> list[Outlet]:
    return [new for old, new in plan.outlets if old is None and new]


def cords_to_buy(plan: CutoverPlan) -> list[Cord]:
    """The cords that come, and those that reach no further: the old one is too short, or its
    length isn't known."""
    found = []
    for old, new in plan.cords:
        if new is None:
            continue
        if old is None:
            found.append(new)
            continue
        ends = {plan.port_after(old.from_), plan.port_after(old.to)}
        needed = _required_length(plan.after, new.from_, new.to)
        before = _required_length(plan.before, old.from_, old.to)
        another = old.cord is not None and new.cord is not None and old.cord != new.cord
        moved = ends != {new.from_, new.to} or before != needed
        short = needed is not None and (old.cord is None or old.cord.to("m") < needed - 1e-9)
        longer = needed is not None and (before is None or needed > before + 1e-9)
        if another or (moved and short and longer):
            found.append(new)
    return found


def _equipment_materials(
    plan: CutoverPlan, touched: dict[str, EquipmentChange]
) -> Iterator[Material]:
    bought = [
        item
        for key, touch in touched.items()
        if touch in (EquipmentChange.ADDED, EquipmentChange.SWAPPED)
        and (item := plan.after.items.get(key))
    ]
    kinds: defaultdict[str, list[Item]] = defaultdict(list)
    for item in bought:
        kinds[_kind_text(item)].append(item)
    for words in sorted(kinds):
        keys = ", ".join(sorted((item.key for item in kinds[words]), key=natural))
        yield Material(words, len(kinds[words]), basis=keys)


def _drop_materials(plan: CutoverPlan) -> Iterator[Material]:
    new = new_outlets(plan)
    moved = [
        outlet
        for old, outlet in plan.outlets
        if old and outlet and old.cable and outlet.cable and old.cable != outlet.cable
    ]
    if not new and not moved:
        return
    yield from _faceplate_materials(plan, new)
    yield Material("jack", len(new) + len(moved), basis="one an outlet")
    by_cable: defaultdict[str, list[Outlet]] = defaultdict(list)
    for outlet in (*new, *moved):
        by_cable[cable_name(outlet.cable) or "cable, kind not recorded"].append(outlet)
    customary = plan.after.info.measures == "customary"
    for cable in sorted(by_cable):
        total, notes = 0.0, []
        known = estimated = unknown = 0
        for outlet in by_cable[cable]:
            length = _metres(outlet.length)
            guess = _mean_length_of_neighbours(plan, outlet) if length is None else None
            if length is not None:
                known += 1
            elif guess is not None:
                estimated += 1
            else:
                unknown += 1
                continue
            total += (length if length is not None else guess or 0.0) + 2 * CUT_BACK_PER_END
        if known:
            notes.append(f"{known} of recorded length, loops and slack within it")
        if estimated:
            notes.append(
                f"{estimated} as long as others to the same room, with {SERVICE_LOOP:g} "
                "m service loop "
                f"and {OUTLET_SLACK:g} m slack at the outlet"
            )
        if unknown:
            notes.append(f"{unknown} of unknown length NOT counted: measure them")
        notes.append(f"{CUT_BACK_PER_END:g} m cut back at each end")
        number, unit = (total / _FOOT, "ft") if customary else (total, "m")
        yield Material(f"{cable} cable", math.ceil(number), unit, "; ".join(notes))


def _faceplate_materials(plan: CutoverPlan, new: list[Outlet]) -> Iterator[Material]:
    there = {_plate_key(outlet) for outlet in plan.before.outlets.values() if outlet.plate}
    plates = Counter(_plate_key(outlet) for outlet in new)
    count = sum(math.ceil(jacks / JACKS_PER_FACEPLATE) for key, jacks in plates.items()
                if key not in there)  # fmt: skip
    if count:
        yield Material("faceplate", count, basis=f"{JACKS_PER_FACEPLATE} jacks share one")
    shared = sum(jacks for key, jacks in plates.items() if key in there)
    if shared:
        how = "go where there is an outlet already: see whether its faceplate has a free place"
        yield Material("jack beside others", shared, basis=how)


def _cord_materials(plan: CutoverPlan, touched: dict[str, EquipmentChange]) -> Iterator[Material]:
    customary = plan.after.info.measures == "customary"
    lengths: Counter[tuple[str, float]] = Counter()
    shorter: list[str] = []
    unknown = 0
    for cord in cords_to_buy(plan):
        needed = _required_length(plan.after, cord.from_, cord.to)
        if needed is None:
            unknown += 1
            continue
        media = "fibre cord" if cord.media == "fibre" else "cord"
        lengths[media, float(stock_length_feet(needed)) if customary else stock_length(needed)] += 1
        if cord.cord is not None and cord.cord.to("m") < needed - 1e-9:
            shorter.append(str(cord.from_))
    for (media, length), count in sorted(lengths.items()):
        how = "rack units between its ports, plugs, side run and slack, up to a stock length"
        yield Material(f"{media} of {length:g} {'ft' if customary else 'm'}", count, basis=how)
    if unknown:
        yield Material("cord, length to measure", unknown, basis="a rack unit isn't recorded")
    if shorter:
        first = ", ".join(shorter[:6]) + (" …" if len(shorter) > 6 else "")
        how = f"the plan records shorter ones than it takes by count: {first}"
        yield Material("cord to look at", len(shorter), basis=how)
    at_work = [o for o in new_outlets(plan) if o.serves not in ("spare", None) and o.port]
    if at_work:
        yield Material("cord at the outlet", len(at_work), basis="length as the place asks")


def _label_materials(plan: CutoverPlan) -> Iterator[Material]:
    drops = len(new_outlets(plan))
    again = sum(
        1
        for old, new in plan.outlets
        if old and new and plan.before.label_of(old) != plan.after.label_of(new)
    )
    cords = len(cords_to_buy(plan))
    items = sum(1 for old, new in plan.items if old is None and new and new.role != "reserve")
    count = LABELS_PER_DROP * (drops + again) + 2 * cords + items
    if count:
        how = f"{LABELS_PER_DROP} a drop, 2 a cord, 1 a mounted thing"
        yield Material("label", count, basis=how)


def _required_length(site: Site, one: PortId, other: PortId) -> float | None:
    first, second = site.items.get(one.item), site.items.get(other.item)
    if first is None or second is None:
        return None
    if first.enclosure != second.enclosure:
        return BETWEEN_ENCLOSURES
    low, high = _middle_unit(site, first), _middle_unit(site, second)
    if low is None or high is None:
        return None
    return required_cord_length(round(high - low))


def _middle_unit(site: Site, item: Item) -> float | None:
    """The middle of an item, in units from the bottom."""
    enclosure = site.enclosures.get(item.enclosure)
    if item.at is None or enclosure is None:
        return None
    height = int(enclosure.height.to("U"))
    low, high = units_from_bottom(item.at, height, enclosure.numbered_from)
    return (low + high) / 2


def _mean_length_of_neighbours(plan: CutoverPlan, outlet: Outlet) -> float | None:
    """The mean recorded length of the drops from the same enclosure to the same room."""
    ends = {port.enclosure for port in outlet.port}
    lengths = [
        length
        for other in plan.before.outlets_in.get(outlet.room, ())
        if ends & {port.enclosure for port in other.port}
        and (length := _metres(other.length)) is not None
    ]
    return sum(lengths) / len(lengths) if lengths else None


def _metres(length: Quantity | None) -> float | None:
    return length.to("m") if length else None


def _plate_key(outlet: Outlet) -> tuple[object, ...]:
    return (outlet.room, outlet.plate, outlet.position)


def _kind_text(item: Item) -> str:
    words = item_text(item).removesuffix(item.title).strip()
    category = getattr(item, "category", None)
    return (words or item.role) + (f", {category_name(category)}" if category else "")
